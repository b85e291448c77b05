//! A large garage shared by ten people: the first clone, the first index, and a day's share.

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use super::garage::{Large, name};

/// Setups that each records on a day, each on a bike of its own, with an outing on it.
const A_DAY: usize = 4;

/// Makes it and times it.
pub(crate) fn time(setups: usize, bikes: usize, people: usize) {
    let begin = Instant::now();
    let large = Large::with(setups, bikes);
    println!(
        "{setups} setups and {} outings on {bikes} bikes, made in {:.0} s",
        setups / 2,
        begin.elapsed().as_secs_f64()
    );
    let above = large.above();
    git(above, &["clone", "-q", "--bare", "garage", "stick.git"]);
    println!("{:<34}{:>9.1} MB", "what is cloned", size(&above.join("stick.git/objects")));
    let clones: Vec<String> = (0..people).map(|who| format!("clone-{who}")).collect();
    let ends = |who: usize| who == 0 || who + 1 == people;
    for (who, clone) in clones.iter().enumerate() {
        let seconds = timed(above, "git", &["clone", "-q", "--no-local", "stick.git", clone]);
        said("clone", ends(who), seconds);
        let folder = above.join(clone);
        git(&folder, &["config", "user.name", &format!("Person {who}")]);
        git(&folder, &["config", "user.email", "person@shop.example"]);
        said("first index", ends(who), program(&folder, &["bike", "list"]));
    }
    let mut bike = 0;
    for (who, clone) in clones.iter().enumerate() {
        let folder = above.join(clone);
        for turn in 0..A_DAY {
            let bike = name({
                bike = (bike + 1) % bikes;
                bike
            });
            let main = format!("jetting.main={}", 150 + 2 * turn);
            let words =
                ["change", &bike, &main, "--sure", "--despite", "bench", "--why", "the day's, for its air"];
            let change = program(&folder, &words);
            let outing = program(&folder, &["outing", "add", &bike, "full=right"]);
            if turn == 0 {
                said("change", ends(who), change);
                said("outing add", ends(who), outing);
            }
        }
        said("a day's share, bring and send", ends(who), program(&folder, &["share"]));
    }
    for (who, clone) in clones.iter().enumerate() {
        let folder = above.join(clone);
        said("share at the end of the day", ends(who), program(&folder, &["share"]));
        said("share, nothing new", ends(who), program(&folder, &["share"]));
    }
    let heads: Vec<String> =
        clones.iter().map(|clone| git(&above.join(clone), &["rev-parse", "HEAD"])).collect();
    assert!(heads.iter().all(|head| *head == heads[0]), "the clones are not one");
}

/// What something took: by the clock, and of the processor, s.
type Took = (f64, f64);

/// The first one and the last are said.
fn said(what: &str, is_said: bool, (clock, processor): Took) {
    if is_said {
        println!("{what:<34}{:>9.0} ms {:>9.0} ms of the processor", clock * 1_000.0, processor * 1_000.0);
    }
}

fn git(folder: &Path, words: &[&str]) -> String {
    let done = Command::new("git").args(words).current_dir(folder).output().expect("git runs");
    assert!(done.status.success(), "git {words:?}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8_lossy(&done.stdout).into_owned()
}

fn program(folder: &Path, words: &[&str]) -> Took {
    timed(folder, env!("CARGO_BIN_EXE_reedbook"), words)
}

fn timed(folder: &Path, program: &str, words: &[&str]) -> Took {
    let begin = Instant::now();
    let done = Command::new("/usr/bin/time")
        .args(["-f", "%U %S", program])
        .args(words)
        .current_dir(folder)
        .output()
        .expect("it runs");
    let clock = begin.elapsed().as_secs_f64();
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{words:?}: {said}");
    let parts =
        said.lines().last().unwrap_or_default().split(' ').filter_map(|part| part.parse::<f64>().ok());
    (clock, parts.sum())
}

/// Megabytes of the files in a folder.
fn size(folder: &Path) -> f64 {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let bytes = entries.map(|entry| {
        let path = entry.path();
        if path.is_dir() { size(&path) } else { entry.metadata().map_or(0.0, |data| data.len() as f64 / 1e6) }
    });
    bytes.sum()
}
