//! Whether what the record foretells has come true: going leaner than theory is earned by it.

use super::model::foretold::ForetoldRun;
use super::model::verdicts::Judged;

/// Verdicts of the bike as it stands that must have been foretold before the record may go leaner than theory (common practice, no
/// source).
pub const FORETOLD_TO_TRUST: usize = 6;

/// Further such verdicts for each size more (common practice, no source).
const FORETOLD_PER_SIZE: usize = 3;

/// Lean verdicts may outnumber those foretold by so many standard deviations of chance.
const BY_CHANCE: f64 = 1.0;

/// A record that foretells no better than this, in mean ln chance of what came, foretells nothing: a third for each of lean, right
/// and rich is -1.10.
const NO_BETTER_THAN_A_GUESS: f64 = -1.0;

/// How the verdicts of the bike as it stands came out beside what the others foretold of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trust {
    /// Verdicts that were foretold.
    pub verdicts: usize,
    /// How many lean ones were foretold: the sum of their chances.
    pub lean_foretold: f64,
    /// Its variance.
    variance: f64,
    /// How many came.
    pub lean_came: usize,
    /// Mean ln chance of what came.
    pub ln_chance: f64,
}

impl Trust {
    /// From each verdict and how it was foretold.
    pub fn of(foretold: impl Iterator<Item = (Judged, ForetoldRun)>) -> Self {
        let mut trust = Self { verdicts: 0, lean_foretold: 0.0, variance: 0.0, lean_came: 0, ln_chance: 0.0 };
        for (judged, run) in foretold {
            let lean = run.chances().lean;
            trust.verdicts += 1;
            trust.lean_foretold += lean;
            trust.variance += lean * (1.0 - lean);
            trust.lean_came += usize::from(matches!(judged, Judged::Lean | Judged::SlightlyLean));
            trust.ln_chance += run.given(judged).max(1e-6).ln();
        }
        if trust.verdicts > 0 {
            trust.ln_chance /= count(trust.verdicts);
        }
        trust
    }

    /// Whether what was foretold came true so far.
    pub fn came_true(&self) -> bool {
        let surplus = count(self.lean_came) - self.lean_foretold;
        surplus <= BY_CHANCE * self.variance.sqrt() && self.ln_chance > NO_BETTER_THAN_A_GUESS
    }

    /// How many sizes leaner than theory are earned.
    pub fn sizes_leaner(&self) -> usize {
        if self.verdicts < FORETOLD_TO_TRUST || !self.came_true() {
            return 0;
        }
        1 + (self.verdicts - FORETOLD_TO_TRUST) / FORETOLD_PER_SIZE
    }
}

#[expect(clippy::cast_precision_loss, reason = "outings of a bike")]
fn count(number: usize) -> f64 {
    number as f64
}
