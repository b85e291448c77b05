//! Killed at any moment, and what cleans up killed as well: nothing that was acknowledged is lost, and the next command works.

use std::time::{Duration, Instant};

use super::shed::{Shed, change, outing};
use super::{Kept, wanted};

/// Kills for one garage.
const OF_ONE: usize = 50;

pub(crate) fn tried() -> Vec<Kept> {
    let kills = wanted("PROMISES_KILLS", 40);
    let mut chance = fastrand::Rng::with_seed(wanted("PROMISES_SEED", 1) as u64);
    let mut kept = Kept::new("killed at any moment: what was acknowledged stays");
    let mut after = Kept::new("what cleans up after it killed as well");
    let (mut before, mut finished) = (0, 0);
    while kept.tried + after.tried < kills {
        let shed = Shed::new();
        let mut acknowledged = Vec::new();
        let took = Instant::now();
        shed.done(&["change", "moth", "jetting.main=174", "--why", "timed"]);
        let took = took.elapsed();
        for turn in 0..OF_ONE.min(kills - kept.tried - after.tried) {
            let twice = chance.bool();
            for again in 0..=usize::from(twice) {
                let note = format!("run {turn} {again}");
                let words = if chance.bool() { outing(&note) } else { change(2 * turn + again, &note) };
                if killed(&shed, &words, took.mul_f64(2.0 * chance.f64())) {
                    before += 1;
                } else {
                    finished += 1;
                    acknowledged.push(note);
                }
            }
            let holds = shed.holds(&acknowledged);
            (if twice { &mut after } else { &mut kept }).tried(holds);
            acknowledged.push(format!("after {}", acknowledged.len()));
        }
    }
    kept.more = format!("{before} killed before they were done, {finished} after");
    vec![kept, after]
}

/// Starts a command and kills it after a while; false where it had been done before that.
fn killed(shed: &Shed, words: &[String], after: Duration) -> bool {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let mut command = shed.command(&[], &words);
    let mut child =
        command.stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null()).spawn().unwrap();
    std::thread::sleep(after);
    child.kill().unwrap();
    let status = child.wait().unwrap();
    assert!(status.code().is_none_or(|code| code == 0), "{words:?} is refused");
    !status.success()
}
