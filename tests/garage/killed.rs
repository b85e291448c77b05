//! Writers that are killed: what they leave is the old or the new, the next to come tidies up, and a lock of others is let
//! be. No outside source is needed: git itself (`fsck`, `status`) is the judge.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;
use crate::writers::{assert_numbered, wait};

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::PathBuf;
use std::thread::sleep;
use std::time::{Duration, Instant};

use common::{Shed, setup_file};
use serde_json::json;

fn main_jet(shed: &Shed) -> i64 {
    let setup: toml::Table = toml::from_str(&shed.read(&setup_file("moth"))).unwrap();
    setup["jetting"]["main"].as_integer().unwrap()
}

/// How long a change takes here, undisturbed.
fn pace(shed: &Shed) -> Duration {
    let began = Instant::now();
    shed.run(&["change", "moth", "jetting.main=178", "--sure", "--why", "to see how long it takes"]).done();
    began.elapsed()
}

#[test]
fn a_writer_killed_at_any_moment_leaves_the_old_or_the_new() {
    killed_at_any_moment(16);
}

#[test]
#[ignore = "takes long"]
fn a_writer_killed_often_leaves_the_old_or_the_new() {
    killed_at_any_moment(200);
}

fn killed_at_any_moment(rounds: u16) {
    let shed = Shed::new();
    let pace = pace(&shed);
    let mut chances = crate::common::Chances(0x5eed_0001);
    let mut known: BTreeMap<String, u64> = BTreeMap::new();
    for round in 0..i64::from(rounds) {
        let before = (main_jet(&shed), shed.setups("moth").len(), shed.outings("moth").len());
        let main = format!("jetting.main={}", 200 + round);
        let words: &[&str] = match round % 4 {
            0 | 2 => &["change", "moth", &main, "--sure", "--why", "to be killed"],
            1 => &["outing", "add", "moth", "full=right", "--note", "to be killed"],
            _ => &["rollback", "moth", "1", "--why", "to be killed"],
        };
        let mut child = shed.start(words);
        sleep(pace.mul_f64(1.1 * chances.next()));
        child.kill().unwrap();
        let _ = child.wait();

        let setups = shed.setups("moth");
        for setup in &setups {
            let number = *known.entry(setup.id.clone()).or_insert(setup.number);
            assert_eq!(number, setup.number, "the number of a setup moved");
        }
        let mut numbers: Vec<_> = setups.iter().map(|setup| setup.number).collect();
        numbers.dedup();
        assert_eq!(numbers.len(), setups.len(), "a number was given twice");

        let seen = shed.outings("moth");
        shed.run(&["change", "wasp", &main, "--sure", "--why", "after the kill"]).done();
        shed.assert_clean();
        let kept = shed.outings("moth");
        assert!(seen.iter().all(|id| kept.contains(id)), "an outing that was shown after the kill is gone");
        let wanted = match round % 4 {
            0 | 2 => 200 + round,
            1 => before.0,
            _ => 170,
        };
        let after = (main_jet(&shed), shed.setups("moth").len(), shed.outings("moth").len());
        let possible = match round % 4 {
            1 => (before.0, before.1, before.2 + 1),
            _ => (wanted, before.1 + 1, before.2),
        };
        assert!(after == before || after == possible, "round {round}: {before:?} became {after:?}");
        if round % 11 == 10 {
            shed.assert_sound();
        }
    }
    assert_numbered(&shed, "wasp", usize::from(rounds) + 1);
    shed.assert_sound();
}

/// The state of a garage around one change of moth, from which any moment in between can be put together.
struct Around {
    shed: Shed,
    setup: [String; 2],
    numbers: [String; 2],
    /// Git's own index.
    index: [Vec<u8>; 2],
    head: [String; 2],
}

impl Around {
    fn one_change() -> Self {
        let shed = Shed::new();
        let look = |shed: &Shed| {
            let index = fs::read(shed.root().join(".git/index")).unwrap();
            let head = shed.git(&["rev-parse", "HEAD"]).trim().to_owned();
            (shed.read(&setup_file("moth")), shed.read("bikes/moth/numbers"), index, head)
        };
        let before = look(&shed);
        shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
        let after = look(&shed);
        Self {
            shed,
            setup: [before.0, after.0],
            numbers: [before.1, after.1],
            index: [before.2, after.2],
            head: [before.3, after.3],
        }
    }

    /// The note that a writer keeps until its commit is finished.
    fn begin(&self) {
        let blob = |commit: &str, file: &str| -> String {
            self.shed.git(&["rev-parse", &format!("{commit}:{file}")]).trim().to_owned()
        };
        // Its jobs are a file of their own, which was not there before.
        let before = |file: &str| (!file.starts_with("jobs/")).then(|| blob(&self.head[0], file));
        let line = |file: String| json!({ "path": file, "before": before(&file), "after": blob(&self.head[1], &file) });
        let lines: Vec<_> = self.files().into_iter().map(line).collect();
        let note = json!({ "parent": self.head[0], "commit": self.head[1], "files": lines });
        fs::write(self.own("unfinished"), note.to_string()).unwrap();
        fs::write(self.own("git-index"), &self.index[1]).unwrap();
    }

    /// The files of the change's commit.
    fn files(&self) -> Vec<String> {
        let names = self.shed.git(&["diff", "--name-only", &self.head[0], &self.head[1]]);
        names.lines().map(str::to_owned).collect()
    }

    fn own(&self, name: &str) -> PathBuf {
        self.shed.root().join(".git/reedbook").join(name)
    }

    fn git_file(&self, name: &str) -> PathBuf {
        self.shed.root().join(".git").join(name)
    }

