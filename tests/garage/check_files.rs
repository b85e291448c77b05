//! `garage check` holds the disk, the newest commit and git's index beside each other, and names what nobody reads. Nothing
//! that is missing is recorded as removed without a word. Git itself is the outside source.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use std::collections::BTreeMap;
use std::fs;

use crate::common::{Shed, setup_file};

/// What the check says of files, by path.
fn states(shed: &Shed) -> BTreeMap<String, String> {
    let answer = shed.run(&["garage", "check", "--json"]);
    let check: serde_json::Value = serde_json::from_str(&answer.out).unwrap();
    let text = |value: &serde_json::Value| value.as_str().unwrap().to_owned();
    let all = check["unrecorded"].as_array().unwrap().iter();
    all.map(|one| (text(&one["file"]), text(&one["state"]))).collect()
}

fn season() -> Shed {
    let shed = Shed::new();
    for day in 1..=6 {
        let date = format!("2026-05-0{day}");
        shed.run_on(
            "2026-05-10T10:00+02:00",
            &["outing", "add", "moth", "full=right", "--date", &date, "--setup", "1"],
        )
        .done();
    }
    shed.run(&["part", "add", "p1", "--kind", "piston"]).done();
    assert_eq!(states(&shed), BTreeMap::new(), "a garage that is as it was recorded");
    shed
}

#[test]
fn deleted_changed_new_and_staged_files_are_told_apart() {
    let shed = season();
    let outing = shed.outings("moth").remove(0);
    let files = shed.git(&["ls-files", "bikes/moth/outings"]);
    let outing = files.lines().find(|file| file.contains(&outing)).unwrap().to_owned();
    fs::remove_file(shed.root().join(&outing)).unwrap();
    shed.edit(&setup_file("moth"), "main = 170", "main = 172");
    shed.write("parts/p2.toml", "kind = \"piston\"\n");
    shed.git(&["rm", "-q", "--cached", "parts/p1.toml"]);
    shed.edit("garage.toml", "layout = 1", "layout = 1 # by hand");
    let wanted = [
        (outing.as_str(), "deleted"),
        ("bikes/moth/setup.toml", "changed"),
        ("garage.toml", "changed"),
        ("parts/p1.toml", "staged"),
        ("parts/p2.toml", "new"),
    ];
    let wanted = wanted.map(|(file, state)| (file.to_owned(), state.to_owned()));
    assert_eq!(states(&shed), BTreeMap::from(wanted));
    for (file, state) in states(&shed) {
        let out = shed.run(&["garage", "check"]).out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(out.contains(&format!("! {file} ")), "{state}: {out}");
    }
    shed.git(&["reset", "-q"]);
    assert_eq!(states(&shed).get("parts/p1.toml"), None);
}

#[test]
fn what_nobody_reads_is_named_with_what_may_be_wrong_with_its_name() {
    let shed = season();
    shed.write("bikes/moth/outings/20260516-0900-0000000000aa.toml.txt", "");
    shed.write("bikes/moth/outings/20260516-0900-0000000000bb.TOML", "");
    shed.write("bikes/moth/Setup.toml", "");
    shed.write("bikes/moth/maps/Advance.csv", "");
    shed.write("parts/P2.toml", "kind = \"piston\"\n");
    shed.write("parts/p3.toml.txt", "");
    shed.write("engines/Spare/engine.toml", "");
    shed.write("bikes/moth/Outings/x.toml", "");
    shed.write("bikes/moth/photo.jpg", "");
    shed.write("notes.toml", "the user's own");
    fs::create_dir(shed.root().join("bikes/moth/outings/20260517")).unwrap();
    let overlooked = [
        "bikes/moth/Outings",
        "bikes/moth/Setup.toml",
        "bikes/moth/maps/Advance.csv",
        "bikes/moth/outings/20260516-0900-0000000000aa.toml.txt",
        "bikes/moth/outings/20260516-0900-0000000000bb.TOML",
        "bikes/moth/outings/20260517",
        "engines/Spare",
        "parts/P2.toml",
        "parts/p3.toml.txt",
    ];
    let wanted = overlooked.map(|file| (file.to_owned(), "overlooked".to_owned()));
    assert_eq!(states(&shed), BTreeMap::from(wanted));
    let out = shed.run(&["garage", "check"]).out.split_whitespace().collect::<Vec<_>>().join(" ");
    for name in ["call it parts/p3.toml.", "call it parts/p2.toml.", "call it bikes/moth/setup.toml."] {
        assert!(out.contains(name), "{name}: {out}");
    }
}

#[cfg(unix)]
#[test]
fn a_folder_and_a_pipe_in_a_documents_place_are_named() {
    let shed = season();
    let folder = "bikes/moth/outings/20260516-0900-0000000000aa.toml";
    fs::create_dir(shed.root().join(folder)).unwrap();
    let check = shed.run(&["garage", "check"]);
    assert_eq!(check.code, Some(1));
    let out = check.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains(&format!("This garage has a folder at {folder}, where a file belongs.")), "{out}");
}

#[test]
fn missing_files_are_never_recorded_as_removed_by_the_way() {
    let shed = season();
    let all = shed.git(&["ls-files"]);
    for file in
        all.lines().filter(|file| file.starts_with("bikes/moth/outings/") || file.starts_with("parts/"))
    {
        fs::remove_file(shed.root().join(file)).unwrap();
    }
    let said = shed.run(&["outing", "add", "moth", "full=right", "--sure"]).done().out;
    assert!(said.contains("missing on disk"), "{said}");
    shed.run(&["change", "moth", "jetting.main=172", "--why", "cooler"]).done();
    shed.run(&["part", "add", "p2", "--kind", "piston"]).done();
    // One that is not there may have been a lean one.
    let vouched = shed.run(&["proven", "moth"]).refused();
    assert!(vouched.contains("may have"), "{vouched}");
    let kept = shed.git(&["ls-tree", "-r", "--name-only", "HEAD"]);
    for file in all.lines() {
        assert!(kept.lines().any(|kept| kept == file), "{file} was recorded as removed");
    }
    assert_eq!(states(&shed).values().filter(|state| *state == "deleted").count(), 7);
    shed.git(&["checkout", "-q", "HEAD", "--", "."]);
    assert_eq!(shed.outings("moth").len(), 7);
}

#[test]
fn a_map_that_is_gone_is_taken_out_with_a_word() {
    let shed = Shed::new();
    shed.write("bikes/moth/maps/old.csv", "rpm,4000,8000\n,10,20\n");
    shed.run(&["change", "moth", "jetting.main=172", "--why", "with a map"]).done();
    fs::remove_file(shed.root().join("bikes/moth/maps/old.csv")).unwrap();
    let said = shed.run(&["change", "moth", "jetting.main=174", "--why", "without"]).done().out;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("bikes/moth/maps/old.csv is not on disk any more"), "{said}");
    shed.assert_clean();
}

#[test]
fn a_garage_without_its_own_file_is_known_by_its_history_and_gets_it_back() {
    let shed = season();
    let own = shed.root().join("garage.toml");
    let before = fs::read(&own).unwrap();
    fs::remove_file(&own).unwrap();
    for words in [&["garage", "check"][..], &["now"], &["rejet", "moth"], &["outing", "list"]] {
        let said = shed.run(words).refused().split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains("garage.toml is gone from"), "{words:?}: {said}");
        assert!(said.contains("reedbook garage fix garage.toml"), "{words:?}: {said}");
    }
    shed.run(&["garage", "fix", "garage.toml"]).done();
    assert_eq!(fs::read(&own).unwrap(), before);
    assert_eq!(states(&shed), BTreeMap::new());
}
