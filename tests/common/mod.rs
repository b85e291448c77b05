//! A sealed place for tests that run the program: a garage of two bikes in a temporary folder, a home of its own, a clock
//! that stands still and identities that repeat.
#![allow(dead_code, unreachable_pub)] // each test file uses its own part of this
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::collections::BTreeMap;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::OnceLock;

use serde_json::Value;
use tempfile::TempDir;

use crate::temporary::{shared_folder, temporary_folder};

/// A text without the breaks that a screen makes.
pub fn in_a_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The day on which every test takes place.
pub const NOW: &str = "2026-05-16T10:00+02:00";

/// A setup file with little in it; ENGINE stands for the engine.
pub const SETUP: &str = r#"# what is on the bike
engine = "ENGINE"

[ignition]
base = 15

[jetting]
main = 170              # the big one
main_numbered_by = "bore"
pilot = 50
pilot_numbered_by = "bore"

[gearing]
front = 15
rear = 40
"#;

/// A temporary folder with a home and a garage in it.
pub struct Shed {
    folder: TempDir,
}

/// What a program said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl From<Output> for Answer {
    fn from(output: Output) -> Self {
        Self {
            code: output.status.code(),
            out: String::from_utf8_lossy(&output.stdout).into_owned(),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }
}

impl Answer {
    /// The answer of a command that must have been done.
    #[track_caller]
    pub fn done(self) -> Self {
        assert_eq!(self.code, Some(0), "{}{}", self.out, self.err);
        self
    }

    /// The complaint of a command that must have been refused with exit code 1.
    #[track_caller]
    pub fn refused(self) -> String {
        assert_eq!(self.code, Some(1), "{}{}", self.out, self.err);
        assert!(self.err.starts_with("error: "), "{}", self.err);
        self.err
    }
}

impl Shed {
    /// A home without a garage.
    pub fn empty() -> Self {
        let folder = temporary_folder();
        let home = folder.path().join("home");
        fs::create_dir(&home).unwrap();
        let settings = "[user]\n\tname = Ana\n\temail = ana@example.org\n[init]\n\tdefaultBranch = main\n[advice]\n\tdetachedHead = false\n[protocol \"file\"]\n\tallow = always\n";
        fs::write(home.join(".gitconfig"), settings).unwrap();
        Self { folder }
    }

    /// A garage with the bikes moth and wasp, each with its first setup: made by the program once, and copied.
    pub fn new() -> Self {
        static MADE: OnceLock<PathBuf> = OnceLock::new();
        let made = MADE.get_or_init(|| {
            let shed = Self::made_by_the_program();
            let kept = shared_folder().join("moth-and-wasp");
            fs::rename(shed.root(), &kept).unwrap();
            kept
        });
        let shed = Self::empty();
        copy(made, &shed.root());
        shed
    }

    fn made_by_the_program() -> Self {
        let shed = Self::empty();
        shed.run_in(shed.folder.path(), &["garage", "new", "garage"]).done();
        for bike in ["moth", "wasp"] {
            shed.run(&["bike", "new", bike]).done();
            shed.write(&setup_file(bike), SETUP.replace("ENGINE", &format!("{bike}-engine")));
            shed.run(&["change", bike, "--why", "as bought"]).done();
        }
        shed
    }

    /// The garage's folder.
    pub fn root(&self) -> PathBuf {
        self.folder.path().join("garage")
    }

    /// The folder above the garage.
    pub fn above(&self) -> &Path {
        self.folder.path()
    }

    fn sealed(&self, program: &str, folder: &Path) -> Command {
        let mut command = Command::new(program);
        command
            .current_dir(folder)
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("HOME", self.folder.path().join("home"))
            .env("TZ", "UTC")
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("GIT_TERMINAL_PROMPT", "0")
            .env("GIT_EDITOR", "true")
            .env("REEDBOOK_NOW", NOW)
            .env("REEDBOOK_IDS", "test");
        command
    }

    /// The program in a folder, ready to be started.
    pub fn program(&self, folder: &Path, words: &[&str]) -> Command {
        let mut command = self.sealed(env!("CARGO_BIN_EXE_reedbook"), folder);
        command.args(words);
        command
    }

    /// Runs the program in a folder.
    pub fn run_in(&self, folder: &Path, words: &[&str]) -> Answer {
        self.program(folder, words).output().unwrap().into()
    }

    /// Runs the program in the garage.
    pub fn run(&self, words: &[&str]) -> Answer {
        self.run_in(&self.root(), words)
    }

    /// Runs the program in the garage on another day.
    pub fn run_on(&self, day: &str, words: &[&str]) -> Answer {
        self.program(&self.root(), words).env("REEDBOOK_NOW", day).output().unwrap().into()
    }

    /// Starts the program in the garage; nobody listens to what it says until it is waited for.
    pub fn start(&self, words: &[&str]) -> Child {
        self.program(&self.root(), words).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
    }

    fn git_dated(&self, day: &str, folder: &Path, words: &[&str]) -> Answer {
        let mut command = self.sealed("git", folder);
        command.env("GIT_AUTHOR_DATE", day).env("GIT_COMMITTER_DATE", day);
        command.args(words).output().unwrap().into()
    }

