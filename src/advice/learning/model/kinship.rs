//! How alike the runs of a record are to one another, and to the next run of the bike as it stands: the covariance of what they
//! want beyond what their air explains.
//!
//! Each kind of part brings an offset of its own, drawn from a common spread: runs with the same pipe share the pipe's offset
//! (partial pooling; Gelman and Hill, "Data Analysis Using Regression and Multilevel/Hierarchical Models", 2007, from memory).
//! What a bike wants also drifts, slowly with the calendar and faster with the days on which it runs: the further apart two runs
//! are, the less they share. A sudden change may have come before one of the newest runs; then those before it share less still.
//!
//! The cylinders of one engine share the air and the exponent, and most of what their bike wants; each has an offset of its own, and
//! half of what drifts. A sudden change is one at the cylinder that is asked about.

use super::matrix::Square;
use super::verdicts::{KINDS, Spoken, Tails};

/// Share of the variance of what drifts that the cylinders of one engine have in common (common practice, no source): fuel, filter and
/// carburetors of one age drift together, a seal or a ring by itself.
const DRIFT_IN_COMMON: f64 = 0.5;

/// What is believed of unlike runs, all in ln fuel. Common practice, no source, but for what the simulated seasons of
/// `tests/learning/families_table.rs` bear out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spreads {
    /// Standard deviation between two parts of a kind, in the order of [`Spoken::ran`].
    pub parts: [f64; KINDS],
    /// Standard deviation of what each of several cylinders wants of its own: two of them differ by 1.4 times as much. Of what a bike may
    /// want at most: nothing is in common from there on.
    pub cylinders: f64,
    /// Standard deviation of the slow drift.
    pub drift: f64,
    /// Days after which half of the slow drift is another one.
    pub half_life_days: f64,
    /// Standard deviation of what drifts with running.
    pub wear: f64,
    /// Days of running after which half of that is another one.
    pub half_life_running: f64,
    /// How heavy the tails of the days are.
    pub tails: Tails,
    /// The chance that something changed between one run and the next, 0 to below 0.2.
    pub change_chance: f64,
    /// Standard deviation of such a change.
    pub change: f64,
}

impl Spreads {
    /// Nothing of the kind: one combination that stays as it is, and days that scatter normally.
    pub const NONE: Self = Self {
        parts: [0.0; KINDS],
        cylinders: 0.0,
        drift: 0.0,
        half_life_days: 365.0,
        wear: 0.0,
        half_life_running: 10.0,
        tails: Tails::NONE,
        change_chance: 0.0,
        change: 0.0,
    };
}

/// The runs with their covariances.
#[derive(Debug, Clone)]
pub(in crate::advice::learning) struct Kin {
    /// Between the runs.
    pub(in crate::advice::learning) runs: Square,
    /// Of each run with the offset of the bike as it stands.
    pub(in crate::advice::learning) with_offset: Vec<f64>,
    /// Of each run with its exponent.
    pub(in crate::advice::learning) with_exponent: Vec<f64>,
    /// Variance of the offset and of the exponent.
    pub(in crate::advice::learning) own: (f64, f64),
}

/// Standard deviations of the centre and of the exponent.
#[derive(Debug, Clone, Copy)]
pub(in crate::advice::learning) struct Roots {
    pub(in crate::advice::learning) centre: f64,
    pub(in crate::advice::learning) exponent: f64,
}

impl Kin {
    /// `since_change` is the number of newest runs of the cylinder asked about that came after a sudden change; none without one.
    pub(in crate::advice::learning) fn new(
        roots: Roots,
        spreads: &Spreads,
        runs: &[Spoken],
        since_change: Option<usize>,
    ) -> Self {
        let own = own_places(runs);
        let first_after = since_change.map(|newest| own[own.len().saturating_sub(newest)..].first().copied());
        let after = |place: usize, run: &Spoken| {
            run.cylinder == 0 && first_after.is_some_and(|first| first.is_none_or(|first| place >= first))
        };
        let now = now();
        let exponent = roots.exponent.powi(2);
        let jump = spreads.change.powi(2);
        let offset = |a: (usize, &Spoken), b: (usize, &Spoken)| {
            let jumped = if after(a.0, a.1) && after(b.0, b.1) { jump } else { 0.0 };
            of_the_bike(roots.centre, spreads, a.1, b.1) + shared(spreads, a.1, b.1) + jumped
        };
        let last = runs.len();
        let square = Square::of(last, |a, b| {
            let (one, other) = (&runs[a], &runs[b]);
            let day = if same_day(one, other) { one.doubt * other.doubt } else { 0.0 };
            // A little of its own keeps two runs that are the same in everything apart.
            let own = if a == b { 1e-10 } else { 0.0 };
            offset((a, one), (b, other)) + exponent * one.wanted * other.wanted + day + own
        });
        Self {
            runs: square,
            with_offset: runs.iter().enumerate().map(|run| offset(run, (last, &now))).collect(),
            with_exponent: runs.iter().map(|run| exponent * run.wanted).collect(),
            own: (offset((last, &now), (last, &now)), exponent),
        }
    }
}

/// The places of the runs of the cylinder that is asked about.
pub(in crate::advice::learning) fn own_places(runs: &[Spoken]) -> Vec<usize> {
    (0..runs.len()).filter(|place| runs[*place].cylinder == 0).collect()
}

/// The next run of the bike as it stands.
fn now() -> Spoken {
    Spoken::plain(0.0, 0.0, super::verdicts::Judged::Right)
}

/// One barometer and one thermometer were read for the runs of a day.
fn same_day(one: &Spoken, other: &Spoken) -> bool {
    (one.days - other.days).abs() < 0.5
}

/// The variance that two runs share as runs of their bike: less at two cylinders, each of which has some of it of its own.
fn of_the_bike(centre: f64, spreads: &Spreads, one: &Spoken, other: &Spoken) -> f64 {
    let own = if one.cylinder == other.cylinder { 0.0 } else { spreads.cylinders.min(centre) };
    centre.powi(2) - own.powi(2)
}

/// The variance that two runs share besides their bike's.
fn shared(spreads: &Spreads, one: &Spoken, other: &Spoken) -> f64 {
    let kinds = one.ran.iter().zip(&other.ran).zip(&spreads.parts);
    let parts: f64 = kinds.filter(|((a, b), _)| a == b).map(|(_, spread)| spread.powi(2)).sum();
    let left = |apart: f64, half_life: f64| 0.5_f64.powf(apart.abs() / half_life);
    let common = if one.cylinder == other.cylinder { 1.0 } else { DRIFT_IN_COMMON };
    let drifted = spreads.drift.powi(2) * left(one.days - other.days, spreads.half_life_days)
        + spreads.wear.powi(2) * left(one.running_days - other.running_days, spreads.half_life_running);
    parts + common * drifted
}

/// How alike a run is to the bike as it stands, 0 (a stranger) to 1 (the same): the part of what makes it want what it wants, its
/// air aside, that it shares.
pub(in crate::advice::learning) fn likeness(centre: f64, spreads: &Spreads, run: &Spoken) -> f64 {
    let now = now();
    let of =
        |one: &Spoken, other: &Spoken| of_the_bike(centre, spreads, one, other) + shared(spreads, one, other);
    let whole = (of(run, run) * of(&now, &now)).sqrt();
    if whole > 0.0 { (of(run, &now) / whole).clamp(0.0, 1.0) } else { 1.0 }
}
