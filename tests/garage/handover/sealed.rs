//! Handed over under a pass phrase, and signed with the user's own key.

use std::fs;

use crate::common::{Shed, in_a_line};
use crate::handover::full_of_values;

const PHRASE: &str = "wet plug cold pipe";

fn locked(shed: &Shed) -> String {
    full_of_values(shed, 21);
    fs::write(shed.above().join("phrase"), format!("{PHRASE}\n")).unwrap();
    let words = ["handover", "moth", "--only", "ignition", "--passphrase-file", "../phrase"];
    let said = shed.run(&words).done().out;
    assert!(
        said.contains("moth-2.handover.toml.age") && said.contains("Locked with a pass phrase"),
        "{said}"
    );
    "moth-2.handover.toml.age".to_owned()
}

#[test]
fn a_locked_handover_opens_with_its_pass_phrase_and_with_no_other() {
    let shed = Shed::new();
    let file = locked(&shed);
    let bytes = fs::read(shed.root().join(&file)).unwrap();
    assert!(bytes.starts_with(b"age-encryption.org/v1\n"));
    let raw = String::from_utf8_lossy(&bytes).into_owned();
    for word in ["ignition", "Ana", "moth", "handover", "content"] {
        assert!(!raw.contains(word), "{word} can be read");
    }
    let read = shed.run(&["handover", "read", &file, "--passphrase-file", "../phrase"]).done().out;
    assert!(read.contains("ignition from Ana") && read.contains("ignition.base"), "{read}");

    let unasked = in_a_line(&shed.run(&["handover", "read", &file]).refused());
    assert!(unasked.contains("Nobody sits at a terminal"), "{unasked}");
    fs::write(shed.above().join("phrase"), "wet plug cold pip\n").unwrap();
    let wrong =
        in_a_line(&shed.run(&["handover", "read", &file, "--passphrase-file", "../phrase"]).refused());
    assert!(wrong.contains("does not open with that pass phrase"), "{wrong}");

    fs::write(shed.root().join("cut.age"), &bytes[..bytes.len() - 20]).unwrap();
    fs::write(shed.above().join("phrase"), format!("{PHRASE}\n")).unwrap();
    let cut =
        in_a_line(&shed.run(&["handover", "read", "cut.age", "--passphrase-file", "../phrase"]).refused());
    assert!(cut.contains("is cut short or damaged"), "{cut}");
    shed.run(&["handover", "moth", "--only", "ignition", "--out", "open.toml"]).done();
    let open =
        in_a_line(&shed.run(&["handover", "read", "open.toml", "--passphrase-file", "../phrase"]).refused());
    assert!(open.contains("is not encrypted"), "{open}");
    fs::write(shed.above().join("phrase"), "moth\n").unwrap();
    let words =
        ["handover", "moth", "--only", "ignition", "--out", "short.age", "--passphrase-file", "../phrase"];
    let short = in_a_line(&shed.run(&words).refused());
    assert!(short.contains("a machine guesses it"), "{short}");
    assert!(!shed.root().join("short.age").exists());
}

/// A key of Ana's own, and who is trusted; false where this machine has no ssh.
fn with_a_key(shed: &Shed) -> bool {
    let key = shed.above().join("home/key");
    let made = std::process::Command::new("ssh-keygen")
        .args(["-q", "-t", "ed25519", "-N", "", "-C", "ana@example.org", "-f"])
        .arg(&key)
        .status();
    if !made.is_ok_and(|made| made.success()) {
        assert!(std::env::var("CI").is_err(), "ssh-keygen is missing");
        return false;
    }
    let settings = shed.above().join("home/.gitconfig");
    let text = fs::read_to_string(&settings).unwrap();
    let (key, allowed) = (key.display(), shed.above().join("home/allowed"));
    let allowed = allowed.display();
    fs::write(
        &settings,
        format!("{text}[user]\n\tsigningkey = {key}.pub\n[gpg]\n\tformat = ssh\n[gpg \"ssh\"]\n\tallowedSignersFile = {allowed}\n"),
    )
    .unwrap();
    true
}