    /// Runs git in a folder, dated as the tests are.
    pub fn git_in(&self, folder: &Path, words: &[&str]) -> Answer {
        self.git_dated(NOW, folder, words)
    }

    /// Runs git in the garage on another day; it must succeed.
    #[track_caller]
    pub fn git_on(&self, day: &str, words: &[&str]) -> String {
        self.git_dated(day, &self.root(), words).done().out
    }

    /// Runs git in the garage; it must succeed.
    #[track_caller]
    pub fn git(&self, words: &[&str]) -> String {
        self.git_in(&self.root(), words).done().out
    }

    /// What git says in the garage of what it is told, without the end of the line.
    pub fn git_said(&self, words: &[&str], input: &str) -> String {
        let mut command = self.sealed("git", &self.root());
        command.args(words).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
        let done = child.wait_with_output().unwrap();
        assert!(done.status.success(), "git {words:?}");
        String::from_utf8_lossy(&done.stdout).trim().to_owned()
    }

    /// Reads a file of the garage.
    pub fn read(&self, file: &str) -> String {
        fs::read_to_string(self.root().join(file)).unwrap()
    }

    /// Writes a file of the garage by hand.
    pub fn write(&self, file: &str, text: impl AsRef<[u8]>) {
        let path = self.root().join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    /// Edits a bike's setup by hand; what is to be replaced must be there.
    #[track_caller]
    pub fn edit(&self, file: &str, from: &str, to: &str) {
        let text = self.read(file);
        assert!(text.contains(from), "{file} has no {from:?}:\n{text}");
        self.write(file, text.replacen(from, to, 1));
    }

    /// Edits a file by hand and commits it with git alone.
    #[track_caller]
    pub fn commit_edit(&self, file: &str, from: &str, to: &str, why: &str) {
        self.edit(file, from, to);
        self.git(&["commit", "-q", "-a", "-m", why]);
    }

    /// The JSON answer of a command that must succeed.
    #[track_caller]
    pub fn json(&self, words: &[&str]) -> Value {
        let mut words = words.to_vec();
        words.push("--json");
        let answer = self.run(&words).done();
        serde_json::from_str(&answer.out).unwrap_or_else(|error| panic!("{error}: {}", answer.out))
    }

    /// A bike's setups as history gives them, newest first.
    #[track_caller]
    pub fn setups(&self, bike: &str) -> Vec<SetupLine> {
        let history = self.json(&["history", bike]);
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        let line = |setup: &Value| SetupLine {
            number: setup["number"].as_u64().unwrap(),
            id: text(&setup["id"]),
            why: text(&setup["why"]),
        };
        history["setups"].as_array().unwrap().iter().map(line).collect()
    }

    /// Reasons of a bike's setups with their numbers, oldest first.
    #[track_caller]
    pub fn story(&self, bike: &str) -> Vec<String> {
        self.setups(bike).iter().rev().map(|setup| format!("{} {}", setup.number, setup.why)).collect()
    }

    /// Ids of the outings that are known of a bike.
    #[track_caller]
    pub fn outings(&self, bike: &str) -> Vec<String> {
        let list = self.json(&["outing", "list", bike]);
        let outings = list["outings"].as_array().unwrap();
        outings.iter().map(|outing| outing["id"].as_str().unwrap().to_owned()).collect()
    }

    /// What git and the program themselves find wrong: nothing, in a sound garage.
    #[track_caller]
    pub fn assert_sound(&self) {
        let fsck = self.git_in(&self.root(), &["fsck", "--strict", "--no-dangling", "--no-progress"]).done();
        assert_eq!((fsck.out.as_str(), fsck.err.as_str()), ("", ""));
        self.run(&["garage", "check"]).done();
    }

    /// Nothing differs between the files, git's index and the newest commit.
    #[track_caller]
    pub fn assert_clean(&self) {
        assert_eq!(self.git(&["status", "--porcelain"]), "");
    }

    /// Every file of the garage outside .git, with its bytes.
    pub fn files(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        let mut found = BTreeMap::new();
        collect(&self.root(), &mut found);
        found
    }
}

/// A setup as a line of history.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetupLine {
    pub number: u64,
    pub id: String,
    pub why: String,
}

/// Path of a bike's setup file.
pub fn setup_file(bike: &str) -> String {
    format!("bikes/{bike}/setup.toml")
}

fn collect(folder: &Path, found: &mut BTreeMap<PathBuf, Vec<u8>>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.ends_with(".git") {
            collect(&path, found);
        } else if path.is_file() {
            found.insert(path.clone(), fs::read(&path).unwrap());
        }
    }
}

/// Copies a folder with everything in it.
pub fn copy(from: &Path, to: &Path) {
    crate::temporary::copy(from, to, &|_| false);
}

/// Numbers between 0 and 1, the same at each run (xorshift, Marsaglia 2003).
pub struct Chances(pub u64);

impl Chances {
    pub fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }
}
