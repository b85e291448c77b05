//! What a share brings of lean runs: each is said, a choice that lets one go is said too, and needs a reason.

use super::Yard;
use crate::common::in_a_line;

/// The shop logged a lean run, both sides have it, and each mended it: the track took the verdict back, the shop wrote that it seized.
fn mended_on_both_sides() -> Yard {
    let yard = Yard::new();
    yard.done("shop", "16T10", &["outing", "add", "moth", "full=lean"]);
    yard.done("shop", "16T11", &["share"]);
    yard.done("track", "16T12", &["share"]);
    yard.done(
        "track",
        "16T13",
        &["outing", "edit", "moth", "last", "full=right", "-n", "an eighth, not full"],
    );
    yard.done("track", "16T14", &["share"]);
    yard.done("shop", "16T15", &["outing", "edit", "moth", "last", "-n", "it seized, sorry"]);
    yard
}

#[test]
fn a_lean_run_that_came_is_said_first_with_what_now_says() {
    let yard = Yard::new();
    yard.done("track", "16T10", &["outing", "add", "wasp", "full=right"]);
    yard.done(
        "track",
        "16T11",
        &["outing", "add", "moth", "full=lean", "-n", "seized at the end of the straight"],
    );
    yard.done("track", "16T12", &["share"]);
    let said = yard.done("shop", "16T13", &["share"]);
    assert!(said.starts_with("!! moth run on setup 1, Ben: 2026-05-16 11:00"), "{said}");
    let line = in_a_line(&said);
    assert!(line.contains("!! moth: The notes say \"seized\": taken as lean. Do not run it on"), "{said}");
    assert!(said.contains("\nwasp run on setup 1, Ben: 2026-05-16 10:00"), "{said}");
    assert!(line.contains("Brought 2 outings"), "{said}");

    yard.done("track", "17T10", &["outing", "edit", "moth", "last", "full=right", "-n", "it was the chain"]);
    yard.done("track", "17T11", &["share"]);
    let said = yard.json("shop", "17T12", &["share"]);
    assert_eq!(
        (&said["runs"][0]["what"], &said["runs"][0]["lets_go"]),
        (&"fixed".into(), &true.into()),
        "{said:#}"
    );
    yard.done("track", "18T10", &["outing", "add", "moth", "full=lean"]);
    yard.done("track", "18T11", &["share"]);
    let said = yard.json("shop", "18T12", &["share"]);
    assert_eq!(
        (&said["runs"][0]["lean"], &said["runs"][0]["author"]),
        (&true.into(), &"Ben".into()),
        "{said:#}"
    );
    assert_eq!(said["stops"][0]["bike"], "moth", "{said:#}");
}

#[test]
fn every_field_of_a_run_stands_in_the_question_and_a_lean_run_goes_only_for_a_reason() {
    let yard = mended_on_both_sides();
    let said = yard.json("shop", "16T16", &["share"]);
    let question = &said["questions"][0];
    let fields: Vec<&str> =
        question["fields"].as_array().unwrap().iter().map(|field| field["field"].as_str().unwrap()).collect();
    assert_eq!(fields, ["notes", "verdict.full"], "{said:#}");
    assert_eq!(
        (&question["theirs"]["lets_go"], &question["ours"]["lets_go"]),
        (&true.into(), &false.into()),
        "{said:#}"
    );
    let told = in_a_line(&yard.run("shop", "16T16", &["share"]).out);
    for wanted in [
        "!! Both sides fixed the run of moth on 2026-05-16 10:00",
        "Until this is answered it counts as lean: nothing leaner on moth",
        "!! What stands there lets the lean run go",
    ] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
    let subject = question["subject"].as_str().unwrap();
    let head = yard.head("shop");
    let refused = in_a_line(&yard.run("shop", "16T17", &["share", "--keep", "there", subject]).refused());
    assert!(refused.contains("is no lean run any more: what it forbids would be gone"), "{refused}");
    assert!(refused.contains("--keep there") && refused.contains("--why"), "{refused}");
    assert_eq!(yard.head("shop"), head);

    // Ours is the lean one: it holds, whole, and the verdict that they took back with it.
    yard.done("shop", "16T18", &["share", "--keep", "here", subject]);
    let text = yard.read("shop", subject);
    assert!(text.contains("full = \"lean\"") && text.contains("it seized, sorry"), "{text}");
    yard.done("track", "16T19", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

#[test]
fn a_reason_lets_a_lean_run_go_and_stays_in_the_record() {
    let yard = mended_on_both_sides();
    let said = yard.json("shop", "16T16", &["share"]);
    let subject = said["questions"][0]["subject"].as_str().unwrap().to_owned();
    let words = ["share", "--keep", "there", &subject, "--why", "it was Ben's other bike"];
    let said = in_a_line(&yard.done("shop", "16T17", &words));
    assert!(said.contains("!! moth run") && said.contains("It was lean here, and is so no more"), "{said}");
    let text = yard.read("shop", &subject);
    assert!(text.contains("full = \"right\"") && text.contains("an eighth, not full"), "{text}");
    let log = yard.shed.git(&["log", "-1", "--format=%B"]);
    assert!(log.contains("it was Ben's other bike"), "{log}");
    yard.done("track", "16T19", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

/// A setup that is kept under lean runs which came with it is not called good.
#[test]
fn what_is_kept_under_lean_runs_is_said() {
    let yard = Yard::new();
    yard.done("track", "16T10", &["outing", "add", "moth", "full=lean"]);
    yard.done("track", "16T11", &["change", "moth", "jetting.main=180", "--why", "lean", "--sure"]);
    yard.done("track", "16T12", &["share"]);
    let words = ["change", "moth", "jetting.main=165", "--why", "hot", "--sure", "--despite", "hot day"];
    yard.done("shop", "16T13", &words);
    let said = yard.done("shop", "16T14", &["share", "--keep", "here", "moth", "--why", "hot day"]);
    assert!(said.contains("!! moth run on setup") && said.contains("\n!! moth: "), "{said}");
}
