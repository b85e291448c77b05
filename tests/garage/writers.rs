//! Several writers at once, writers that are killed, and locks: none is lost, nothing is half written, nobody else's lock is
//! touched. No outside source is needed: git itself (`fsck`, `status`) is the judge.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use common::{Answer, Shed, in_a_line, setup_file};
use serde_json::Value;

pub(crate) fn wait(child: Child) -> Answer {
    child.wait_with_output().unwrap().into()
}

/// Numbers, newest first, must be 1 to n without a gap.
#[track_caller]
pub(crate) fn assert_numbered(shed: &Shed, bike: &str, setups: usize) {
    let numbers: Vec<_> = shed.setups(bike).iter().rev().map(|setup| setup.number).collect();
    assert_eq!(numbers, (1..=setups as u64).collect::<Vec<_>>());
}

#[test]
fn two_changes_of_one_bike_at_once_are_both_recorded() {
    let shed = Shed::new();
    for round in 0..4 {
        let (main, rear) = (format!("jetting.main={}", 180 + round), format!("gearing.rear={}", 45 + round));
        let one = shed.start(&["change", "moth", &main, "--sure", "--why", "bigger main"]);
        let other = shed.start(&["change", "moth", &rear, "--why", "shorter gearing"]);
        wait(one).done();
        wait(other).done();
        let text = shed.read(&setup_file("moth"));
        assert!(
            text.contains(&format!("main = {} ", 180 + round))
                && text.contains(&format!("rear = {}\n", 45 + round)),
            "{text}"
        );
    }
    assert_numbered(&shed, "moth", 9);
    let setups = shed.setups("moth");
    for why in ["bigger main", "shorter gearing"] {
        assert_eq!(setups.iter().filter(|setup| setup.why == why).count(), 4);
    }
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn changes_of_two_bikes_at_once_are_both_recorded() {
    let shed = Shed::new();
    for round in 0..3 {
        let main = format!("jetting.main={}", 180 + round);
        for child in
            ["moth", "wasp"].map(|bike| shed.start(&["change", bike, &main, "--sure", "--why", "hot"]))
        {
            wait(child).done();
        }
    }
    assert_numbered(&shed, "moth", 4);
    assert_numbered(&shed, "wasp", 4);
    shed.assert_clean();
    shed.assert_sound();
}

/// On a machine so busy that ten do not get through in the 5 s a writer waits, one may be refused, but never lost.
#[test]
fn ten_outings_at_once_are_all_logged() {
    let shed = Shed::new();
    let lines: Vec<_> = (0..10).map(|turn| format!("turn {turn}")).collect();
    let started: Vec<_> = lines
        .iter()
        .map(|line| shed.start(&["outing", "add", "moth", "full=right", "--note", line]))
        .collect();
    for (child, line) in started.into_iter().zip(&lines) {
        let answer = wait(child);
        if answer.code != Some(0) {
            assert!(answer.refused().contains("Another reedbook is writing in this garage"));
            shed.run(&["outing", "add", "moth", "full=right", "--note", line]).done();
        }
    }
    let list = shed.json(&["outing", "list", "moth"]);
    let mut notes: Vec<_> =
        list["outings"].as_array().unwrap().iter().map(|outing| outing["notes"].as_str().unwrap()).collect();
    notes.sort_unstable();
    assert_eq!(notes, lines);
    assert_eq!(shed.git(&["log", "--format=%s", "--grep=^Outing of moth"]).lines().count(), 10);
    shed.assert_clean();
    shed.assert_sound();
}

fn writer_file(shed: &Shed) -> PathBuf {
    shed.root().join(".git/reedbook/writer")
}

#[test]
fn a_writer_that_waits_too_long_names_the_holder_and_writes_nothing() {
    let shed = Shed::new();
    let (files, head) = (shed.files(), shed.git(&["rev-parse", "HEAD"]));
    fs::write(writer_file(&shed), "process 4194305 since 2026-05-16T09:00+02:00").unwrap();
    let lock = File::options().read(true).write(true).open(writer_file(&shed)).unwrap();
    lock.lock().unwrap();
    let began = Instant::now();
    let waiting = [
        shed.start(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]),
        shed.start(&["outing", "add", "moth", "full=right"]),
        shed.start(&["proven", "moth"]),
        shed.start(&["bike", "new", "gnat"]),
        shed.start(&["rollback", "moth", "1"]),
    ];
    shed.run(&["history", "moth"]).done();
    for child in waiting {
        let said = in_a_line(&wait(child).refused());
        assert!(said.contains("Another reedbook is writing in this garage"), "{said}");
        // One that is not there any more holds nothing.
        assert!(!said.contains("process 4194305"), "{said}");
    }
    assert!(began.elapsed() >= Duration::from_secs(15), "it gave up early");
    assert_eq!(shed.files(), files);
    assert_eq!(shed.git(&["rev-parse", "HEAD"]), head);
    shed.assert_clean();
    drop(lock);
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
}

