//! What nobody expects of a share: a bike taken out, a number moved, a share stopped half-way, an engine that changes bikes by itself.

use std::fs;

use serde_json::Value;

use super::Yard;
use crate::common::{in_a_line, setup_file};

impl Yard {
    fn commit_at_track(&self, why: &str) {
        self.git_track(&["add", "-A"]);
        self.git_track(&["commit", "-q", "-m", why]);
        self.git_track(&["push", "-q"]);
    }

    #[track_caller]
    fn nothing_moves(&self, wanted: &str) {
        let before = (self.head("shop"), self.shed.files());
        let refused = in_a_line(&self.run("shop", "18T10", &["share"]).refused());
        assert!(refused.contains(wanted), "{wanted}: {refused}");
        assert_eq!((self.head("shop"), self.shed.files()), before, "{wanted}");
    }
}

#[test]
fn a_bike_that_the_other_side_took_out_stays_until_it_is_said() {
    let yard = Yard::new();
    yard.done("shop", "16T10", &["outing", "add", "wasp", "full=right"]);
    yard.done("shop", "16T11", &["share"]);
    yard.done("track", "16T12", &["share"]);
    yard.git_track(&["rm", "-rqf", "bikes/wasp", "engines/wasp-engine"]);
    yard.commit_at_track("tidied");
    yard.nothing_moves("took out the bike wasp, the engine wasp-engine");
    // Beside something recorded here it is the same.
    yard.done("shop", "16T13", &["outing", "add", "moth", "full=right"]);
    yard.nothing_moves("took out the bike wasp, the engine wasp-engine");
    let said = in_a_line(&yard.done("shop", "18T11", &["share", "--anyway"]));
    assert!(said.contains("Others took out what was here") && said.contains("outings: 1"), "{said}");
    assert!(yard.shed.git(&["show", "refs/reedbook/before:bikes/wasp/setup.toml"]).contains("rear = 40"));
    // One command brings it back, to everybody.
    let refused = in_a_line(&yard.run("shop", "18T12", &["history", "wasp"]).refused());
    assert!(refused.contains("reedbook bike retire wasp --back"), "{refused}");
    yard.run("shop", "18T12", &["bike", "retire", "bee", "--back"]).refused();
    yard.done("shop", "18T13", &["bike", "retire", "wasp", "--back"]);
    assert_eq!(yard.story("shop", "wasp"), ["1 as bought"]);
    assert!(yard.done("shop", "18T14", &["outing", "list", "wasp"]).contains("right"));
    yard.shed.assert_sound();
    yard.done("shop", "18T15", &["share"]);
    yard.done("track", "18T16", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

#[test]
fn a_number_that_was_shared_stays_where_it_is() {
    let yard = Yard::new();
    let file = yard.at("track").join("bikes/moth/numbers");
    let moved = fs::read_to_string(&file).unwrap().replacen("1 ", "33 ", 1);
    fs::write(&file, moved).unwrap();
    yard.commit_at_track("renumbered");
    yard.nothing_moves("took out the number 1 of moth");
}

#[test]
fn files_that_came_are_counted_whatever_they_are() {
    let yard = Yard::new();
    fs::write(yard.at("track").join("plan.txt"), "grid walk at ten\n").unwrap();
    yard.commit_at_track("plan");
    let said = yard.done("shop", "17T10", &["share"]);
    assert!(said.contains("1 other file"), "{said}");
}

#[test]
fn what_lies_in_the_history_alone_is_looked_at_too() {
    let yard = Yard::new();
    fs::write(yard.at("track").join("big.toml"), vec![b'#'; 2 * 1024 * 1024]).unwrap();
    yard.git_track(&["add", "-A"]);
    yard.git_track(&["commit", "-q", "-m", "in"]);
    fs::remove_file(yard.at("track").join("big.toml")).unwrap();
    yard.commit_at_track("out again");
    yard.nothing_moves("big.toml has 2097152 bytes");
}

#[test]
fn attributes_that_change_files_or_start_programs_are_refused() {
    let yard = Yard::new();
    for line in ["* filter=x", "*.toml text eol=crlf", "*.toml diff=tool"] {
        let text = format!("* -text\n{line}\n");
        fs::write(yard.at("track").join(".gitattributes"), text).unwrap();
        yard.commit_at_track("attributes");
        yard.nothing_moves(".gitattributes would have git change files or start a program");
    }
}

#[test]
fn a_repository_is_made_in_no_garage_and_among_no_files() {
    let yard = Yard::new();
    let full = yard.shed.above().join("full");
    fs::create_dir(&full).unwrap();
    fs::write(full.join("photo.jpg"), "x").unwrap();
    for (place, wanted) in [
        ("bikes", "lies in the garage itself"),
        ("stick.git", "lies in the garage itself"),
        ("../full", "is there already and not empty"),
    ] {
        let before = yard.shed.files();
        let refused = in_a_line(&yard.run("shop", "17T10", &["share", "--with", place, "--new"]).refused());
        assert!(refused.contains(wanted), "{place}: {refused}");
        assert_eq!(yard.shed.files(), before);
    }
    assert_eq!(fs::read_dir(&full).unwrap().count(), 1);
}

/// An engine goes into another bike and comes back; then the sides share nothing but a run each.
#[test]
fn a_merge_moves_no_engine_and_makes_no_setup_of_a_bike_that_nobody_touched() {
    let yard = Yard::new();
    yard.done("shop", "16T10", &["change", "wasp", "engine=moth-engine", "--why", "lent"]);
    yard.done("shop", "16T11", &["change", "moth", "engine=moth-engine", "--why", "back"]);
    yard.done("shop", "16T12", &["change", "moth", "head.insert=B", "--why", "other insert"]);
    yard.done("shop", "16T13", &["share"]);
    yard.done("track", "16T14", &["share"]);
    let stories = || (yard.story("shop", "moth"), yard.story("shop", "wasp"));
    let (before, engines) = (stories(), yard.done("shop", "16T15", &["engine", "list"]));
    yard.done("track", "16T16", &["outing", "add", "wasp", "full=right", "--sure"]);
    yard.done("track", "16T17", &["share"]);
    yard.done("shop", "16T18", &["outing", "add", "moth", "full=right"]);
    yard.done("shop", "16T19", &["share"]);
    assert_eq!(stories(), before);
    assert_eq!(yard.done("shop", "16T20", &["engine", "list"]), engines);
    yard.done("shop", "16T21", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
}

#[test]
fn a_file_with_both_sides_in_it_is_not_sent_and_the_tool_mends_it() {
    let yard = Yard::new();
    yard.done("track", "16T12", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T13", &["share"]);
    yard.done("shop", "16T14", &["change", "moth", "gearing.rear=42", "--why", "shorter still"]);
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase"]);
    assert!(yard.read("shop", &setup_file("moth")).contains("<<<<<<<"));
    let checked = in_a_line(&yard.run("shop", "16T15", &["garage", "check"]).out);
    assert!(checked.contains("reedbook garage fix"), "{checked}");
    yard.shed.git(&["commit", "-q", "-am", "oops"]);
    let refused = in_a_line(&yard.run("shop", "17T10", &["share"]).refused());
    assert!(refused.contains("cannot be read, so nothing was sent"), "{refused}");
    assert!(refused.contains("reedbook rollback moth latest --lose-edits"), "{refused}");
    let back = in_a_line(&yard.done("shop", "17T11", &["rollback", "moth", "latest", "--lose-edits"]));
    assert!(back.contains("was recorded on the other side and is not in it: nobody chose"), "{back}");
    yard.done("shop", "17T12", &["share"]);
    yard.done("track", "17T13", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

#[test]
fn a_bike_without_its_first_setup_can_be_begun_on_either_side() {
    let yard = Yard::new();
    yard.done("shop", "16T10", &["bike", "new", "lark", "--template", "injected"]);
    yard.done("shop", "16T11", &["share"]);
    yard.done("track", "16T12", &["share"]);
    let checked = in_a_line(&yard.done("track", "16T13", &["garage", "check"]));
    assert!(checked.contains("lark has no setup yet") && checked.contains("all sound"), "{checked}");
    yard.done("track", "16T14", &["bike", "new", "lark", "--template", "injected"]);
    yard.done("track", "16T15", &["change", "lark", "gearing.rear=41", "--why", "first"]);
    assert_eq!(yard.story("track", "lark"), ["1 first"]);
    let taken = yard.run("track", "16T16", &["bike", "new", "lark"]).refused();
    assert!(taken.contains("already"), "{taken}");
}

/// Two weekends of which one changed the jet and the other the spark.
fn two_weekends() -> Yard {
    let yard = Yard::new();
    yard.done("track", "16T11", &["change", "moth", "jetting.main=172", "--why", "hot"]);
    let run = [
        "outing",
        "add",
        "moth",
        "full=rich",
        "--place",
        "Teal Pass",
        "--temp",
        "20",
        "--baro",
        "990",
        "--humidity",
        "50",
    ];
    yard.done("track", "16T12", &run);
    yard.done("track", "16T13", &["share"]);
    yard.done("shop", "16T14", &["change", "moth", "ignition.base=14", "--why", "softer"]);
    yard
}

#[test]
fn a_question_says_how_each_side_ran_and_the_history_what_each_changed() {
    let yard = two_weekends();
    let asked = in_a_line(&yard.run("shop", "17T10", &["share"]).out);
    for wanted in
        ["on 2026-05-16 11:00: hot", "ran 2026-05-16 12:00 | Teal Pass", "rich", "no run logged on it"]
    {
        assert!(asked.contains(wanted), "{wanted}: {asked}");
    }
    yard.done("shop", "17T11", &["share", "--keep", "both", "moth"]);
    let history = yard.json("shop", "17T12", &["history", "moth"]);
    let fields = |place: usize| -> Vec<&str> {
        let changes = history["setups"][place]["changes"].as_array().unwrap();
        changes.iter().map(|change| change["field"].as_str().unwrap()).collect()
    };
    assert_eq!(history["setups"][2]["author"], "Ben");
    assert_eq!((fields(2), fields(1)), (vec!["jetting.main"], vec!["ignition.base"]), "{history:#}");
}

#[test]
fn what_was_combined_says_so_until_it_ran() {
    let yard = two_weekends();
    yard.done("shop", "17T11", &["share", "--keep", "both", "moth"]);
    for words in [&["now", "moth"][..], &["job", "moth"], &["history", "moth"]] {
        let said = in_a_line(&yard.done("shop", "17T12", words));
        assert!(said.contains("never r") && said.contains("start rich"), "{words:?}: {said}");
    }
    let refused = in_a_line(&yard.run("shop", "17T13", &["proven", "moth", "--why", "x"]).refused());
    assert!(refused.contains("combined of two sides' changes and never ran"), "{refused}");
    yard.done("shop", "17T14", &["outing", "add", "moth", "full=right"]);
    yard.done("shop", "17T15", &["proven", "moth", "--why", "x"]);
    let now = in_a_line(&yard.done("shop", "17T16", &["now", "moth"]));
    assert!(!now.contains("never ran"), "{now}");
}

/// A share that was killed when its files stood and its branch did not: the next command finishes it before it reads anything, and says so.
#[test]
fn a_share_that_was_stopped_half_way_is_finished_before_anything_is_answered() {
    let yard = two_weekends();
    let before = yard.head("shop").trim().to_owned();
    yard.done("shop", "17T11", &["share", "--keep", "both", "moth"]);
    let after = yard.head("shop").trim().to_owned();
    let tree = |commit: &str, path: &str| -> Value {
        let found =
            yard.shed.git_in(&yard.at("shop"), &["rev-parse", "-q", "--verify", &format!("{commit}:{path}")]);
        if found.code == Some(0) { found.out.trim().into() } else { Value::Null }
    };
    let paths = yard.shed.git(&["diff", "--name-only", &before, &after]);
    let files: Vec<Value> = paths
        .lines()
        .map(|path| serde_json::json!({"path": path, "before": tree(&before, path), "after": tree(&after, path)}))
        .collect();
    yard.shed.git(&["update-ref", "refs/heads/main", &before]);
    let note = serde_json::json!({"from": before, "commit": after, "files": files});
    fs::write(yard.at("shop").join(".git/reedbook/unfinished"), note.to_string()).unwrap();
    let logged = yard.run("shop", "17T12", &["outing", "add", "moth", "full=right"]).done();
    let err = in_a_line(&logged.err);
    assert!(err.contains("stopped half-way is finished, a setup of moth"), "{err}");
    assert!(err.contains("Combined, never run"), "{err}");
    assert!(in_a_line(&logged.out).contains("logged on setup 4"), "{}", logged.out);
    assert!(in_a_line(&logged.out).contains("Taken as done"), "{}", logged.out);
    assert_eq!(yard.run("shop", "17T13", &["now"]).done().err, "");
    yard.done("shop", "17T14", &["share"]);
    yard.done("track", "17T15", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

#[test]
fn a_doubled_number_is_settled_by_a_share_and_a_rebase_is_named() {
    let yard = two_weekends();
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["pull", "-q", "--no-rebase", "--no-edit"]);
    let said = in_a_line(&yard.done("shop", "17T10", &["now", "moth"]));
    assert!(in_a_line(&said).contains("once it is settled with reedbook share"), "{said}");
    assert!(!said.contains("taken out of"), "{said}");
    let refused = in_a_line(&yard.run("shop", "17T10", &["rollback", "moth", "2"]).refused());
    assert!(refused.contains("reedbook share"), "{refused}");

    let yard = two_weekends();
    yard.done(
        "shop",
        "16T15",
        &["change", "moth", "jetting.main=165", "--why", "leaner", "--sure", "--despite", "x"],
    );
    yard.shed.git_in(&yard.at("shop"), &["pull", "-q", "--rebase"]);
    let refused = in_a_line(&yard.run("shop", "17T10", &["outing", "add", "moth", "full=right"]).refused());
    assert!(
        refused.contains("rebase of git is under way") && refused.contains("reedbook garage fix"),
        "{refused}"
    );
    // The tool alone ends it, and what both sides recorded is asked about.
    let before = yard.shed.git_in(&yard.at("shop"), &["rev-parse", "refs/heads/main"]).done().out;
    let ended = in_a_line(&yard.done("shop", "17T11", &["garage", "fix"]));
    assert!(ended.contains("The rebase is ended"), "{ended}");
    assert_eq!(yard.head("shop"), before);
    let shop = yard.at("shop");
    assert_eq!(yard.shed.git_in(&shop, &["status", "--porcelain"]).done().out, "");
    assert_eq!(yard.shed.git_in(&shop, &["symbolic-ref", "HEAD"]).done().out.trim(), "refs/heads/main");
    let asked = in_a_line(&yard.run("shop", "17T12", &["share"]).out);
    assert!(asked.contains("Two setups of moth: which of them holds?"), "{asked}");
}

/// Theirs picked onto what was here: both sides have the same words, and only the values tell them apart.
#[test]
fn a_setup_that_was_picked_from_the_other_side_is_not_shown_as_two() {
    let yard = two_weekends();
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["fetch", "-q"]).done();
    let picked = yard.shed.git_in(&shop, &["cherry-pick", "-X", "theirs", "FETCH_HEAD~1"]);
    assert_eq!(picked.code, Some(0), "{}", picked.err);
    let said = in_a_line(&yard.run("shop", "17T10", &["share"]).out);
    assert!(said.contains("here: the same setup, picked onto what was there before"), "{said}");
    assert!(said.contains("there: setup 2 there, Ben"), "{said}");
    yard.done("shop", "17T11", &["share", "--keep", "there", "moth"]);
    let why = yard.shed.git_in(&shop, &["log", "-1", "--format=%s"]).done().out;
    assert!(why.contains("not the same, put onto another setup by git"), "{why}");
}

#[test]
fn a_setup_that_cannot_be_read_is_not_asked_about_as_if_it_were_empty() {
    let yard = Yard::new();
    yard.done("track", "16T10", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T11", &["share"]);
    let file = yard.shed.root().join(setup_file("moth"));
    let whole = fs::read_to_string(&file).unwrap();
    fs::write(&file, format!("{whole}\n][\n")).unwrap();
    yard.shed.git(&["commit", "-qam", "by hand"]);
    for words in [&["share"][..], &["share", "--keep", "here", "moth"]] {
        let refused = in_a_line(&yard.run("shop", "16T12", words).refused());
        assert!(refused.contains("bikes/moth/setup.toml is recorded here and cannot be read"), "{refused}");
        assert!(refused.contains("reedbook rollback moth latest --lose-edits"), "{refused}");
    }
}

#[test]
fn a_table_that_cannot_be_read_is_not_taken_in() {
    let yard = Yard::new();
    fs::write(yard.at("track").join("configs/limits.toml"), "[open\n").unwrap();
    yard.commit_at_track("by hand");
    yard.nothing_moves("What the other side has is not taken in: configs/limits.toml cannot be read");
    yard.done("shop", "18T11", &["outing", "add", "wasp", "full=right"]);
    yard.nothing_moves("configs/limits.toml cannot be read");
    yard.done("shop", "18T12", &["now", "wasp"]);
}

#[test]
fn a_bike_that_is_retired_here_and_one_engine_in_two_bikes_are_said() {
    let yard = Yard::new();
    yard.done("track", "16T10", &["outing", "add", "wasp", "full=right"]);
    yard.done("track", "16T11", &["change", "moth", "engine=wasp-engine", "--why", "lent"]);
    yard.done("track", "16T12", &["share"]);
    yard.done("shop", "16T13", &["bike", "retire", "wasp"]);
    let said = in_a_line(&yard.done("shop", "16T14", &["share"]));
    assert!(said.contains("! wasp is retired here, and went on elsewhere (Ben)"), "{said}");
    yard.done("shop", "16T15", &["bike", "retire", "wasp", "--back"]);
    yard.done("shop", "16T16", &["share"]);
    yard.done("track", "16T17", &["share"]);
    yard.done("track", "16T18", &["change", "moth", "gearing.rear=42", "--why", "longer"]);
    yard.done("track", "16T19", &["share"]);
    let said = in_a_line(&yard.done("shop", "16T20", &["share"]));
    assert!(said.contains("The engine wasp-engine is in moth (setup 3, Ben) and in wasp (setup 1"), "{said}");
    // Whoever logs a run on the one that lost it is told, too.
    let asked = in_a_line(&yard.run("shop", "16T21", &["outing", "add", "wasp", "full=right"]).refused());
    assert!(asked.contains("which engine ran in wasp?"), "{asked}");
    let sure = ["outing", "add", "wasp", "full=right", "--sure"];
    let said = in_a_line(&yard.done("shop", "16T21", &sure));
    assert!(said.contains("The engine wasp-engine went into moth with its setup 2"), "{said}");
    assert!(said.contains("reedbook change wasp engine="), "{said}");
    let said = in_a_line(&yard.done("shop", "16T22", &["outing", "add", "moth", "full=right"]));
    assert!(!said.contains("went into"), "{said}");
}

/// Both went on with a bike that one of them had retired.
#[test]
fn a_question_of_a_retired_bike_says_that_it_is_retired() {
    let yard = Yard::new();
    yard.done("track", "16T10", &["change", "wasp", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T11", &["share"]);
    yard.done("shop", "16T12", &["bike", "retire", "wasp"]);
    yard.done("shop", "16T13", &["change", "wasp", "gearing.rear=42", "--why", "longer"]);
    let said = in_a_line(&yard.run("shop", "16T14", &["share"]).out);
    assert!(said.contains("! It is retired here, and both sides went on with it"), "{said}");
    assert!(said.contains("reedbook bike retire wasp --back"), "{said}");
    let json = yard.json("shop", "16T15", &["share"]);
    assert!(json["questions"][0]["retired"].as_str().unwrap().starts_with("It is retired here"), "{json}");
}

#[test]
fn the_same_change_on_both_sides_is_said_to_be_the_same() {
    let yard = Yard::new();
    for side in ["track", "shop"] {
        yard.done(side, "16T10", &["change", "moth", "gearing.rear=41", "--why", side]);
        yard.done(side, "16T12", &["share"]);
    }
    let said = in_a_line(&yard.done("shop", "16T13", &["history", "moth"]));
    assert!(said.contains("rear sprocket 40 → 41, the same as setup 2"), "{said}");
    assert!(said.matches("the same as").count() == 1, "{said}");
}

/// A squashed branch has its line in the list, before the setup that was chosen.
#[test]
fn what_git_squashed_has_its_number_before_what_was_chosen() {
    let yard = two_weekends();
    let shop = yard.at("shop");
    yard.shed.git_in(&shop, &["fetch", "-q"]).done();
    yard.shed.git_in(&shop, &["merge", "-q", "--squash", "-X", "theirs", "FETCH_HEAD"]);
    yard.shed.git_in(&shop, &["commit", "-qam", "squashed"]).done();
    let checked = in_a_line(&yard.run("shop", "17T10", &["garage", "check"]).out);
    assert!(checked.contains("reedbook share brings it where the others have it"), "{checked}");
    yard.done("shop", "17T11", &["share", "--keep", "there", "moth"]);
    let numbers = yard.read("shop", "bikes/moth/numbers");
    let setups = yard.json("shop", "17T12", &["history", "moth"])["setups"].as_array().unwrap().len();
    assert_eq!(numbers.lines().count(), setups, "{numbers}");
    let newest = &yard.json("shop", "17T13", &["now", "moth"])["bikes"][0]["setup"];
    assert_eq!(newest.as_u64().unwrap(), setups as u64, "{numbers}");
    yard.done("track", "17T14", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

/// What the others would refuse to take is not sent, and what stops them is said to whoever sends it.
#[test]
fn a_garage_without_its_first_file_is_not_sent_and_a_bike_taken_out_is_said() {
    let yard = Yard::new();
    yard.shed.git(&["rm", "-q", "--cached", "garage.toml"]);
    yard.shed.git(&["commit", "-qm", "tidied"]);
    let refused = in_a_line(&yard.run("shop", "16T10", &["share"]).refused());
    assert!(refused.contains("garage.toml is in no commit any more, so nothing was sent"), "{refused}");
    yard.shed.git(&["add", "garage.toml"]);
    yard.shed.git(&["commit", "-qm", "back"]);
    yard.done("shop", "16T11", &["share"]);
    yard.shed.git(&["rm", "-rqf", "bikes/wasp"]);
    yard.shed.git(&["commit", "-qm", "sold"]);
    let said = in_a_line(&yard.done("shop", "16T12", &["share"]));
    assert!(said.contains("! wasp was taken out here, and that is sent"), "{said}");
}
