//! An object of git's that a disk cut short: said with the way out, never waited for.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::{Duration, Instant};

use crate::common::{Answer, Shed, in_a_line};

/// Nobody waits so long. On a machine with nothing else to do it is said within 3 s.
const LONG: Duration = Duration::from_secs(30);

/// What is answered; a program that does not come back is ended, and fails.
fn soon(shed: &Shed, words: &[&str]) -> Answer {
    let mut child =
        shed.program(&shed.root(), words).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let begun = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if begun.elapsed() > LONG {
            child.kill().unwrap();
            panic!("{words:?} does not come back");
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    child.wait_with_output().unwrap().into()
}

fn loose(folder: &Path, object: &str) -> PathBuf {
    folder.join("objects").join(&object[..2]).join(&object[2..])
}

/// Cuts an object in two and gives what it was.
fn cut(file: &Path) -> Vec<u8> {
    let bytes = fs::read(file).unwrap();
    fs::remove_file(file).unwrap();
    fs::write(file, &bytes[..bytes.len() / 2]).unwrap();
    bytes
}

fn put_back(file: &Path, bytes: &[u8]) {
    fs::remove_file(file).unwrap();
    fs::write(file, bytes).unwrap();
}

const ASKED: [&[&str]; 5] = [
    &["change", "moth", "jetting.main=172", "--why", "cooler"],
    &["outing", "add", "moth", "full=right"],
    &["history", "moth"],
    &["rollback", "moth", "1"],
    &["garage", "check"],
];

#[test]
fn an_object_of_gits_that_is_cut_short_is_named_and_nothing_waits_for_it() {
    let shed = Shed::new();
    let own = shed.root().join(".git");
    for object in ["HEAD", "HEAD^{tree}", "HEAD:bikes/moth", "HEAD:bikes/moth/setup.toml"] {
        let id = shed.git(&["rev-parse", object]);
        let file = loose(&own, id.trim());
        let whole = cut(&file);
        let mut said_by = 0;
        // Without an index everything is read anew.
        drop(fs::remove_file(own.join("reedbook/index.sqlite")));
        let asked = if object == "HEAD" { &ASKED[..] } else { &ASKED[3..] };
        for words in asked {
            let answer = soon(&shed, words);
            let all = in_a_line(&format!("{}{}", answer.out, answer.err));
            assert!(!all.contains("panicked"), "{object}: {words:?}: {all}");
            if answer.err.contains("is cut short") {
                assert_eq!(answer.code, Some(1), "{object}: {words:?}");
                assert!(all.contains(&id.trim()[2..]) && all.contains("git fsck"), "{all}");
                said_by += 1;
            }
        }
        assert!(said_by > 0, "{object}: nothing needed it");
        put_back(&file, &whole);
        shed.git(&["fsck", "--strict"]);
        shed.assert_sound();
    }
}

#[test]
fn an_object_that_nothing_points_at_is_named_by_the_check_alone() {
    let shed = Shed::new();
    shed.write("../a.txt", "as long as a note may be, and of no use to anybody");
    let id = shed.git(&["hash-object", "-w", "../a.txt"]);
    cut(&loose(&shed.root().join(".git"), id.trim()));
    soon(&shed, &["history", "moth"]).done();
    let check = soon(&shed, &["garage", "check"]);
    assert_eq!(check.code, Some(1), "{}", check.out);
    assert!(check.out.contains(id.trim()), "{}", check.out);
}

#[test]
fn a_stick_whose_object_is_cut_short_is_named() {
    let shed = Shed::new();
    let stick = shed.above().join("stick.git");
    let with = stick.display().to_string();
    shed.run(&["share", "--with", &with, "--new"]).done();
    let head = shed.git(&["rev-parse", "HEAD"]);
    let clone = shed.above().join("other");
    shed.git_in(shed.above(), &["clone", "-q", &with, "other"]).done();
    shed.git_in(
        &clone,
        &[
            "-c",
            "user.name=Ben",
            "-c",
            "user.email=b@shop.example",
            "commit",
            "-q",
            "--allow-empty",
            "-m",
            "x",
        ],
    )
    .done();
    shed.git_in(&clone, &["push", "-q"]).done();
    let newest = shed.git_in(&clone, &["rev-parse", "HEAD"]).done().out;
    assert_ne!(newest, head);
    cut(&loose(&stick, newest.trim()));
    let said = in_a_line(&soon(&shed, &["share"]).refused());
    assert!(said.contains("is cut short") && said.contains("stick.git"), "{said}");
    assert_eq!(shed.git(&["rev-parse", "HEAD"]), head);
}
