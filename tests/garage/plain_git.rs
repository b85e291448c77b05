//! A garage is ordinary git: what someone with a text editor and git alone does to it is understood, and what the program
//! does to it is plain to git. Git's own commands are the reference.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;
mod clones;
mod merges;

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
    shed.run(&["change", "moth", "jetting.main=176", "--sure", "--why", "by command"]).done();
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
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
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
        let said = shed.json(&[
            "change",
            "moth",
            &format!("jetting.main={}", 180 + turn),
            "--sure",
            &format!("--why={why}"),
        ]);
        let newest = shed.setups("moth")[0].clone();
        assert_eq!(newest.number, turn as u64 + 2, "{why:?}");
        assert_eq!(said["new"], newest.number, "{said:#}");
        assert_eq!(newest.why.trim(), why.trim().replace("\r\n", "\n"), "the reason is not kept as given");
        assert!(
            newest.id != "000000000000" && newest.id != first && newest.id.len() == 12,
            "{why:?} gave {}",
            newest.id
        );
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
        shed.commit_edit(
            &setup_file("moth"),
            &line,
            &format!("main = {} ", 171 + turn),
            &format!("by hand {turn}\n\nBike: moth\nSetup-Id: {id}"),
        );
        let newest = shed.setups("moth")[0].clone();
        assert_eq!(newest.number, turn as u64 + 2);
        assert_eq!(newest.id, head(&shed), "the trailer {id:?} was believed");
    }
    shed.run(&["change", "moth", "jetting.main=190", "--sure", "--why", "by command"]).done();
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
    let answer = shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]);
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
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
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
    let complaint = shed.run(&["change", "moth", "jetting.main=181", "--sure", "--why", "hot"]).refused();
    assert!(complaint.contains("bikes/moth/setup.toml"), "{complaint}");
    shed.git(&["commit", "-q", "-a", "-m", "not text"]);
    assert_eq!(shed.story("moth").len(), 2, "a file that cannot be read is no setup");
    shed.write(&setup_file("moth"), &sound);
    shed.git(&["commit", "-q", "-a", "-m", "mended"]);
    assert_eq!(shed.story("moth").len(), 2, "fixed to what it was is no change");
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
    let answer = shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]);
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
        shed.run(&["change", "moth", "jetting.main=180", "gearing.rear=44", "--sure", "--why", "hot"]).done();
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
    let count = |shed: &Shed| {
        shed.git_in(&clone, &["rev-list", "--count", "HEAD"]).done().out.trim().parse::<u32>().unwrap()
    };
    let before = count(&shed);
    shed.run_in(&clone, &["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
    assert_eq!(count(&shed), before + 1, "outings were taken in that nobody edited");
    assert_eq!(shed.git_in(&clone, &["status", "--porcelain"]).done().out, "");
    let changed = shed.git_in(&clone, &["show", "--numstat", "--format="]).done().out;
    let (files, job) = changed.trim_end().rsplit_once('\n').unwrap();
    assert_eq!(files, "1\t0\tbikes/moth/numbers\n1\t1\tbikes/moth/setup.toml");
    assert!(job.starts_with("11\t0\tjobs/"), "{job}");
}

/// What is recorded on no branch would be lost at the next checkout.
#[test]
fn a_detached_head_can_be_read_and_is_not_written_to() {
    let shed = Shed::new();
    shed.run(&["change", "moth", "jetting.main=175", "--sure", "--why", "cold"]).done();
    shed.git(&["checkout", "-q", "--detach", "HEAD~1"]);
    assert_eq!(shed.story("moth"), ["1 as bought"]);
    let (files, head) = (shed.files(), head(&shed));
    for words in [
        ["change", "moth", "jetting.main=180", "--why", "hot"],
        ["outing", "add", "moth", "full=right", "idle=rich"],
    ] {
        let complaint = shed.run(&words).refused();
        assert!(complaint.contains("branch"), "{complaint}");
    }
    assert_eq!((shed.files(), self::head(&shed)), (files, head));
    shed.git(&["checkout", "-q", "main"]);
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 cold", "3 hot"]);
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
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "begun anew"]).done();
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
    shed.run_in(&side, &["change", "moth", "jetting.main=180", "--sure", "--why", "on the side"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought"]);
    assert_eq!(shed.git_in(&side, &["status", "--porcelain"]).done().out, "");
    assert_eq!(shed.git(&["log", "-1", "--format=%s", "side"]), "on the side\n");
    let own = fs::read_dir(shed.root().join(".git/worktrees/side")).unwrap();
    let names: Vec<_> = own.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    assert!(
        !names.contains(&"objects".to_owned()),
        "objects were looked for in the work tree's own folder: {names:?}"
    );
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn what_the_user_has_staged_stays_staged() {
    let shed = Shed::new();
    shed.write("shopping.txt", "reeds\n");
    shed.write("configs/shares.toml", format!("{}\n# mine\n", shed.read("configs/shares.toml")));
    shed.git(&["add", "shopping.txt", "configs"]);
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
    assert_eq!(shed.git(&["status", "--porcelain"]), "M  configs/shares.toml\nA  shopping.txt\n");
    let changed = shed.git(&["show", "--format=", "--name-only"]);
    let files: Vec<&str> = changed.lines().filter(|file| !file.starts_with("jobs/")).collect();
    assert_eq!(files, ["bikes/moth/numbers", "bikes/moth/setup.toml"]);
    assert_eq!(changed.lines().count(), 3);
}

#[test]
fn git_finds_nothing_to_complain_of() {
    let shed = Shed::new();
    for turn in 0..6 {
        shed.run(&[
            "change",
            "moth",
            &format!("jetting.main={}", 180 + turn),
            "--sure",
            "--why",
            "hot ☀\nand dry",
        ])
        .done();
        shed.run(&["outing", "add", "moth", "full=right"]).done();
    }
    for words in [
        ["log", "--stat"].as_slice(),
        &["fsck", "--strict", "--no-progress"],
        &["gc", "-q"],
        &["fsck", "--full", "--no-progress"],
        &["status"],
    ] {
        let answer = shed.git_in(&shed.root(), words).done();
        assert_eq!(answer.err, "", "git {words:?}");
    }
    assert_eq!(
        shed.git(&["log", "-1", "--format=%an <%ae> %ad | %(trailers:key=Bike,valueonly)", "--date=iso"])
            .trim(),
        "Ana <ana@example.org> 2026-05-16 10:00:00 +0200 | moth"
    );
    let packed = shed.setups("moth");
    assert_eq!(packed.len(), 7);
    fs::remove_dir_all(shed.root().join(".git/reedbook")).unwrap();
    assert_eq!(shed.setups("moth"), packed);
    shed.run(&["change", "moth", "jetting.main=199", "--sure", "--why", "after the packing"]).done();
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
    for hook in [
        "pre-commit",
        "commit-msg",
        "post-commit",
        "post-index-change",
        "reference-transaction",
        "fsmonitor-watchman",
    ] {
        fs::create_dir_all(shed.root().join(".git/hooks")).unwrap();
        fs::copy(&trap, Path::new(&shed.root()).join(".git/hooks").join(hook)).unwrap();
    }
    let trap = trap.display().to_string();
    for key in [
        "core.fsmonitor",
        "core.editor",
        "core.pager",
        "gpg.program",
        "filter.trap.clean",
        "filter.trap.smudge",
        "diff.external",
    ] {
        shed.git(&["config", key, &trap]);
    }
    shed.git(&["config", "commit.gpgSign", "true"]);
    shed.write(".git/info/attributes", "*.toml filter=trap diff=trap\n");
    let _ = fs::remove_file(&sprung);
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    shed.run(&["garage", "check"]).done();
    shed.run(&["history", "moth"]).done();
    assert!(!sprung.exists(), "{}", fs::read_to_string(&sprung).unwrap());
}
