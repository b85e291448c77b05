//! The index is only a copy: whatever happens to it, the answers are those of an index that was built from nothing, and it
//! follows whatever plain git does to the history. The program's own answers before the damage are the reference here; what
//! the answers should say is tested elsewhere.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, UNIX_EPOCH};

use crate::replayed::temporary_folder;
use common::{NOW, Shed, setup_file};
use jiff::tz::Offset;
use reedbook::machine::Moment;
use reedbook::notebook::When;
use reedbook::store::{Book, Condition, FindQuery, Garage, demo_files, find, replay};

const COMMANDS: [&[&str]; 8] = [
    &["history", "moth"],
    &["compare", "moth", "1", "3"],
    &["compare", "moth", "latest", "now"],
    &["find", "jetting.main>=171"],
    &["find", "--words", "hot"],
    &["find", "verdict.full=lean"],
    &["outing", "list", "moth"],
    &["bike", "list"],
];

/// What every reading command answers, as text and as JSON.
#[track_caller]
fn answers(shed: &Shed) -> Vec<String> {
    let ask = |words: &[&str]| shed.run(words).done();
    let mut said = Vec::new();
    for words in COMMANDS {
        let answer = ask(words);
        assert_eq!(answer.err, "");
        said.push(answer.out);
        said.push(ask(&[words, &["--json"]].concat()).out);
    }
    said
}

/// A garage whose questions have answers.
fn season() -> Shed {
    let shed = Shed::new();
    shed.run(&["outing", "add", "moth", "full=lean", "--place", "Gravel Pit", "--note", "hot and dry"])
        .done();
    for (main, why) in [("171", "lean when hot"), ("172", "one more"), ("178", "cold")] {
        shed.run(&["change", "moth", &format!("jetting.main={main}"), "--sure", "--why", why]).done();
        shed.run(&["outing", "add", "moth", "full=right", "--note", why]).done();
    }
    shed.run(&["proven", "moth"]).done();
    age(&shed);
    shed
}

/// Dates the outing files back: fresh ones are read again by every command, which would hide an index that is not.
fn age(shed: &Shed) {
    let long_ago = UNIX_EPOCH + Duration::from_secs(1_700_000_000);
    for file in fs::read_dir(shed.root().join("bikes/moth/outings")).unwrap() {
        fs::File::options().write(true).open(file.unwrap().path()).unwrap().set_modified(long_ago).unwrap();
    }
    shed.run(&["history", "moth"]).done();
}

fn index(shed: &Shed) -> PathBuf {
    shed.root().join(".git/reedbook/index.sqlite")
}

fn sql(file: &Path, text: &str) {
    rusqlite::Connection::open(file).unwrap().execute_batch(text).unwrap();
}

/// Bytes without meaning, the same at each run (xorshift, Marsaglia 2003).
fn noise(length: usize) -> Vec<u8> {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state.to_le_bytes()[3]
    };
    (0..length).map(|_| next()).collect()
}

/// What was done to the index and how.
type Damage<'d> = (&'d str, Box<dyn Fn(&Path) + 'd>);

#[test]
fn a_damaged_index_is_built_again_and_answers_as_before() {
    let shed = season();
    let wanted = answers(&shed);
    let good = fs::read(index(&shed)).unwrap();
    let damages: Vec<Damage<'_>> = vec![
        ("gone", Box::new(|file| fs::remove_file(file).unwrap())),
        ("empty", Box::new(|file| fs::write(file, "").unwrap())),
        ("half", Box::new(|file| fs::write(file, &good[..good.len() / 2]).unwrap())),
        ("not whole pages", Box::new(|file| fs::write(file, &good[..good.len() - 1234]).unwrap())),
        ("noise", Box::new(|file| fs::write(file, noise(50_000)).unwrap())),
        ("a text", Box::new(|file| fs::write(file, "name = \"moth\"\n").unwrap())),
        ("another version", Box::new(|file| sql(file, "PRAGMA user_version = 77"))),
        ("an older version", Box::new(|file| sql(file, "PRAGMA user_version = 0"))),
        ("another application", Box::new(|file| sql(file, "PRAGMA application_id = 77"))),
        (
            "another application's file",
            Box::new(|file| {
                fs::remove_file(file).unwrap();
                sql(
                    file,
                    "CREATE TABLE setups (a); CREATE TABLE known (head); PRAGMA user_version = 1; PRAGMA application_id = 7",
                );
            }),
        ),
        (
            "another application's file without a version",
            Box::new(|file| {
                fs::remove_file(file).unwrap();
                sql(file, "CREATE TABLE setups (a); INSERT INTO setups VALUES (1)");
            }),
        ),
        ("a table gone", Box::new(|file| sql(file, "DROP TABLE outing_fields"))),
        ("another column", Box::new(|file| sql(file, "ALTER TABLE outings RENAME COLUMN document TO text"))),
    ];
    for (name, damage) in damages {
        damage(&index(&shed));
        for (got, wanted) in answers(&shed).iter().zip(&wanted) {
            assert_eq!(got, wanted, "with the index {name}");
        }
        let answer = shed.run(&["garage", "check"]).done();
        assert!(answer.out.contains("all sound"), "{name}: {}", answer.out);
        let version: i32 = rusqlite::Connection::open(index(&shed))
            .unwrap()
            .pragma_query_value(None, "application_id", |row| row.get(0))
            .unwrap();
        assert_eq!(version, 0x7265_6564, "the index was not built again where it was {name}");
        fs::write(index(&shed), &good).unwrap();
    }
}

