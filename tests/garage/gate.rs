//! A stranger's garage: nothing is read from beyond it, written beyond it or taken into a commit from beyond it, nothing is
//! waited for, and what is wrong is named while the rest stays usable. No outside source is needed: what must stay as it is
//! lies beside the garage.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly
#![cfg(unix)] // links, pipes and devices

mod names;
mod own_folder;
mod too_much;

use crate::common;

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use common::{Answer, SETUP, Shed};

/// Longer than any of these commands takes, however busy the machine is.
const PATIENCE: Duration = Duration::from_secs(20);

/// What stands in the private file.
const PRIVATE: &str = "title = \"the code of the safe is 4711\"\ncylinders = 1\n";

/// A garage with a file and a folder beside it that are nobody's business.
pub(crate) struct Beside {
    pub(crate) shed: Shed,
}

impl Beside {
    pub(crate) fn new() -> Self {
        let shed = Shed::new();
        shed.run(&["outing", "add", "moth", "full=right", "--place", "Aalgrund"]).done();
        shed.run(&["part", "add", "p1", "--kind", "piston"]).done();
        fs::write(shed.above().join("private.toml"), PRIVATE).unwrap();
        fs::create_dir(shed.above().join("elsewhere")).unwrap();
        fs::write(shed.above().join("elsewhere/kept"), "mine").unwrap();
        Self { shed }
    }

    pub(crate) fn private(&self) -> PathBuf {
        self.shed.above().join("private.toml")
    }

    pub(crate) fn elsewhere(&self) -> PathBuf {
        self.shed.above().join("elsewhere")
    }

    /// Moves what lies at a path to beside the garage, and puts a link to it there.
    fn linked_away(&self, path: &str) -> PathBuf {
        let (there, away) = (self.shed.root().join(path), self.shed.above().join("away"));
        fs::rename(&there, &away).unwrap();
        symlink(&away, &there).unwrap();
        away
    }

    /// Puts something in the place of a file.
    pub(crate) fn in_place_of(&self, path: &str, put: impl FnOnce(&Path)) {
        let path = self.shed.root().join(path);
        let _ = fs::remove_file(&path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        put(&path);
    }

    /// Runs a command that must come to an end.
    #[track_caller]
    pub(crate) fn ends(&self, words: &[&str]) -> Answer {
        let mut program = self.shed.program(&self.shed.root(), words);
        ends(&mut program)
    }

    /// A command that must be refused because of what lies at a path.
    #[track_caller]
    pub(crate) fn names(&self, what: &str, path: &str, words: &[&str]) -> String {
        let complaint = self.ends(words).refused();
        assert!(complaint.contains(&format!("This garage has {what} at {path}")), "{words:?}: {complaint}");
        assert!(complaint.contains("what to do: "), "{complaint}");
        complaint
    }

    /// What a command that is done, or a check, says of what lies at a path.
    #[track_caller]
    pub(crate) fn mentions(&self, what: &str, path: &str, words: &[&str]) {
        let answer = self.ends(words);
        // Lines are broken to the width of the screen.
        let said = format!("{}{}", answer.out, answer.err).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains(&format!("This garage has {what} at {path}")), "{words:?}: {said}");
    }

    /// The other bike can be read and written to.
    #[track_caller]
    pub(crate) fn assert_wasp_is_usable(&self) {
        self.ends(&["history", "wasp"]).done();
        self.ends(&["show", "wasp"]).done();
        self.ends(&["change", "wasp", "gearing.rear=41", "--why", "shorter"]).done();
        self.ends(&["outing", "add", "wasp", "full=right", "--sure"]).done();
        self.ends(&["outing", "list", "wasp"]).done();
        let list = self.ends(&["bike", "list"]).done();
        assert!(list.out.contains("wasp"), "{}", list.out);
    }

    /// Nothing private was committed, and nothing beside the garage was changed.
    #[track_caller]
    pub(crate) fn assert_nothing_got_through(&self) {
        assert_eq!(fs::read_to_string(self.private()).unwrap(), PRIVATE);
        assert_eq!(fs::read_to_string(self.elsewhere().join("kept")).unwrap(), "mine");
        assert_eq!(fs::read_dir(self.elsewhere()).unwrap().count(), 1, "something was written elsewhere");
        for words in [["log", "-p", "--all"], ["grep", "safe", "HEAD"]] {
            let said = self.shed.git_in(&self.shed.root(), &words).out;
            assert!(!said.contains("the code of the safe"), "{said}");
        }
        self.shed.git(&["fsck", "--strict"]);
    }
}