/// A lock whose holder lives is waited for however long it works; one that somebody stopped is named.
#[cfg(target_os = "linux")]
#[test]
fn a_writer_waits_as_long_as_the_holder_lives_and_says_so() {
    let shed = Shed::new();
    let lock = File::options().read(true).write(true).open(writer_file(&shed)).unwrap();
    lock.lock().unwrap();
    let holder = format!("process {} since 2026-05-16T09:00+02:00", std::process::id());
    fs::write(writer_file(&shed), &holder).unwrap();
    let mut waiting = shed.start(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]);
    sleep(Duration::from_secs(18));
    assert!(waiting.try_wait().unwrap().is_none(), "it did not wait");
    drop(lock);
    let answer = wait(waiting).done();
    assert!(in_a_line(&answer.err).contains(&holder), "{}", answer.err);
    assert_numbered(&shed, "moth", 2);
    let mut stopped =
        Command::new("sleep").arg("60").stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    let stop = Command::new("kill").args(["-STOP", &stopped.id().to_string()]).status().unwrap();
    assert!(stop.success());
    let lock = File::options().read(true).write(true).open(writer_file(&shed)).unwrap();
    lock.lock().unwrap();
    fs::write(writer_file(&shed), format!("process {} since 2026-05-16T09:00+02:00", stopped.id())).unwrap();
    let said = shed.run(&["change", "moth", "jetting.main=182", "--why", "hot"]);
    stopped.kill().unwrap();
    stopped.wait().unwrap();
    assert!(in_a_line(&said.refused()).contains("which is stopped"));
}

#[test]
fn a_writer_waits_for_another_that_is_soon_done() {
    let shed = Shed::new();
    let lock = File::options().read(true).write(true).open(writer_file(&shed)).unwrap();
    lock.lock().unwrap();
    let mut waiting = shed.start(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]);
    sleep(Duration::from_millis(400));
    assert!(waiting.try_wait().unwrap().is_none(), "it did not wait");
    drop(lock);
    wait(waiting).done();
    assert_numbered(&shed, "moth", 2);
}

#[test]
fn a_lock_file_that_nobody_holds_is_no_lock() {
    let shed = Shed::new();
    fs::write(
        writer_file(&shed),
        "process 1 since 1999-01-01T00:00+00:00, and this text is far longer than ours",
    )
    .unwrap();
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
    assert!(!fs::read_to_string(writer_file(&shed)).unwrap().contains("process 1 since"));
}

/// An editor or a prompt that asks git for its status holds the lock for a moment.
#[test]
fn a_foreign_index_lock_that_soon_goes_is_waited_for() {
    let shed = Shed::new();
    let lock = shed.root().join(".git/index.lock");
    fs::write(&lock, "").unwrap();
    let waiting = shed.start(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]);
    sleep(Duration::from_millis(300));
    fs::remove_file(&lock).unwrap();
    wait(waiting).done();
    shed.assert_clean();
}

#[test]
fn a_commit_that_git_refuses_leaves_no_trace() {
    let shed = Shed::new();
    let lock = shed.root().join(".git/refs/heads/main.lock");
    fs::write(&lock, "somebody else's").unwrap();
    let files = shed.files();
    for words in [
        ["change", "moth", "jetting.main=190", "--why", "hot"],
        ["outing", "add", "moth", "full=right", "idle=rich"],
    ] {
        shed.run(&words).refused();
        assert_eq!(shed.files(), files);
    }
    assert_eq!(fs::read_to_string(&lock).unwrap(), "somebody else's");
    shed.assert_clean();
    fs::remove_file(&lock).unwrap();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    assert_eq!(shed.outings("moth").len(), 1);
    shed.assert_clean();
}

#[test]
fn files_that_look_like_ours_beside_the_documents_are_overlooked_and_stay() {
    let shed = Shed::new();
    let folders =
        ["", "bikes/moth", "bikes/moth/maps", "bikes/moth/outings", "bikes/wasp", "engines/moth-engine"];
    let file = |folder: &str| Path::new(folder).join(".reedbook-aB3xYz.toml");
    for folder in folders {
        shed.write(&file(folder).to_string_lossy(), "half a fi");
    }
    let answer = shed.run(&["outing", "list", "moth"]).done();
    assert!(!answer.out.contains("not readable"), "{}", answer.out);
    shed.run(&["garage", "check"]).done();
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
    for folder in folders {
        assert_eq!(shed.read(&file(folder).to_string_lossy()), "half a fi", "{folder}");
    }
    assert!(!shed.git(&["ls-files"]).contains("aB3xYz"), "somebody's file was recorded");
}

#[test]
fn a_merge_that_is_under_way_stops_every_writer_of_a_setup() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.commit_edit(&setup_file("moth"), "rear = 40", "rear = 41", "one more");
    shed.git(&["checkout", "-q", "main"]);
    shed.commit_edit(&setup_file("moth"), "rear = 40", "rear = 39", "one less");
    let merge = shed.git_in(&shed.root(), &["merge", "side"]);
    assert_eq!(merge.code, Some(1));
    let files = shed.files();
    // A run is logged all the same: it is a file of its own.
    for bike in ["moth", "wasp"] {
        let change = ["change", bike, "gearing.rear=44", "--sure", "--why", "hot"];
        assert!(shed.run(&change).refused().contains("merge"));
    }
    assert_eq!(shed.files(), files);
    shed.git(&["merge", "--abort"]);
    shed.run(&["outing", "add", "wasp", "full=right"]).done();
    shed.assert_clean();
}

#[test]
fn the_json_of_a_refusal_has_its_way_out() {
    let shed = Shed::new();
    fs::write(shed.root().join(".git/index.lock"), "somebody else's").unwrap();
    let answer = shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot", "--json"]);
    assert_eq!(answer.code, Some(1));
    assert_eq!(answer.out, "");
    let error: Value = serde_json::from_str(&answer.err).unwrap();
    assert!(error["error"]["message"].as_str().unwrap().contains("index.lock"));
    assert!(!error["error"]["help"].as_str().unwrap().is_empty());
}
