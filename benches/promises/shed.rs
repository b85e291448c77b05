//! A garage to be attacked, and the questions that show whether it still holds what it said it had recorded.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// The program.
pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_reedbook");

/// A garage with one bike, a setup and a run.
pub(crate) struct Shed {
    folder: tempfile::TempDir,
}

impl Shed {
    pub(crate) fn new() -> Self {
        let shed = Self { folder: tempfile::tempdir().expect("a temporary folder") };
        std::fs::create_dir(shed.root()).unwrap();
        std::fs::write(shed.home().join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@shop.example\n")
            .unwrap();
        shed.done(&["garage", "new", "."]);
        shed.done(&["bike", "new", "moth"]);
        shed.done(&["change", "moth", "jetting.main=170", "jetting.main_numbered_by=bore", "--why", "first"]);
        shed.done(&["change", "moth", "jetting.main=172", "--sure", "--why", "second"]);
        shed.log("the beginning");
        shed
    }

    /// The same garage again, in a folder of its own.
    pub(crate) fn again(&self) -> Self {
        let other = Self { folder: tempfile::tempdir().expect("a temporary folder") };
        let copied = Command::new("cp").arg("-a").arg(self.home().join(".")).arg(other.home()).status();
        assert!(copied.is_ok_and(|status| status.success()), "the garage is copied");
        other
    }

    pub(crate) fn home(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn root(&self) -> PathBuf {
        self.folder.path().join("garage")
    }

    /// A command, ready to run, behind the words of another program where there are any.
    pub(crate) fn command(&self, before: &[&str], words: &[&str]) -> Command {
        let (first, rest) = before.split_first().unwrap_or((&PROGRAM, &[]));
        let mut command = Command::new(first);
        command.args(rest);
        if !before.is_empty() {
            command.arg(PROGRAM);
        }
        command.args(words).current_dir(self.root()).stdin(Stdio::null());
        command.env("HOME", self.home()).env("TZ", "UTC").env("GIT_CONFIG_NOSYSTEM", "1");
        command
    }

    pub(crate) fn ask(&self, words: &[&str]) -> Output {
        self.command(&[], words).output().expect("the program runs")
    }

    pub(crate) fn done(&self, words: &[&str]) -> String {
        let done = self.ask(words);
        assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8_lossy(&done.stdout).into_owned()
    }

    fn log(&self, note: &str) {
        self.done(&outing(note).iter().map(String::as_str).collect::<Vec<_>>());
    }

    /// Whether the garage is sound, and holds everything that was acknowledged, once; after one more record, which must go in.
    pub(crate) fn holds(&self, acknowledged: &[String]) -> Result<(), String> {
        let after = format!("after {}", acknowledged.len());
        let words = outing(&after);
        let next = self.ask(&words.iter().map(String::as_str).collect::<Vec<_>>());
        if !next.status.success() {
            return Err(format!("the next record is refused: {}", String::from_utf8_lossy(&next.stderr)));
        }
        let check = self.ask(&["garage", "check"]);
        if !check.status.success() {
            return Err(format!("not sound: {}", String::from_utf8_lossy(&check.stdout)));
        }
        let said = self.said();
        for note in acknowledged.iter().chain([&after]) {
            let times = times(&said, note);
            if times != 1 {
                return Err(format!("\"{note}\" was acknowledged and is there {times} times"));
            }
        }
        Ok(())
    }

    /// Whether something is recorded.
    pub(crate) fn has(&self, note: &str) -> bool {
        times(&self.said(), note) > 0
    }

    /// What the runs' notes and the setups' reasons are.
    fn said(&self) -> [String; 2] {
        [self.done(&["outing", "list", "moth", "--json"]), self.done(&["history", "moth", "--json"])]
    }
}

/// How often a note of a run, or the reason of a setup, stands in what was said.
fn times(said: &[String; 2], note: &str) -> usize {
    let of = |field: &str, said: &String| said.matches(&format!("\"{field}\": \"{note}\"")).count();
    of("notes", &said[0]) + of("why", &said[1])
}

/// The words that log a run with a note.
pub(crate) fn outing(note: &str) -> Vec<String> {
    ["outing", "add", "moth", "full=right", "--sure", "--note", note].map(str::to_owned).to_vec()
}

/// The words that change the main jet for a reason, to another size at every turn.
pub(crate) fn change(turn: usize, why: &str) -> Vec<String> {
    let main = format!("jetting.main={}", 176.0 + turn as f64 / 4.0);
    ["change", "moth", &main, "--sure", "--why", why].map(str::to_owned).to_vec()
}
