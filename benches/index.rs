//! What the index is worth: opening the demo's records through it beside building it from nothing, in one run. Prints a
//! ratio; `cargo bench`. Not a test: a machine may be busy.
#![allow(clippy::expect_used, clippy::print_stdout, clippy::disallowed_methods, missing_docs)] // a bench measures time and prints it

use std::time::{Duration, Instant};

use reedbook::machine::Moment;
use reedbook::notebook::When;
use reedbook::store::{Book, demo_files, replay};

const ROUNDS: usize = 21;

fn median(mut act: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..ROUNDS)
        .map(|_| {
            let start = Instant::now();
            act();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[ROUNDS / 2]
}

fn main() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let moment = Moment { now: When::default(), seed: Some("demo".into()) };
    let (garage, done) =
        replay(&folder.path().join("garage"), &demo_files(), &moment, |_, _| {}).expect("the demo replays");
    let read = |book: &Book<'_>| {
        for bike in garage.bikes() {
            book.setups(&bike).expect("setups");
            book.outings(&bike).expect("outings");
        }
    };
    let warm = median(|| read(&Book::open(&garage).expect("the index")));
    let fresh = median(|| read(&Book::fresh(&garage).expect("an index in memory")));
    println!(
        "{} setups and {} outings: from the index {warm:?}, from nothing {fresh:?}, ratio {:.1}",
        done.setups,
        done.outings,
        fresh.as_secs_f64() / warm.as_secs_f64()
    );
}
