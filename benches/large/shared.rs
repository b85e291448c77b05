//! A large garage shared by ten people: the first clone, the first index, and a day's share.

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use super::garage::{Large, name};

/// How many share.
const PEOPLE: usize = 10;
/// Setups that each records on a day, each on a bike of its own, with an outing on it.
const A_DAY: usize = 4;

/// Makes it and times it.
pub(crate) fn time(setups: usize, bikes: usize) {
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
    let clones: Vec<String> = (0..PEOPLE).map(|who| format!("clone-{who}")).collect();
    for (who, clone) in clones.iter().enumerate() {
        let seconds = timed(|| git(above, &["clone", "-q", "--no-local", "stick.git", clone]));
        said("clone", who, seconds);
        let folder = above.join(clone);
        git(&folder, &["config", "user.name", &format!("Person {who}")]);
        git(&folder, &["config", "user.email", "person@shop.example"]);
        said("first index", who, timed(|| program(&folder, &["bike", "list"])));
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
            let change = timed(|| program(&folder, &words));
            let outing = timed(|| program(&folder, &["outing", "add", &bike, "full=right"]));
            if turn == 0 {
                said("change", who, change);
                said("outing add", who, outing);
            }
        }
        said("a day's share, bring and send", who, timed(|| program(&folder, &["share"])));
    }
    for (who, clone) in clones.iter().enumerate() {
        let folder = above.join(clone);
        said("share at the end of the day", who, timed(|| program(&folder, &["share"])));
        said("share, nothing new", who, timed(|| program(&folder, &["share"])));
    }
    let heads: Vec<String> =
        clones.iter().map(|clone| git(&above.join(clone), &["rev-parse", "HEAD"])).collect();
    assert!(heads.iter().all(|head| *head == heads[0]), "the clones are not one");
}

fn timed<T>(work: impl FnOnce() -> T) -> f64 {
    let begin = Instant::now();
    work();
    begin.elapsed().as_secs_f64()
}

/// The first one and the last are said.
fn said(what: &str, who: usize, seconds: f64) {
    if who == 0 || who + 1 == PEOPLE {
        println!("{what:<34}{:>9.0} ms", seconds * 1_000.0);
    }
}

fn git(folder: &Path, words: &[&str]) -> String {
    let done = Command::new("git").args(words).current_dir(folder).output().expect("git runs");
    assert!(done.status.success(), "git {words:?}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8_lossy(&done.stdout).into_owned()
}

fn program(folder: &Path, words: &[&str]) {
    let done = Command::new(env!("CARGO_BIN_EXE_reedbook")).args(words).current_dir(folder).output().unwrap();
    assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
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
