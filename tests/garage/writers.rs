//! Several writers at once, writers that are killed, and locks: none is lost, nothing is half written, nobody else's lock is
//! touched. No outside source is needed: git itself (`fsck`, `status`) is the judge.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::Child;
use std::thread::sleep;
use std::time::{Duration, Instant};

use common::{Answer, Shed, in_a_line, setup_file};
use serde_json::{Value, json};

fn wait(child: Child) -> Answer {
    child.wait_with_output().unwrap().into()
}

/// Numbers, newest first, must be 1 to n without a gap.
#[track_caller]
fn assert_numbered(shed: &Shed, bike: &str, setups: usize) {
    let numbers: Vec<_> = shed.setups(bike).iter().rev().map(|setup| setup.number).collect();
    assert_eq!(numbers, (1..=setups as u64).collect::<Vec<_>>());
}

#[test]
fn two_changes_of_one_bike_at_once_are_both_recorded() {
    let shed = Shed::new();
    for round in 0..4 {
        let (main, rear) = (format!("jetting.main={}", 180 + round), format!("gearing.rear={}", 45 + round));
        let one = shed.start(&["change", "moth", &main, "--sure", "--why", "bigger main"]);
        let other = shed.start(&["change", "moth", &rear, "--why", "shorter gearing"]);
        wait(one).done();
        wait(other).done();
        let text = shed.read(&setup_file("moth"));
        assert!(
            text.contains(&format!("main = {} ", 180 + round))
                && text.contains(&format!("rear = {}\n", 45 + round)),
            "{text}"
        );
    }
    assert_numbered(&shed, "moth", 9);
    let setups = shed.setups("moth");
    for why in ["bigger main", "shorter gearing"] {
        assert_eq!(setups.iter().filter(|setup| setup.why == why).count(), 4);
    }
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn changes_of_two_bikes_at_once_are_both_recorded() {
    let shed = Shed::new();
    for round in 0..3 {
        let main = format!("jetting.main={}", 180 + round);
        for child in
            ["moth", "wasp"].map(|bike| shed.start(&["change", bike, &main, "--sure", "--why", "hot"]))
        {
            wait(child).done();
        }
    }
    assert_numbered(&shed, "moth", 4);
    assert_numbered(&shed, "wasp", 4);
    shed.assert_clean();
    shed.assert_sound();
}

/// On a machine so busy that ten do not get through in the 5 s a writer waits, one may be refused, but never lost.
#[test]
fn ten_outings_at_once_are_all_logged() {
    let shed = Shed::new();
    let lines: Vec<_> = (0..10).map(|turn| format!("turn {turn}")).collect();
    let started: Vec<_> = lines
        .iter()
        .map(|line| shed.start(&["outing", "add", "moth", "full=right", "--note", line]))
        .collect();
    for (child, line) in started.into_iter().zip(&lines) {
        let answer = wait(child);
        if answer.code != Some(0) {
            assert!(answer.refused().contains("Another reedbook is writing in this garage"));
            shed.run(&["outing", "add", "moth", "full=right", "--note", line]).done();
        }
    }
    let list = shed.json(&["outing", "list", "moth"]);
    let mut notes: Vec<_> =
        list["outings"].as_array().unwrap().iter().map(|outing| outing["notes"].as_str().unwrap()).collect();
    notes.sort_unstable();
    assert_eq!(notes, lines);
    assert_eq!(shed.git(&["log", "--format=%s", "--grep=^Outing of moth"]).lines().count(), 10);
    shed.assert_clean();
    shed.assert_sound();
}

fn writer_file(shed: &Shed) -> PathBuf {
    shed.root().join(".git/reedbook/writer")
}

#[test]
fn a_writer_that_waits_too_long_names_the_holder_and_writes_nothing() {
    let shed = Shed::new();
    let (files, head) = (shed.files(), shed.git(&["rev-parse", "HEAD"]));
    fs::write(writer_file(&shed), "process 4242 since 2026-05-16T09:00+02:00").unwrap();
    let lock = File::options().read(true).write(true).open(writer_file(&shed)).unwrap();
    lock.lock().unwrap();
    let began = Instant::now();
    let waiting = [
        shed.start(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]),
        shed.start(&["outing", "add", "moth", "full=right"]),
        shed.start(&["proven", "moth"]),
        shed.start(&["bike", "new", "gnat"]),
        shed.start(&["rollback", "moth", "1"]),
    ];
    shed.run(&["history", "moth"]).done();
    for child in waiting {
        let said = in_a_line(&wait(child).refused());
        assert!(said.contains("process 4242 since 2026-05-16T09:00+02:00"), "{said}");
    }
    assert!(began.elapsed() >= Duration::from_secs(15), "it gave up early");
    assert_eq!(shed.files(), files);
    assert_eq!(shed.git(&["rev-parse", "HEAD"]), head);
    shed.assert_clean();
    drop(lock);
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
}

