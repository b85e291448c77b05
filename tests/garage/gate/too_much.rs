//! Files that never end, that nobody writes to, or that are larger than any of their kind: refused at once.

use std::fs::{self, File};
use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use super::Beside;
use crate::common::{Shed, in_a_line, setup_file};
use crate::writers::wait;

fn pipe(path: &Path) {
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

fn sparse(path: &Path, bytes: u64) {
    File::create(path).unwrap().set_len(bytes).unwrap();
}

const AIR: &str = "temp=20 C; baro=1008 hPa; humidity=55";
const OUTING: &str = "bikes/moth/outings/20260516-0900-0000000000aa.toml";

#[test]
fn a_pipe_is_not_waited_for() {
    let moth: [&[&str]; 2] =
        [&["change", "moth", "jetting.main=172", "--why", "x"], &["rollback", "moth", "1"]];
    for (file, refused) in [
        ("bikes/moth/setup.toml", moth.as_slice()),
        ("bikes/moth/bike.toml", &moth[..1]),
        ("engines/moth-engine/engine.toml", &moth),
        ("bikes/moth/maps/advance.csv", &moth),
        ("bikes/moth/numbers", &moth[..1]),
        ("configs/shares.toml", &[]),
        ("parts/p1.toml", &[&["part", "retire", "p1"]]),
        (OUTING, &[]),
    ] {
        let beside = Beside::new();
        beside.in_place_of(file, pipe);
        for words in refused {
            beside.names("a pipe", file, words);
        }
        beside.mentions("a pipe", file, &["garage", "check"]);
        if file.starts_with("bikes/moth") {
            beside.mentions("a pipe", file, &["history", "moth"]);
        }
        if !file.starts_with("configs") {
            beside.assert_wasp_is_usable();
        }
        beside.assert_nothing_got_through();
    }
}

#[test]
fn settings_that_include_a_pipe_are_not_waited_for() {
    let beside = Beside::new();
    let shed = &beside.shed;
    let pipe_at = |path: &std::path::Path| pipe(path);
    pipe_at(&shed.root().join(".git/waits"));
    fs::write(shed.root().join(".git/plain"), "[include]\n\tpath = waits\n").unwrap();
    for named in ["waits", "plain"] {
        shed.git(&["config", "user.nickname", "Ana"]);
        let settings = shed.root().join(".git/config");
        let before = fs::read_to_string(&settings).unwrap();
        fs::write(&settings, format!("{before}[include]\n\tpath = {named}\n")).unwrap();
        for words in [&["history", "moth"][..], &["change", "moth", "jetting.main=172", "--why", "x"]] {
            let said = in_a_line(&beside.ends(words).refused());
            assert!(said.contains("This garage has a pipe at") && said.contains("waits"), "{said}");
        }
        fs::write(&settings, before).unwrap();
    }
    // What git would read by rules of its own, it is not followed.
    for named in ["waits # a word", "waits ; a word", "waits;x", "\"wai\"ts", "wai\\\nts"] {
        let settings = shed.root().join(".git/config");
        let before = fs::read_to_string(&settings).unwrap();
        for head in ["[include]", "[includeIf \"onbranch:main\"]"] {
            fs::write(&settings, format!("{before}{head}\n\tpath = {named}\n")).unwrap();
            let said = in_a_line(&beside.ends(&["history", "moth"]).refused());
            assert!(said.contains("an include that is not written plainly"), "{named}: {said}");
        }
        fs::write(&settings, before).unwrap();
    }
    // What is not there is nothing to git either.
    shed.git(&["config", "include.path", "nowhere"]);
    beside.ends(&["history", "moth"]).done();
}

/// Small as they are stored, they would be a gigabyte in memory.
#[test]
fn objects_that_are_large_when_they_are_read_are_not_opened() {
    let beside = Beside::new();
    let shed = &beside.shed;
    // A folder of folders of folders: ten million files in twelve objects.
    let mut inner = shed.git(&["hash-object", "-w", "garage.toml"]).trim().to_owned();
    let mut entry = format!("100644 blob {inner}");
    for _ in 0..7 {
        let list: String = (0..10).map(|name| format!("{entry}\tf{name}\n")).collect();
        inner = shed.git_said(&["mktree"], &list);
        entry = format!("040000 tree {inner}");
    }
    let root = shed.git(&["ls-tree", "HEAD"]);
    let tree = shed.git_said(&["mktree"], &format!("{root}{entry}\tphotos\n"));
    let commit = shed.git(&["commit-tree", &tree, "-p", "HEAD", "-m", "photos"]);
    shed.git(&["update-ref", "refs/heads/main", commit.trim()]);
    beside.ends(&["history", "moth"]).done();
    beside.ends(&["change", "moth", "jetting.main=172", "--why", "cooler"]).done();
    beside.ends(&["outing", "add", "moth", "full=right", "--sure"]).done();
    // A reason of two million letters.
    let long = shed.git_said(&["commit-tree", "HEAD^{tree}", "-p", "HEAD"], &"ha ".repeat(700_000));
    shed.git(&["update-ref", "refs/heads/main", &long]);
    for words in [&["history", "moth"][..], &["change", "moth", "jetting.main=174", "--why", "x"], &["now"]] {
        let said = in_a_line(&beside.ends(words).refused());
        assert!(said.contains("A commit of the history") && said.contains("It is not opened"), "{said}");
    }
}

#[test]
fn a_pipe_in_our_own_folder_is_not_waited_for() {
    for name in ["writer", "unfinished", "index.sqlite", "index.seal", "git-settings", "git-index"] {
        let beside = Beside::new();
        beside.in_place_of(&format!(".git/reedbook/{name}"), pipe);
        beside.ends(&["history", "moth"]).done();
        let answer = beside.ends(&["outing", "add", "moth", "full=right", "--sure"]);
        assert!(
            answer.code == Some(0)
                || answer.refused().contains(&format!("This garage has a pipe at .git/reedbook/{name}")),
            "{name}"
        );
    }
    let beside = Beside::new();
    for lock in [".git/index.lock", ".git/refs/heads/main.lock"] {
        beside.in_place_of(lock, pipe);
        assert!(beside.ends(&["outing", "add", "moth", "full=right", "--sure"]).refused().contains(".lock"));
        beside.in_place_of(lock, |_| ());
    }
}

#[test]
fn devices_sockets_and_folders_are_named() {
    let beside = Beside::new();
    beside.in_place_of("bikes/moth/setup.toml", |path| symlink("/dev/zero", path).unwrap());
    beside.names("a link", "bikes/moth/setup.toml", &["change", "moth", "--why", "x"]);
    beside.in_place_of("bikes/moth/setup.toml", |path| drop(UnixListener::bind(path).unwrap()));
    beside.names("a socket", "bikes/moth/setup.toml", &["change", "moth", "--why", "x"]);
    beside.in_place_of("bikes/moth/setup.toml", |path| fs::create_dir(path).unwrap());
    beside.names("a folder", "bikes/moth/setup.toml", &["change", "moth", "--why", "x"]);
    beside.assert_wasp_is_usable();
}

#[test]
fn a_file_of_a_gigabyte_is_refused_at_once() {
    for (file, words) in [
        ("bikes/moth/setup.toml", ["change", "moth", "--why", "x"].as_slice()),
        ("bikes/moth/bike.toml", &["change", "moth", "jetting.main=172", "--why", "x"]),
        ("bikes/moth/maps/advance.csv", &["change", "moth", "jetting.main=172", "--why", "x"]),
        ("bikes/moth/numbers", &["change", "moth", "jetting.main=172", "--why", "x"]),
        ("parts/p1.toml", &["part", "retire", "p1"]),
        (".git/reedbook/unfinished", &["outing", "add", "moth", "full=right", "--sure"]),
    ] {
        let beside = Beside::new();
        beside.in_place_of(file, |path| sparse(path, 1 << 30));
        let began = Instant::now();
        let complaint = beside.ends(words).refused();
        assert!(complaint.contains(&format!("{file} has 1 GB; at most ")), "{complaint}");
        assert!(began.elapsed() < Duration::from_secs(5), "{file}");
        if file.starts_with("bikes/moth") {
            beside.assert_wasp_is_usable();
        }
    }
    let beside = Beside::new();
    beside.in_place_of(OUTING, |path| sparse(path, 1 << 30));
    let list = beside.ends(&["outing", "list", "moth", "--json"]).done();
    assert!(list.out.contains(&format!("{OUTING} has 1 GB; at most 1 MB of it are read")), "{}", list.out);
    beside.ends(&["outing", "add", "moth", "full=right", "--sure"]).done();
}

/// A history may have been written by any program.
#[test]
fn a_recorded_file_that_is_too_large_is_no_setup_and_stops_nobody() {
    let beside = Beside::new();
    let sound = beside.shed.read(&setup_file("moth"));
    let notes = format!("notes = \"{}\"\n{sound}", "x".repeat(3_000_000));
    beside.shed.write(&setup_file("moth"), notes);
    beside.shed.git(&["commit", "-q", "-a", "-m", "a novel"]);
    beside.shed.write(&setup_file("moth"), sound.replace("main = 170", "main = 172"));
    beside.shed.git(&["commit", "-q", "-a", "-m", "a setup again"]);
    assert_eq!(beside.shed.story("moth"), ["1 as bought", "2 a setup again"]);
    beside.assert_wasp_is_usable();
    beside.shed.assert_sound();
}

#[test]
fn a_map_of_five_thousand_by_five_thousand_is_refused_at_once() {
    let beside = Beside::new();
    let row = |first: String| first + &",10".repeat(5_000) + "\n";
    let head = (1..=5_000).fold("throttle".to_owned(), |line, at| format!("{line},{}", 1_000 + at)) + "\n";
    let cells: String = (0..5_000).map(|at| row(format!("{}", f64::from(at) / 50.0))).collect();
    beside.shed.write("bikes/moth/maps/advance.csv", head + &cells);
    beside.shed.edit(&setup_file("moth"), "base = 15\n", "base = 15\nadvance = \"maps/advance.csv\"\n");
    for words in [["ignition", "moth", "now"].as_slice(), &["change", "moth", "--why", "mapped"]] {
        let began = Instant::now();
        let complaint = beside.ends(words).refused();
        assert!(
            complaint.contains("bikes/moth/maps/advance.csv has 72 MB; at most 128 kB of it are read"),
            "{complaint}"
        );
        assert!(began.elapsed() < Duration::from_secs(5));
    }
    beside.assert_wasp_is_usable();
}

#[test]
fn a_plan_of_twenty_thousand_lines_is_refused_at_once() {
    let beside = Beside::new();
    let plan = beside.shed.above().join("plan.csv");
    let lines: String = (0..20_000).map(|at| format!("heat {at},{} C,1008 hPa,50\n", at % 30)).collect();
    fs::write(&plan, format!("session,temp,baro,humidity\n{lines}")).unwrap();
    let plan = plan.to_string_lossy().into_owned();
    for csv in [false, true] {
        let mut words = vec!["rejet", "moth", "--baseline", "1", "--baseline-air", AIR, "--plan", &plan];
        words.extend(csv.then_some("--csv"));
        let began = Instant::now();
        let complaint = beside.ends(&words).refused();
        assert!(complaint.contains("The list has more than"), "{complaint}");
        assert!(began.elapsed() < Duration::from_secs(10), "{:?}", began.elapsed());
    }
}

/// A pipe that is named by hand has no end, and may have no beginning: it is refused at once.
#[test]
fn a_pipe_that_the_user_names_is_refused_at_once() {
    let shed = Shed::new();
    pipe(&shed.root().join("pipe"));
    let head = shed.git(&["rev-parse", "HEAD"]);
    let asked: [&[&str]; 5] = [
        &["air", "--csv", "pipe"],
        &["handover", "read", "pipe"],
        &["outing", "add", "moth", "full=right", "--dyno", "pipe"],
        &["outing", "import", "pipe"],
        &["handover", "moth", "1", "--only", "jetting", "--out", "new.age", "--passphrase-file", "pipe"],
    ];
    for words in asked {
        let mut child = shed.start(words);
        let began = Instant::now();
        while child.try_wait().unwrap().is_none() && began.elapsed() < Duration::from_secs(10) {
            std::thread::sleep(Duration::from_millis(20));
        }
        let _ = child.kill();
        let said = in_a_line(&wait(child).refused());
        assert!(said.contains("pipe is a pipe or a device, and no plain file"), "{words:?}: {said}");
    }
    assert_eq!(shed.git(&["rev-parse", "HEAD"]), head, "nothing was recorded");
}
