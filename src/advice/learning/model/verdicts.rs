//! What a tuner says after a run, as a likelihood.
//!
//! The fuel that a run was too rich by is cut into five verdicts at -w2, -w1, w1 and w2: an ordered response
//! with a probit link ("Regression models for ordinal data", Journal of the Royal Statistical Society B,
//! 1980, from memory). The day's scatter has heavier tails than a normal distribution: a share of the days
//! scatters several times as widely, so that one odd day does not move what many others said.

use super::normal::{Normal, density};
use crate::quantity::trimmed;

/// Share of verdicts that are a slip, each of the five equally likely (common practice, no source). It keeps
/// two verdicts that cannot both be true from making the record impossible.
pub(in crate::advice::learning) const LAPSE: f64 = 0.01;

/// How a run was judged, from too little fuel to too much.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judged {
    /// Clearly too little fuel.
    Lean,
    /// A little too little fuel.
    SlightlyLean,
    /// Nothing to change.
    Right,
    /// A little too much fuel.
    SlightlyRich,
    /// Clearly too much fuel.
    Rich,
}

impl Judged {
    /// All five, from lean to rich.
    pub const ALL: [Self; 5] = [Self::Lean, Self::SlightlyLean, Self::Right, Self::SlightlyRich, Self::Rich];
}

/// Kinds of parts that make a combination, in the order of [`Spoken::ran`].
pub const KINDS: usize = 6;

/// One run and its verdict.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spoken {
    /// ln of the fuel that the carburetor of the run passes over what the baseline's passes, -2 to 2.
    pub delivered: f64,
    /// ln of the factor on the fuel metering area that the air and the fuel of the run ask for against the
    /// baseline's, -2 to 2.
    pub wanted: f64,
    /// The verdict.
    pub judged: Judged,
    /// Which part of each kind ran, by a number: the same number is the same part, and 0 is the one that is on the bike.
    pub ran: [u16; KINDS],
    /// Which of several cylinders, by a number: 0 is the one that is asked about, and the only one of a single.
    pub cylinder: u16,
    /// Days before the newest run, 0 or more.
    pub days: f64,
    /// Days on which the bike ran since, 0 for the newest.
    pub running_days: f64,
    /// Doubt of what its air asks for, from the reading: a standard deviation in ln fuel, 0 to 1.
    pub doubt: f64,
}

impl Spoken {
    /// A run of the combination that is on the bike, in an air that is known exactly, with nothing since.
    pub fn plain(delivered: f64, wanted: f64, judged: Judged) -> Self {
        Self {
            delivered,
            wanted,
            judged,
            ran: [0; KINDS],
            cylinder: 0,
            days: 0.0,
            running_days: 0.0,
            doubt: 0.0,
        }
    }
}

/// Why a record cannot be learned from.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LearningError {
    /// A quantity of a run or of the prior is not a number, or so far off that it must be wrong.
    #[error("The {field} is {}; allowed is {low} to {high}. {help}", trimmed(*.found, 4))]
    OutOfRange {
        /// The quantity, in the words of the trade.
        field: &'static str,
        /// The value found.
        found: f64,
        /// The smallest value allowed.
        low: f64,
        /// The largest value allowed.
        high: f64,
        /// The way out.
        help: &'static str,
    },
}

/// What a quantity may be; both ends belong to it, not-a-number does not.
pub(in crate::advice::learning) struct Allowed {
    pub(in crate::advice::learning) field: &'static str,
    pub(in crate::advice::learning) low: f64,
    pub(in crate::advice::learning) high: f64,
    pub(in crate::advice::learning) help: &'static str,
}

impl Allowed {
    pub(in crate::advice::learning) fn check(&self, found: f64) -> Result<(), LearningError> {
        if (self.low..=self.high).contains(&found) {
            return Ok(());
        }
        let Self { field, low, high, help } = *self;
        Err(LearningError::OutOfRange { field, found, low, high, help })
    }
}

const DELIVERED: Allowed = Allowed {
    field: "fuel delivered in a run",
    low: -2.0,
    high: 2.0,
    help: "It is the logarithm of a factor near 1; check the jets of the run and of the baseline.",
};

const WANTED: Allowed = Allowed {
    field: "fuel wanted in a run",
    help: "It is the logarithm of a factor near 1; check the air of the run and of the baseline.",
    ..DELIVERED
};

const DOUBT: Allowed = Allowed {
    field: "doubt of a run's air",
    low: 0.0,
    high: 1.0,
    help: "It is a standard deviation in ln fuel; check the reading of the air.",
};

