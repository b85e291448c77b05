//! What learning is worth over a season: four advisers jet the same invented bikes in the same airs.
//!
//! Each bike has a baseline that was judged right. Its fuel follows the air with a power that nobody knows,
//! and each race day brings another air. The jets of the box pass 1.6 % more fuel from one to the next. The
//! advisers:
//! - learned: the smallest jet whose chance of lean is at most 5 %, from the verdicts so far;
//! - theory: the smallest jet not leaner than the baseline times what the air asks for;
//! - theory, one size richer: the same with a size for safety;
//! - rule of thumb: half of that change, as riders do who go one size where theory says two (common practice,
//!   no source).
//!
//! All data here are invented, with fixed seeds.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly
#![allow(clippy::print_stdout)] // the figures are worth reading: cargo test -- --nocapture

use crate::riding;

use reedbook::advice::learning::posterior::{Belief, Posterior, Prior};
use reedbook::advice::learning::verdicts::{Judged, Spoken};
use riding::{Bike, Rider, STEP, in_two_halves};

const SEASONS: u64 = 90;
const RACE_DAYS: usize = 14;
const LEAN_LIMIT: f64 = 0.05;

/// A lean run costs an engine, a rich one half a second: it counts so many times as much (common practice, no
/// source).
const LEAN_COSTS: f64 = 5.0;

fn prior() -> Prior {
    Prior::new(Belief { mean: 0.0, sd: 0.05 / 1.4 }, Belief { mean: 1.0, sd: 0.18 })
}

/// Bikes and tuners 1.3 times as unlike as guessed before the prior is widened.
fn bikes() -> Prior {
    let wide = |mean: f64, sd: f64| Belief { mean, sd: 1.3 * sd };
    Prior {
        centre: prior().centre,
        exponent: wide(1.0, 0.18),
        scatter: wide(0.012_f64.ln(), 0.45),
        right: wide(0.02_f64.ln(), 0.4),
        clear: wide(1.5_f64.ln(), 0.35),
        ..prior()
    }
}

#[derive(Debug, Clone, Copy)]
enum Adviser {
    Learned,
    Theory,
    RicherTheory,
    RuleOfThumb,
}

impl Adviser {
    /// ln fuel of the jet it takes from the box.
    fn jet(self, record: &[Spoken], wanted: f64) -> f64 {
        let least = match self {
            Self::Learned => Posterior::new(&prior(), record).unwrap().least_delivered(wanted, LEAN_LIMIT),
            Self::Theory => wanted,
            Self::RicherTheory => wanted + STEP,
            Self::RuleOfThumb => 0.5 * wanted,
        };
        // The baseline's own jet must not be lost to the last digit.
        (least / STEP - 1e-9).ceil() * STEP
    }
}

/// A bike whose baseline was judged right: one that it would not have been is somebody else's bike.
fn proven_bike(rider: &mut Rider) -> (Bike, Spoken) {
    loop {
        let bike = rider.bike(&bikes());
        let run = rider.run(&bike, 0.0, 0.0);
        if run.judged == Judged::Right {
            return (bike, run);
        }
    }
}

/// One race day: how rich the run was, in ln fuel and in half-widths of right.
#[derive(Debug, Clone, Copy)]
struct Run {
    rich_by: f64,
    lean: bool,
    rich: bool,
}

/// The runs of one season. The same seed brings each adviser the same bike, airs and chances.
fn season(seed: u64, adviser: Adviser) -> Vec<Run> {
    let mut rider = Rider::new(seed);
    let (bike, baseline) = proven_bike(&mut rider);
    let mut record = vec![baseline];
    (0..RACE_DAYS)
        .map(|_| {
            let wanted = rider.air();
            let delivered = adviser.jet(&record, wanted);
            let rich_by = rider.rich_by(&bike, delivered, wanted);
            record.push(Spoken::plain(delivered, wanted, rider.verdict(&bike, rich_by)));
            Run { rich_by, lean: rich_by < -bike.right, rich: rich_by > bike.right }
        })
        .collect()
}

#[derive(Debug, Clone, Copy)]
struct Score {
    lean: f64,
    rich: f64,
    error: f64,
    loss: f64,
}

#[allow(clippy::cast_precision_loss, reason = "counts of runs")]
fn score(runs: &[Run]) -> Score {
    let all = runs.len() as f64;
    let lean = runs.iter().filter(|run| run.lean).count() as f64 / all;
    let rich = runs.iter().filter(|run| run.rich).count() as f64 / all;
    let error = runs.iter().map(|run| run.rich_by.abs()).sum::<f64>() / all;
    Score { lean, rich, error, loss: LEAN_COSTS * lean + rich }
}

/// Scores of all race days, and of the second half of each season.
fn scores(name: &str, adviser: Adviser) -> (Score, Score) {
    let seasons = in_two_halves(60_000..60_000 + SEASONS, |seed| season(seed, adviser));
    let all = score(&seasons.concat());
    let late: Vec<Run> = seasons.iter().flat_map(|runs| runs[RACE_DAYS / 2..].to_vec()).collect();
    let late = score(&late);
    for (when, score) in [("all race days", all), ("second half", late)] {
        let Score { lean, rich, error, loss } = score;
        println!(
            "{name}, {when}: lean {:.1} %, rich {:.1} %, off by {:.2} % of fuel, loss {loss:.3}",
            100.0 * lean,
            100.0 * rich,
            100.0 * error
        );
    }
    (all, late)
}

#[test]
fn learning_beats_theory_and_the_rule_of_thumb() {
    let (learned, learned_late) = scores("learned", Adviser::Learned);
    let (theory, theory_late) = scores("theory alone", Adviser::Theory);
    let (richer, richer_late) = scores("theory, one size richer", Adviser::RicherTheory);
    let (thumb, thumb_late) = scores("rule of thumb", Adviser::RuleOfThumb);
    for (other, other_late) in [(theory, theory_late), (richer, richer_late), (thumb, thumb_late)] {
        assert!(learned.loss < other.loss, "{learned:?} {other:?}");
        assert!(learned_late.loss < other_late.loss, "{learned_late:?} {other_late:?}");
        assert!(learned.lean < other.lean, "{learned:?} {other:?}");
    }
    // The limit is kept, to two standard errors of a share among so many runs.
    #[allow(clippy::cast_precision_loss, reason = "some thousands")]
    let runs = SEASONS as f64 * RACE_DAYS as f64;
    let standard_error = (LEAN_LIMIT * (1.0 - LEAN_LIMIT) / runs).sqrt();
    assert!(learned.lean <= LEAN_LIMIT + 2.0 * standard_error, "{learned:?}");
    // Keeping it by pouring fuel in would be no advice.
    assert!(learned_late.error < theory_late.error, "{learned_late:?} {theory_late:?}");
}
