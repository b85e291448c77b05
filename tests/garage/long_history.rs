//! A long history: the first index takes no more memory for it, and what grows reads nothing of the rest.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use crate::common::Shed;

#[cfg(target_os = "linux")]
mod memory {
    use std::fmt::Write as _;
    use std::fs;
    use std::io::Write as _;
    use std::process::{Command, Stdio};
    use std::time::Duration;

    use crate::common::{Shed, copy, setup_file};
    use crate::replayed::demo;

    const SETUPS: usize = 800;

    /// The most memory that a command takes, KiB.
    fn most(shed: &Shed, words: &[&str]) -> u64 {
        let mut child =
            shed.program(&shed.root(), words).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        let status = format!("/proc/{}/status", child.id());
        let mut most = 0;
        while child.try_wait().unwrap().is_none() {
            let text = fs::read_to_string(&status).unwrap_or_default();
            let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
            most = most.max(line.and_then(|line| line.split_whitespace().next()?.parse().ok()).unwrap_or(0));
            std::thread::sleep(Duration::from_millis(1));
        }
        assert!(child.wait().unwrap().success());
        most
    }

    #[test]
    fn a_first_index_keeps_no_setup_in_memory() {
        let shed = Shed::empty();
        copy(&demo().0, &shed.root());
        let whole = shed.read(&setup_file("moth"));
        let rear = whole.lines().find(|line| line.starts_with("rear = ")).unwrap().to_owned();
        let mut history = String::new();
        for number in 0..SETUPS {
            let text = whole.replace(&rear, &format!("rear = {}", 30 + number % 40));
            let why = format!("turn {number}\n\nBike: moth\nSetup-Id: {number:012x}\n");
            let from = if number == 0 { "from refs/heads/main^0\n" } else { "" };
            writeln!(
                history,
                "commit refs/heads/main\ncommitter Ana <ana@example.org> {} +0000\ndata {}\n{why}\n{from}M 100644 inline {}\ndata {}\n{text}",
                1_800_000_000 + number,
                why.len(),
                setup_file("moth"),
                text.len()
            )
            .unwrap();
        }
        let mut git = Command::new("git");
        git.args(["fast-import", "--quiet", "--force"]).current_dir(shed.root()).stdin(Stdio::piped());
        let mut git = git.spawn().unwrap();
        git.stdin.take().unwrap().write_all(history.as_bytes()).unwrap();
        assert!(git.wait().unwrap().success());
        shed.git(&["reset", "-q", "--hard", "main"]);
        fs::remove_file(shed.root().join(".git/reedbook/index.sqlite")).unwrap();
        let first = most(&shed, &["bike", "list"]);
        let after = most(&shed, &["bike", "list"]);
        // Each setup's values are 50 KiB.
        let more = first.saturating_sub(after);
        assert!(more < 24 * 1024, "{first} KiB for the first index, {after} KiB for the command after it");
    }
}

#[test]
fn a_change_of_one_bike_reads_nothing_of_another() {
    let shed = Shed::new();
    shed.run(&["history", "moth"]).done();
    let index = || rusqlite::Connection::open(shed.root().join(".git/reedbook/index.sqlite")).unwrap();
    index().execute("UPDATE setups SET commit_id = 'no commit' WHERE bike = 'wasp'", []).unwrap();
    shed.git(&["commit", "-q", "--allow-empty", "-m", "nothing of a bike"]);
    shed.commit_edit("bikes/moth/setup.toml", "rear = 40", "rear = 42", "shorter, by hand");
    assert_eq!(shed.story("moth"), ["1 as bought", "2 shorter, by hand"]);
    let commit: String =
        index().query_row("SELECT commit_id FROM setups WHERE bike = 'wasp'", [], |row| row.get(0)).unwrap();
    assert_eq!(commit, "no commit", "the index was built anew");
}

/// After a clone every file is so fresh that it is read twice: what is the same then is not put into the index anew, for which the words
/// would be looked through from end to end each time.
#[test]
fn what_is_read_again_and_is_the_same_is_not_written_again() {
    let shed = Shed::new();
    for (note, day) in [("quernby", "2026-05-16 10:01"), ("teal", "2026-05-16 10:02")] {
        shed.run(&["outing", "add", "wasp", "full=right", "--sure", "--note", note, "--date", day]).done();
    }
    let folder = shed.root().join("bikes/wasp/outings");
    for entry in std::fs::read_dir(folder).unwrap() {
        // Always fresh.
        let later = std::time::SystemTime::now() + std::time::Duration::from_secs(3_600);
        std::fs::File::options()
            .write(true)
            .open(entry.unwrap().path())
            .unwrap()
            .set_modified(later)
            .unwrap();
    }
    let index = shed.root().join(".git/reedbook/index.sqlite");
    std::fs::remove_file(&index).unwrap();
    let rows = || -> (String, String) {
        shed.run(&["bike", "list"]).done();
        let sql = "SELECT (SELECT group_concat(rowid) FROM words WHERE place LIKE 'outing %'), (SELECT group_concat(stamp) FROM outings)";
        let connection = rusqlite::Connection::open(&index).unwrap();
        connection.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?))).unwrap()
    };
    let (first, second) = (rows(), rows());
    assert_eq!(first.0, second.0);
    assert_ne!(first.1, second.1, "it was not read again");
    // One that was changed is.
    shed.run(&["outing", "edit", "wasp", "last", "--note", "hollin"]).done();
    assert!(shed.run(&["find", "--words", "hollin"]).done().out.contains("wasp"));
}
