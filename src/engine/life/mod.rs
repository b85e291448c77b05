//! How long parts live: a Weibull distribution of the hours to failure, from parts that failed and parts that
//! did not.
//!
//! A part that was changed or still runs unfailed has lived *at least* its hours: it is right-censored, and
//! as much a part of the record as a failure. With the shape b and the scale s (the hours by which 63.2 %
//! have failed) the chance of failure by t hours is
//!
//! ```text
//! F(t) = 1 - exp[-(t/s)^b]
//! ```
//!
//! Shape and scale are those of the greatest likelihood (NIST/SEMATECH e-Handbook, 8.4.1.2; equations from
//! memory). With r failures, sums over failures marked f, the rest over all parts,
//!
//! ```text
//! 1/b + Σf ln t / r = Σ t^b ln t / Σ t^b        s^b = Σ t^b / r
//! ```
//!
//! and the first falls all the way in b, so it has one root. An interval is where twice the fall of ln
//! likelihood, all else fitted anew, stays under the quantile of chi-square with one degree of freedom
//! (Meeker and Escobar, Statistical Methods for Reliability Data, chapter 8; from memory). For the hours t by
//! which the chance F is reached, k = ln[-ln(1-F)], ln likelihood is
//!
//! ```text
//! r ln b + r k + b Σf (ln t_i - ln t) - e^k Σ (t_i/t)^b + what no parameter changes
//! ```
//!
//! concave in b, and with one hump in t; the scale is the case k = 0.
//!
//! # How far to trust it
//!
//! The interval is an approximation that improves with failures, not with parts. In simulations
//! (`tests/calculations/engine_life.rs`) 90 % intervals of the hours to 1 % held the truth in 89 % of records with 112
//! failures among 200 parts, 89 % with 20 among 40, and 88 % with 10, and with 4, among 20. The misses are
//! uneven: with few failures the truth lay under the low end in 7 to 9 % of records and not in 5, so that end
//! flatters the part a little.
//!
//! Hours must be censored for reasons other than the part's state: a piston changed because it was about to
//! fail is a failure.

pub mod wear;

use super::{Allowed, EngineError};
use crate::quantity::search;

const HOURS: Allowed = Allowed {
    field: "hours of a part",
    unit: "h",
    low: 0.0,
    high: 100_000.0,
    help: "Give the hours it ran, in hours; 0 for a part that never did.",
};

const FAILED_HOURS: Allowed = Allowed {
    field: "hours of a part that failed",
    unit: "h",
    low: 0.001,
    high: 100_000.0,
    help: "A part fails by running; give its hours, or the least it ran if they are not known.",
};

const LONGEST: Allowed = Allowed {
    field: "longest life on record",
    unit: "h",
    low: 0.001,
    high: 100_000.0,
    help: "Parts that never ran tell nothing of how long they live.",
};

const SHAPE: Allowed = Allowed {
    field: "Weibull shape",
    unit: "",
    low: 0.2,
    high: 20.0,
    help: "1 is failure by chance; wear and fatigue lie between 1.5 and 6 (common practice, no source).",
};

const LIMIT: Allowed = Allowed {
    field: "limit on the chance of failure",
    unit: "%",
    low: 0.01,
    high: 50.0,
    help: "Give percent: 1 is one part in a hundred.",
};

pub(super) const LEVEL: Allowed = Allowed {
    field: "level of the interval",
    unit: "",
    low: 0.5,
    high: 0.999,
    help: "Give a share of one: 0.9 holds the truth nine times in ten.",
};

const NO_FAILURE: &str =
    "Without a failure there is no fit; with a shape from elsewhere the record still bounds life from below.";

const ALL_AT_THE_END: &str =
    "No part outlived a failure by enough, so no shape is too steep for the record. Give the shape.";

/// Shapes that are searched. A fit above [`STEEPEST`] is refused: hours are not known that well.
const SHAPES: (f64, f64) = (1e-6, 1e6);
const STEEPEST: f64 = 1000.0;

/// How far off its estimate, in ln, the end of an interval is looked for: a million times.
const WIDEST: f64 = 13.8;

/// One part and the hours it ran.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ObservedPart {
    /// Hours run, 0 to 100 000 h; of a part that failed at least 0.001 h.
    pub hours_h: f64,
    /// Whether it failed; else it was changed, or still runs.
    pub failed: bool,
    /// Whether it ran at least so long, because its past is not known. A part that so failed did it at
    /// unknown hours beyond these: all that is known is that it lived so long, and it counts as
    /// right-censored.
    pub at_least: bool,
}