/// A page in the middle that is damaged shows itself only when it is read, and then it is too late to start anew.
#[test]
fn a_damaged_page_anywhere_is_noticed_before_it_is_read() {
    let shed = season();
    let wanted = answers(&shed);
    let good = fs::read(index(&shed)).unwrap();
    let pages = good.len() / 4096;
    for page in (1..pages).step_by(2) {
        let mut bytes = good.clone();
        bytes[page * 4096..(page + 1) * 4096].copy_from_slice(&noise(4096));
        // Of these, one reads each kind of page.
        for turn in [0, 3, 4] {
            fs::write(index(&shed), &bytes).unwrap();
            let answer = shed.run(COMMANDS[turn]).done();
            assert_eq!(answer.out, wanted[2 * turn], "page {page} of {pages}, {:?}", COMMANDS[turn]);
        }
    }
}

#[test]
fn without_a_place_for_the_index_the_answers_are_the_same() {
    let shed = season();
    let wanted = answers(&shed);
    fs::remove_file(index(&shed)).unwrap();
    fs::create_dir(index(&shed)).unwrap();
    fs::write(index(&shed).join("in-the-way"), "").unwrap();
    assert_eq!(answers(&shed), wanted, "with a folder in the index's place");
    shed.run(&["garage", "check"]).done();
    shed.run(&["change", "moth", "jetting.main=180", "--sure", "--why", "still recorded"]).done();
    shed.run(&["rollback", "moth", "4"]).done();
    let wanted = answers(&shed);

    fs::remove_dir_all(shed.root().join(".git/reedbook")).unwrap();
    fs::write(shed.root().join(".git/reedbook"), "").unwrap();
    assert_eq!(answers(&shed), wanted, "with a file in our folder's place");
    let complaint =
        shed.run(&["change", "moth", "jetting.main=190", "--sure", "--why", "cannot be locked"]).refused();
    assert!(complaint.contains(".git/reedbook"), "{complaint}");
    shed.assert_clean();

    fs::remove_file(shed.root().join(".git/reedbook")).unwrap();
    assert_eq!(answers(&shed), wanted, "with our folder gone");
    assert!(index(&shed).is_file(), "the index was not built again");
    shed.run(&["change", "moth", "jetting.main=190", "--sure", "--why", "recorded"]).done();
    shed.assert_clean();
}

#[cfg(unix)]
#[test]
fn a_garage_that_cannot_be_written_can_still_be_read() {
    use std::os::unix::fs::PermissionsExt;
    let shed = season();
    let wanted = answers(&shed);
    let own = shed.root().join(".git/reedbook");
    let mode = |mode| {
        fs::set_permissions(&own, fs::Permissions::from_mode(mode)).unwrap();
        fs::set_permissions(index(&shed), fs::Permissions::from_mode(mode & 0o666)).unwrap();
    };
    mode(0o555);
    assert_eq!(answers(&shed), wanted);
    mode(0o755);
    shed.git(&["commit", "-q", "--allow-empty", "-m", "the index is old now"]);
    mode(0o555);
    assert_eq!(answers(&shed), wanted);
    mode(0o755);
}