#[test]
fn a_signature_is_checked_and_says_whose_it_is() {
    let shed = Shed::new();
    full_of_values(&shed, 22);
    let unsaid = in_a_line(&shed.run(&["handover", "moth", "--only", "ignition", "--sign"]).refused());
    assert!(unsaid.contains("does not say which key"), "{unsaid}");
    if !with_a_key(&shed) {
        return;
    }
    shed.run(&["handover", "moth", "--only", "ignition", "--sign", "--out", "map.toml"]).done();
    let read = in_a_line(&shed.run(&["handover", "read", "map.toml"]).done().out);
    assert!(read.contains("whose that is, is not known") && read.contains("SHA256:"), "{read}");
    let key = fs::read_to_string(shed.above().join("home/key.pub")).unwrap();
    fs::write(shed.above().join("home/allowed"), format!("ana@example.org {key}")).unwrap();
    let read = in_a_line(&shed.run(&["handover", "read", "map.toml"]).done().out);
    assert!(read.contains("Signed by ana@example.org with SHA256:"), "{read}");
    // Whoever waits for a signed one sees it where that line was cut out.
    let text = shed.read("map.toml");
    let cut: Vec<&str> = text.lines().filter(|line| !line.starts_with("# signed: ")).collect();
    shed.write("cut.toml", cut.join("\n") + "\n");
    let unsigned = in_a_line(&shed.run(&["handover", "read", "cut.toml"]).done().out);
    assert!(unsigned.contains("Not signed."), "{unsigned}");
    assert!(!shed.run(&["handover", "read", "map.toml"]).done().out.contains("Not signed"));
    // The hash still stands, and is of what follows the signature.
    let text = shed.read("map.toml");
    let (head, body) = text.split_once("\nhandover").unwrap();
    shed.write("body", format!("handover{body}"));
    assert_eq!(
        head.lines().next().unwrap(),
        format!("# content: {}", shed.git(&["hash-object", "body"]).trim())
    );

    // Another content under the same signature.
    let other = body.replacen("Ana", "Ben", 1);
    shed.write("body", format!("handover{other}"));
    let hash = shed.git(&["hash-object", "body"]);
    let signature = head.lines().nth(1).unwrap();
    shed.write("map.toml", format!("# content: {}\n{signature}\nhandover{other}", hash.trim()));
    let refused = in_a_line(&shed.run(&["handover", "read", "map.toml"]).refused());
    assert!(refused.contains("a signature that is not of what stands in it"), "{refused}");

    // A key that is not there, and a program that is not there.
    fs::remove_file(shed.above().join("home/key")).unwrap();
    let gone = in_a_line(
        &shed.run(&["handover", "moth", "--only", "ignition", "--sign", "--out", "b.toml"]).refused(),
    );
    assert!(gone.contains("could not be signed"), "{gone}");
    assert!(!shed.root().join("b.toml").exists());
    fs::remove_file(shed.above().join("home/key.pub")).unwrap();
    let gone = in_a_line(
        &shed.run(&["handover", "moth", "--only", "ignition", "--sign", "--out", "b.toml"]).refused(),
    );
    assert!(gone.contains("There is no key"), "{gone}");
}

#[test]
fn what_the_garages_own_settings_say_signs_nothing_and_runs_nothing() {
    let shed = Shed::new();
    full_of_values(&shed, 23);
    if !with_a_key(&shed) {
        return;
    }
    let trap = shed.above().join("trap");
    fs::write(&trap, format!("#!/bin/sh\ntouch {}\n", shed.above().join("sprung").display())).unwrap();
    fs::set_permissions(&trap, std::os::unix::fs::PermissionsExt::from_mode(0o755)).unwrap();
    shed.git(&["config", "gpg.ssh.program", &trap.to_string_lossy()]);
    shed.run(&["handover", "moth", "--only", "ignition", "--sign", "--out", "map.toml"]).done();
    shed.run(&["handover", "read", "map.toml"]).done();
    assert!(!shed.above().join("sprung").exists(), "a stranger's program was run");
}

#[test]
fn history_says_on_asking_whether_git_finds_a_commit_signed() {
    let shed = Shed::new();
    let plain = shed.json(&["history", "moth"]);
    assert!(plain["setups"][0]["signature"].is_null());
    if !with_a_key(&shed) {
        return;
    }
    shed.edit("bikes/moth/setup.toml", "main = 170", "main = 172");
    shed.git(&["commit", "-q", "-S", "-a", "-m", "richer"]);
    let states = |shed: &Shed| -> Vec<String> {
        let history = shed.json(&["history", "moth", "--signed"]);
        let setups = history["setups"].as_array().unwrap().clone();
        setups.iter().map(|setup| setup["signature"]["state"].as_str().unwrap_or("none").to_owned()).collect()
    };
    // The list of those that are trusted is not there yet.
    assert_eq!(states(&shed), ["unknown-key", "unsigned"]);
    let key = fs::read_to_string(shed.above().join("home/key.pub")).unwrap();
    fs::write(shed.above().join("home/allowed"), format!("ana@example.org {key}")).unwrap();
    assert_eq!(states(&shed), ["good", "unsigned"]);
    let said = in_a_line(&shed.run(&["history", "moth", "--signed"]).done().out);
    assert!(said.contains("Ana (signed by ana@example.org)") && said.contains("Ana (not signed)"), "{said}");
    // Without git on this machine the history is told all the same.
    let mut command = shed.program(&shed.root(), &["history", "moth", "--signed"]);
    let answer: crate::common::Answer = command.env("PATH", "/nowhere").output().unwrap().into();
    let said = in_a_line(&answer.done().out);
    assert!(said.contains("could not be looked at") && said.contains("172"), "{said}");
}