/// What a result rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Count {
    /// Failures at known hours.
    pub failures: u32,
    /// Parts known only to have lived at least their hours, those of the next field among them.
    pub censored: u32,
    /// Parts that failed at unknown hours beyond a known number, taken as right-censored.
    pub failed_at_unknown_hours: u32,
}

/// From where to where a quantity lies at a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// Lower end; 0 where it lies below a millionth of the estimate.
    pub low: f64,
    /// Upper end; none where the interval is open: the record sets no end below a million times the estimate.
    pub high: Option<f64>,
}

/// A record of lives.
#[derive(Debug, Clone, PartialEq)]
pub struct Lives {
    /// ln of hours over the longest, of all parts that ran: never above 0, and no power of it overflows.
    logs: Vec<f64>,
    /// The sum of those of the failures.
    failed_sum: f64,
    longest_h: f64,
    count: Count,
}

impl Lives {
    /// A record of parts, in any order. Refused are an empty one, negative hours, and a record in which
    /// nothing ever ran.
    pub fn new(parts: &[ObservedPart]) -> Result<Self, EngineError> {
        if parts.is_empty() {
            let help = "Give every part that ran, failed or not.";
            return Err(EngineError::TooFew { field: "record of lives", found: 0, needed: 1, help });
        }
        let mut count = Count::default();
        for part in parts {
            let fails = part.failed && !part.at_least;
            if fails {
                FAILED_HOURS.check(part.hours_h)?
            } else {
                HOURS.check(part.hours_h)?
            };
            count.failures += u32::from(fails);
            count.censored += u32::from(!fails);
            count.failed_at_unknown_hours += u32::from(part.failed && part.at_least);
        }
        let longest_h = LONGEST.check(parts.iter().map(|part| part.hours_h).fold(0.0, f64::max))?;
        let log = |part: &ObservedPart| (part.hours_h / longest_h).ln();
        let mut failed: Vec<f64> =
            parts.iter().filter(|part| part.failed && !part.at_least).map(log).collect();
        let mut logs: Vec<f64> = parts.iter().filter(|part| part.hours_h > 0.0).map(log).collect();
        // Sorted, so that the order of the record changes no digit.
        failed.sort_by(f64::total_cmp);
        logs.sort_by(f64::total_cmp);
        Ok(Self { logs, failed_sum: failed.iter().sum(), longest_h, count })
    }

    /// Failures and parts without one.
    pub fn count(&self) -> Count {
        self.count
    }

    /// Shape and scale of the greatest likelihood.
    ///
    /// Refused without a failure, and where no part outlived a failure: any steeper shape would then fit
    /// better.
    pub fn fit(&self) -> Result<Fit, EngineError> {
        let failures = self.failures()?;
        let mean = self.failed_sum / failures;
        let not_known = EngineError::NotKnown { field: "Weibull shape", help: ALL_AT_THE_END };
        // The equation of the shape tends to the mean of the failures' ln, which is 0 if all came at the
        // longest hours.
        if mean > -1.0 / (2.0 * SHAPES.1) {
            return Err(not_known);
        }
        let shape = search::zero(SHAPES.0, SHAPES.1, 1.0, |shape| {
            let powers = self.powers(shape);
            let (first, second) = (powers.first / powers.sum, powers.second / powers.sum);
            (1.0 / shape + mean - first, -1.0 / (shape * shape) - (second - first * first))
        });
        if shape > STEEPEST {
            return Err(not_known);
        }
        Ok(self.with(shape, failures, false))
    }

    /// The scale of the greatest likelihood with a shape (0.2 to 20) from elsewhere: for a record with few
    /// failures.
    ///
    /// Refused without a failure: [`Lives::bound_with_shape`] then bounds the scale.
    pub fn fit_with_shape(&self, shape: f64) -> Result<Fit, EngineError> {
        let shape = SHAPE.check(shape)?;
        Ok(self.with(shape, self.failures()?, true))
    }

