//! Git's own files in a stranger's garage, and in the folder that is shared through: what is no plain file of a size that git would write
//! is named before anything opens it, and nobody waits.

use std::fs::{self, File};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use super::Yard;
use crate::common::{Answer, in_a_line};

const FILES: [&str; 9] = [
    "HEAD",
    "config",
    "packed-refs",
    "refs/heads/main",
    "shallow",
    "info/grafts",
    "objects/info/alternates",
    "objects/info/commit-graph",
    "objects/pack/multi-pack-index",
];
/// What is mapped or only added to is of any size.
const BOUNDED: usize = 8;

/// Puts a pipe, or a sparse gigabyte, in a file's place; gives what was there.
fn put(kind: &str, place: &Path) -> Option<Vec<u8>> {
    let was = fs::read(place).ok();
    fs::create_dir_all(place.parent().unwrap()).unwrap();
    let _ = fs::remove_file(place);
    match kind {
        "a pipe" => assert!(Command::new("mkfifo").arg(place).status().unwrap().success()),
        "a link" => std::os::unix::fs::symlink("/dev/zero", place).unwrap(),
        _ => File::create(place).unwrap().set_len(1024 * 1024 * 1024).unwrap(),
    }
    was
}

fn put_back(place: &Path, was: Option<Vec<u8>>) {
    fs::remove_file(place).unwrap();
    if let Some(was) = was {
        fs::write(place, was).unwrap();
    }
}

/// An answer that does not wait: a program that hangs is ended, and fails the test.
fn soon(yard: &Yard, words: &[&str]) -> Answer {
    let mut command = yard.shed.program(&yard.at("shop"), words);
    command.env("REEDBOOK_NOW", "2026-05-18T10:00:00+02:00");
    let mut child =
        command.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped()).spawn().unwrap();
    let begun = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if begun.elapsed() > Duration::from_secs(20) {
            child.kill().unwrap();
            panic!("{words:?} does not come back");
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    child.wait_with_output().unwrap().into()
}

#[test]
fn a_pipe_or_a_gigabyte_among_gits_files_is_named_and_not_opened() {
    let yard = Yard::new();
    let (own, stick) = (yard.at("shop").join(".git"), yard.shed.above().join("stick.git"));
    // The newest commit, as git keeps it by itself.
    let head = yard.head("shop");
    let loose = format!("objects/{}/{}", &head[..2], head[2..].trim());
    for (at, file) in std::iter::once(loose.as_str()).chain(FILES).enumerate() {
        for kind in ["a pipe", "a link", "1 GB"] {
            if kind == "1 GB" && at >= BOUNDED {
                continue;
            }
            for (top, words) in [
                (&own, &["now", "moth"][..]),
                (&own, &["outing", "add", "moth", "full=r"]),
                (&stick, &["share"]),
            ] {
                let place = top.join(file);
                let was = put(kind, &place);
                let said = in_a_line(&soon(&yard, words).refused());
                put_back(&place, was);
                assert!(said.contains(kind) && said.contains(file), "{kind} at {file}, {words:?}: {said}");
                let whose = if top == &stick { "The other side is damaged" } else { "garage has" };
                assert!(kind == "1 GB" || said.contains(whose), "{whose}: {said}");
            }
        }
    }
    yard.shed.assert_sound();
    yard.done("shop", "18T11", &["share"]);
}

/// A branch that is gone is not a garage in which nothing was recorded.
#[test]
fn a_branch_that_is_gone_is_said_and_comes_back() {
    let yard = Yard::new();
    yard.done("shop", "16T10", &["outing", "add", "moth", "full=lean"]);
    let (head, branch) = (yard.head("shop"), yard.at("shop").join(".git/refs/heads/main"));
    fs::remove_file(&branch).unwrap();
    for words in [
        &["now", "moth"][..],
        &["change", "moth", "jetting.main=160", "--why", "leaner"],
        &["outing", "add", "moth", "full=r"],
        &["share"],
    ] {
        let said = in_a_line(&yard.run("shop", "17T10", words).refused());
        assert!(said.contains("The branch main is gone"), "{words:?}: {said}");
        assert!(said.contains(&format!("`git update-ref refs/heads/main {}`", head.trim())), "{said}");
    }
    yard.shed.git(&["update-ref", "refs/heads/main", head.trim()]);
    assert!(in_a_line(&yard.done("shop", "17T11", &["now", "moth"])).contains("!! "));
    yard.shed.assert_sound();
    // Without git's log the numbers alone tell it.
    fs::remove_file(&branch).unwrap();
    fs::remove_dir_all(yard.at("shop").join(".git/logs")).unwrap();
    let said = in_a_line(&yard.run("shop", "17T12", &["now", "moth"]).refused());
    assert!(said.contains("bikes/moth/numbers knows what was recorded"), "{said}");
}
