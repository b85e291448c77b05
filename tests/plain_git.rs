//! A garage is ordinary git: what someone with a text editor and git alone does to it is understood, and what the program
//! does to it is plain to git. Git's own commands are the reference.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

mod common;

use std::fs;
use std::path::Path;

use common::{SETUP, Shed, setup_file};

fn numbers(shed: &Shed, bike: &str) -> Vec<String> {
    shed.read(&format!("bikes/{bike}/numbers")).lines().map(str::to_owned).collect()
}

fn head(shed: &Shed) -> String {
    shed.git(&["rev-parse", "HEAD"]).trim().to_owned()
}

#[test]
fn a_value_changed_by_hand_is_a_setup_and_a_comment_is_not() {
    let shed = Shed::new();
    shed.commit_edit(&setup_file("moth"), "main = 170 ", "main = 175 ", "main up, by hand\n\nIt was cold.");
    let by_hand = head(&shed);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 main up, by hand\n\nIt was cold."]);
    assert_eq!(shed.setups("moth")[0].id, by_hand, "without a trailer the commit's id is the identity");
    shed.commit_edit(&setup_file("moth"), "# the big one", "# the biggest", "a comment");
    shed.commit_edit(&setup_file("moth"), "front = 15\nrear = 40", "rear = 40\nfront = 15", "another order");
    shed.commit_edit(&setup_file("moth"), "main = 175 ", "main = \"175\" ", "another way to write it");
    assert_eq!(shed.story("moth").len(), 2);
    assert_eq!(shed.story("wasp"), ["1 as bought"]);

    assert_eq!(numbers(&shed, "moth").len(), 1, "a reading command gave a number for good");
    shed.assert_clean();
    shed.run(&["change", "moth", "jetting.main=176", "--why", "by command"]).done();
    let written = numbers(&shed, "moth");
    assert_eq!(written[1..], [format!("2 {by_hand}"), format!("3 {}", shed.setups("moth")[0].id)]);
    let text = shed.read(&setup_file("moth"));
    assert!(text.contains("# the biggest") && text.contains("rear = 40\nfront = 15"), "{text}");
    shed.assert_clean();
    shed.assert_sound();
    fs::remove_file(shed.root().join(".git/reedbook/index.sqlite")).unwrap();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 main up, by hand\n\nIt was cold.", "3 by command"]);
    assert_eq!(numbers(&shed, "moth"), written);
}

/// Two setups were recorded on each of two branches: both sides took the numbers 2 and 3.
fn two_sides() -> Shed {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run_on("2026-05-17T10:00+02:00", &["change", "moth", "ignition.base=14", "--why", "side two"]).done();
    shed.run_on("2026-05-19T10:00+02:00", &["change", "moth", "ignition.base=13", "--why", "side three"]).done();
    shed.git(&["checkout", "-q", "main"]);
    shed.run_on("2026-05-18T10:00+02:00", &["change", "moth", "gearing.rear=41", "--why", "main two"]).done();
    shed.run_on("2026-05-20T10:00+02:00", &["change", "moth", "gearing.rear=42", "--why", "main three"]).done();
    shed
}

/// What a merge of the two sides must tell: those of main keep their numbers, and the merge itself is a setup.
const TWO_SIDES: [&str; 6] = ["1 as bought", "4 side two", "2 main two", "5 side three", "3 main three", "6 merged"];

#[test]
fn a_merge_of_two_sides_loses_no_setup_and_the_first_line_keeps_its_number() {
    let shed = two_sides();
    shed.git(&["merge", "-q", "side", "-m", "merged"]);
    assert_eq!(shed.story("moth"), TWO_SIDES);
    let values = shed.read(&setup_file("moth"));
    assert!(values.contains("base = 13") && values.contains("rear = 42"), "{values}");
    shed.assert_clean();
    fs::remove_file(shed.root().join(".git/reedbook/index.sqlite")).unwrap();
    assert_eq!(shed.story("moth"), TWO_SIDES, "a fresh index gives other numbers");

    shed.run_on("2026-05-21T10:00+02:00", &["change", "moth", "jetting.main=180", "--why", "after"]).done();
    let story: Vec<_> = TWO_SIDES.iter().copied().chain(["7 after"]).collect();
    assert_eq!(shed.story("moth"), story);
    let written: Vec<_> = numbers(&shed, "moth").iter().map(|line| line.split(' ').next().unwrap().to_owned()).collect();
    assert_eq!(written, ["1", "2", "3", "4", "5", "6", "7"]);
    shed.assert_clean();
    shed.assert_sound();
}