    /// What a record without a failure says with a shape (0.2 to 20) from elsewhere: at a confidence of 0.5
    /// to 0.999 the scale is at least so many hours, as with a lesser one the chance to see no failure is
    /// under 1 - confidence.
    ///
    /// s^b = Σ t^b / -ln(1 - confidence), "Weibayes" (Abernethy, The New Weibull Handbook; from memory).
    /// Refused with a failure.
    pub fn bound_with_shape(&self, shape: f64, confidence: f64) -> Result<Bound, EngineError> {
        let (shape, confidence) = (SHAPE.check(shape)?, LEVEL.check(confidence)?);
        if self.count.failures > 0 {
            return Err(EngineError::Contradiction {
                field: "number of failures",
                found: f64::from(self.count.failures),
                other: "number that this bound is for",
                limit: 0.0,
                unit: "",
                help: "Fit the scale with this shape instead: its interval has a lower end.",
            });
        }
        let scale = (self.powers(shape).sum / -(-confidence).ln_1p()).powf(1.0 / shape);
        Ok(Bound { scale_h: self.longest_h * scale, shape, confidence, count: self.count })
    }

    /// How many failed at known hours, refused if none did.
    fn failures(&self) -> Result<f64, EngineError> {
        if self.count.failures == 0 {
            return Err(EngineError::TooFew {
                field: "list of failures",
                found: 0,
                needed: 1,
                help: NO_FAILURE,
            });
        }
        Ok(f64::from(self.count.failures))
    }

    fn with(&self, shape: f64, failures: f64, shape_given: bool) -> Fit {
        let scale_log = (self.powers(shape).sum / failures).ln() / shape;
        Fit { lives: self.clone(), shape, scale_log, shape_given }
    }

    /// Sums over all parts of (t/longest)^b, and of it times the first and second power of ln(t/longest).
    fn powers(&self, shape: f64) -> Powers {
        self.powers_from(shape, 0.0)
    }

    /// The same with another unit of hours than the longest, given by its ln.
    fn powers_from(&self, shape: f64, unit: f64) -> Powers {
        self.logs.iter().fold(Powers::default(), |so_far, log| {
            let log = log - unit;
            let power = (shape * log).exp();
            Powers {
                sum: so_far.sum + power,
                first: so_far.first + power * log,
                second: so_far.second + power * log * log,
            }
        })
    }
}

#[derive(Default)]
struct Powers {
    sum: f64,
    first: f64,
    second: f64,
}

/// The least scale that a record without a failure allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// The scale is at least this, h.
    pub scale_h: f64,
    /// The shape it was reckoned with.
    pub shape: f64,
    /// Confidence of the bound, one-sided.
    pub confidence: f64,
    /// What it rests on.
    pub count: Count,
}

impl Bound {
    /// Hours that the chance of failure takes at least to reach a limit of 0.01 to 50 %, h.
    pub fn hours_at_least_h(&self, limit_percent: f64) -> Result<f64, EngineError> {
        Ok(self.scale_h * (log_hazard(LIMIT.check(limit_percent)?) / self.shape).exp())
    }
}

/// A Weibull distribution fitted to a record.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    lives: Lives,
    shape: f64,
    /// ln of the scale over the longest hours.
    scale_log: f64,
    shape_given: bool,
}

impl Fit {
    /// The shape: under 1 parts fail early, at 1 by chance, above it by wear and fatigue.
    pub fn shape(&self) -> f64 {
        self.shape
    }

    /// Whether the shape was given, not fitted; its doubt is then in no interval.
    pub fn shape_given(&self) -> bool {
        self.shape_given
    }

    /// The scale, h: by these hours 63.2 % have failed.
    pub fn scale_h(&self) -> f64 {
        self.lives.longest_h * self.scale_log.exp()
    }

    /// What it rests on.
    pub fn count(&self) -> Count {
        self.lives.count
    }

    /// The hours at which the chance of failure reaches a limit of 0.01 to 50 %, h.
    pub fn hours_h(&self, limit_percent: f64) -> Result<f64, EngineError> {
        let hazard = log_hazard(LIMIT.check(limit_percent)?);
        Ok(self.lives.longest_h * (self.scale_log + hazard / self.shape).exp())
    }

