//! A share that was stopped or refused behind the bringing: the next one says what came, lean runs first.

use std::fs;

use super::Yard;
use crate::common::in_a_line;

/// Nobody takes what is sent while git's own lock lies on the branch there.
fn refused_behind_the_bringing(yard: &Yard, time: &str, words: &[&str]) {
    let lock = yard.shed.above().join("stick.git/refs/heads/main.lock");
    fs::write(&lock, "").unwrap();
    let refused = yard.run("shop", time, words).refused();
    fs::remove_file(&lock).unwrap();
    assert!(refused.contains("lock"), "{refused}");
}

fn two_sides() -> Yard {
    let yard = Yard::new();
    yard.done("track", "16T11", &["outing", "add", "moth", "full=lean", "--note", "track one"]);
    yard.done("track", "16T12", &["change", "wasp", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T13", &["share"]);
    yard.done("shop", "16T14", &["change", "wasp", "ignition.base=14", "--why", "softer"]);
    yard
}

#[test]
fn what_a_refused_share_brought_is_said_once_by_the_next_lean_runs_first() {
    let yard = two_sides();
    refused_behind_the_bringing(&yard, "17T10", &["share", "--keep", "both", "wasp"]);
    let said = in_a_line(&yard.done("shop", "17T11", &["share"]));
    assert!(said.starts_with("!! moth run on setup 1, Ben:") && said.contains("track one"), "{said}");
    assert!(said.contains("An earlier share was stopped before it said what it brought"), "{said}");
    assert!(said.contains("is combined of two sides' changes and never ran"), "{said}");
    assert!(said.contains("your setup 2 is setup 3 now"), "{said}");
    assert!(said.contains("wasp setup 2, Ben") && said.contains("shorter"), "{said}");
    let again = in_a_line(&yard.done("shop", "17T12", &["share"]));
    assert_eq!(again, "Brought nothing new; nothing to send.");
    yard.done("track", "17T13", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

#[test]
fn what_a_refused_share_brought_is_said_beside_a_question_too() {
    let yard = two_sides();
    refused_behind_the_bringing(&yard, "17T10", &["share", "--keep", "there", "wasp"]);
    yard.done("track", "17T10", &["change", "wasp", "gearing.rear=42", "--why", "shorter again"]);
    yard.done("track", "17T11", &["share"]);
    let asked = yard.run("shop", "17T12", &["share"]);
    assert_eq!(asked.code, Some(1), "{}", asked.out);
    let said = in_a_line(&asked.out);
    assert!(said.starts_with("!! moth run on setup 1, Ben:"), "{said}");
    assert!(said.contains("Two setups of wasp"), "{said}");
    let again = in_a_line(&yard.run("shop", "17T13", &["share"]).out);
    assert!(!again.contains("moth run on setup 1"), "{again}");
}

/// A number that gave way before the refusal is said behind it.
#[test]
fn a_number_that_gave_way_in_a_refused_share_is_said_by_the_next() {
    let yard = two_sides();
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase", "--no-edit"]);
    refused_behind_the_bringing(&yard, "17T10", &["share"]);
    let said = in_a_line(&yard.done("shop", "17T11", &["share"]));
    assert!(said.contains("wasp: your setup 2 is setup 3 now"), "{said}");
}

/// A note that others wrote over is somebody's words: whoever had them reads them once more.
#[test]
fn a_note_that_was_written_over_is_said_to_those_who_had_it() {
    let yard = Yard::new();
    yard.done("track", "16T11", &["outing", "add", "moth", "full=right", "--note", "track one safe"]);
    yard.done("track", "16T12", &["share"]);
    yard.done("shop", "16T13", &["share"]);
    let edited =
        in_a_line(&yard.done("shop", "16T14", &["outing", "edit", "moth", "last", "note=heat 2 read again"]));
    assert!(edited.contains("note: \"track one safe\" → \"heat 2 read again\""), "{edited}");
    yard.done("shop", "16T15", &["share"]);
    let told = in_a_line(&yard.done("track", "16T16", &["share"]));
    assert!(told.contains("its note was \"track one safe\""), "{told}");
}

/// One bike's file with both sides in it keeps nobody from the other bikes, and an open merge nobody from logging what ran.
#[test]
fn an_open_merge_keeps_nobody_from_the_other_bikes() {
    let yard = Yard::new();
    let name = |side: &str, rider: &str| {
        let file = yard.at(side).join("bikes/moth/bike.toml");
        let text = fs::read_to_string(&file).unwrap_or_default();
        fs::write(&file, format!("rider = \"{rider}\"\n{text}")).unwrap();
        yard.shed.git_in(&yard.at(side), &["commit", "-qam", "rider"]).done();
    };
    name("track", "Ida");
    yard.shed.git_in(&yard.at("track"), &["push", "-q", "origin", "HEAD"]).done();
    name("shop", "Ivy");
    let shop = yard.at("shop");
    assert_ne!(yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase", "--no-edit"]).code, Some(0));
    let now = in_a_line(&yard.done("shop", "17T10", &["now"]));
    assert!(now.contains("wasp") && now.contains("moth: bikes/moth/bike.toml"), "{now}");
    let moth = in_a_line(&yard.done("shop", "17T10", &["now", "moth"]));
    assert!(moth.contains("Whether its setup is proven is not known"), "{moth}");
    let logged = in_a_line(&yard.done("shop", "17T11", &["outing", "add", "wasp", "full=lean"]));
    assert!(
        logged.contains("logged on setup 1") && logged.contains("A merge of git is still open"),
        "{logged}"
    );
    let files = yard.shed.outings("wasp");
    assert_eq!(files.len(), 1);
    let refused = yard.run("shop", "17T12", &["change", "wasp", "gearing.rear=41", "--why", "x"]).refused();
    assert!(refused.contains("A merge of git is under way"), "{refused}");
    yard.done("shop", "17T13", &["garage", "fix"]);
    assert_eq!(yard.shed.outings("wasp"), files);
    assert_eq!(yard.shed.git(&["status", "--porcelain"]), "");
}

/// Who logged a run is told where several do.
#[test]
fn who_logged_a_run_is_told_in_a_shared_garage() {
    let yard = Yard::new();
    yard.done("track", "16T11", &["outing", "add", "moth", "full=right", "--note", "of Ben"]);
    yard.done("track", "16T12", &["share"]);
    yard.done("shop", "16T13", &["share"]);
    yard.done("shop", "16T14", &["outing", "edit", "moth", "last", "plug=tan"]);
    yard.done("shop", "16T15", &["outing", "add", "moth", "full=rich", "--note", "of Ana"]);
    let show = yard.done("shop", "16T16", &["outing", "show", "moth"]);
    assert!(in_a_line(&show).contains("logged by Ana"), "{show}");
    let history = yard.json("shop", "16T16", &["history", "moth"]);
    let runs = history["setups"][0]["outings"].as_array().unwrap();
    let authors: Vec<&str> = runs.iter().map(|run| run["author"].as_str().unwrap()).collect();
    assert_eq!(authors.len(), 2, "{history:#}");
    assert!(authors.contains(&"Ben") && authors.contains(&"Ana"), "{history:#}");
    let history = in_a_line(&yard.done("shop", "16T16", &["history", "moth", "-v"]));
    assert!(history.contains("logged by Ben") && history.contains("logged by Ana"), "{history}");
}

/// Two bikes are asked about and answered one after the other: each reason stands with its own bike.
#[test]
fn each_answer_keeps_its_own_reason() {
    let yard = Yard::new();
    for (at, bike) in [("16T11", "moth"), ("16T12", "wasp")] {
        yard.done("track", at, &["change", bike, "gearing.rear=41", "--why", "shorter"]);
        yard.done("shop", at, &["change", bike, "ignition.base=14", "--why", "softer"]);
    }
    yard.done("track", "16T13", &["share"]);
    let words = ["share", "--keep", "here", "wasp", "--why", "wasp is \"slow\" there"];
    assert_eq!(yard.run("shop", "17T10", &words).code, Some(1), "moth is still asked");
    yard.done("shop", "17T11", &["share", "--keep", "there", "moth", "--why", "moth was right there"]);
    let log = yard.shed.git(&["log", "-3", "--format=%B%x00"]);
    let of = |bike: &str| {
        let trailer = format!("Bike: {bike}");
        log.split('\0').find(|message| message.contains(&trailer) && message.contains("Keep ")).unwrap()
    };
    assert!(of("wasp").contains("wasp is \"slow\" there") && !of("wasp").contains("moth was"), "{log}");
    assert!(of("moth").contains("moth was right there") && !of("moth").contains("wasp is"), "{log}");
    yard.done("track", "17T12", &["share"]);
    yard.assert_one(&["shop", "track"]);
}