/// The same where git was not told how to merge the numbers, and someone left both sides' lines in the file.
#[test]
fn numbers_that_were_merged_by_hand_are_understood() {
    let shed = two_sides();
    let _ = fs::remove_file(shed.root().join(".gitattributes"));
    let merge = shed.git_in(&shed.root(), &["merge", "side", "-m", "merged"]);
    assert_eq!(merge.code, Some(1), "the numbers did not conflict");
    assert_eq!(shed.story("moth").len(), 3, "a merge that is under way is not recorded yet");
    let both: String = shed.read("bikes/moth/numbers").lines().filter(|line| !line.starts_with(['<', '=', '>'])).map(|line| format!("{line}\n")).collect();
    assert_eq!(both.lines().count(), 5);
    shed.write("bikes/moth/numbers", both);
    shed.git(&["commit", "-q", "-a", "-m", "merged"]);
    assert_eq!(shed.story("moth"), TWO_SIDES);
    shed.run_on("2026-05-21T10:00+02:00", &["change", "moth", "jetting.main=180", "--why", "after"]).done();
    assert_eq!(shed.story("moth")[..6], TWO_SIDES);
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn a_merge_that_keeps_one_side_makes_that_side_the_newest() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run_on("2026-05-17T10:00+02:00", &["change", "moth", "ignition.base=14", "--why", "an experiment"]).done();
    shed.git(&["checkout", "-q", "main"]);
    shed.git(&["merge", "-q", "--no-ff", "-s", "ours", "side", "-m", "not kept"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 an experiment", "3 not kept"]);
    let compared = shed.json(&["compare", "moth", "latest", "now"]);
    assert_eq!(compared["changes"].as_array().map(Vec::len), Some(0), "{compared:#}");
    shed.run(&["garage", "check"]).done();
}

#[test]
fn a_comment_on_a_branch_is_no_setup_after_the_merge_either() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.commit_edit(&setup_file("moth"), "# the big one", "# the biggest", "a comment");
    shed.git(&["checkout", "-q", "main"]);
    shed.run_on("2026-05-15T10:00+02:00", &["change", "moth", "gearing.rear=42", "--why", "shorter"]).done();
    shed.git(&["merge", "-q", "side", "-m", "merged"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 shorter"]);
    shed.run(&["garage", "check"]).done();
}

#[test]
fn a_cherry_picked_setup_is_known_once_by_its_identity() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run(&["change", "moth", "ignition.base=14", "--why", "softer"]).done();
    let id = shed.setups("moth")[0].id.clone();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    shed.git(&["checkout", "-q", "main"]);
    shed.git(&["commit", "-q", "--allow-empty", "-m", "nothing"]);
    shed.git(&["cherry-pick", "-x", "side~1"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 softer"]);
    assert_eq!(shed.setups("moth")[0].id, id);
    shed.git(&["merge", "-q", "side", "-m", "merged"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 softer"]);
    let outing = shed.json(&["outing", "show", "moth"]);
    assert_eq!(outing["setup"], 2, "{outing:#}");
    shed.run(&["change", "moth", "ignition.base=13", "--why", "softer still"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 softer", "3 softer still"]);
    shed.assert_clean();
    shed.assert_sound();
}

/// Picked onto other values it is another combination, which cannot have the same identity.
#[test]
fn a_setup_picked_onto_another_one_is_a_setup_of_its_own() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run_on("2026-05-17T10:00+02:00", &["change", "moth", "ignition.base=14", "--why", "softer"]).done();
    let id = shed.setups("moth")[0].id.clone();
    shed.git(&["checkout", "-q", "main"]);
    shed.run_on("2026-05-18T10:00+02:00", &["change", "moth", "gearing.rear=42", "--why", "shorter"]).done();
    shed.git_on("2026-05-19T10:00+02:00", &["cherry-pick", "side"]);
    shed.git_on("2026-05-20T10:00+02:00", &["merge", "-q", "side", "-m", "merged"]);
    let setups = shed.setups("moth");
    assert_eq!(setups.iter().filter(|setup| setup.id == id).count(), 1);
    let whys: Vec<_> = setups.iter().rev().map(|setup| setup.why.as_str()).collect();
    assert_eq!(whys, ["as bought", "softer", "shorter", "softer"]);
    let mut numbers: Vec<_> = setups.iter().map(|setup| setup.number).collect();
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=setups.len() as u64).collect::<Vec<_>>());
    let compared = shed.json(&["compare", "moth", "latest", "now"]);
    assert_eq!(compared["changes"].as_array().map(Vec::len), Some(0), "{compared:#}");
    shed.run(&["garage", "check"]).done();
}

#[test]
fn another_branch_has_another_history() {
    let shed = two_sides();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 main two", "3 main three"]);
    shed.git(&["checkout", "-q", "side"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 side two", "3 side three"]);
    shed.git(&["checkout", "-q", "--detach", "main~1"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 main two"]);
    shed.git(&["checkout", "-q", "main"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 main two", "3 main three"]);
    shed.assert_sound();
}

const ENGINE: &str = "[engine]\nbore = 54\nstroke = 54.5\nrod = 110\n";

#[test]
fn an_engine_changed_by_hand_counts_for_the_bike_that_has_it() {
    let shed = Shed::new();
    let file = "engines/moth-engine/engine.toml";
    shed.write(file, ENGINE);
    shed.git(&["commit", "-q", "-a", "-m", "measured"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 measured"]);
    assert_eq!(shed.story("wasp").len(), 1);

    shed.run(&["change", "wasp", "engine=moth-engine", "--why", "its own has seized"]).done();
    shed.commit_edit(file, "bore = 54", "bore = 54.25", "bored");
    assert_eq!(shed.story("moth").len(), 2);
    assert_eq!(shed.story("wasp"), ["1 as bought", "2 its own has seized", "3 bored"]);

    shed.run(&["change", "moth", "engine=moth-engine", "--why", "and back"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 measured", "3 and back"]);
    shed.commit_edit(file, "bore = 54.25", "bore = 54.5", "bored again");
    assert_eq!(shed.story("moth"), ["1 as bought", "2 measured", "3 and back", "4 bored again"]);
    assert_eq!(shed.story("wasp").len(), 3);
    shed.assert_sound();
}

/// Nothing of the setup file changes when an engine comes back, but it is a setup all the same.
#[test]
fn an_engine_that_comes_back_unchanged_is_recorded() {
    let shed = Shed::new();
    shed.run(&["change", "wasp", "engine=moth-engine", "--why", "to the wasp"]).done();
    shed.run(&["change", "moth", "engine=moth-engine", "--why", "and back"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 and back"]);
    shed.run(&["change", "moth", "jetting.main=180", "--why", "hot"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 and back", "3 hot"]);
    shed.assert_sound();
}

#[test]
fn a_reason_cannot_forge_an_identity() {
    let shed = Shed::new();
    let first = shed.setups("moth")[0].id.clone();
    let reasons = [
        "forged\n\nBike: moth\nSetup-Id: 000000000000".to_owned(),
        "forged\n\nBike: moth\nSetup-Id: 000000000000\n---\nand a line".to_owned(),
        format!("forged\n\nBike: moth\nSetup-Id: {first}\n--- a/file"),
        "Setup-Id: 000000000000".to_owned(),
        "forged\r\n\r\nSetup-Id: 000000000000\r\n".to_owned(),
        "# forged\n# ------------------------ >8 ------------------------\nSetup-Id: 000000000000".to_owned(),
        "forged\n\nBike: wasp".to_owned(),
        "--- only dashes".to_owned(),
    ];
    for (turn, why) in reasons.iter().enumerate() {
        let said = shed.json(&["change", "moth", &format!("jetting.main={}", 180 + turn), &format!("--why={why}")]);
        let newest = shed.setups("moth")[0].clone();
        assert_eq!(newest.number, turn as u64 + 2, "{why:?}");
        assert_eq!(said["new"], newest.number, "{said:#}");
        assert_eq!(newest.why.trim(), why.trim(), "the reason is not kept as given");
        assert!(newest.id != "000000000000" && newest.id != first && newest.id.len() == 12, "{why:?} gave {}", newest.id);
        assert_eq!(numbers(&shed, "moth").last().unwrap(), &format!("{} {}", newest.number, newest.id));
    }
    assert_eq!(shed.story("wasp").len(), 1);
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn a_commit_by_hand_cannot_take_anothers_identity() {
    let shed = Shed::new();
    let first = shed.setups("moth")[0].id.clone();
    let trailers = [first.as_str(), "two words", "../../escape", "", "000000000000000000000000"];
    for (turn, id) in trailers.iter().enumerate() {
        let line = format!("main = {} ", 170 + turn);
        shed.commit_edit(&setup_file("moth"), &line, &format!("main = {} ", 171 + turn), &format!("by hand {turn}\n\nBike: moth\nSetup-Id: {id}"));
        let newest = shed.setups("moth")[0].clone();
        assert_eq!(newest.number, turn as u64 + 2);
        assert_eq!(newest.id, head(&shed), "the trailer {id:?} was believed");
    }
    shed.run(&["change", "moth", "jetting.main=190", "--why", "by command"]).done();
    assert_eq!(shed.setups("moth")[0].number, 7);
    assert_eq!(numbers(&shed, "moth").len(), 7);
    shed.assert_sound();
}

#[test]
fn numbers_beyond_reason_do_no_harm() {
    let shed = Shed::new();
    let known = shed.read("bikes/moth/numbers");
    shed.write("bikes/moth/numbers", format!("{known}4294967295 aaaaaaaaaaaa\n99999999999999999999 bbbbbbbbbbbb\n0 cccccccccccc\n-1 dddddddddddd\nx\n\n"));
    shed.git(&["commit", "-q", "-a", "-m", "numbers by hand"]);
    let answer = shed.run(&["change", "moth", "jetting.main=180", "--why", "hot"]);
    assert!(!answer.err.contains("panicked"), "{}", answer.err);
    assert_eq!(shed.story("moth")[0], "1 as bought");
    let mut given: Vec<_> = shed.setups("moth").iter().map(|setup| setup.number).collect();
    given.dedup();
    assert_eq!(given.len(), shed.setups("moth").len());
}

#[cfg(unix)]
#[test]
fn names_and_files_that_are_not_text_are_passed_over() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let shed = Shed::new();
    let bike = shed.root().join("bikes/moth");
    fs::create_dir_all(bike.join("maps")).unwrap();
    fs::create_dir_all(bike.join("outings")).unwrap();
    for folder in ["", "maps", "outings"] {
        for ending in ["toml", "csv"] {
            let name = [b"\xff\xfe.".as_slice(), ending.as_bytes()].concat();
            fs::write(bike.join(folder).join(OsStr::from_bytes(&name)), "x").unwrap();
        }
    }
    fs::create_dir(shed.root().join("bikes").join(OsStr::from_bytes(b"\xff"))).unwrap();
    shed.git(&["add", "-A"]);
    shed.git(&["commit", "-q", "-m", "odd names"]);
    shed.run(&["change", "moth", "jetting.main=180", "--why", "hot"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 hot"]);
    shed.assert_clean();
    for words in [["garage", "check"].as_slice(), &["garage", "check", "--json"]] {
        let check = shed.run(words);
        assert_eq!(check.code, Some(1), "an outing that nobody can take in is worth knowing: {}", check.err);
        assert!(check.out.contains("bikes/moth/outings/"), "{}", check.out);
    }
    fs::remove_file(bike.join("outings").join(OsStr::from_bytes(b"\xff\xfe.toml"))).unwrap();
    shed.git(&["commit", "-q", "-a", "-m", "an odd name less"]);
    shed.assert_sound();

    shed.write("bikes/moth/outings/20260516-0900-0000000000aa.toml", b"notes = \"\xff\"\n");
    let list = shed.json(&["outing", "list", "moth"]);
    assert_eq!(list["unreadable"].as_array().unwrap().len(), 1, "{list:#}");
    fs::remove_file(bike.join("outings/20260516-0900-0000000000aa.toml")).unwrap();

    let sound = shed.read(&setup_file("moth"));
    shed.write(&setup_file("moth"), [sound.as_bytes(), b"# \xff\n"].concat());
    let complaint = shed.run(&["change", "moth", "jetting.main=181", "--why", "hot"]).refused();
    assert!(complaint.contains("bikes/moth/setup.toml"), "{complaint}");
    shed.git(&["commit", "-q", "-a", "-m", "not text"]);
    assert_eq!(shed.story("moth").len(), 2, "a file that cannot be read is no setup");
    shed.write(&setup_file("moth"), &sound);
    shed.git(&["commit", "-q", "-a", "-m", "mended"]);
    assert_eq!(shed.story("moth").len(), 2, "mended to what it was is no change");
    shed.assert_sound();
}

#[cfg(unix)]
#[test]
fn a_setup_file_that_is_a_link_is_never_written_through() {
    let shed = Shed::new();
    let outside = shed.above().join("outside.toml");
    let text = SETUP.replace("ENGINE", "moth-engine");
    fs::write(&outside, &text).unwrap();
    let file = shed.root().join(setup_file("moth"));
    fs::remove_file(&file).unwrap();
    std::os::unix::fs::symlink(&outside, &file).unwrap();
    let answer = shed.run(&["change", "moth", "jetting.main=180", "--why", "hot"]);
    assert_eq!(fs::read_to_string(&outside).unwrap(), text);
    if answer.code == Some(0) {
        shed.assert_clean();
        assert!(!file.symlink_metadata().unwrap().is_symlink());
        assert_eq!(shed.story("moth"), ["1 as bought", "2 hot"]);
    } else {
        assert!(answer.refused().contains("setup.toml"));
        assert_eq!(shed.story("moth"), ["1 as bought"]);
    }
    shed.git(&["fsck", "--strict"]);
}

#[test]
fn line_ends_and_byte_order_marks_are_kept() {
    for (mark, end) in [("", "\r\n"), ("\u{feff}", "\n"), ("\u{feff}", "\r\n")] {
        let shed = Shed::new();
        let text = format!("{mark}{}", shed.read(&setup_file("moth")).replace('\n', end));
        shed.write(&setup_file("moth"), &text);
        assert_eq!(shed.json(&["compare", "moth"])["changes"].as_array().map(Vec::len), Some(0));
        shed.git(&["commit", "-q", "-a", "-m", "another editor"]);
        assert_eq!(shed.story("moth").len(), 1, "line ends are no change");
        shed.run(&["change", "moth", "jetting.main=180", "gearing.rear=44", "--why", "hot"]).done();
        let wanted = text.replace("main = 170 ", "main = 180 ").replace("rear = 40", "rear = 44");
        assert_eq!(shed.read(&setup_file("moth")), wanted);
        shed.assert_clean();
        shed.assert_sound();
    }
}

/// Git for Windows turns line ends unless it is told not to.
#[test]
fn a_clone_that_would_turn_line_ends_is_told_not_to() {
    let shed = Shed::new();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    shed.git_in(shed.above(), &["clone", "-q", "-c", "core.autocrlf=true", "garage", "clone"]).done();
    let clone = shed.above().join("clone");
    let count = |shed: &Shed| shed.git_in(&clone, &["rev-list", "--count", "HEAD"]).done().out.trim().parse::<u32>().unwrap();
    let before = count(&shed);
    shed.run_in(&clone, &["change", "moth", "jetting.main=180", "--why", "hot"]).done();
    assert_eq!(count(&shed), before + 1, "outings were taken in that nobody edited");
    assert_eq!(shed.git_in(&clone, &["status", "--porcelain"]).done().out, "");
    let changed = shed.git_in(&clone, &["show", "--numstat", "--format="]).done().out;
    assert_eq!(changed, "1\t0\tbikes/moth/numbers\n1\t1\tbikes/moth/setup.toml\n");
}

#[test]
fn a_clone_is_a_whole_garage() {
    let shed = Shed::new();
    shed.run(&["change", "moth", "jetting.main=175", "--why", "cold"]).done();
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
        shed.run_in(&clone, &["change", "moth", "jetting.main=180", "--why", "hot"]).done();
        let fsck = shed.git_in(&clone, &["fsck", "--strict", "--no-progress"]).done();
        assert_eq!((fsck.out.as_str(), fsck.err.as_str()), ("", ""));
        assert_eq!(shed.git_in(&clone, &["status", "--porcelain"]).done().out, "");
    }
}

#[test]
fn a_detached_head_is_moved_and_no_branch_is() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "--detach"]);
    let main = shed.git(&["rev-parse", "main"]);
    shed.run(&["change", "moth", "jetting.main=180", "--why", "hot"]).done();
    assert_eq!(shed.git(&["rev-parse", "main"]), main);
    assert_eq!(shed.git(&["rev-parse", "HEAD~1"]), main);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 hot"]);
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn a_repository_without_commits_is_a_garage_to_begin_with() {
    let shed = Shed::new();
    fs::remove_dir_all(shed.root().join(".git")).unwrap();
    fs::remove_file(shed.root().join("bikes/moth/numbers")).unwrap();
    shed.git(&["init", "-q"]);
    assert!(shed.setups("moth").is_empty());
    shed.run(&["garage", "check"]).done();
    shed.run(&["change", "moth", "jetting.main=180", "--why", "begun anew"]).done();
    assert_eq!(shed.story("moth"), ["1 begun anew"]);
    shed.git(&["add", "-A"]);
    shed.git(&["commit", "-q", "-m", "the rest"]);
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn a_second_work_tree_is_a_garage_too() {
    let shed = Shed::new();
    shed.git(&["worktree", "add", "-q", "-b", "side", "../side"]);
    let side = shed.above().join("side");
    shed.run_in(&side, &["change", "moth", "jetting.main=180", "--why", "on the side"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought"]);
    assert_eq!(shed.git_in(&side, &["status", "--porcelain"]).done().out, "");
    assert_eq!(shed.git(&["log", "-1", "--format=%s", "side"]), "on the side\n");
    let own = fs::read_dir(shed.root().join(".git/worktrees/side")).unwrap();
    let names: Vec<_> = own.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    assert!(!names.contains(&"objects".to_owned()), "objects were looked for in the work tree's own folder: {names:?}");
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn what_the_user_has_staged_stays_staged() {
    let shed = Shed::new();
    shed.write("shopping.txt", "reeds\n");
    shed.write("configs/shares.toml", format!("{}\n# mine\n", shed.read("configs/shares.toml")));
    shed.git(&["add", "shopping.txt", "configs"]);
    shed.run(&["change", "moth", "jetting.main=180", "--why", "hot"]).done();
    assert_eq!(shed.git(&["status", "--porcelain"]), "M  configs/shares.toml\nA  shopping.txt\n");
    assert_eq!(shed.git(&["show", "--format=", "--name-only"]), "bikes/moth/numbers\nbikes/moth/setup.toml\n");
}

#[test]
fn git_finds_nothing_to_complain_of() {
    let shed = Shed::new();
    for turn in 0..6 {
        shed.run(&["change", "moth", &format!("jetting.main={}", 180 + turn), "--why", "hot ☀\nand dry"]).done();
        shed.run(&["outing", "add", "moth", "full=right"]).done();
    }
    for words in [["log", "--stat"].as_slice(), &["fsck", "--strict", "--no-progress"], &["gc", "-q"], &["fsck", "--full", "--no-progress"], &["status"]] {
        let answer = shed.git_in(&shed.root(), words).done();
        assert_eq!(answer.err, "", "git {words:?}");
    }
    assert_eq!(shed.git(&["log", "-1", "--format=%an <%ae> %ad | %(trailers:key=Bike,valueonly)", "--date=iso"]).trim(), "Ana <ana@example.org> 2026-05-16 10:00:00 +0200 | moth");
    let packed = shed.setups("moth");
    assert_eq!(packed.len(), 7);
    fs::remove_dir_all(shed.root().join(".git/reedbook")).unwrap();
    assert_eq!(shed.setups("moth"), packed);
    shed.run(&["change", "moth", "jetting.main=199", "--why", "after the packing"]).done();
    shed.assert_clean();
    shed.assert_sound();
}

/// Nothing that the garage's own settings name is run: they may come from a stranger.
#[cfg(unix)]
#[test]
fn no_hook_and_no_program_of_the_garages_settings_is_run() {
    use std::os::unix::fs::PermissionsExt;
    let shed = Shed::new();
    let trap = shed.above().join("trap");
    let sprung = shed.above().join("sprung");
    fs::write(&trap, format!("#!/bin/sh\necho $0 >> '{}'\ncat\n", sprung.display())).unwrap();
    fs::set_permissions(&trap, fs::Permissions::from_mode(0o755)).unwrap();
    for hook in ["pre-commit", "commit-msg", "post-commit", "post-index-change", "reference-transaction", "fsmonitor-watchman"] {
        fs::create_dir_all(shed.root().join(".git/hooks")).unwrap();
        fs::copy(&trap, Path::new(&shed.root()).join(".git/hooks").join(hook)).unwrap();
    }
    let trap = trap.display().to_string();
    for key in ["core.fsmonitor", "core.editor", "core.pager", "gpg.program", "filter.trap.clean", "filter.trap.smudge", "diff.external"] {
        shed.git(&["config", key, &trap]);
    }
    shed.git(&["config", "commit.gpgSign", "true"]);
    shed.write(".git/info/attributes", "*.toml filter=trap diff=trap\n");
    let _ = fs::remove_file(&sprung);
    shed.run(&["change", "moth", "jetting.main=180", "--why", "hot"]).done();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    shed.run(&["garage", "check"]).done();
    shed.run(&["history", "moth"]).done();
    assert!(!sprung.exists(), "{}", fs::read_to_string(&sprung).unwrap());
}