    /// The interval of the shape at a level of 0.5 to 0.999; none if it was given.
    pub fn shape_between(&self, level: f64) -> Result<Option<Between>, EngineError> {
        let fall = chi_square(level)? / 2.0;
        if self.shape_given {
            return Ok(None);
        }
        let failures = f64::from(self.lives.count.failures);
        let likelihood = |shape: f64| {
            let powers = self.lives.powers(shape);
            let value = failures * (shape / powers.sum).ln() + shape * self.lives.failed_sum;
            (value, failures * (1.0 / shape - powers.first / powers.sum) + self.lives.failed_sum)
        };
        let least = likelihood(self.shape).0 - fall;
        let end = |far| {
            search::zero(self.shape, far, f64::midpoint(self.shape, far), |shape| {
                let (value, slope) = likelihood(shape);
                (value - least, slope)
            })
        };
        Ok(Some(Between { low: end(SHAPES.0), high: Some(end(SHAPES.1)) }))
    }

    /// The interval of the scale at a level of 0.5 to 0.999, h.
    pub fn scale_between(&self, level: f64) -> Result<Between, EngineError> {
        self.between(0.0, level)
    }

    /// The interval, at a level of 0.5 to 0.999, of the hours at which the chance of failure reaches a limit
    /// of 0.01 to 50 %, h.
    pub fn hours_between(&self, limit_percent: f64, level: f64) -> Result<Between, EngineError> {
        self.between(log_hazard(LIMIT.check(limit_percent)?), level)
    }

    /// The interval of the hours at which ln of the cumulative hazard is `hazard`.
    fn between(&self, hazard: f64, level: f64) -> Result<Between, EngineError> {
        let fall = chi_square(level)? / 2.0;
        let estimate = self.scale_log + hazard / self.shape;
        let hours = |log: f64| self.lives.longest_h * log.exp();
        if self.shape_given {
            // One parameter: with u = (estimate/t)^b, ln likelihood falls by r (u - 1 - ln u).
            let share = fall / f64::from(self.lives.count.failures);
            let end = |far: f64| {
                let fallen = |log: f64| (share - (log.exp_m1() - log), -log.exp_m1());
                hours(estimate - search::zero(0.0, far, far / 2.0, fallen) / self.shape)
            };
            return Ok(Between { low: end((2.0 * share).sqrt()), high: Some(end(-1.0 - share)) });
        }
        let least = self.likelihood(self.shape, estimate, hazard) - fall;
        let above = |log: f64| {
            let shape = self.shape_with(log, hazard);
            let raised = hazard.exp() * self.lives.powers_from(shape, log).sum;
            let slope = shape * (raised - f64::from(self.lives.count.failures));
            (self.likelihood(shape, log, hazard) - least, slope)
        };
        let end = |far: f64| {
            (above(far).0 < 0.0)
                .then(|| hours(search::zero(estimate, far, f64::midpoint(estimate, far), above)))
        };
        Ok(Between { low: end(estimate - WIDEST).unwrap_or(0.0), high: end(estimate + WIDEST) })
    }

    /// ln likelihood of a shape and of the ln of the hours, over the longest, at which the hazard is reached.
    fn likelihood(&self, shape: f64, log: f64, hazard: f64) -> f64 {
        let failures = f64::from(self.lives.count.failures);
        let sum = self.lives.powers_from(shape, log).sum;
        failures * (shape.ln() + hazard) + shape * (self.lives.failed_sum - failures * log)
            - hazard.exp() * sum
    }

    /// The likeliest shape where those hours are given.
    fn shape_with(&self, log: f64, hazard: f64) -> f64 {
        let failures = f64::from(self.lives.count.failures);
        let distance = self.lives.failed_sum - failures * log;
        search::zero(SHAPES.0, SHAPES.1, self.shape, |shape| {
            let powers = self.lives.powers_from(shape, log);
            let slope = -failures / (shape * shape) - hazard.exp() * powers.second;
            (failures / shape + distance - hazard.exp() * powers.first, slope)
        })
    }
}

/// ln of the cumulative hazard at a chance in percent: ln[-ln(1 - F)].
fn log_hazard(percent: f64) -> f64 {
    (-(-percent / 100.0).ln_1p()).ln()
}

/// The quantile of chi-square with one degree of freedom at a level of 0.5 to 0.999: the square of a normal
/// deviate, which erf gives.
pub fn chi_square(level: f64) -> Result<f64, EngineError> {
    let level = LEVEL.check(level)?;
    let slope = |x: f64| -2.0 / std::f64::consts::PI.sqrt() * (-x * x).exp();
    let deviate = search::zero(0.0, 4.0, 1.0, |x| (level - libm::erf(x), slope(x)));
    Ok(2.0 * deviate * deviate)
}
