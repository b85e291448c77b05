//! What a tuner says after a run, as a likelihood.
//!
//! The fuel that a run was too rich by is cut into five verdicts at -w2, -w1, w1 and w2: an ordered response
//! with a probit link ("Regression models for ordinal data", Journal of the Royal Statistical Society B,
//! 1980, from memory). A verdict counts with its weight: its likelihood to that power (a power prior; Ibrahim
//! and Chen 2000, from memory).

use super::normal::{Normal, density};

/// Share of verdicts that are a slip, each of the five equally likely (common practice, no source). It keeps
/// two verdicts that cannot both be true from making the record impossible.
pub(super) const LAPSE: f64 = 0.01;

/// A product of chances below this is at its logarithm's turn.
const SMALL: f64 = 1e-200;

/// The number of the parameters: ln scatter, ln half-width of right, ln(clear/right - 1), exponent, centre.
pub(super) const PARAMETERS: usize = 5;

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
    /// What the verdict counts, 0 (not at all) to 1 (in full).
    pub weight: f64,
}

/// Why a record cannot be learned from.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LearningError {
    /// A quantity of a run or of the prior is not a number, or so far off that it must be wrong.
    #[error("The {field} is {found}; allowed is {low} to {high}. {help}")]
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
pub(super) struct Allowed {
    pub(super) field: &'static str,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) help: &'static str,
}

impl Allowed {
    pub(super) fn check(&self, found: f64) -> Result<(), LearningError> {
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

const WEIGHT: Allowed = Allowed {
    field: "weight of a verdict",
    low: 0.0,
    high: 1.0,
    help: "0 leaves the verdict out, 1 counts it in full.",
};

impl Spoken {
    pub(super) fn check(&self) -> Result<(), LearningError> {
        DELIVERED.check(self.delivered)?;
        WANTED.check(self.wanted)?;
        WEIGHT.check(self.weight)
    }
}

/// What the tuner and his bike are like: one value of the parameters, in fuel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Nature {
    /// s: standard deviation of what a run wants beyond what its air explains.
    pub(super) scatter: f64,
    /// w1: fuel to either side that still counts as right.
    pub(super) right: f64,
    /// w2: fuel to either side from which it is clearly lean or rich.
    pub(super) clear: f64,
    /// c: fuel that the baseline's own air asks for.
    pub(super) centre: f64,
    /// m: how fuel follows what the air asks for.
    pub(super) exponent: f64,
}

impl Nature {
    /// From the five parameters in their order.
    pub(super) fn new([scatter, right, clear, exponent, centre]: [f64; PARAMETERS]) -> Self {
        let (right, scatter) = (right.exp(), scatter.exp());
        Self { scatter, right, clear: right * (1.0 + clear.exp()), centre, exponent }
    }

    /// Fuel that an air asks for, ln.
    pub(super) fn amount(&self, wanted: f64) -> f64 {
        self.centre + self.exponent * wanted
    }

    /// Chance of each verdict on a run, slips included.
    pub(super) fn verdicts(&self, normal: Normal, delivered: f64, wanted: f64) -> [f64; 5] {
        let short = self.amount(wanted) - delivered;
        let share = |cut: f64| normal.below((cut + short) / self.scatter);
        let cuts = [share(-self.clear), share(-self.right), share(self.right), share(self.clear)];
        let [a, b, c, d] = cuts;
        [a, b - a, c - b, d - c, 1.0 - d].map(with_slips)
    }
}

#[inline]
fn with_slips(chance: f64) -> f64 {
    LAPSE / 5.0 + (1.0 - LAPSE) * chance.max(0.0)
}

/// The verdicts of a record, sorted by what was said and by weight so that the inner loop need not ask.
#[derive(Debug, Clone, Default)]
pub(super) struct Record {
    said: [Vec<Spoken>; 5],
    /// The same with those of one weight together, each verdict's runs by themselves.
    by_weight: Vec<(f64, [Vec<Spoken>; 5])>,
}

impl Record {
    /// Takes what counts; a weight of 0 is no verdict.
    pub(super) fn new(spoken: &[Spoken]) -> Self {
        let said = Judged::ALL.map(|judged| {
            let counts = |run: &&Spoken| run.judged == judged && run.weight > 0.0;
            let mut runs: Vec<Spoken> = spoken.iter().filter(counts).copied().collect();
            runs.sort_by(|a, b| a.weight.total_cmp(&b.weight));
            runs
        });
        let mut weights: Vec<f64> = said.iter().flatten().map(|run| run.weight).collect();
        weights.sort_by(f64::total_cmp);
        weights.dedup();
        let of_weight = |weight: f64| {
            let same = |run: &&Spoken| run.weight.total_cmp(&weight).is_eq();
            said.each_ref().map(|runs| runs.iter().filter(same).copied().collect())
        };
        let by_weight = weights.into_iter().map(|weight| (weight, of_weight(weight))).collect();
        Self { said, by_weight }
    }

