//! What the record says of one air, as an answer.

use crate::advice::learning::choice::Priced;
use crate::advice::learning::learned::SURPRISING;
use crate::advice::learning::model::posterior::{Belief, Chances};
use crate::advice::learning::trust::Trust;
use crate::advice::rejet::Rejet;

/// The answer.
#[derive(Debug, Clone)]
pub struct Advised {
    /// What to fit.
    pub rejet: Rejet,
    /// What theory alone says of the main jet, or of the trim.
    pub theory: Option<f64>,
    /// What the record made of it; none where it was not asked or says nothing.
    pub learned: Option<LearnedAnswer>,
}

/// What the record says.
#[derive(Debug, Clone)]
pub struct LearnedAnswer {
    /// The chances at full throttle by size, the leanest first: around the advised one, of what is fitted next and of what is in the bike;
    /// empty where full throttle has not spoken.
    pub sizes: Vec<SizeChance>,
    /// The chance of lean with what is advised at full throttle.
    pub lean_risk: Option<f64>,
    /// The most that is taken there; none where full throttle has not spoken.
    pub limit: Option<f64>,
    /// What is to be said of a risk above that limit; it stands among the warnings too.
    pub above_limit: Option<AboveLimit>,
    /// The size that is right at full throttle, as a number, with its 90 % interval.
    pub right: Option<(f64, f64, f64)>,
    /// The exponent of the number, as learned; theory's where full throttle has not spoken.
    pub exponent: Belief,
    /// How much of the answer at full throttle is record: 0 all theory, 1 all record.
    pub weight_of_record: f64,
    /// Outings that spoke of any zone.
    pub outings: usize,
    /// Every zone with what is advised.
    pub zones: Vec<ZoneAnswer>,
    /// The run that would tell most.
    pub test_run: Option<TestRun>,
    /// The record alone would have gone leaner, but has not earned it.
    pub held_by_theory: bool,
    /// Every size that was thought of with its price, the leanest first; empty where full throttle has not spoken.
    pub priced: Vec<Priced>,
    /// The sizes at hand priced as needle and clip of the answer hang, where one of them moves; the choice itself is made by the fuel
    /// that each size brings as they hang now.
    pub as_hung: Vec<Priced>,
    /// Whether what was foretold came true; none where full throttle has not spoken.
    pub trust: Option<Trust>,
    /// The newest verdict at full throttle of the bike as it stands, by its place among those heard there, and the chance that it, or one
    /// further out, had before it came.
    pub newest: Option<(usize, f64)>,
    /// The chance that something changed suddenly before one of the newest runs, and before how many of them.
    pub change: (f64, Option<usize>),
    /// By how many percent of fuel what is right in the baseline's air lies from what the baseline delivers, with its doubt.
    pub off_baseline: Option<Belief>,
}

impl LearnedAnswer {
    /// The chance of the newest run, where it was too small to be one.
    pub fn surprise(&self) -> Option<f64> {
        self.newest.map(|(_, chance)| chance).filter(|chance| *chance < SURPRISING)
    }
}

/// The least fuel that is allowed at a throttle zone, over the baseline's, whatever the record says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Floor {
    /// The zone.
    pub zone: &'static str,
    /// The least fuel.
    pub least: f64,
    /// Whether a lean run asks for so much; else it is only what is on the bike, which does not get less.
    pub of_a_run: bool,
    /// Whether the limit of lean rules there, however few runs have spoken of it: a lean run holds a throttle that the needle feeds.
    pub limit_rules: bool,
}

/// One size and its chances at full throttle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeChance {
    /// The jet's number, or the trim in percent.
    pub size: f64,
    /// Fuel over the baseline's.
    pub delivered: f64,
    /// Its chances.
    pub chances: Chances,
    /// Whether it is advised.
    pub advised: bool,
}

/// A zone with what is advised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneAnswer {
    /// The zone.
    pub zone: &'static str,
    /// Verdicts heard.
    pub verdicts: usize,
    /// What they weigh together.
    pub weight: f64,
    /// How much of the answer is record, 0 to 1.
    pub weight_of_record: f64,
    /// The most chance of lean that is taken.
    pub limit: f64,
    /// Whether that limit rules here, or the record is too young for it.
    pub rules: bool,
    /// The chances with what is advised; none where what it delivers cannot be said.
    pub chances: Option<Chances>,
}

/// A run that would tell more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestRun {
    /// The size to run.
    pub size: f64,
    /// Doubt of the right amount of fuel now, a relative standard deviation.
    pub doubt: f64,
    /// The doubt to be expected after the run was judged.
    pub doubt_after: f64,
}

/// What is to be said of a risk above the limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AboveLimit {
    /// The words, as sentences.
    pub words: String,
    /// Whether the engine is not to be run on the answer: it stands before everything else then.
    pub stop: bool,
}

impl AboveLimit {
    pub(super) fn stop(words: String) -> Self {
        Self { words, stop: true }
    }

    pub(super) fn known(words: impl Into<String>) -> Self {
        Self { words: words.into(), stop: false }
    }
}
