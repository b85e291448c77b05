//! Answers that count, and numbers that stay: what was settled, what was shown, and what two sides are together.

use std::fs;

use super::{Yard, both_sides};
use crate::common::in_a_line;

/// What was settled stays settled, also where the other side is put back to before it.
#[test]
fn numbers_that_were_settled_stay_so_against_an_older_stick() {
    let yard = both_sides();
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase", "--no-edit"]);
    yard.shed.git_in(&shop, &["push", "-q"]).done();
    let doubled = yard.head("shop");
    yard.done("shop", "17T10", &["share"]);
    let settled = yard.read("shop", "bikes/moth/numbers");
    assert!(settled.contains(" was 2"), "{settled}");
    // The stick as it was before, with one setup more that knows of both.
    let stick = yard.shed.above().join("stick.git");
    yard.shed.git_in(&yard.at("track"), &["fetch", "-q"]).done();
    yard.shed.git_in(&yard.at("track"), &["reset", "-q", "--hard", doubled.trim()]).done();
    yard.done("track", "17T11", &["change", "wasp", "gearing.rear=43", "--why", "later"]);
    let numbers = yard.at("track").join("bikes/moth/numbers");
    let text = fs::read_to_string(&numbers).unwrap();
    fs::write(&numbers, format!("{text}\n")).unwrap();
    yard.shed.git_in(&yard.at("track"), &["commit", "-qam", "a line"]).done();
    yard.shed.git_in(&yard.at("track"), &["push", "-q", "--force"]).done();
    assert!(stick.is_dir());
    let refused = in_a_line(&yard.run("shop", "17T12", &["share"]).refused());
    assert!(refused.contains("rewritten"), "{refused}");
    yard.done("shop", "17T13", &["share", "--anyway"]);
    let now = yard.read("shop", "bikes/moth/numbers");
    let claims = |text: &str| {
        let mut lines: Vec<String> =
            text.lines().filter(|line| !line.is_empty()).map(str::to_owned).collect();
        lines.sort();
        lines
    };
    assert_eq!(claims(&now), claims(&settled), "a number that was shared moved");
    yard.done("track", "17T14", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

/// Both sides that hold a doubled number, and share it, are not left without a way out.
#[test]
fn a_number_that_is_doubled_on_both_sides_is_settled_by_the_next_share() {
    let yard = both_sides();
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase", "--no-edit"]);
    yard.shed.git_in(&shop, &["push", "-q"]).done();
    yard.shed.git_in(&yard.at("track"), &["pull", "-q"]).done();
    let said = yard.json("track", "17T10", &["share"]);
    assert_eq!(said["renumbered"][0]["was"], 2, "{said:#}");
    yard.done("shop", "17T11", &["share"]);
    yard.assert_one(&["shop", "track"]);
    let history = yard.done("shop", "17T12", &["history", "moth"]);
    assert!(!history.contains("is two"), "{history}");
}

/// What one side changed there and back again adds nothing: both together are the other side, and are not taken for a third.
#[test]
fn both_that_are_one_of_the_sides_are_no_third() {
    let yard = Yard::new();
    yard.done("track", "16T12", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T13", &["change", "moth", "gearing.rear=40", "--why", "and back"]);
    yard.done("track", "16T14", &["share"]);
    yard.done("shop", "16T15", &["change", "moth", "ignition.base=14", "--why", "softer"]);
    let asked = in_a_line(&yard.run("shop", "17T10", &["share"]).out);
    assert!(!asked.contains("share --keep both moth"), "{asked}");
    let refused = in_a_line(&yard.run("shop", "17T11", &["share", "--keep", "both", "moth"]).refused());
    assert!(refused.contains("together they are just what is here"), "{refused}");
    yard.done("shop", "17T12", &["share", "--keep", "here", "moth"]);
}

/// An answer is to what was shown; what was sent since is shown before it is answered.
#[test]
fn an_answer_to_what_was_shown_is_none_to_what_came_since() {
    let yard = both_sides();
    assert_eq!(yard.run("shop", "17T10", &["share"]).code, Some(1));
    yard.done("track", "17T11", &["change", "moth", "gearing.rear=42", "--why", "shorter still"]);
    yard.done("track", "17T12", &["share"]);
    let asked = yard.run("shop", "17T13", &["share", "--keep", "both", "moth"]);
    let said = in_a_line(&asked.out);
    assert_eq!(asked.code, Some(1), "{said}");
    assert!(said.contains("that answer does not count") && said.contains("shorter still"), "{said}");
    yard.done("shop", "17T14", &["share", "--keep", "both", "moth"]);
    yard.done("track", "17T15", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

/// Of two questions the one that is answered first is said to be noted, and git knows afterwards what the other side has.
#[test]
fn an_answer_that_waits_for_another_is_said_to_be_noted() {
    let yard = both_sides();
    yard.done("track", "16T15", &["change", "wasp", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T16", &["share"]);
    yard.done("shop", "16T17", &["change", "wasp", "ignition.base=14", "--why", "softer"]);
    assert_eq!(yard.run("shop", "17T10", &["share"]).code, Some(1));
    let first = yard.run("shop", "17T11", &["share", "--keep", "both", "wasp"]);
    let said = in_a_line(&first.out);
    assert!(first.code == Some(1) && said.contains("wasp: noted."), "{said}");
    assert!(said.contains("Two setups of moth") && !said.contains("Two setups of wasp"), "{said}");
    yard.done("shop", "17T12", &["share", "--keep", "both", "moth"]);
    let status = yard.shed.git_in(&yard.at("shop"), &["status", "-sb"]).done().out;
    assert!(!status.contains("ahead") && !status.contains("gone"), "{status}");
}
