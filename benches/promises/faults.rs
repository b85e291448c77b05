//! Every call to the system fails once: what says that it recorded did, what says that it did not did not, and the next command works.
//! Then the disk is full from some call on.

use std::collections::BTreeMap;
use std::process::{Command, Stdio};

use super::shed::{Shed, change, outing};
use super::{Kept, wanted};

/// What changes a disk.
const WRITING: [&str; 14] = [
    "write",
    "pwrite64",
    "fsync",
    "fdatasync",
    "rename",
    "renameat",
    "renameat2",
    "link",
    "linkat",
    "unlink",
    "unlinkat",
    "mkdir",
    "mkdirat",
    "ftruncate",
];
/// What only looks.
const READING: [&str; 4] = ["openat", "read", "newfstatat", "statx"];

pub(crate) fn has_strace() -> bool {
    let tried = Command::new("strace").args(["-o", "/dev/null", "true"]).stderr(Stdio::null()).status();
    tried.is_ok_and(|status| status.success())
}

pub(crate) fn tried() -> Vec<Kept> {
    let mut fails = Kept::new("any one call to the system fails: recorded or not, never both");
    let mut full = Kept::new("the disk is full from any write on: the same");
    if !has_strace() {
        fails.more.push_str("not tried: there is no strace");
        return vec![fails, full];
    }
    let every = wanted("PROMISES_EVERY", 25);
    let shed = Shed::new();
    let mut said = [0, 0];
    for words in [outing("the one"), change(1, "the one")] {
        let calls = calls(&shed, &words);
        let of = |names: &[&str]| -> Vec<(String, usize)> {
            let known = names.iter().filter_map(|name| Some(((*name).to_owned(), *calls.get(*name)?)));
            known.collect()
        };
        for (name, count) in of(&WRITING).into_iter().chain(of(&READING)) {
            for at in (1..=count).step_by(every) {
                fails.tried(injected(&shed, &words, &format!("{name}:error=EIO:when={at}"), &mut said));
            }
        }
        let writes = of(&["write", "pwrite64"]);
        for (name, count) in writes {
            for at in (1..=count).step_by(every) {
                full.tried(injected(&shed, &words, &format!("{name}:error=ENOSPC:when={at}+"), &mut said));
            }
        }
    }
    fails.more = format!("{} recorded all the same, {} did not", said[0], said[1]);
    vec![fails, full]
}

/// How often each call is made by a command.
fn calls(shed: &Shed, words: &[String]) -> BTreeMap<String, usize> {
    let shed = shed.again();
    let log = shed.home().join("trace");
    traced(&shed, &["-o", &log.display().to_string()], words);
    let mut calls = BTreeMap::new();
    for line in std::fs::read_to_string(log).unwrap().lines() {
        let call = line.split_once(' ').map_or("", |(_, call)| call.trim_start());
        if let Some((name, _)) = call.split_once('(') {
            *calls.entry(name.to_owned()).or_insert(0) += 1;
        }
    }
    calls
}

fn traced(shed: &Shed, options: &[&str], words: &[String]) -> std::process::Output {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    shed.command(&[&["strace", "-f"], options].concat(), &words).output().unwrap()
}

/// One call fails; `said` counts what was recorded and what was not.
fn injected(shed: &Shed, words: &[String], inject: &str, said: &mut [usize; 2]) -> Result<(), String> {
    let shed = shed.again();
    let name = inject.split(':').next().unwrap_or("");
    // Only the call that fails stops the program: without that filter each of thousands does.
    let trace = format!("trace={name}");
    let options = ["--seccomp-bpf", "-o", "/dev/null", "-e", &trace, "-e", &format!("inject={inject}")];
    let done = traced(&shed, &options, words);
    let err = String::from_utf8_lossy(&done.stderr).into_owned();
    let broken =
        |what: String| format!("{} {inject}: {what}: {}", words[0], err.lines().next().unwrap_or(""));
    if err.contains("panicked") {
        return Err(broken("panicked".into()));
    }
    let says_not = err.to_lowercase().contains("nothing was recorded");
    let status = shed.command(&[], &["bike", "list"]).output().unwrap();
    if !status.status.success() {
        return Err(broken(format!("what comes next fails: {}", String::from_utf8_lossy(&status.stderr))));
    }
    let there = shed.has("the one");
    said[usize::from(!there)] += 1;
    match (done.status.success(), there) {
        (true, false) => return Err(broken("said that it recorded, and did not".into())),
        (false, true) if says_not => return Err(broken("said that nothing was recorded, and it was".into())),
        _ => {}
    }
    let acknowledged: Vec<String> = there.then(|| "the one".to_owned()).into_iter().collect();
    shed.holds(&acknowledged).map_err(broken)
}