#[test]
fn readers_at_once_build_one_index() {
    let shed = season();
    let wanted = answers(&shed);
    fs::remove_file(index(&shed)).unwrap();
    let started: Vec<_> = (0..4).map(|_| shed.start(&["history", "moth", "--json"])).collect();
    for child in started {
        let output = child.wait_with_output().unwrap();
        assert_eq!(String::from_utf8_lossy(&output.stdout), wanted[1]);
    }
    assert_eq!(answers(&shed), wanted);
}

#[test]
fn a_figure_of_the_index_that_is_not_the_files_is_told() {
    let shed = season();
    answers(&shed);
    let good = fs::read(index(&shed)).unwrap();
    for change in [
        "UPDATE setup_fields SET si = si + 1 WHERE field = 'jetting.main' AND position = 1",
        "UPDATE setups SET dry_density = 1.1 WHERE position = 2",
        "UPDATE outings SET place = 'elsewhere'",
        "DELETE FROM words WHERE place = 'setup 1'",
        "UPDATE outing_fields SET text = 'lean' WHERE field = 'verdict.full'",
        "UPDATE words SET body = 'another' WHERE place LIKE 'outing %'",
    ] {
        sql(&index(&shed), change);
        let answer = shed.run(&["garage", "check"]);
        assert!(answer.out.contains("the index is not what the files say"), "{change}: {}", answer.out);
        fs::write(index(&shed), &good).unwrap();
    }
}

// --- what is added to the index is what a fresh one has

/// Everything a book remembers.
fn memory(garage: &Garage, book: &Book<'_>) -> String {
    let mut text = format!("{:#?}\n", book.engine_holders().unwrap());
    for bike in garage.bikes() {
        let setups = book.setups(&bike).unwrap();
        writeln!(text, "{bike} {setups:#?}").unwrap();
        writeln!(text, "{:#?} {:#?}", book.outings(&bike).unwrap(), book.broken_outings(&bike).unwrap())
            .unwrap();
        if let Some(latest) = setups.last() {
            writeln!(text, "{:?}", book.air_of(&bike, latest).unwrap()).unwrap();
        }
    }
    for engine in garage.engines() {
        writeln!(text, "{engine} {:#?}", book.builds(&engine).unwrap()).unwrap();
        writeln!(text, "{:#?}", book.broken_builds(&engine).unwrap()).unwrap();
    }
    writeln!(text, "{:#?} {:#?}", book.parts().unwrap(), book.broken_parts().unwrap()).unwrap();
    let conditions = [
        "jetting.main>=176",
        "ignition.base",
        "verdict.full=right",
        "build.squish.front>=0.7 mm",
        "build.scope=whole",
        "part.kind=piston",
    ];
    for condition in conditions {
        let question =
            FindQuery { conditions: vec![Condition::parse(condition).unwrap()], ..FindQuery::default() };
        writeln!(text, "{condition} {:?}", find(book, &question).unwrap()).unwrap();
    }
    let question = FindQuery { words: Some("lean".into()), ..FindQuery::default() };
    writeln!(text, "{:?}", find(book, &question).unwrap()).unwrap();
    text
}

/// Where two texts first differ.
#[track_caller]
fn assert_same(wanted: &str, got: &str, when: &str) {
    let lines = wanted.lines().zip(got.lines()).enumerate();
    if let Some((line, (wanted, got))) = lines.into_iter().find(|(_, (a, b))| a != b) {
        panic!("{when}: line {line} should be\n{wanted}\nand is\n{got}");
    }
    assert_eq!(wanted.len(), got.len(), "{when}: one is longer");
}

/// The index on disk agrees with a fresh one, and each bike's newest setup is what the newest commit holds.
#[track_caller]
fn assert_follows(root: &Path, when: &str) {
    let garage = Garage::open(root).unwrap();
    let book = Book::open(&garage).unwrap();
    let fresh = Book::fresh(&garage).unwrap();
    assert_same(&memory(&garage, &fresh), &memory(&garage, &book), when);
    assert!(book.index_agrees().unwrap(), "{when}: the index does not hold what a fresh one does");
    let Some(head) = garage.repository().head().unwrap() else { return };
    for bike in garage.bikes() {
        let Some(latest) = book.latest(&bike).unwrap() else { continue };
        let files = garage.files_at(head, &bike).unwrap();
        if files.setup.is_some() {
            let newest = book.combination(&bike, Some(&latest)).unwrap().fields;
            assert!(
                newest.same_as(&garage.combination(&files).fields),
                "{when}: the newest setup of {bike} is not what the newest commit holds"
            );
        }
    }
}