    /// The runs of each verdict, from lean to rich.
    pub(super) fn said(&self) -> &[Vec<Spoken>; 5] {
        &self.said
    }

    /// Whether nothing in it counts.
    pub(super) fn is_silent(&self) -> bool {
        self.said.iter().all(Vec::is_empty)
    }

    /// How many full verdicts the record counts as.
    pub(super) fn counted(&self) -> f64 {
        self.said.iter().flatten().map(|run| run.weight).sum()
    }

    /// ln of the likelihood of the whole record.
    pub(super) fn log_likelihood(&self, normal: Normal, nature: &Nature) -> f64 {
        let Nature { scatter, right, clear, centre, exponent } = *nature;
        let per_scatter = 1.0 / scatter;
        let short = |run: &Spoken| (centre + exponent * run.wanted - run.delivered) * per_scatter;
        let (near, far) = (right * per_scatter, clear * per_scatter);
        let mut sum = 0.0;
        for (weight, [lean, slightly_lean, judged_right, slightly_rich, rich]) in &self.by_weight {
            let mut chances = Product::default();
            chances.times(lean, |run| normal.below(short(run) - far));
            chances.times(slightly_lean, |run| between(normal, short(run), -far, -near));
            chances.times(judged_right, |run| between(normal, short(run), -near, near));
            chances.times(slightly_rich, |run| between(normal, short(run), near, far));
            chances.times(rich, |run| normal.below(-short(run) - far));
            sum += weight * chances.ln();
        }
        sum
    }

    /// Slope of the logarithm of the likelihood in each of the five parameters.
    pub(super) fn slope(&self, normal: Normal, nature: &Nature) -> [f64; PARAMETERS] {
        let Nature { right, clear, .. } = *nature;
        let cuts = [f64::NEG_INFINITY, -clear, -right, right, clear, f64::INFINITY];
        let mut sum = [0.0; PARAMETERS];
        for (runs, cut) in self.said.iter().zip(cuts.windows(2)) {
            for run in runs {
                let low = Edge::new(normal, nature, run, cut[0]);
                let high = Edge::new(normal, nature, run, cut[1]);
                let factor = run.weight * (1.0 - LAPSE) / with_slips(high.share - low.share);
                for (sum, (high, low)) in sum.iter_mut().zip(high.slope.iter().zip(low.slope)) {
                    *sum += factor * (high - low);
                }
            }
        }
        sum
    }
}

#[inline]
fn between(normal: Normal, short: f64, low: f64, high: f64) -> f64 {
    normal.below(short + high) - normal.below(short + low)
}

/// A product of chances with its logarithm: one logarithm costs more than one chance, so they are multiplied first.
struct Product {
    product: f64,
    ln: f64,
}

impl Default for Product {
    fn default() -> Self {
        Self { product: 1.0, ln: 0.0 }
    }
}

impl Product {
    #[inline]
    fn times(&mut self, runs: &[Spoken], chance: impl Fn(&Spoken) -> f64) {
        for run in runs {
            self.product *= with_slips(chance(run));
            if self.product < SMALL {
                self.ln += self.product.ln();
                self.product = 1.0;
            }
        }
    }

    #[inline]
    fn ln(&self) -> f64 {
        self.ln + self.product.ln()
    }
}

/// Share of runs below one cut, and its slope in the five parameters.
struct Edge {
    share: f64,
    slope: [f64; PARAMETERS],
}

impl Edge {
    fn new(normal: Normal, nature: &Nature, run: &Spoken, cut: f64) -> Self {
        if cut.is_infinite() {
            return Self { share: if cut > 0.0 { 1.0 } else { 0.0 }, slope: [0.0; PARAMETERS] };
        }
        let at = (cut + nature.amount(run.wanted) - run.delivered) / nature.scatter;
        let per_fuel = density(at) / nature.scatter;
        // Only a clear cut moves with the third parameter: by what lies between right and clear.
        let beyond = if cut.abs() > nature.right { (nature.clear - nature.right).copysign(cut) } else { 0.0 };
        let moves = [-at * nature.scatter, cut, beyond, run.wanted, 1.0];
        Self { share: normal.below(at), slope: moves.map(|by| per_fuel * by) }
    }
}
