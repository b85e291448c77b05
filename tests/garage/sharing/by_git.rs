//! What plain git did beside a share: said before it is sent, and no number that others know moves.

use super::Yard;
use crate::common::{in_a_line, setup_file};

/// Both sides turned the spark: the question says by how much and where, as `compare` does.
#[test]
fn a_map_that_both_sides_changed_is_asked_about_in_degrees() {
    let yard = Yard::new();
    let map = "base = 15\nmap_kind = \"relative\"\nrpm = [6000, 9000, 11000]\nadvance = [5, 4, 2]\n";
    yard.shed.edit(&setup_file("moth"), "base = 15\n", map);
    yard.done("shop", "16T10", &["change", "moth", "--why", "its map"]);
    yard.done("shop", "16T10", &["share"]);
    yard.done("track", "16T10", &["share"]);
    for (side, cell) in [("track", "ignition.advance@9000=5"), ("shop", "ignition.advance@9000=2")] {
        yard.done(side, "16T11", &["change", "moth", cell, "--why", side, "--sure"]);
    }
    yard.done("shop", "16T12", &["share"]);
    let said = in_a_line(&yard.run("track", "16T13", &["share"]).out);
    for wanted in
        ["there, from before: ", "here, from before: ", "there, from here: 3.0 degrees less at 9,000 rpm"]
    {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    assert!(!said.contains("map of"), "{said}");
    let asked = yard.json("track", "16T13", &["share"]);
    let map = &asked["questions"][0]["fields"][0]["map"];
    assert_eq!(map["theirs_from_ours"], "3.0 degrees less at 9,000 rpm", "{asked:#}");
}

/// A shared setup that `git revert` took back keeps its number on both sides, and who did it is told before anybody else.
#[test]
fn a_shared_setup_that_git_took_back_keeps_its_number() {
    let yard = Yard::new();
    yard.done("track", "16T11", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T12", &["share"]);
    yard.done("shop", "16T12", &["share"]);
    yard.shed.git_in(&yard.at("track"), &["revert", "--no-edit", "HEAD"]).done();
    assert!(!yard.read("track", "bikes/moth/numbers").contains("\n2 "));
    let said = in_a_line(&yard.done("track", "16T13", &["share"]));
    assert!(said.contains("git took setup 2 back") && said.contains("keeps its number"), "{said}");
    assert!(yard.read("track", "bikes/moth/numbers").contains("\n2 "));
    yard.done("shop", "16T14", &["share"]);
    yard.assert_one(&["track", "shop"]);
    let story = yard.story("shop", "moth");
    assert!(story[1] == "2 shorter" && story[2].starts_with("3 Revert"), "{story:?}");
}

/// The same where it was sent with git alone: the others take it in with their own number for it.
#[test]
fn a_shared_setup_that_git_took_back_and_sent_keeps_its_number_with_the_others() {
    let yard = Yard::new();
    yard.done("track", "16T11", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T12", &["share"]);
    yard.done("shop", "16T12", &["share"]);
    yard.shed.git_in(&yard.at("track"), &["revert", "--no-edit", "HEAD"]).done();
    yard.shed.git_in(&yard.at("track"), &["push", "-q"]).done();
    let refused = in_a_line(&yard.run("shop", "16T13", &["share"]).refused());
    assert!(refused.contains("the number 2 of moth"), "{refused}");
    yard.done("shop", "16T13", &["share", "--anyway"]);
    let story = yard.story("shop", "moth");
    assert!(story[1] == "2 shorter" && story[2].starts_with("3 Revert"), "{story:?}");
}

/// What git alone recorded since the bike ran is no more on it than what a command recorded.
#[test]
fn what_git_recorded_since_the_bike_ran_is_a_job() {
    let air = ["--temp", "20", "--baro", "990", "--humidity", "50"];
    let yard = Yard::new();
    yard.done("shop", "16T10", &["change", "moth", "jetting.main=172", "--why", "richer"]);
    let run: Vec<&str> = ["outing", "add", "moth", "full=right"].into_iter().chain(air).collect();
    yard.done("shop", "16T11", &run);
    yard.shed.git_in(&yard.at("shop"), &["revert", "--no-edit", "HEAD~1"]).done();
    for words in [["job", "moth"], ["now", "moth"]] {
        let said = in_a_line(&yard.done("shop", "17T10", &words));
        assert!(said.contains("main 172 → 170"), "{words:?}: {said}");
    }
    // Its number stays when more is to be done.
    yard.done("shop", "17T11", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    let said = in_a_line(&yard.done("shop", "17T12", &["job", "moth"]));
    assert!(said.contains("[ ] 1 main 172 → 170"), "{said}");
    let rejet: Vec<&str> = ["rejet", "moth"].into_iter().chain(air).collect();
    let said = in_a_line(&yard.done("shop", "17T10", &rejet));
    assert!(said.contains("172"), "{said}");
}

/// Who goes on with a bike that the others retired is told, when it comes and whenever something is recorded of it.
#[test]
fn a_bike_that_the_others_retired_is_said_to_be() {
    let yard = Yard::new();
    yard.done("shop", "16T10", &["bike", "retire", "wasp"]);
    yard.done("shop", "16T11", &["share"]);
    yard.done("track", "16T12", &["outing", "add", "wasp", "full=right"]);
    let said = in_a_line(&yard.done("track", "16T13", &["share"]));
    assert!(said.contains("The others retired wasp") && said.contains("retire wasp --back"), "{said}");
    for words in [
        vec!["now", "wasp"],
        vec!["history", "wasp"],
        vec!["change", "wasp", "gearing.rear=41", "--why", "shorter"],
        vec!["outing", "add", "wasp", "full=right"],
    ] {
        let said = in_a_line(&yard.done("track", "16T14", &words));
        assert!(said.contains("wasp is retired since"), "{words:?}: {said}");
    }
    yard.done("track", "16T15", &["bike", "retire", "wasp", "--back"]);
    assert!(!yard.done("track", "16T16", &["now", "wasp"]).contains("retired"));
}

/// A merge that git left open is the first thing that is said, and nothing that cannot be done before it is ended.
#[test]
fn a_merge_that_git_left_open_is_said_first_and_ended_first() {
    let yard = Yard::new();
    for (side, gear) in [("track", "gearing.rear=41"), ("shop", "gearing.rear=42")] {
        yard.done(side, "16T11", &["change", "moth", gear, "--why", side]);
    }
    yard.done("track", "16T12", &["share"]);
    let shop = yard.at("shop");
    assert_ne!(yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase", "--no-edit"]).code, Some(0));
    let check = in_a_line(&yard.run("shop", "16T13", &["garage", "check"]).out);
    assert!(
        check.starts_with("! A merge of git is under way") && check.contains("reedbook garage fix"),
        "{check}"
    );
    assert!(!check.contains("git checkout") && !check.contains("git commit -m"), "{check}");
    // Recorded with its marks all the same, what is advised mends it.
    yard.shed.git_in(&shop, &["add", "-A"]).done();
    yard.shed.git_in(&shop, &["commit", "-qm", "merged"]).done();
    let check = in_a_line(&yard.run("shop", "16T14", &["garage", "check"]).out);
    assert!(check.contains("reedbook rollback moth latest --lose-edits"), "{check}");
    yard.done("shop", "16T15", &["rollback", "moth", "latest", "--lose-edits"]);
    yard.done("shop", "16T16", &["garage", "check"]);
}
