//! Answers in a large garage beside what git and SQLite take for the like: how each grows, from a sixteenth of the garage to all.
//!
//! ```text
//! cargo bench --bench large
//! LARGE_SETUPS=20000 LARGE_ROUNDS=5 cargo bench --bench large
//! LARGE_SHARED=33000 cargo bench --bench large
//! ```
//!
//! `LARGE_SHARED` shares one of so many setups on 200 bikes (`LARGE_BIKES`), with half as many outings, between ten people
//! (`LARGE_PEOPLE`) in place of all that: 33,000 are 50,000 changes.
//!
//! `LARGE_SETUPS` (4,800) is the number of setups of the largest garage, 20 bikes, with half as many outings; `LARGE_ROUNDS` (5) how often
//! each is timed, of which the median counts; `LARGE_AIRS` (250 a setup) how many airs the longest list has, `LARGE_PYTHON` a Python with
//! numpy and `CoolProp` for them. Needs git and sqlite3. Not a test: a machine may be busy; ours and the peer take turns, so
//! that the ratio holds all the same.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a bench may fail loudly
#![allow(clippy::print_stdout, clippy::disallowed_methods)] // it prints its table, and starts programs
#![allow(clippy::cast_precision_loss)] // counts are small

#[path = "large/airs.rs"]
mod airs;
#[path = "large/garage.rs"]
mod garage;
#[path = "large/shared.rs"]
mod shared;
#[path = "large/timed.rs"]
mod timed;

use garage::Large;
use timed::{Row, Work};

fn asked(name: &str, otherwise: usize) -> usize {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

/// Everything that is timed, each with its peer and the most that it may take of the peer's time.
fn works(large: &Large) -> Vec<Work> {
    let (bike, last) = (large.bike(), large.setups_of_bike());
    let (early, late) = ((last / 3).max(1).to_string(), last.to_string());
    let (one, two) = (large.commit(last / 3), large.commit(last));
    let synced = "git -c core.fsync=loose-object,reference,index -c core.fsyncMethod=fsync";
    let index = ".git/reedbook/index.sqlite";
    let path = format!("bikes/{bike}");
    let air = "--temp 21 --baro 997 --humidity 60";
    vec![
        Work::new(
            "history of one bike",
            format!("history {bike} --last 6000 --no-pager"),
            format!("git log --oneline -- {path}"),
            0.5,
        ),
        Work::new(
            "history --last 5",
            format!("history {bike} --last 5"),
            format!("git log --oneline -- {path}"),
            0.25,
        ),
        Work::new(
            "compare two setups",
            format!("compare {bike} {early} {late}"),
            format!("git diff {one} {two} -- {path}"),
            3.0,
        ),
        Work::new("show", format!("show {bike} {early}"), format!("git diff {one} {two} -- {path}"), 3.0),
        Work::writing(
            "change",
            format!("change {bike} jetting.main={{}} --sure --despite bench --why timed"),
            format!("sh -c 'echo {{}} >> peer; git add peer; {synced} commit -qm timed'"),
            2.0,
        ),
        Work::writing(
            "outing add",
            format!("outing add {bike} full=right --note run-{{}}"),
            format!("sh -c 'echo {{}} >> peer; git add peer; {synced} commit -qm timed'"),
            2.0,
        ),
        Work::new("first index", "bike list", "git log -p", 3.0).after(&[index]),
        Work::new("the command after it", "bike list", "bike list", 1.5),
        Work::new("after a merge", "bike list", "bike list", 1.5).once_done(large.merge()),
        Work::new(
            "learned rejet",
            format!("rejet {bike} {air}"),
            format!("rejet {bike} {air} --theory"),
            5.0,
        ),
        Work::new(
            "find by field",
            "find jetting.main=170",
            format!(
                "sqlite3 {index} 'SELECT s.bike,s.why,s.commit_id FROM setup_fields f JOIN setups s USING(position) WHERE field=\"jetting.main\" AND si=170 ORDER BY position'"
            ),
            2.0,
        ),
        Work::new(
            "find by air",
            format!("find {air} --within 1"),
            format!(
                "sqlite3 {index} 'SELECT file, bike, unix, place, document FROM outings WHERE dry_density BETWEEN 1.1573 AND 1.1807 ORDER BY abs(dry_density - 1.169)'"
            ),
            2.0,
        ),
        Work::new(
            "find by words",
            "find --words quernby",
            format!("sqlite3 {index} 'SELECT place, body FROM words WHERE words MATCH \"quernby\"'"),
            2.0,
        ),
        Work::new("garage check", "garage check", "git fsck --no-progress", 2.0),
        Work::new("start", "--version", "git --version", 1.5),
    ]
}

fn main() {
    let shared = asked("LARGE_SHARED", 0);
    if shared > 0 {
        return shared::time(shared, asked("LARGE_BIKES", 200), asked("LARGE_PEOPLE", 10));
    }
    let (setups, rounds) = (asked("LARGE_SETUPS", 4_800), asked("LARGE_ROUNDS", 5));
    let sizes = [setups / 16, setups / 4, setups];
    let mut rows: Vec<Row> = Vec::new();
    for size in sizes {
        let large = Large::new(size);
        for (at, work) in works(&large).into_iter().enumerate() {
            if rows.len() == at {
                rows.push(Row::of(&work));
            }
            rows[at].add(work.time(&large, rounds));
        }
        println!("{size} setups and {} outings on 20 bikes: done", size / 2);
    }
    let (airs, of_airs) = airs::rows(asked("LARGE_AIRS", setups * 250), rounds.min(3));
    for (sizes, rows) in [(sizes.to_vec(), rows), (airs, of_airs)] {
        println!("{}", Row::head(&sizes));
        for row in &rows {
            println!("{}", row.line(&sizes));
        }
    }
}
