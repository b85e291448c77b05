//! The program's own folder in `.git`: a note of a stranger, links in place of its lock, its index and the folder itself.

use std::fs;
use std::os::unix::fs::symlink;

use serde_json::json;

use super::Beside;
use crate::common::setup_file;

/// A note of something unfinished that would write a file at this path.
fn note(beside: &Beside, path: &str) {
    let shed = &beside.shed;
    let blob = shed.git(&["rev-parse", "HEAD:garage.toml"]);
    let before = shed.git(&["rev-parse", "HEAD:bikes/moth/bike.toml"]);
    // Its commit stands: what it notes would be finished.
    let commit = shed.git(&["rev-parse", "HEAD"]);
    for (from, to) in [(None, Some(blob.trim())), (Some(before.trim()), None)] {
        let files = json!([{ "path": path, "before": from, "after": to }]);
        let text = json!({ "commit": commit.trim(), "files": files }).to_string();
        fs::write(shed.root().join(".git/reedbook/unfinished"), text).unwrap();
        beside.ends(&["change", "wasp", "--why", "as it is now"]);
        beside.ends(&["outing", "add", "wasp", "full=right", "--sure"]).done();
        assert!(!shed.root().join(".git/reedbook/unfinished").exists(), "{path}: the note stays");
    }
}

#[test]
fn a_note_leads_nowhere_but_into_the_garage() {
    let beside = Beside::new();
    let absolute = beside.elsewhere().join("made").to_string_lossy().into_owned();
    let paths = [
        absolute.as_str(),
        "../elsewhere/made",
        "bikes/../../elsewhere/made",
        ".git/hooks/post-commit",
        ".GIT/hooks/post-commit",
        "bikes/.git/made",
        "bikes/moth/setup.toml\0made",
        "",
        ".",
        "/",
    ];
    for path in paths {
        note(&beside, path);
        assert!(!beside.elsewhere().join("made").exists(), "{path}");
        assert!(!beside.shed.root().join(".git/hooks/post-commit").exists(), "{path}");
    }
    beside.assert_nothing_got_through();
    beside.shed.assert_sound();
}

#[test]
fn a_note_writes_through_no_link() {
    let beside = Beside::new();
    symlink(beside.elsewhere(), beside.shed.root().join("pits")).unwrap();
    symlink(beside.private(), beside.shed.root().join("plan.toml")).unwrap();
    for path in ["pits/made", "plan.toml"] {
        let commit = beside.shed.git(&["rev-parse", "HEAD"]);
        let blob = beside.shed.git(&["rev-parse", "HEAD:garage.toml"]);
        let text = json!({ "commit": commit.trim(), "files": [{ "path": path, "before": null, "after": blob.trim() }] });
        fs::write(beside.shed.root().join(".git/reedbook/unfinished"), text.to_string()).unwrap();
        beside.ends(&["outing", "add", "wasp", "full=right", "--sure"]).done();
    }
    beside.assert_nothing_got_through();
}

#[test]
fn a_lock_that_is_a_link_is_not_written_through() {
    let beside = Beside::new();
    beside.in_place_of(".git/reedbook/writer", |path| symlink(beside.private(), path).unwrap());
    let change = ["change", "moth", "jetting.main=172", "--why", "cooler"];
    beside.names("a link", ".git/reedbook/writer", &change);
    beside.assert_nothing_got_through();
    beside.in_place_of(".git/reedbook/writer", |path| fs::hard_link(beside.private(), path).unwrap());
    beside.names("a second name of a file", ".git/reedbook/writer", &change);
    beside.assert_nothing_got_through();
    beside.in_place_of(".git/reedbook/writer", |_| ());
    beside.ends(&change).done();
    beside.shed.assert_sound();
}

#[test]
fn our_folder_that_is_a_link_is_not_used() {
    let beside = Beside::new();
    let own = beside.shed.root().join(".git/reedbook");
    fs::remove_dir_all(&own).unwrap();
    symlink(beside.elsewhere(), &own).unwrap();
    let change = ["change", "moth", "jetting.main=172", "--why", "cooler"];
    beside.names("a link", ".git/reedbook", &change);
    beside.ends(&["history", "moth"]).done();
    beside.ends(&["find", "words:Aalgrund"]);
    beside.assert_nothing_got_through();
    fs::remove_file(&own).unwrap();
    beside.ends(&change).done();
    beside.shed.assert_sound();
}

/// The index, what SQLite lays beside it, its seal, our settings: all are made anew where a link stands in their place.
#[test]
fn nothing_of_our_own_is_written_through_a_link() {
    for name in [
        "index.sqlite",
        "index.sqlite-journal",
        "index.sqlite-wal",
        "index.seal",
        "git-settings",
        "git-index",
    ] {
        let beside = Beside::new();
        let file = format!(".git/reedbook/{name}");
        let empty = beside.shed.above().join("empty");
        for target in [beside.private(), empty.clone(), beside.elsewhere().join("made")] {
            fs::write(&empty, "").unwrap();
            beside.in_place_of(&file, |path| symlink(&target, path).unwrap());
            beside.ends(&["history", "moth"]).done();
            let answer = beside.ends(&["outing", "add", "moth", "full=right", "--sure"]);
            if answer.code != Some(0) {
                assert!(answer.refused().contains("This garage has a link at .git/reedbook/"), "{name}");
            }
            beside.assert_nothing_got_through();
            assert_eq!(fs::read(&empty).unwrap(), b"", "{name}");
        }
        beside.in_place_of(&file, |_| ());
        beside.ends(&["outing", "add", "moth", "full=right", "--sure"]).done();
        beside.shed.assert_sound();
    }
}

#[test]
fn gits_own_files_are_not_written_through_links_either() {
    let beside = Beside::new();
    let change = ["change", "moth", "jetting.main=172", "--why", "cooler"];
    let objects = beside.shed.root().join(".git/objects");
    let away = beside.shed.above().join("objects");
    fs::rename(&objects, &away).unwrap();
    symlink(&away, &objects).unwrap();
    let folders = fs::read_dir(&away).unwrap().count();
    beside.names("a link", ".git/objects", &change);
    assert_eq!(fs::read_dir(&away).unwrap().count(), folders);
    fs::remove_file(&objects).unwrap();
    fs::rename(&away, &objects).unwrap();

    beside.in_place_of(".git/index", |path| symlink(beside.private(), path).unwrap());
    beside.names("a link", ".git/index", &change);
    beside.in_place_of(".git/index", |_| ());
    beside.shed.git(&["reset", "-q"]);
    assert!(beside.shed.read(&setup_file("moth")).contains("main = 170"), "nothing was recorded");
    beside.ends(&change).done();
    beside.assert_nothing_got_through();
}
