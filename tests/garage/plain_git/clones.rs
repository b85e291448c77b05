//! Clones of a garage, whole and in part, and ways in which git keeps things that only git reads.
#![allow(clippy::unwrap_used, missing_docs)] // a test may fail loudly

use std::fs;

use crate::common::{Shed, in_a_line, setup_file};

#[test]
fn a_clone_is_a_whole_garage() {
    let shed = Shed::new();
    shed.run(&["change", "moth", "jetting.main=175", "--sure", "--why", "cold"]).done();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    shed.commit_edit(&setup_file("moth"), "rear = 40", "rear = 41", "by hand");
    let wanted = shed.run(&["history", "moth", "--json"]).done();
    let address = format!("file://{}", shed.root().display());
    for (name, depth) in [("whole", "99"), ("shallow", "3")] {
        shed.git_in(shed.above(), &["clone", "-q", "--depth", depth, &address, name]).done();
        let clone = shed.above().join(name);
        let got = shed.run_in(&clone, &["history", "moth", "--json"]).done();
        if name == "whole" {
            assert_eq!(got, wanted);
        }
        shed.run_in(&clone, &["garage", "check"]).done();
        shed.run_in(&clone, &["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
        let fsck = shed.git_in(&clone, &["fsck", "--strict", "--no-progress"]).done();
        assert_eq!((fsck.out.as_str(), fsck.err.as_str()), ("", ""));
        assert_eq!(shed.git_in(&clone, &["status", "--porcelain"]).done().out, "");
    }
}

/// Cut off behind a commit that recorded no setup, the bike's newest is known by its number, and the rest when it is fetched.
#[test]
fn a_clone_of_the_end_alone_knows_the_setup_that_stood_there() {
    let shed = Shed::new();
    shed.run(&["change", "moth", "jetting.main=175", "--sure", "--why", "cold"]).done();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    let wanted = shed.run(&["history", "moth", "--json"]).done();
    let address = format!("file://{}", shed.root().display());
    shed.git_in(shed.above(), &["clone", "-q", "--depth", "1", &address, "end"]).done();
    let clone = shed.above().join("end");
    let story = shed.run_in(&clone, &["history", "moth"]).done().out;
    assert!(story.contains("\n    2  "), "{story}");
    assert!(story.contains("git fetch --unshallow"), "{story}");
    let refused = in_a_line(&shed.run_in(&clone, &["rollback", "moth", "1"]).refused());
    assert!(refused.contains("only the end of its history"), "{refused}");
    shed.git_in(&clone, &["fetch", "-q", "--unshallow"]).done();
    assert_eq!(shed.run_in(&clone, &["history", "moth", "--json"]).done(), wanted);
    shed.run_in(&clone, &["garage", "check"]).done();
}

/// Where a clone begins with both sides of a choice, each is told by its own words, and the choice by what it is of.
#[test]
fn a_clone_that_begins_with_two_sides_tells_their_choice() {
    let shed = Shed::new();
    shed.run(&["proven", "moth"]).done();
    let stick = shed.above().join("stick.git");
    shed.run(&["share", "--with", stick.to_str().unwrap(), "--new"]).done();
    shed.git_in(shed.above(), &["clone", "-q", "stick.git", "van"]).done();
    let van = shed.above().join("van");
    shed.run_in(&van, &["change", "moth", "jetting.main=175", "--sure", "--why", "van cold"]).done();
    shed.run_in(&van, &["share"]).done();
    let day = "2026-05-17T10:00+02:00";
    shed.run_on(day, &["change", "moth", "gearing.rear=41", "--sure", "--why", "shop hairpin"]).done();
    shed.run_on(day, &["share", "--keep", "both", "moth", "--why", "together"]).done();
    for depth in ["3", "4"] {
        let (name, address) = (format!("end-{depth}"), format!("file://{}", stick.display()));
        shed.git_in(shed.above(), &["clone", "-q", "--depth", depth, &address, &name]).done();
        let clone = shed.above().join(name);
        let story = shed.run_in(&clone, &["history", "moth"]).done().out;
        assert!(story.contains("combined of 2 and 3, never run"), "{story}");
        assert_eq!(
            story.matches("combined").count(),
            2,
            "in the warning and in the line of the choice: {story}"
        );
        // Setups that nobody made stand in no line.
        assert!(!story.contains("\n    5  "), "{story}");
        shed.run_in(&clone, &["garage", "check"]).done();
    }
}

/// A clone that leaves files out says how they are brought.
#[test]
fn a_clone_without_its_files_says_what_brings_them() {
    let shed = Shed::new();
    shed.run(&["change", "moth", "jetting.main=175", "--sure", "--why", "cold"]).done();
    shed.git(&["config", "uploadpack.allowFilter", "true"]);
    let address = format!("file://{}", shed.root().display());
    let clone = shed.above().join("thin");
    shed.git_in(shed.above(), &["clone", "-q", "--filter=blob:none", &address, "thin"]).done();
    let refused = in_a_line(&shed.run_in(&clone, &["show", "moth", "1"]).refused());
    assert!(refused.contains("git fetch --refetch --no-filter"), "{refused}");
    shed.git_in(&clone, &["fetch", "-q", "--refetch", "--no-filter"]).done();
    shed.run_in(&clone, &["show", "moth", "1"]).done();
}

/// An index that git split is read by git alone: nothing is recorded, and the error says how it is made plain.
#[test]
fn an_index_that_git_split_is_said() {
    let shed = Shed::new();
    shed.git(&["update-index", "--split-index"]);
    let before = (shed.git(&["rev-parse", "HEAD"]), shed.files());
    let change = ["change", "moth", "jetting.main=175", "--sure", "--why", "cold"];
    let refused = in_a_line(&shed.run(&change).refused());
    assert!(refused.contains("git update-index --no-split-index"), "{refused}");
    assert_eq!((shed.git(&["rev-parse", "HEAD"]), shed.files()), before);
    shed.git(&["update-index", "--no-split-index"]);
    shed.run(&change).done();
}

/// Git's own index gone: the next record is no commit that takes all else out; damaged, the program builds it anew.
#[test]
fn an_index_of_gits_that_is_gone_or_damaged_is_built_anew() {
    let shed = Shed::new();
    let index = shed.root().join(".git/index");
    fs::remove_file(&index).unwrap();
    shed.run(&["change", "moth", "jetting.main=175", "--sure", "--why", "cold"]).done();
    assert_eq!(shed.git(&["status", "--porcelain"]), "");
    fs::write(&index, "DIRC and no more").unwrap();
    let change = ["change", "moth", "jetting.main=170", "--sure", "--despite", "warm", "--why", "warm"];
    let refused = in_a_line(&shed.run(&change).refused());
    assert!(
        refused.contains("Git's own index is damaged") && refused.contains("reedbook garage fix"),
        "{refused}"
    );
    shed.run(&["garage", "fix"]).done();
    assert_eq!(shed.git(&["status", "--porcelain"]), "");
    shed.run(&change).done();
    shed.assert_sound();
    assert!(shed.run(&["garage", "fix"]).done().out.contains("No merge of git is under way"));
}

/// A history with a hole says where it may be had again.
#[test]
fn a_history_with_a_hole_is_said() {
    let shed = Shed::new();
    shed.run(&["change", "moth", "jetting.main=175", "--sure", "--why", "cold"]).done();
    shed.git(&["gc", "-q"]);
    for file in fs::read_dir(shed.root().join(".git/objects/pack")).unwrap() {
        fs::remove_file(file.unwrap().path()).unwrap();
    }
    let refused = in_a_line(&shed.run(&["now", "moth"]).refused());
    assert!(refused.contains("bring the garage back from a copy"), "{refused}");
}