#[test]
fn after_every_event_of_the_demo_the_index_agrees_with_a_fresh_one() {
    let folder = temporary_folder();
    let root = folder.path().join("demo");
    let files = demo_files();
    let is_event = |path: &Path| path.starts_with("events");
    let events: Vec<_> = files.iter().map(|(path, _)| path).filter(|path| is_event(path)).take(60).collect();
    let some: Vec<_> =
        files.iter().filter(|(path, _)| !is_event(path) || events.contains(&path)).cloned().collect();
    let moment = Moment { now: When::parse(NOW, Offset::UTC).unwrap(), seed: Some("replay".into()) };
    let mut seen = 0;
    replay(&root, &some, &moment, |at, _| {
        assert_follows(&root, &format!("after event {at}"));
        seen = at;
    })
    .unwrap();
    assert_eq!(seen, 60);
}

#[test]
fn the_index_follows_a_history_that_was_rewritten() {
    let shed = season();
    let root = shed.root();
    assert_follows(&root, "at first");
    assert_eq!(shed.story("moth").last().unwrap(), "4 cold");

    shed.git(&["commit", "-q", "--amend", "-m", "no longer proven, by hand"]);
    assert_follows(&root, "after an amended commit");

    shed.git(&["reset", "-q", "--hard", "HEAD~3"]);
    assert_follows(&root, "after a reset");
    assert_eq!(shed.story("moth").last().unwrap(), "3 one more");

    shed.commit_edit(&setup_file("moth"), "rear = 40", "rear = 42", "shorter, by hand");
    let by_hand = shed.setups("moth")[0].clone();
    assert_eq!(by_hand.number, 4);
    shed.git(&["commit", "-q", "--amend", "-m", "shorter, by hand, said better"]);
    assert_follows(&root, "after the newest setup was amended");
    let amended = shed.setups("moth")[0].clone();
    assert_eq!((amended.number, amended.why.as_str()), (4, "shorter, by hand, said better"));
    assert_ne!(amended.id, by_hand.id);

    shed.git(&["checkout", "-q", "-b", "side", "HEAD~1"]);
    assert_follows(&root, "on a branch");
    shed.run(&["change", "moth", "ignition.base=14", "--why", "softer"]).done();
    let setup = shed.setups("moth")[0].id.clone();
    shed.git(&["checkout", "-q", "-B", "tuned", "main"]);
    shed.git_in(&root, &["rebase", "-q", "-X", "theirs", "tuned", "side"]).done();
    assert_follows(&root, "after a rebase");
    assert_eq!(shed.setups("moth")[0].id, setup, "a rebased setup keeps its identity");
    shed.git(&["checkout", "-q", "--orphan", "empty"]);
    assert!(shed.run(&["history", "moth"]).refused().contains("The branch empty is gone"));
    shed.git(&["checkout", "-q", "-f", "main"]);
    assert_follows(&root, "back on main");
    shed.assert_sound();
}

#[test]
fn an_outing_rewritten_in_the_same_second_with_the_same_size_is_seen() {
    let shed = Shed::new();
    let file = "bikes/moth/outings/20260516-0900-0000000000aa.toml";
    let outing = |word: &str| format!("date = \"2026-05-16T09:00+02:00\"\nnotes = \"{word}\"\n");
    shed.write(file, outing("first"));
    assert_eq!(shed.json(&["outing", "show", "moth"])["notes"], "first");
    for word in ["secon", "third", "fourt"] {
        shed.write(file, outing(word));
        assert_eq!(shed.json(&["outing", "show", "moth"])["notes"], word);
    }
    let path = shed.root().join(file);
    let long_ago = UNIX_EPOCH + Duration::from_secs(1_700_000_000);
    let date_back = || fs::File::options().write(true).open(&path).unwrap().set_modified(long_ago).unwrap();
    date_back();
    assert_eq!(shed.json(&["outing", "show", "moth"])["notes"], "fourt");
    if cfg!(unix) {
        // Written in place and dated back to the very time that is known: only the file system's own mark tells.
        fs::write(&path, outing("fifth")).unwrap();
        date_back();
        assert_eq!(shed.json(&["outing", "show", "moth"])["notes"], "fifth");
    }
    fs::remove_file(&path).unwrap();
    shed.run(&["outing", "show", "moth"]).refused();
}