    fn take_commit_back(&self) {
        self.shed.git(&["update-ref", "refs/heads/main", &self.head[0]]);
        fs::write(self.git_file("index"), &self.index[0]).unwrap();
    }

    /// What must hold once the next writer is through: moth has so many setups and nothing is left lying about.
    #[track_caller]
    fn assert_mended(&self, setups: usize) {
        self.shed.run(&["history", "moth"]).done();
        self.shed.run(&["change", "wasp", "jetting.main=181", "--sure", "--why", "the next"]).done();
        self.shed.assert_clean();
        assert_numbered(&self.shed, "moth", setups);
        assert_eq!(self.shed.read(&setup_file("moth")), self.setup[setups - 1]);
        assert_eq!(self.shed.read("bikes/moth/numbers"), self.numbers[setups - 1]);
        let own = ["unfinished", "given-up", "git-index"].map(|name| self.own(name));
        let gits = ["index.lock", "refs/heads/main.lock"].map(|name| self.git_file(name));
        for left in own.iter().chain(&gits) {
            assert!(!left.exists(), "{} is still there", left.display());
        }
        self.shed.run(&["change", "moth", "jetting.main=182", "--sure", "--why", "hotter"]).done();
        assert_numbered(&self.shed, "moth", setups + 1);
        self.shed.assert_clean();
        self.shed.assert_sound();
    }
}

/// Somebody may have read them: the commit, complete but for the branch, is finished. Where nothing was to be seen yet, or the
/// writer itself had given up, it is taken back.
#[test]
fn files_that_were_written_before_a_kill_are_finished_and_those_given_up_are_put_back() {
    for (written, given_up, setups) in [
        (["setup"].as_slice(), false, 2),
        (&["setup", "numbers"], false, 2),
        (&[], false, 1),
        (&["setup"], true, 1),
        (&["setup", "numbers"], true, 1),
    ] {
        let around = Around::one_change();
        around.begin();
        around.take_commit_back();
        if given_up {
            fs::rename(around.own("unfinished"), around.own("given-up")).unwrap();
        }
        let state = |name: &str| usize::from(written.contains(&name));
        around.shed.write(&setup_file("moth"), &around.setup[state("setup")]);
        around.shed.write("bikes/moth/numbers", &around.numbers[state("numbers")]);
        if written.is_empty() {
            fs::remove_dir_all(around.shed.root().join("jobs")).unwrap();
        }
        fs::write(around.git_file("index.lock"), &around.index[1]).unwrap();
        File::create(around.git_file("refs/heads/main.lock")).unwrap();
        around.assert_mended(setups);
    }
}

#[test]
fn a_file_edited_since_the_kill_is_left_as_it_is() {
    let around = Around::one_change();
    around.begin();
    around.take_commit_back();
    around.shed.write("bikes/moth/numbers", &around.numbers[0]);
    around.shed.write(&setup_file("moth"), around.setup[1].replace("main = 180", "main = 165"));
    around.shed.run(&["change", "wasp", "jetting.main=181", "--sure", "--why", "the next"]).done();
    assert!(around.shed.read(&setup_file("moth")).contains("main = 165"), "the user's edit was lost");
}

#[test]
fn a_commit_that_stands_is_brought_into_gits_index() {
    let around = Around::one_change();
    around.begin();
    fs::write(around.git_file("index"), &around.index[0]).unwrap();
    fs::write(around.git_file("index.lock"), &around.index[1]).unwrap();
    around.assert_mended(2);
}

#[test]
fn a_numbers_file_older_than_its_commit_is_written_again() {
    let around = Around::one_change();
    around.begin();
    fs::write(around.git_file("index"), &around.index[0]).unwrap();
    around.shed.write("bikes/moth/numbers", &around.numbers[0]);
    assert_numbered(&around.shed, "moth", 2);
    around.assert_mended(2);
}

#[test]
fn a_note_after_which_all_was_done_is_cleared() {
    let around = Around::one_change();
    around.begin();
    around.assert_mended(2);
}

#[test]
fn a_foreign_index_lock_is_not_touched_and_nothing_is_written() {
    for journal in [false, true] {
        let around = Around::one_change();
        if journal {
            around.begin();
        }
        let shed = &around.shed;
        let lock = around.git_file("index.lock");
        fs::write(&lock, "somebody else's").unwrap();
        let (files, head) = (shed.files(), shed.git(&["rev-parse", "HEAD"]));
        let words: [&[&str]; 3] = [
            &["change", "moth", "jetting.main=190", "--sure", "--why", "hot"],
            &["outing", "add", "moth", "full=right"],
            &["bike", "new", "gnat"],
        ];
        let running: Vec<_> = words.iter().map(|words| shed.start(words)).collect();
        for child in running {
            // Whoever comes first says what the stopped one had recorded, before the refusal.
            let answer = wait(child);
            assert_eq!(answer.code, Some(1), "{}{}", answer.out, answer.err);
            assert!(answer.err.contains("error: Git's lock .git/index.lock is there"), "{}", answer.err);
        }
        assert_eq!(fs::read_to_string(&lock).unwrap(), "somebody else's");
        assert_eq!(shed.files(), files);
        assert_eq!(shed.git(&["rev-parse", "HEAD"]), head);
        shed.run(&["history", "moth"]).done();
        fs::remove_file(&lock).unwrap();
        for words in words {
            shed.run(words).done();
        }
        assert_numbered(shed, "moth", 3);
        assert_eq!(shed.outings("moth").len(), 1);
        let status = shed.git(&["status", "--porcelain"]);
        assert_eq!(status, "?? bikes/gnat/setup.toml\n");
        shed.assert_sound();
    }
}
