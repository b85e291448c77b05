//! Several people, one garage: what two sides recorded comes together through a bare repository on disk, and nothing is lost, asked
//! twice or taken in unseen.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

mod answers;
mod before;
mod by_git;
#[cfg(unix)]
mod gits_own;
mod hostile;
mod lean;
mod metal;
mod model;
mod real;
mod surprises;
mod twins;
mod untold;
mod versions;

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::common::{Answer, Shed, in_a_line, setup_file};

/// A shed whose garage is shared through a bare repository beside it, with a clone beside that.
pub(crate) struct Yard {
    pub(crate) shed: Shed,
}

impl Yard {
    fn new() -> Self {
        let shed = Shed::new();
        shed.run(&["share", "--with", "../stick.git", "--new"]).done();
        shed.git(&["config", "user.name", "Ana"]);
        shed.git(&["config", "user.email", "ana@example.org"]);
        let yard = Self { shed };
        yard.clone("track", "Ben");
        yard
    }

    fn clone(&self, name: &str, who: &str) {
        self.shed.git_in(self.shed.above(), &["clone", "-q", "stick.git", name]).done();
        self.shed.git_in(&self.at(name), &["config", "user.name", who]).done();
        self.shed.git_in(&self.at(name), &["config", "user.email", "others@example.org"]).done();
    }

    fn at(&self, side: &str) -> PathBuf {
        self.shed.above().join(if side == "shop" { "garage" } else { side })
    }

    /// Runs the program on a side, at an hour of its own, so that no two identities are one.
    fn run(&self, side: &str, time: &str, words: &[&str]) -> Answer {
        let mut command = self.shed.program(&self.at(side), words);
        command.env("REEDBOOK_NOW", format!("2026-05-{time}:00+02:00")).env("REEDBOOK_IDS", side);
        command.output().unwrap().into()
    }

    #[track_caller]
    fn done(&self, side: &str, time: &str, words: &[&str]) -> String {
        self.run(side, time, words).done().out
    }

    fn json(&self, side: &str, time: &str, words: &[&str]) -> Value {
        let words: Vec<&str> = words.iter().copied().chain(["--json"]).collect();
        serde_json::from_str(&self.run(side, time, &words).out).unwrap()
    }

    fn read(&self, side: &str, file: &str) -> String {
        fs::read_to_string(self.at(side).join(file)).unwrap_or_default()
    }

    fn head(&self, side: &str) -> String {
        self.shed.git_in(&self.at(side), &["rev-parse", "HEAD"]).done().out
    }

    fn story(&self, side: &str, bike: &str) -> Vec<String> {
        let history = self.json(side, "30T10", &["history", bike]);
        let setups = history["setups"].as_array().unwrap().iter().rev();
        setups
            .map(|setup| {
                format!("{} {}", setup["number"], setup["why"].as_str().unwrap().lines().next().unwrap())
            })
            .collect()
    }

    /// Every side has the same bytes, a clean tree and nothing wrong.
    #[track_caller]
    fn assert_one(&self, sides: &[&str]) {
        for side in sides {
            assert_eq!(self.head(side), self.head(sides[0]), "{side} is at another commit");
            assert_eq!(self.shed.git_in(&self.at(side), &["status", "--porcelain"]).done().out, "", "{side}");
            let fsck = self
                .shed
                .git_in(&self.at(side), &["fsck", "--strict", "--no-dangling", "--no-progress"])
                .done();
            assert_eq!((fsck.out.as_str(), fsck.err.as_str()), ("", ""));
            self.done(side, "30T10", &["garage", "check"]);
        }
    }
}

