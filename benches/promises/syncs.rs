//! The order in which things reach the disk, by a trace: a file before its name, what a commit holds before the branch, the branch before
//! the word that it is recorded.

use std::collections::{BTreeMap, BTreeSet};

use super::Kept;
use super::faults::has_strace;
use super::shed::{Shed, change, outing};

pub(crate) fn tried() -> Vec<Kept> {
    let mut kept = Kept::new("on the disk in this order: contents, names, branch, the word");
    if !has_strace() {
        kept.more.push_str("not tried: there is no strace");
        return vec![kept];
    }
    let shed = Shed::new();
    for words in [outing("traced"), change(1, "traced")] {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let log = shed.home().join("trace");
        let calls = "trace=openat,fsync,fdatasync,rename,renameat,renameat2,link,linkat,write,close";
        let trace = ["strace", "-f", "-y", "-o", &log.display().to_string(), "-e", calls];
        let done = shed.command(&trace, &words).output().unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        in_order(&std::fs::read_to_string(&log).unwrap(), &mut kept);
    }
    vec![kept]
}

/// Every name under the garage that was given to a file had its contents synced before, and its folder after it and before the word.
fn in_order(trace: &str, kept: &mut Kept) {
    let (mut synced, mut unsynced_folders) = (BTreeSet::new(), BTreeMap::new());
    let mut spoken = false;
    for line in trace.lines() {
        let call = line.split_once(' ').map_or("", |(_, call)| call.trim_start());
        let (name, rest) = call.split_once('(').unwrap_or((call, ""));
        let paths: Vec<&str> = rest.split(['<', '>', '"']).filter(|part| part.starts_with('/')).collect();
        match name {
            "fsync" | "fdatasync" => {
                for path in paths {
                    synced.insert(path.to_owned());
                    unsynced_folders.remove(path);
                }
            }
            "rename" | "renameat" | "renameat2" | "link" | "linkat" => {
                let quoted: Vec<&str> = rest.split('"').skip(1).step_by(2).collect();
                let [from, to] = quoted[..] else { continue };
                // Between the angle brackets stands the folder that a bare name is in.
                let folders: Vec<&str> = rest.split(['<', '>']).skip(1).step_by(2).collect();
                let whole = |at: usize, name: &str| match (name.starts_with('/'), folders.get(at)) {
                    (false, Some(folder)) => format!("{folder}/{name}"),
                    _ => name.to_owned(),
                };
                let (from, to) = (whole(0, from), whole(1, to));
                // A part that nobody reads under that name; the index of answers is a copy; git's own index is a lock that was synced.
                if to.ends_with(".part") || to.contains("/.git/reedbook/index") || to.ends_with("/.git/index")
                {
                    continue;
                }
                kept.tried(if synced.contains(&from) {
                    Ok(())
                } else {
                    Err(format!("{to} has a name before its contents are on the disk"))
                });
                synced.insert(to.clone());
                let folder = to.rsplit_once('/').map_or("", |(folder, _)| folder);
                unsynced_folders.insert(folder.to_owned(), to.clone());
            }
            "write" if rest.starts_with("1<") && !spoken => {
                spoken = true;
                kept.tried(match unsynced_folders.values().next() {
                    None => Ok(()),
                    Some(name) => Err(format!("it is said before the name {name} is on the disk")),
                });
            }
            _ => {}
        }
    }
    kept.tried(if spoken { Ok(()) } else { Err("nothing was said".to_owned()) });
}
