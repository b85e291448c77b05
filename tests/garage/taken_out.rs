//! A bike that was taken out with git and is brought back: as it stood when it went, with every outing that it ever had.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use std::path::Path;

use crate::common::{Answer, Shed, in_a_line};

/// A moment of May 2026.
fn at(time: &str) -> String {
    format!("2026-05-{time}:00+02:00")
}

fn done(shed: &Shed, time: &str, words: &[&str]) -> String {
    let mut command = shed.program(&shed.root(), words);
    command.env("REEDBOOK_NOW", at(time)).env("REEDBOOK_IDS", time);
    Answer::from(command.output().unwrap()).done().out
}

/// Logs a run.
fn run(shed: &Shed, time: &str, verdict: &str, note: &str) {
    done(shed, time, &["outing", "add", "moth", &format!("full={verdict}"), "--note", note, "--sure"]);
}

/// The file of the run with a note.
fn file_of(shed: &Shed, note: &str) -> Option<String> {
    let files = shed.files();
    let wanted = format!("notes = \"{note}\"");
    let found = files.into_iter().find(|(path, bytes)| {
        path.parent().is_some_and(|folder| folder.ends_with("bikes/moth/outings"))
            && String::from_utf8_lossy(bytes).contains(&wanted)
    });
    found.map(|(path, _)| {
        Path::new("bikes/moth/outings").join(path.file_name().unwrap()).display().to_string()
    })
}

fn take_out(shed: &Shed, time: &str) {
    shed.git(&["rm", "-rqf", "bikes/moth", "engines/moth-engine"]);
    shed.git_on(&at(time), &["commit", "-q", "-m", "tidied"]);
}

#[test]
fn it_is_as_it_was_when_it_went_though_a_later_commit_had_an_older_state() {
    let shed = Shed::new();
    shed.git(&["branch", "side"]);
    run(&shed, "17T09", "lean", "held back");
    done(
        &shed,
        "17T10",
        &["change", "moth", "jetting.main=190", "--sure", "--despite", "bench", "--why", "richer"],
    );
    done(&shed, "17T11", &["bike", "retire", "moth"]);
    take_out(&shed, "18T10");
    // Somebody who never touched the bike commits later, and the two come together.
    shed.git(&["checkout", "-q", "side"]);
    shed.write("plan.txt", "grid walk at ten\n");
    shed.git(&["add", "plan.txt"]);
    shed.git_on(&at("20T10"), &["commit", "-q", "-m", "plan"]);
    shed.git(&["checkout", "-q", "main"]);
    shed.git_on(&at("21T10"), &["merge", "-q", "--no-edit", "side"]);
    let said = in_a_line(&done(&shed, "22T10", &["bike", "retire", "moth", "--back"]));
    assert_eq!(said.trim(), "moth is back in use as it stood on 2026-05-17, with 1 outing.");
    assert!(!shed.read("bikes/moth/bike.toml").contains("retired"), "{}", shed.read("bikes/moth/bike.toml"));
    assert_eq!(shed.read("bikes/moth/numbers").lines().count(), 2);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 richer"]);
    assert!(file_of(&shed, "held back").is_some(), "the lean run is gone");
    assert!(done(&shed, "22T11", &["bike", "list"]).contains("moth"));
    shed.assert_sound();
}

#[test]
fn every_outing_is_there_again_but_those_that_were_removed_by_themselves() {
    let shed = Shed::new();
    shed.git(&["branch", "side"]);
    for (time, note) in
        [("17T09", "slipped"), ("17T10", "mistyped"), ("17T11", "doubted"), ("17T12", "mended")]
    {
        run(&shed, time, "lean", note);
    }
    // One goes by a slip, one by its removal, one by a removal that is taken back and then by a slip; one is mended.
    let slipped = file_of(&shed, "slipped").unwrap();
    shed.git(&["rm", "-q", &slipped]);
    shed.git_on(&at("17T13"), &["commit", "-q", "-m", "cleared"]);
    let id = |note: &str| file_of(&shed, note).unwrap().rsplit_once('-').unwrap().1.replace(".toml", "");
    done(&shed, "17T14", &["outing", "remove", "moth", &id("mistyped")]);
    let doubted = file_of(&shed, "doubted").unwrap();
    done(&shed, "17T15", &["outing", "remove", "moth", &id("doubted")]);
    shed.git_on(&at("17T16"), &["revert", "--no-edit", "HEAD"]);
    shed.git(&["rm", "-q", &doubted]);
    shed.git_on(&at("17T17"), &["commit", "-q", "-m", "cleared"]);
    let mended = file_of(&shed, "mended").unwrap();
    shed.edit(&mended, "lean", "slightly-lean");
    done(
        &shed,
        "17T18",
        &["change", "moth", "jetting.main=190", "--sure", "--despite", "bench", "--why", "richer"],
    );
    shed.git(&["add", "-A"]);
    shed.git_on(&at("17T19"), &["commit", "-q", "--allow-empty", "-m", "by hand"]);
    take_out(&shed, "18T10");
    // Another side ran it meanwhile, with a setup of its own.
    shed.git(&["checkout", "-q", "side"]);
    done(&shed, "19T10", &["change", "moth", "gearing.rear=43", "--why", "shorter"]);
    run(&shed, "19T11", "right", "elsewhere");
    shed.git(&["checkout", "-q", "main"]);
    shed.git_on(&at("20T10"), &["merge", "-q", "-s", "ours", "--no-edit", "side"]);
    let words = ["bike", "retire", "moth", "--back", "--json"];
    let said: serde_json::Value = serde_json::from_str(&done(&shed, "22T10", &words)).unwrap();
    let back = &said["brought_back"];
    assert_eq!((&back["outings"], &back["gathered"]), (&4.into(), &3.into()), "{said:#}");
    assert!(back["stood"].as_str().unwrap().starts_with("2026-05-17"), "{said:#}");
    assert!(back["others"][0].as_str().unwrap().starts_with("2026-05-19"), "{said:#}");
    for note in ["slipped", "doubted", "mended", "elsewhere"] {
        assert!(file_of(&shed, note).is_some(), "{note} is not there again");
    }
    assert_eq!(file_of(&shed, "mistyped"), None);
    assert!(shed.read(&mended).contains("slightly-lean"), "an older version came back");
    let numbers = shed.read("bikes/moth/numbers");
    assert_eq!(numbers.lines().count(), 3, "{numbers}");
    assert!(numbers.lines().last().unwrap().ends_with(" was 2"), "{numbers}");
    assert_eq!(shed.story("moth")[..2], ["1 as bought", "2 richer"]);
    shed.assert_sound();
}