const PASSED: Allowed = Allowed {
    field: "time since a run",
    low: 0.0,
    high: 1e6,
    help: "It is counted in days back from the newest run.",
};

impl Spoken {
    pub(in crate::advice::learning) fn check(&self) -> Result<(), LearningError> {
        DELIVERED.check(self.delivered)?;
        WANTED.check(self.wanted)?;
        PASSED.check(self.days)?;
        PASSED.check(self.running_days)?;
        DOUBT.check(self.doubt)
    }
}

/// How widely the days scatter: a share of them so many times as widely as the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tails {
    /// Share of the days that scatter more widely, 0 to 1.
    pub share: f64,
    /// How many times as widely, 1 or more.
    pub wider: f64,
}

impl Tails {
    /// A normal distribution.
    pub const NONE: Self = Self { share: 0.0, wider: 1.0 };

    /// The two kinds of day: share, and scatter over the usual.
    fn days(self) -> [(f64, f64); 2] {
        [(1.0 - self.share, 1.0), (self.share, self.wider)]
    }
}

/// What a tuner and his bike are like besides what they want.
#[derive(Debug, Clone, Copy)]
pub(in crate::advice::learning) struct Tuner {
    /// s: standard deviation of what a run wants beyond what its air explains, on a usual day.
    pub(in crate::advice::learning) scatter: f64,
    /// w1: fuel to either side that still counts as right.
    pub(in crate::advice::learning) right: f64,
    /// w2: fuel to either side from which it is clearly lean or rich.
    pub(in crate::advice::learning) clear: f64,
    pub(in crate::advice::learning) tails: Tails,
}

/// The chance of a verdict with its first two derivatives in what is wanted.
#[derive(Debug, Clone, Copy)]
pub(in crate::advice::learning) struct Tilted {
    pub(in crate::advice::learning) chance: f64,
    pub(in crate::advice::learning) slope: f64,
    pub(in crate::advice::learning) bend: f64,
}

impl Tuner {
    /// The cuts between which the excess of fuel lies for a verdict.
    fn cuts(&self, judged: Judged) -> (f64, f64) {
        let Self { right, clear, .. } = *self;
        match judged {
            Judged::Lean => (f64::NEG_INFINITY, -clear),
            Judged::SlightlyLean => (-clear, -right),
            Judged::Right => (-right, right),
            Judged::SlightlyRich => (right, clear),
            Judged::Rich => (clear, f64::INFINITY),
        }
    }

    /// The chance of a verdict when the run delivers `rich_by` more than is wanted on average, what is wanted being known to
    /// the variance `doubt`, slips included; with its derivatives in what is wanted.
    pub(in crate::advice::learning) fn tilted(&self, judged: Judged, rich_by: f64, doubt: f64) -> Tilted {
        let normal = Normal::table();
        let (low, high) = self.cuts(judged);
        let mut sum = Tilted { chance: LAPSE / 5.0, slope: 0.0, bend: 0.0 };
        for (share, wider) in self.tails.days() {
            if share <= 0.0 {
                continue;
            }
            let spread = ((self.scatter * wider).powi(2) + doubt).sqrt();
            let weight = share * (1.0 - LAPSE);
            for (cut, sign) in [(high, 1.0), (low, -1.0)] {
                if cut.is_infinite() {
                    // Nothing lies beyond; all of it lies below the upper end.
                    sum.chance += if cut > 0.0 { weight } else { 0.0 };
                    continue;
                }
                // The excess is rich_by less what more is wanted: it stays below the cut.
                let at = (cut - rich_by) / spread;
                let thick = density(at) / spread;
                sum.chance += sign * weight * normal.below(at);
                sum.slope += sign * weight * thick;
                sum.bend -= sign * weight * thick * at / spread;
            }
        }
        sum.chance = sum.chance.max(LAPSE / 5.0);
        sum
    }

    /// The chance that a run is judged short of right, over it, and clearly over it, slips left out.
    pub(in crate::advice::learning) fn off_right(&self, rich_by: f64, doubt: f64) -> [f64; 3] {
        let normal = Normal::table();
        let [mut short, mut over, mut clearly] = [0.0; 3];
        for (share, wider) in self.tails.days() {
            if share > 0.0 {
                let spread = ((self.scatter * wider).powi(2) + doubt).sqrt();
                short += share * normal.below((-self.right - rich_by) / spread);
                over += share * normal.below((rich_by - self.right) / spread);
                clearly += share * normal.below((rich_by - self.clear) / spread);
            }
        }
        [short, over, clearly]
    }
}
