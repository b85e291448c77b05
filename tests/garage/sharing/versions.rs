//! Old and new programs over one garage: a newer one stands in as documents with fields that nobody knows here yet. Nothing of them is
//! lost, it is said, and nothing else stops working.

use std::fs;
use std::io::Write;

use super::Yard;
use crate::common::{Shed, in_a_line, setup_file};

const PUMP: &str = "accelerator_pump = 35";

impl Yard {
    /// What a newer program at the track records: a file written anew, committed and sent.
    fn newer_writes(&self, file: &str, text: &str, why: &str) {
        let path = self.at("track").join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
        self.git_track(&["add", "-A"]);
        self.git_track(&["commit", "-q", "-m", why]);
        self.git_track(&["push", "-q"]);
    }

    /// A field of the jetting that only a newer program knows.
    fn newer_sets_a_pump(&self) {
        let setup = self.read("track", &setup_file("moth"));
        let setup = setup.replace("[jetting]\n", &format!("[jetting]\n{PUMP} # newer\n"));
        assert!(setup.contains(PUMP));
        self.newer_writes(&setup_file("moth"), &setup, "pump in\n\nBike: moth\nSetup-Id: 0123456789ab");
    }
}

#[test]
fn what_a_newer_program_wrote_comes_whole_and_is_said() {
    let yard = Yard::new();
    yard.newer_sets_a_pump();
    yard.newer_writes("tyres/front.toml", "compound = \"soft\"\n", "tyres");
    let said = in_a_line(&yard.done("shop", "17T10", &["share"]));
    for wanted in
        ["bikes/moth/setup.toml has jetting.accelerator_pump", "which this program does not know", "newer"]
    {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    assert!(yard.read("shop", &setup_file("moth")).contains(&format!("{PUMP} # newer")));
    assert!(yard.read("shop", "tyres/front.toml").contains("soft"));
    // It is answered as far as it is known, and a change of it is refused: it might take away what it does not see.
    assert!(
        in_a_line(&yard.done("shop", "17T11", &["now", "moth"])).contains("accelerator_pump is not a field")
    );
    assert_eq!(yard.story("shop", "moth"), ["1 as bought", "2 pump in"]);
    for words in [
        &["change", "moth", "gearing.rear=41", "--why", "shorter"][..],
        &["rollback", "moth", "1"],
        &["handover", "moth", "2", "--only", "jetting", "--out", "../map.toml"],
    ] {
        let refused = in_a_line(&yard.run("shop", "17T12", words).refused());
        assert!(
            refused.contains("If a newer version of this program wrote it, use that one here"),
            "{refused}"
        );
    }
    // A section without it can go, another bike can be changed and this one can run; all of it goes back whole.
    yard.done("shop", "17T13", &["handover", "moth", "2", "--only", "ignition", "--out", "../map.toml"]);
    yard.done("shop", "17T14", &["change", "wasp", "gearing.rear=41", "--why", "shorter"]);
    yard.done("shop", "17T15", &["outing", "add", "moth", "full=right", "--place", "Teal Pass"]);
    yard.done("shop", "17T16", &["share"]);
    yard.git_track(&["pull", "-q", "--ff-only"]);
    assert!(yard.read("track", &setup_file("moth")).contains(&format!("{PUMP} # newer")));
    assert_eq!(yard.head("shop"), yard.head("track"));
}

#[test]
fn a_field_that_only_the_other_side_knows_is_a_change_of_the_setup_too() {
    let yard = Yard::new();
    yard.newer_sets_a_pump();
    yard.done("shop", "16T14", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    let before = (yard.head("shop"), yard.shed.files());
    let asked = yard.run("shop", "17T10", &["share"]);
    let said = in_a_line(&asked.out);
    assert_eq!(asked.code, Some(1), "{said}");
    for wanted in ["Two setups of moth", "jetting.accelerator_pump", "35", "gearing.rear", "pump in"] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    let both = in_a_line(&yard.run("shop", "17T10", &["share", "--keep", "both", "moth"]).refused());
    assert!(both.contains("cannot be combined") && both.contains("accelerator_pump"), "{both}");
    assert_eq!((yard.head("shop"), yard.shed.files()), before);
    yard.done("shop", "17T11", &["share", "--keep", "there", "moth"]);
    assert!(yard.read("shop", &setup_file("moth")).contains(PUMP));
    assert_eq!(yard.story("shop", "moth").len(), 4);
    yard.git_track(&["pull", "-q", "--ff-only"]);
    assert_eq!(yard.head("shop"), yard.head("track"));
}

#[test]
fn ours_is_kept_over_what_is_not_known_and_that_stays_in_the_history() {
    let yard = Yard::new();
    yard.newer_sets_a_pump();
    yard.done("shop", "16T14", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("shop", "17T11", &["share", "--keep", "here", "moth"]);
    assert!(!yard.read("shop", &setup_file("moth")).contains(PUMP));
    let newer = yard.git_track(&["rev-parse", "HEAD"]);
    let kept = yard.shed.git(&["show", &format!("{newer}:{}", setup_file("moth"))]);
    assert!(kept.contains(PUMP));
    assert!(
        yard.shed.git_in(&yard.at("shop"), &["merge-base", "--is-ancestor", &newer, "HEAD"]).code == Some(0)
    );
}

#[test]
fn a_document_of_both_comes_together_by_field_with_what_is_not_known() {
    let yard = Yard::new();
    yard.done(
        "shop",
        "16T10",
        &["outing", "add", "moth", "full=right", "--note", "dry", "--place", "Teal Pass"],
    );
    yard.done("shop", "16T11", &["share"]);
    yard.done("track", "16T12", &["share"]);
    let folder = fs::read_dir(yard.at("track").join("bikes/moth/outings")).unwrap().next().unwrap().unwrap();
    let file = format!("bikes/moth/outings/{}", folder.file_name().to_string_lossy());
    let newer = yard.read("track", &file).replace("[verdict]\n", "[verdict]\npart_load = \"rich\"\n");
    yard.newer_writes(&file, &format!("wind = \"3 m/s\"\n{newer}\n[tyres]\nfront = \"soft\"\n"), "wind");
    yard.done("shop", "16T13", &["outing", "edit", "moth", "last", "--note", "dry, then drizzle"]);
    let said = in_a_line(&yard.done("shop", "16T14", &["share"]));
    assert!(said.contains("which this program does not know"), "{said}");
    let merged = yard.read("shop", &file);
    for wanted in
        ["wind = \"3 m/s\"", "part_load = \"rich\"", "[tyres]", "front = \"soft\"", "dry, then drizzle"]
    {
        assert!(merged.contains(wanted), "{wanted}: {merged}");
    }
    // It may have been a lean run; what is said leads to the newer program and takes nothing away.
    let refused =
        in_a_line(&yard.run("shop", "16T15", &["rejet", "moth", "--temp", "20", "--baro", "990"]).refused());
    assert!(
        refused.contains("If a newer version of this program wrote it") && !refused.contains("remove"),
        "{refused}"
    );
}

#[test]
fn the_last_outing_is_not_another_one_where_the_last_cannot_be_read() {
    let yard = Yard::new();
    yard.done("shop", "16T10", &["outing", "add", "moth", "full=right", "--note", "first"]);
    yard.done("shop", "16T11", &["outing", "add", "moth", "full=rich", "--note", "second"]);
    let folder = yard.at("shop").join("bikes/moth/outings");
    let mut files: Vec<_> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let text = fs::read_to_string(&files[1]).unwrap();
    fs::write(&files[1], format!("wind = \"3 m/s\"\n{text}")).unwrap();
    yard.shed.git(&["commit", "-q", "-am", "newer"]);
    let before = (yard.head("shop"), yard.shed.files());
    for words in [
        &["outing", "show", "moth"][..],
        &["outing", "edit", "moth", "last", "--note", "third"],
        &["outing", "remove", "moth", "last"],
    ] {
        let refused = in_a_line(&yard.run("shop", "16T12", words).refused());
        assert!(refused.contains("it may be newer than 2026-05-16 10:00"), "{refused}");
    }
    assert_eq!((yard.head("shop"), yard.shed.files()), before);
    // The same where it is missing; one that is older is not in the way.
    fs::remove_file(&files[1]).unwrap();
    let refused = in_a_line(&yard.run("shop", "16T12", &["outing", "show", "moth", "last"]).refused());
    assert!(refused.contains("is missing on disk"), "{refused}");
    fs::write(&files[1], text).unwrap();
    fs::write(&files[0], "wind = 3\n").unwrap();
    assert!(yard.done("shop", "16T13", &["outing", "show", "moth", "last"]).contains("second"));
}

#[test]
fn a_garage_of_a_later_layout_is_refused_there_and_here() {
    let yard = Yard::new();
    let garage = yard.read("track", "garage.toml");
    yard.newer_writes("garage.toml", &format!("theme = \"dark\"\n{garage}"), "newer");
    yard.refuses("garage.toml is not for this program: theme is not a field of this file");
    let later = garage.replace("layout = 1", "layout = 2");
    yard.newer_writes("garage.toml", &format!("theme = \"dark\"\n{later}"), "newer still");
    yard.refuses("The other side's garage has layout 2; this program knows layout 1");
    let here = in_a_line(&yard.run("track", "17T10", &["now"]).refused());
    assert!(here.contains("This garage has layout 2") && here.contains("Use a newer reedbook"), "{here}");
    assert_eq!(yard.shed.git_in(&yard.at("track"), &["status", "--porcelain"]).done().out, "");
}

/// A garage and a handover that an older program wrote, before engines had owners (`git fast-export --all`, without its schemas and most
/// of its tables): they are read, written on and shared.
#[test]
fn a_garage_that_an_older_program_wrote_goes_on() {
    let shed = Shed::empty();
    let root = shed.root();
    fs::create_dir(&root).unwrap();
    shed.git(&["init", "-q", "-b", "main"]);
    let mut import = std::process::Command::new("git")
        .args(["fast-import", "--quiet"])
        .current_dir(&root)
        .stdin(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    import.stdin.take().unwrap().write_all(include_bytes!("../older/garage.txt")).unwrap();
    assert!(import.wait().unwrap().success());
    shed.git(&["reset", "-q", "--hard", "main"]);
    shed.assert_sound();
    assert_eq!(shed.story("moth").len(), 3);
    assert_eq!(shed.outings("moth").len(), 2);
    let history = shed.run(&["history", "moth"]).done().out;
    assert!(history.contains("main 170 → 172") && history.contains("1!"), "{history}");
    shed.run(&["build", "show", "moth-engine"]).done();
    shed.run(&["part", "show", "piston-1"]).done();
    shed.run(&["now", "moth"]).done();
    shed.run(&["change", "moth", "gearing.rear=42", "--why", "shorter"]).done();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    shed.run(&["share", "--with", "../stick.git", "--new"]).done();
    shed.assert_sound();
    let handed = include_str!("../older/moth.handover.toml");
    fs::write(shed.above().join("older.toml"), handed).unwrap();
    let read = shed.run(&["handover", "read", "../older.toml"]).done().out;
    assert!(read.contains("jetting.main = 170") && read.contains("moth setup 3"), "{read}");
}