/// Runs a command that must come to an end, and within a quarter of a gigabyte.
#[track_caller]
pub(crate) fn ends(program: &mut Command) -> Answer {
    let mut child = program.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let began = Instant::now();
    loop {
        if child.try_wait().unwrap().is_some() {
            return child.wait_with_output().unwrap().into();
        }
        if began.elapsed() > PATIENCE {
            child.kill().unwrap();
            let said: Answer = child.wait_with_output().unwrap().into();
            panic!("{program:?} does not end: {said:?}");
        }
        sleep(Duration::from_millis(5));
    }
}

#[test]
fn a_private_file_that_a_link_poses_as_is_not_read_and_not_recorded() {
    for file in ["bikes/moth/bike.toml", "bikes/moth/setup.toml", "engines/moth-engine/engine.toml"] {
        let beside = Beside::new();
        beside.in_place_of(file, |path| symlink(beside.private(), path).unwrap());
        for words in [
            ["change", "moth", "jetting.main=172", "--why", "cooler"].as_slice(),
            &["change", "moth", "jetting.main=172", "--why", "the safe", "--sure"],
        ] {
            let said = beside.names("a link", file, words);
            assert!(!said.contains("the code of the safe"), "{said}");
        }
        assert_eq!(beside.ends(&["garage", "check"]).code, Some(1));
        beside.mentions("a link", file, &["garage", "check"]);
        beside.assert_wasp_is_usable();
        beside.assert_nothing_got_through();
    }
}

#[test]
fn a_garage_file_that_is_a_link_is_named() {
    let beside = Beside::new();
    beside.in_place_of("garage.toml", |path| symlink(beside.private(), path).unwrap());
    beside.names("a link", "garage.toml", &["history", "moth"]);
    beside.assert_nothing_got_through();
}

#[test]
fn a_linked_folder_is_neither_read_nor_written_to() {
    let moth: [&[&str]; 4] = [
        &["outing", "add", "moth", "full=right"],
        &["outing", "remove", "moth", "last"],
        &["change", "moth", "jetting.main=172", "--why", "cooler"],
        &["proven", "moth"],
    ];
    let cases: [(&str, &[&[&str]]); 4] = [
        ("bikes/moth/outings", &moth[..2]),
        ("bikes/moth", &moth),
        ("engines/moth-engine", &moth[2..3]),
        ("parts", &[&["part", "add", "p2", "--kind", "piston"], &["part", "retire", "p1"]]),
    ];
    for (folder, refused) in cases {
        let beside = Beside::new();
        let away = beside.linked_away(folder);
        let commits = beside.shed.git(&["rev-list", "--count", "HEAD"]);
        let before = common_files(&away);
        for words in refused {
            beside.names("a link", folder, words);
        }
        if folder != "bikes/moth" {
            beside.ends(&["history", "moth"]).done();
        }
        assert_eq!(beside.shed.git(&["rev-list", "--count", "HEAD"]), commits, "{folder}");
        assert_eq!(common_files(&away), before, "{folder}");
        beside.mentions("a link", folder, &["garage", "check"]);
        beside.assert_wasp_is_usable();
        assert_eq!(common_files(&away), before, "{folder}");
        beside.assert_nothing_got_through();
    }
}

fn common_files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(common_files(&path));
        } else {
            found.push((path.clone(), fs::read(&path).unwrap()));
        }
    }
    found.sort();
    found
}

#[test]
fn without_bikes_or_engines_of_its_own_a_garage_is_not_opened() {
    for folder in ["bikes", "engines", ".git"] {
        let beside = Beside::new();
        let away = beside.linked_away(folder);
        let before = common_files(&away);
        for words in [["bike", "list"].as_slice(), &["garage", "check"], &["bike", "new", "gnat"]] {
            beside.names("a link", folder, words);
        }
        assert_eq!(common_files(&away), before);
    }
}