#[test]
fn different_bikes_outings_and_airs_come_together_by_themselves() {
    let yard = Yard::new();
    yard.done("track", "16T11", &["outing", "add", "moth", "full=right", "--place", "Teal Pass"]);
    yard.done("track", "16T12", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done(
        "track",
        "16T13",
        &["air", "--temp", "20", "--baro", "990", "--humidity", "50", "--place", "Teal Pass", "--keep"],
    );
    yard.done("shop", "16T14", &["change", "wasp", "ignition.base=14", "--why", "softer"]);
    yard.done("shop", "16T15", &["outing", "add", "wasp", "full=rich", "--place", "Teal Pass"]);
    yard.done(
        "shop",
        "16T16",
        &["air", "--temp", "25", "--baro", "991", "--humidity", "40", "--place", "Teal Pass", "--keep"],
    );
    yard.done("track", "17T10", &["share"]);
    let said = yard.json("shop", "17T11", &["share"]);
    assert_eq!(said["questions"].as_array().unwrap().len(), 0, "{said:#}");
    assert_eq!(said["setups"][0]["author"], "Ben", "{said:#}");
    yard.done("track", "17T12", &["share"]);
    yard.assert_one(&["shop", "track"]);
    for side in ["shop", "track"] {
        assert_eq!(yard.story(side, "moth"), ["1 as bought", "2 shorter"]);
        assert_eq!(yard.story(side, "wasp"), ["1 as bought", "2 softer"]);
        assert_eq!(yard.read(side, "places/teal-pass.toml").matches("date = ").count(), 2);
    }
    assert!(yard.done("shop", "17T13", &["share"]).contains("nothing to send"));
}

/// A leaner jet from one side and more advance from the other is an engine that nobody ran.
fn both_sides() -> Yard {
    let yard = Yard::new();
    yard.done("track", "16T11", &["outing", "add", "moth", "full=right"]);
    yard.done("track", "16T12", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T13", &["share"]);
    yard.done("shop", "16T14", &["change", "moth", "ignition.base=14", "--why", "softer"]);
    yard
}

#[test]
fn two_setups_of_one_bike_are_always_a_question_and_nothing_moves_before_the_answer() {
    let yard = both_sides();
    let (head, files) = (yard.head("shop"), yard.shed.files());
    let said = yard.run("shop", "17T10", &["share"]);
    assert_eq!(said.code, Some(1));
    for wanted in ["Ben", "shorter", "softer", "gearing.rear", "ignition.base", "share --keep both moth"] {
        assert!(said.out.contains(wanted), "{wanted}: {}", said.out);
    }
    assert_eq!((yard.head("shop"), yard.shed.files()), (head, files));
    let refused = yard.run("shop", "17T10", &["share", "--keep", "here", "wasp"]).refused();
    assert!(refused.contains("Nothing is asked of wasp"), "{refused}");

    yard.done("shop", "17T11", &["share", "--keep", "there", "moth", "--why", "Ben was there"]);
    yard.done("track", "17T12", &["share"]);
    yard.assert_one(&["shop", "track"]);
    let setup = yard.read("shop", &setup_file("moth"));
    assert!(setup.contains("base = 15") && setup.contains("rear = 41"), "{setup}");
    assert_eq!(yard.story("track", "moth"), ["1 as bought", "2 shorter", "3 softer", "4 Ben was there"]);
    assert_eq!(yard.shed.git_in(&yard.at("track"), &["log", "-1", "--format=%an"]).done().out.trim(), "Ana");
    let lines: Vec<String> = yard.read("shop", "bikes/moth/numbers").lines().map(str::to_owned).collect();
    assert!(lines[2].starts_with("3 ") && lines[2].ends_with(" was 2"), "{lines:?}");
}

#[test]
fn ours_is_kept_and_the_other_setup_stays_in_the_history() {
    let yard = both_sides();
    yard.done("shop", "17T11", &["share", "--keep", "here", "moth"]);
    yard.done("track", "17T12", &["share"]);
    yard.assert_one(&["shop", "track"]);
    let setup = yard.read("track", &setup_file("moth"));
    assert!(setup.contains("base = 14") && setup.contains("rear = 40"), "{setup}");
    yard.done("track", "17T13", &["rollback", "moth", "2", "--despite", "it ran so"]);
    assert!(yard.read("track", &setup_file("moth")).contains("rear = 41"));
}

#[test]
fn both_is_combined_never_run_and_not_proven() {
    let yard = both_sides();
    let said = yard.done("shop", "17T11", &["share", "--keep", "both", "moth"]);
    assert!(said.contains("Combined, never run"), "{said}");
    yard.done("track", "17T12", &["share"]);
    yard.assert_one(&["shop", "track"]);
    let setup = yard.read("track", &setup_file("moth"));
    assert!(setup.contains("base = 14") && setup.contains("rear = 41"), "{setup}");
    let history = yard.json("track", "17T13", &["history", "moth"]);
    assert_eq!(
        (&history["setups"][0]["combined"], &history["setups"][0]["proven"]),
        (&Value::Bool(true), &Value::Bool(false))
    );
    assert_eq!(history["setups"][1]["combined"], false);
    assert!(
        !yard.done("track", "17T14", &["job", "moth"]).contains("nothing"),
        "what is on the bike is not what is recorded"
    );
}

#[test]
fn one_field_of_both_sides_cannot_be_combined() {
    let yard = both_sides();
    yard.done("shop", "16T15", &["change", "moth", "gearing.rear=42", "--why", "shorter still"]);
    let refused = yard.run("shop", "17T11", &["share", "--keep", "both", "moth"]).refused();
    assert!(refused.contains("gearing.rear"), "{refused}");
    yard.done("shop", "17T12", &["share", "--keep", "there", "moth"]);
    assert!(yard.read("shop", &setup_file("moth")).contains("rear = 41"));
}

#[test]
fn two_questions_are_answered_one_after_the_other() {
    let yard = both_sides();
    yard.done("track", "16T15", &["change", "wasp", "jetting.main=175", "--why", "cold", "--sure"]);
    yard.done("track", "16T16", &["share"]);
    yard.done(
        "shop",
        "16T17",
        &["change", "wasp", "jetting.main=165", "--why", "hot", "--sure", "--despite", "hot day"],
    );
    let said = yard.json("shop", "17T10", &["share"]);
    assert_eq!(said["questions"].as_array().unwrap().len(), 2, "{said:#}");
    let said = yard.json("shop", "17T11", &["share", "--keep", "there", "wasp"]);
    assert_eq!(said["questions"].as_array().unwrap().len(), 1, "{said:#}");
    let said = yard.json("shop", "17T12", &["share", "--keep", "here", "moth"]);
    assert_eq!(said["settled"].as_array().unwrap().len(), 2, "{said:#}");
    yard.done("track", "17T13", &["share"]);
    yard.assert_one(&["shop", "track"]);
    assert!(yard.read("track", &setup_file("wasp")).contains("main = 175"));
}

/// One document changed on both sides: by field where the fields differ, a question where they do not.
#[test]
fn a_document_comes_together_by_field() {
    let yard = Yard::new();
    yard.done(
        "shop",
        "16T10",
        &["outing", "add", "moth", "full=right", "--note", "dry", "--place", "Teal Pass"],
    );
    yard.done("shop", "16T11", &["share"]);
    yard.done("track", "16T11", &["share"]);
    yard.done("track", "16T12", &["outing", "edit", "moth", "last", "idle=rich"]);
    yard.done("track", "16T12", &["share"]);
    yard.done("shop", "16T13", &["outing", "edit", "moth", "last", "--note", "dry, then drizzle"]);
    yard.done("shop", "16T14", &["share"]);
    yard.done("track", "16T15", &["share"]);
    yard.assert_one(&["shop", "track"]);
    let outing = yard.json("track", "16T16", &["outing", "show", "moth"]).to_string();
    assert!(outing.contains("drizzle") && outing.contains("rich"), "{outing}");

    yard.done("track", "16T17", &["outing", "edit", "moth", "last", "full=lean"]);
    yard.done("track", "16T18", &["share"]);
    yard.done("shop", "16T19", &["outing", "edit", "moth", "last", "full=rich"]);
    let said = yard.json("shop", "16T20", &["share"]);
    let subject = said["questions"][0]["subject"].as_str().unwrap().to_owned();
    assert!(subject.starts_with("bikes/moth/outings/"), "{said:#}");
    assert_eq!(said["questions"][0]["fields"][0]["field"], "verdict.full", "{said:#}");
    yard.done("shop", "16T21", &["share", "--keep", "there", &subject]);
    yard.done("track", "16T22", &["share"]);
    yard.assert_one(&["shop", "track"]);
    assert!(yard.read("shop", &subject).contains("full = \"lean\""), "{}", yard.read("shop", &subject));
}

#[test]
fn a_file_that_was_edited_and_not_recorded_is_not_overwritten() {
    let yard = Yard::new();
    yard.done("track", "16T12", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T13", &["share"]);
    yard.shed.edit(&setup_file("moth"), "rear = 40", "rear = 44");
    let (head, files) = (yard.head("shop"), yard.shed.files());
    let refused = yard.run("shop", "16T14", &["share"]).refused();
    assert!(refused.contains("bikes/moth/setup.toml was edited and not recorded"), "{refused}");
    assert_eq!((yard.head("shop"), yard.shed.files()), (head, files));
}

/// Plain git brings and sends the same, and the program goes on from what it left.
#[test]
fn plain_git_shares_the_same_way() {
    let yard = both_sides();
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase", "--no-edit"]);
    assert_eq!(yard.shed.git_in(&shop, &["status", "--porcelain"]).done().out, "", "git merged it");
    let history = yard.json("shop", "17T10", &["history", "moth"]);
    assert_eq!(
        history["setups"][0]["combined"], true,
        "jet and sprocket of two sides are one that nobody ran: {history:#}"
    );
    yard.shed.git_in(&shop, &["push", "-q"]).done();
    yard.done("track", "17T11", &["share"]);
    yard.assert_one(&["shop", "track"]);
    assert_eq!(yard.read("shop", &setup_file("moth")), yard.read("track", &setup_file("moth")));
}

/// Numbers that plain git left twice are settled by the share that sends them: what was shared first keeps its number.
#[test]
fn numbers_that_plain_git_doubled_are_settled() {
    let yard = both_sides();
    let shared: Vec<String> = yard.read("track", "bikes/moth/numbers").lines().map(str::to_owned).collect();
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase", "--no-edit"]);
    assert_eq!(
        yard.read("shop", "bikes/moth/numbers").lines().filter(|line| line.starts_with("2 ")).count(),
        2
    );
    let said = yard.json("shop", "17T10", &["share"]);
    assert_eq!(said["renumbered"][0]["was"], 2, "{said:#}");
    yard.done("track", "17T11", &["share"]);
    yard.assert_one(&["shop", "track"]);
    let numbers: Vec<String> = yard.read("track", "bikes/moth/numbers").lines().map(str::to_owned).collect();
    assert_eq!(numbers[..2], shared[..2], "a shared number moved");
    assert!(numbers[2].ends_with(" was 2"), "{numbers:?}");
}

/// An address is the user's own git's work: here a stand-in for ssh that runs what it is told on this machine.
#[cfg(unix)]
#[test]
fn an_address_is_reached_by_the_users_own_git() {
    let yard = Yard::new();
    let ssh = yard.shed.above().join("ssh");
    fs::write(&ssh, "#!/bin/sh\nfor word; do last=$word; done\nexec sh -c \"$last\"\n").unwrap();
    fs::set_permissions(&ssh, std::os::unix::fs::PermissionsExt::from_mode(0o755)).unwrap();
    let address = format!("ssh://shop.example{}", yard.shed.above().join("stick.git").display());
    let share = |side: &str, time: &str, words: &[&str]| -> Answer {
        let words: Vec<&str> = ["share"].iter().chain(words).copied().collect();
        let mut command = yard.shed.program(&yard.at(side), &words);
        command.env("REEDBOOK_NOW", format!("2026-05-{time}:00+02:00")).env("REEDBOOK_IDS", side);
        command.env("GIT_SSH_COMMAND", &ssh).output().unwrap().into()
    };
    yard.done("track", "16T12", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("shop", "16T13", &["outing", "add", "wasp", "full=right"]);
    share("track", "16T14", &["--with", &address]).done();
    share("shop", "16T15", &["--with", &address]).done();
    share("track", "16T16", &[]).done();
    yard.assert_one(&["shop", "track"]);
    assert_eq!(yard.story("shop", "moth"), ["1 as bought", "2 shorter"]);

    // What is hostile is refused this way too, and somebody else's newer share is brought first.
    yard.done("shop", "16T17", &["outing", "add", "wasp", "full=rich"]);
    yard.done("track", "16T17", &["outing", "add", "moth", "full=rich"]);
    share("track", "16T18", &[]).done();
    share("shop", "16T19", &[]).done();
    share("track", "16T20", &[]).done();
    yard.assert_one(&["shop", "track"]);
    let blob = yard.shed.git_in(&yard.at("track"), &["rev-parse", "HEAD:garage.toml"]).done().out;
    yard.shed
        .git_in(
            &yard.at("track"),
            &["update-index", "--add", "--cacheinfo", &format!("120000,{},bikes/link.toml", blob.trim())],
        )
        .done();
    yard.shed.git_in(&yard.at("track"), &["commit", "-q", "-m", "a link"]).done();
    yard.shed.git_in(&yard.at("track"), &["push", "-q", "../stick.git", "main"]).done();
    let (head, files) = (yard.head("shop"), yard.shed.files());
    let refused = share("shop", "16T21", &[]).refused();
    assert!(refused.contains("bikes/link.toml is a link"), "{refused}");
    assert_eq!((yard.head("shop"), yard.shed.files()), (head, files));
}

/// A share that was killed anywhere is run again.
#[test]
fn a_killed_share_is_run_again() {
    for wait in [5, 20, 40, 60, 80, 120, 200] {
        let yard = both_sides();
        let mut killed = yard.shed.program(&yard.at("shop"), &["share", "--keep", "both", "moth"]);
        killed.env("REEDBOOK_NOW", "2026-05-17T11:00+02:00").env("REEDBOOK_IDS", "shop");
        let mut killed =
            killed.stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null()).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_millis(wait));
        let _ = killed.kill();
        killed.wait().unwrap();
        let again = yard.run("shop", "17T12", &["share"]);
        if again.code == Some(1) {
            yard.done("shop", "17T13", &["share", "--keep", "both", "moth"]);
        }
        yard.done("track", "17T14", &["share"]);
        yard.assert_one(&["shop", "track"]);
        assert_eq!(yard.story("shop", "moth").len(), 4, "{wait} ms");
    }
}

/// What a killed share left of git's locks on our own references is in nobody's way.
#[test]
fn locks_that_a_killed_share_left_are_cleared() {
    let yard = both_sides();
    let folder = yard.at("shop").join(".git/refs/reedbook");
    fs::create_dir_all(&folder).unwrap();
    for name in ["before.lock", "theirs.lock", "ours.lock"] {
        fs::write(folder.join(name), "").unwrap();
    }
    let shallow = [yard.at("shop").join(".git/shallow.lock"), yard.at("stick.git").join("shallow.lock")];
    for lock in &shallow {
        fs::write(lock, "").unwrap();
    }
    yard.done("shop", "17T12", &["share", "--keep", "both", "moth"]);
    assert!(fs::read_dir(&folder).unwrap().all(|file| file.unwrap().path().extension().is_none()));
    assert!(shallow.iter().all(|lock| !lock.exists()), "locks of shallow histories stayed");
}

/// A lock of git's on the branch may be that of a git at work: it is named and left.
#[test]
fn a_lock_of_gits_where_it_is_sent_is_named() {
    let yard = both_sides();
    let lock = yard.at("stick.git").join("refs/heads/main.lock");
    fs::write(&lock, "").unwrap();
    let refused = in_a_line(&yard.run("shop", "17T12", &["share", "--keep", "both", "moth"]).refused());
    assert!(refused.contains("refs/heads/main.lock is there"), "{refused}");
    assert!(lock.exists());
    fs::remove_file(&lock).unwrap();
    yard.done("shop", "17T13", &["share"]);
}

/// The branch that others moved meanwhile is never overwritten: what they sent is brought first.
#[test]
fn nobodys_share_is_overwritten() {
    let yard = Yard::new();
    yard.clone("van", "Cleo");
    let sides = ["shop", "track", "van"];
    for (turn, side) in sides.iter().enumerate() {
        yard.done(side, &format!("16T1{turn}"), &["outing", "add", "moth", "full=right", "--note", side]);
    }
    let piped = std::process::Stdio::piped;
    let start = |side: &&str| {
        let mut share = yard.shed.program(&yard.at(side), &["share"]);
        share.stdout(std::process::Stdio::null()).stderr(piped()).spawn().unwrap()
    };
    let running: Vec<_> = sides.iter().map(start).collect();
    for child in running {
        let ended = child.wait_with_output().unwrap();
        assert!(ended.status.success(), "a share gave up: {}", String::from_utf8_lossy(&ended.stderr));
    }
    for side in &sides {
        drop(yard.done(side, "17T10", &["share"]));
    }
    yard.assert_one(&sides);
    assert_eq!(fs::read_dir(yard.at("van").join("bikes/moth/outings")).unwrap().count(), 3);
}

#[test]
fn the_garages_own_settings_start_no_program() {
    let yard = Yard::new();
    let sign = yard.shed.above().join("ran");
    let script = format!("touch {}", sign.display());
    for (name, value) in [
        ("core.sshCommand", script.as_str()),
        ("core.fsmonitor", script.as_str()),
        ("credential.helper", &format!("!{script}")),
        ("remote.origin.uploadpack", script.as_str()),
        ("remote.origin.receivepack", script.as_str()),
        ("remote.origin.vcs", "touch"),
        ("core.askPass", script.as_str()),
        ("http.proxy", "http://127.0.0.1:9"),
        ("url.ext::sh.insteadOf", "ssh://"),
    ] {
        yard.shed.git(&["config", name, value]);
    }
    for hook in ["pre-push", "post-merge", "post-checkout", "reference-transaction"] {
        let file = yard.at("shop").join(".git/hooks").join(hook);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, format!("#!/bin/sh\n{script}\n")).unwrap();
        #[cfg(unix)]
        fs::set_permissions(&file, std::os::unix::fs::PermissionsExt::from_mode(0o755)).unwrap();
    }
    for address in ["ssh://127.0.0.1:9/moth.git", "https://127.0.0.1:9/moth.git"] {
        let refused = yard.run("shop", "17T10", &["share", "--with", address]).refused();
        assert!(refused.contains("could not be reached"), "{refused}");
    }
    yard.done("shop", "17T11", &["outing", "add", "moth", "full=right"]);
    yard.done("shop", "17T12", &["share"]);
    assert!(!sign.exists(), "a setting of the garage started a program");
}

fn exists(path: &Path) -> bool {
    path.symlink_metadata().is_ok()
}