/// A mark in the copy of an old setup stays where it is not read again.
#[test]
fn after_a_merge_only_what_is_new_is_read() {
    let shed = Shed::new();
    let changed = |main: &str, day: &str| {
        let main = format!("jetting.main={main}");
        shed.run_on(day, &["change", "moth", &main, "--sure", "--why", day]).done();
    };
    changed("172", "2026-06-01T10:00+02:00");
    shed.git(&["branch", "side"]);
    changed("174", "2026-06-03T10:00+02:00");
    shed.git(&["checkout", "-q", "side"]);
    shed.run_on("2026-06-02T10:00+02:00", &["change", "wasp", "gearing.rear=44", "--why", "longer"]).done();
    shed.git(&["checkout", "-q", "main"]);
    let marked = || shed.story("moth")[0] == "1 marked";
    let mark =
        || sql(&index(&shed), "UPDATE setups SET why = 'marked' WHERE bike = 'moth' AND position <= 2");
    shed.story("moth");
    mark();
    assert!(marked());
    shed.git(&["merge", "-q", "--no-edit", "-X", "ours", "side"]);
    assert!(marked(), "what is older than the merge was read again");
    sql(&index(&shed), "UPDATE setups SET why = 'as bought' WHERE why = 'marked'");
    assert_follows(&shed.root(), "a merge");
    mark();
    shed.git(&["commit", "-q", "--amend", "-m", "the same merge in other words"]);
    assert!(!marked(), "of a history that was rewritten something is believed");
}

/// Any mixture of the program and plain git, with branches, merges and cherry-picks.
#[test]
fn the_index_follows_any_history() {
    for seed in 1..=3_usize {
        let shed = Shed::new();
        let root = shed.root();
        let mut dice = noise(4000).into_iter().skip(1000 * seed).map(usize::from);
        let mut roll = |sides: usize| dice.next().unwrap() % sides;
        let mut branches = vec!["main".to_owned()];
        for step in 0..36 {
            let day = format!("2026-06-{:02}T10:{:02}+02:00", 1 + step / 2, 10 + step);
            let bike = ["moth", "wasp"][roll(2)];
            let value = 150 + step;
            let pick = roll(branches.len());
            let what = match roll(9) {
                0 | 1 => {
                    let main = format!("jetting.main={value}");
                    let despite = ["--despite", "only the index is looked at"];
                    let words =
                        [["change", bike, &main].as_slice(), &["--sure", "--why", "lean"], &despite].concat();
                    shed.run_on(&day, &words).done();
                    "change"
                }
                2 => {
                    let text = shed.read(&setup_file(bike));
                    let line = text.lines().find(|line| line.starts_with("rear = ")).unwrap();
                    shed.commit_edit(&setup_file(bike), line, &format!("rear = {}", 50 + step), "by hand");
                    "an edit by hand"
                }
                3 => {
                    shed.commit_edit(
                        &setup_file(bike),
                        "# what is on the bike",
                        &format!("# what is on the bike\n# remark {step}"),
                        "a comment",
                    );
                    "a comment"
                }
                4 => {
                    branches.push(format!("side-{step}"));
                    shed.git(&["checkout", "-q", "-b", branches.last().unwrap()]);
                    "a new branch"
                }
                5 => {
                    shed.git(&["checkout", "-q", &branches[pick]]);
                    "another branch"
                }
                6 => {
                    let ours = roll(3) == 0;
                    let how: &[&str] = if ours { &["-s", "ours"] } else { &["-X", "ours"] };
                    shed.git(&[&["merge", "-q", "--no-edit"], how, &[&branches[pick]]].concat());
                    "a merge"
                }
                7 => {
                    let picked = shed.git_in(&root, &["cherry-pick", "-x", "-X", "theirs", &branches[pick]]);
                    if picked.code != Some(0) {
                        // A merge, or nothing new in it: then there may be nothing to call off either.
                        shed.git_in(&root, &["cherry-pick", "--abort"]);
                    }
                    "a cherry-pick"
                }
                _ => {
                    shed.run_on(&day, &["outing", "add", bike, "full=right", "--sure"]).done();
                    "an outing"
                }
            };
            assert_follows(&root, &format!("seed {seed}, step {step}, {what}"));
        }
        shed.assert_clean();
        // An outing that was picked without its setup is rightly complained of; the index is not.
        let check: serde_json::Value =
            serde_json::from_str(&shed.run(&["garage", "check", "--json"]).out).unwrap();
        assert_eq!(
            (&check["index_agrees"], &check["damaged_objects"]),
            (&true.into(), &serde_json::json!([]))
        );
    }
}
