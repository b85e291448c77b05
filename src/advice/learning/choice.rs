//! Which size to fit: the one that costs least on average, among those that keep to the limit of risk.
//!
//! A day costs nothing when its mixture is judged right, one when it is judged slightly rich, two when clearly, and five when lean;
//! to change a jet costs a little, so that what is on the bike stays where another would be hardly better. A tuner's own liking is
//! not known to lie in the middle of what an engine likes: the chances are taken with that doubt, but for what is on the bike, which
//! is taken at his word.

use super::model::posterior::{Chances, Posterior};
use super::settings::Costs;
use super::trust::Trust;
use crate::advice::rejet::{InjectionAdvice, Rejet};
use crate::quantity::nearly_equal;

/// How far what a tuner calls right may lie from what the engine would call right, a standard deviation in ln fuel, as long as he has
/// said nothing (common practice, no source).
const LIKING: f64 = 0.02;

/// So many verdicts of his on this combination take away half of its square (common practice, no source): an engine that lives on
/// what he calls right speaks for him.
const VERDICTS_TO_BELIEVE: f64 = 12.0;

/// How far a tuner's liking is doubted after so many verdicts on this combination: a standard deviation in ln fuel.
pub fn liking(verdicts: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "outings of a bike")]
    let said = verdicts as f64;
    LIKING * (VERDICTS_TO_BELIEVE / (VERDICTS_TO_BELIEVE + said)).sqrt()
}

/// What is on the bike may stay up to so many times the limit of risk (common practice, no source): a jet that was right again and
/// again is not changed for a hair.
const STAYS_UP_TO: f64 = 1.4;

/// A size that may be fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// The jet's number, or the trim in percent.
    pub size: f64,
    /// Fuel over the baseline's.
    pub delivered: f64,
}

/// A size with what it would cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priced {
    /// The size.
    pub candidate: Candidate,
    /// Its chances, the tuner's liking doubted.
    pub chances: Chances,
    /// What a day with it costs on average, against one for a rich day; the change of a jet not counted.
    pub cost: f64,
    /// The same with the change of a jet.
    pub with_change: f64,
    /// Whether it may be fitted: within the limit of risk and not leaner than allowed.
    pub allowed: bool,
}

/// What the choice goes by.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// The most chance of lean that is taken.
    pub limit: f64,
    /// How far the tuner's liking is doubted ([`liking`]).
    pub liking: f64,
    /// What days cost.
    pub costs: Costs,
    /// The size on the bike, where it is known.
    pub on_the_bike: Option<f64>,
    /// The least fuel allowed, over the baseline's.
    pub least: f64,
    /// Whether a lean run stands behind that: then what is on the bike keeps to the limit as any other size does.
    pub is_held: bool,
}

/// Prices every size in the air that wants `wanted`, ln fuel over the baseline's.
pub fn price(believed: &Posterior, sizes: &[Candidate], wanted: f64, rule: &Rule) -> Vec<Priced> {
    let priced = |candidate: &Candidate| {
        let stays = rule.on_the_bike.is_some_and(|size| nearly_equal(size, candidate.size));
        let fuel = candidate.delivered.ln();
        let liking = if stays { 0.0 } else { rule.liking };
        let chances = believed.chances_within(fuel, wanted, liking);
        let cost =
            rule.costs.lean * chances.lean + chances.rich + believed.clearly_rich(fuel, wanted, liking);
        let plain = believed.chances(fuel, wanted);
        let limit = rule.limit * if stays && !rule.is_held { STAYS_UP_TO } else { 1.0 };
        Priced {
            candidate: *candidate,
            chances,
            cost,
            with_change: if stays { cost } else { cost + rule.costs.change },
            allowed: plain.lean <= limit && candidate.delivered >= rule.least * (1.0 - 1e-9),
        }
    };
    sizes.iter().map(priced).collect()
}

/// The size to fit; none where none is allowed. Of equal ones the richer.
pub fn choose(priced: &[Priced]) -> Option<Priced> {
    let allowed = priced.iter().filter(|priced| priced.allowed);
    allowed
        .min_by(|a, b| {
            a.with_change
                .total_cmp(&b.with_change)
                .then(b.candidate.delivered.total_cmp(&a.candidate.delivered))
        })
        .copied()
}

/// The leanest size that a record has earned: theory's, and so many sizes below it. Where theory finds none rich enough, the richest.
/// `sizes` are in any order.
pub fn earned(trust: &Trust, sizes: &[Candidate], theory: Option<f64>) -> Option<Candidate> {
    let mut ascending: Vec<Candidate> = sizes.to_vec();
    ascending.sort_by(|a, b| a.size.total_cmp(&b.size));
    let at = theory.and_then(|theory| ascending.iter().position(|size| nearly_equal(size.size, theory)));
    let at = at.or_else(|| ascending.len().checked_sub(1))?;
    ascending.get(at.saturating_sub(trust.sizes_leaner())).copied()
}

/// How many sizes above what theory, the bike and the floor have are thought of in one step, and how many after a run that cannot be
/// explained (common practice, no source).
pub(in crate::advice) const SIZES_ABOVE: usize = 4;
pub(super) const SIZES_ABOVE_UNEXPLAINED: usize = 2;

/// The sizes up to a few above theory's, the floor and what ran, and up to the one on the bike: what was fitted and not run is no reason
/// to go further.
pub(super) fn not_far_above(
    mut sizes: Vec<Candidate>,
    (theory, on_the_bike, floor): (f64, Option<f64>, f64),
    ran: Option<f64>,
    most: usize,
) -> Vec<Candidate> {
    sizes.sort_by(|a, b| a.size.total_cmp(&b.size));
    let up_to =
        |highest: f64| sizes.partition_point(|size| size.size <= highest || nearly_equal(size.size, highest));
    let at_floor = sizes.iter().find(|size| size.delivered >= floor).map_or(theory, |size| size.size);
    let above = up_to(theory.max(at_floor).max(ran.unwrap_or(f64::NEG_INFINITY))) + most;
    let keep = on_the_bike.map_or(above, |size| above.max(up_to(size)));
    sizes.truncate(keep);
    sizes
}

/// Trims that are thought of, in half sizes to either side of theory's and of a floor.
const TRIMS_BESIDE: i32 = 12;

/// So many of them are a size.
pub(super) const TRIMS_A_SIZE: usize = 2;

/// The sizes that may be thought of, the leanest first; trims reach beyond a floor as they do beyond theory.
pub(super) fn candidates(theory: &Rejet, floor: f64) -> Vec<Candidate> {
    match &theory.injection {
        Some(advice) => (-TRIMS_BESIDE..=TRIMS_BESIDE + trims_up_to(advice, floor))
            .map(|step| advice.to_percent + f64::from(step) * advice.size_percent / 2.0)
            .chain([advice.from_percent])
            .map(|size| Candidate { size, delivered: (100.0 + size) / (100.0 + advice.from_percent) })
            .collect(),
        None => {
            theory.mains.iter().map(|main| Candidate { size: main.size, delivered: main.delivered }).collect()
        }
    }
}

/// Half sizes from theory's trim up to a floor.
fn trims_up_to(advice: &InjectionAdvice, floor: f64) -> i32 {
    let trim = (100.0 + advice.from_percent) * floor - 100.0;
    let half_sizes = 2.0 * (trim - advice.to_percent) / advice.size_percent;
    // A trim is a hundred percent at most.
    #[expect(clippy::cast_possible_truncation, reason = "a few half sizes")]
    let half_sizes = half_sizes.clamp(0.0, 200.0).ceil() as i32;
    half_sizes
}