#[test]
fn one_outing_or_one_part_that_is_a_link_is_named_where_it_counts() {
    let beside = Beside::new();
    let folder = beside.shed.root().join("bikes/moth/outings");
    let outing = folder.join("20260516-0900-0000000000aa.toml");
    symlink(beside.private(), &outing).unwrap();
    let part = beside.shed.root().join("parts/p2.toml");
    symlink(beside.private(), &part).unwrap();
    let outing = "bikes/moth/outings/20260516-0900-0000000000aa.toml";
    beside.mentions("a link", outing, &["outing", "list", "moth"]);
    beside.mentions("a link", outing, &["garage", "check"]);
    beside.mentions("a link", "parts/p2.toml", &["part", "list"]);
    beside.names("a link", "parts/p2.toml", &["part", "retire", "p2"]);
    beside.ends(&["outing", "add", "moth", "full=right", "--sure"]).done();
    beside.ends(&["part", "add", "p3", "--kind", "piston"]).done();
    beside.assert_wasp_is_usable();
    beside.assert_nothing_got_through();
}

#[test]
fn an_editor_is_not_sent_through_a_link() {
    let beside = Beside::new();
    let engine = "engines/moth-engine/engine.toml";
    beside.in_place_of(engine, |path| symlink(beside.private(), path).unwrap());
    let mut program =
        beside.shed.program(&beside.shed.root(), &["change", "moth", "--edit", "--why", "by hand"]);
    let answer = ends(program.env("EDITOR", "touch"));
    assert!(answer.refused().contains(&format!("This garage has a link at {engine}")));
    beside.assert_nothing_got_through();
}

#[test]
fn a_table_or_a_template_that_is_a_link_is_not_read() {
    let beside = Beside::new();
    beside.in_place_of("configs/jets.toml", |path| symlink(beside.private(), path).unwrap());
    beside.mentions("a link", "configs/jets.toml", &["garage", "check"]);
    beside.in_place_of("configs/jets.toml", |_| ());
    beside.in_place_of("configs/templates/carbureted.toml", |path| symlink(beside.private(), path).unwrap());
    beside.names("a link", "configs/templates/carbureted.toml", &["bike", "new", "gnat"]);
    assert!(!beside.shed.root().join("bikes/gnat").exists());
    beside.assert_wasp_is_usable();
    beside.assert_nothing_got_through();
}

#[test]
fn a_new_garage_is_not_made_through_a_link() {
    let shed = Shed::empty();
    let (root, away) = (shed.above().join("fresh"), shed.above().join("away"));
    fs::create_dir(&root).unwrap();
    fs::create_dir(&away).unwrap();
    symlink(&away, root.join("configs")).unwrap();
    let complaint = shed.run_in(&root, &["garage", "new"]).refused();
    assert!(complaint.contains("This garage has a link at configs"), "{complaint}");
    assert_eq!(fs::read_dir(&away).unwrap().count(), 0);
    assert!(!root.join("garage.toml").exists());
}

/// A garage that is reached through a link is the user's own doing.
#[test]
fn links_above_the_garage_are_the_users() {
    let shed = Shed::new();
    let by = shed.above().join("by");
    symlink(shed.root(), &by).unwrap();
    shed.run_in(&by, &["change", "moth", "jetting.main=172", "--why", "cooler"]).done();
    let named = by.to_string_lossy().into_owned();
    shed.run_in(shed.above(), &["--garage", &named, "history", "moth"]).done();
    assert_eq!(shed.story("moth").len(), 2);
    assert!(shed.root().join(".git/reedbook/index.sqlite").exists());
}

#[test]
fn what_is_written_lies_beside_no_document_meanwhile() {
    let shed = Shed::new();
    shed.write("bikes/moth/.reedbook-notes", "mine");
    shed.write(".reedbook-aB3xYz", "mine as well");
    shed.write(".git/reedbook/.reedbook-7-0", "half a fi");
    shed.run(&["change", "moth", "jetting.main=172", "--why", "cooler"]).done();
    assert_eq!(shed.read("bikes/moth/.reedbook-notes"), "mine");
    assert_eq!(shed.read(".reedbook-aB3xYz"), "mine as well");
    assert!(!shed.root().join(".git/reedbook/.reedbook-7-0").exists(), "a killed writer's half file stays");
    assert!(SETUP.contains("main = 170"));
}