#[test]
fn a_writer_waits_for_another_that_is_soon_done() {
    let shed = Shed::new();
    let lock = File::options().read(true).write(true).open(writer_file(&shed)).unwrap();
    lock.lock().unwrap();
    let mut waiting = shed.start(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]);
    sleep(Duration::from_millis(400));
    assert!(waiting.try_wait().unwrap().is_none(), "it did not wait");
    drop(lock);
    wait(waiting).done();
    assert_numbered(&shed, "moth", 2);
}

#[test]
fn a_lock_file_that_nobody_holds_is_no_lock() {
    let shed = Shed::new();
    fs::write(
        writer_file(&shed),
        "process 1 since 1999-01-01T00:00+00:00, and this text is far longer than ours",
    )
    .unwrap();
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
    assert!(!fs::read_to_string(writer_file(&shed)).unwrap().contains("process 1 since"));
}

// --- killed writers

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

/// An editor or a prompt that asks git for its status holds the lock for a moment.
#[test]
fn a_foreign_index_lock_that_soon_goes_is_waited_for() {
    let shed = Shed::new();
    let lock = shed.root().join(".git/index.lock");
    fs::write(&lock, "").unwrap();
    let waiting = shed.start(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]);
    sleep(Duration::from_millis(300));
    fs::remove_file(&lock).unwrap();
    wait(waiting).done();
    shed.assert_clean();
}

#[test]
fn a_commit_that_git_refuses_leaves_no_trace() {
    let shed = Shed::new();
    let lock = shed.root().join(".git/refs/heads/main.lock");
    fs::write(&lock, "somebody else's").unwrap();
    let files = shed.files();
    for words in [
        ["change", "moth", "jetting.main=190", "--why", "hot"],
        ["outing", "add", "moth", "full=right", "idle=rich"],
    ] {
        shed.run(&words).refused();
        assert_eq!(shed.files(), files);
    }
    assert_eq!(fs::read_to_string(&lock).unwrap(), "somebody else's");
    shed.assert_clean();
    fs::remove_file(&lock).unwrap();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    assert_eq!(shed.outings("moth").len(), 1);
    shed.assert_clean();
}

#[test]
fn files_that_look_like_ours_beside_the_documents_are_overlooked_and_stay() {
    let shed = Shed::new();
    let folders =
        ["", "bikes/moth", "bikes/moth/maps", "bikes/moth/outings", "bikes/wasp", "engines/moth-engine"];
    let file = |folder: &str| Path::new(folder).join(".reedbook-aB3xYz.toml");
    for folder in folders {
        shed.write(&file(folder).to_string_lossy(), "half a fi");
    }
    let answer = shed.run(&["outing", "list", "moth"]).done();
    assert!(!answer.out.contains("not readable"), "{}", answer.out);
    shed.run(&["garage", "check"]).done();
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot"]).done();
    for folder in folders {
        assert_eq!(shed.read(&file(folder).to_string_lossy()), "half a fi", "{folder}");
    }
    assert!(!shed.git(&["ls-files"]).contains("aB3xYz"), "somebody's file was recorded");
}

#[test]
fn a_merge_that_is_under_way_stops_every_writer_of_a_setup() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.commit_edit(&setup_file("moth"), "rear = 40", "rear = 41", "one more");
    shed.git(&["checkout", "-q", "main"]);
    shed.commit_edit(&setup_file("moth"), "rear = 40", "rear = 39", "one less");
    let merge = shed.git_in(&shed.root(), &["merge", "side"]);
    assert_eq!(merge.code, Some(1));
    let files = shed.files();
    // A run is logged all the same: it is a file of its own.
    for bike in ["moth", "wasp"] {
        let change = ["change", bike, "gearing.rear=44", "--sure", "--why", "hot"];
        assert!(shed.run(&change).refused().contains("merge"));
    }
    assert_eq!(shed.files(), files);
    shed.git(&["merge", "--abort"]);
    shed.run(&["outing", "add", "wasp", "full=right"]).done();
    shed.assert_clean();
}

#[test]
fn the_json_of_a_refusal_has_its_way_out() {
    let shed = Shed::new();
    fs::write(shed.root().join(".git/index.lock"), "somebody else's").unwrap();
    let answer = shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "hot", "--json"]);
    assert_eq!(answer.code, Some(1));
    assert_eq!(answer.out, "");
    let error: Value = serde_json::from_str(&answer.err).unwrap();
    assert!(error["error"]["message"].as_str().unwrap().contains("index.lock"));
    assert!(!error["error"]["help"].as_str().unwrap().is_empty());
}
