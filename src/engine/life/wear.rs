//! Wear: a dimension that moves with the hours, as a straight line by least squares, and the hours left to
//! its limit.
//!
//! With hours t and dimensions y of n readings, means T and Y, sums of squares about the means Stt and Sty:
//!
//! ```text
//! rate b = Sty/Stt      scatter s² = Σ [y - Y - b (t - T)]² / (n - 2)
//! error of the rate s/√Stt        of the dimension at 0 h s √(1/n + T²/Stt)
//! the next reading at t:  Y + b (t - T) ± q s √(1 + 1/n + (t - T)²/Stt)
//! ```
//!
//! with q the two-sided quantile of Student's t with n - 2 degrees of freedom. That is the band of one
//! further reading, scatter of the gauge and all. The hours to a limit are where the line crosses it; their
//! interval is where the band's two edges do (inverse prediction, Fieller's theorem). Draper and Smith,
//! Applied Regression Analysis, chapters 1 and 3; from memory.
//!
//! Where the rate is not told apart from none at that level the far edge never gets to the limit: the
//! interval is open, and said to be.
//!
//! A straight line is an assumption: running in is faster, and a hard layer worn through is faster again.

use super::LEVEL;
use crate::engine::{Allowed, EngineError};
use crate::quantity::search;

const HOURS: Allowed = Allowed {
    field: "hours of a reading",
    unit: "h",
    low: 0.0,
    high: 100_000.0,
    help: "Give the hours the part had run when it was measured.",
};

const DIMENSION: Allowed = Allowed {
    field: "dimension",
    unit: "m",
    low: 0.0,
    high: 1.0,
    help: "Give the length that was measured; a workshop's millimetres are a thousandth.",
};

const APART: Allowed = Allowed {
    field: "time between the first and the last reading",
    unit: "h",
    low: 0.01,
    high: 100_000.0,
    help: "Wear is seen by measuring again after running.",
};

const FREEDOM: Allowed = Allowed {
    field: "number of degrees of freedom",
    unit: "",
    low: 1.0,
    high: 100_000.0,
    help: "Give the readings less two; a line needs three readings.",
};

/// Readings that a line with a scatter needs.
const READINGS: usize = 3;

/// Terms of a continued fraction; a thousand degrees of freedom need some 40.
const TERMS: u32 = 5000;

/// One measurement of a dimension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DimensionReading {
    /// Hours the part had run, 0 to 100 000 h.
    pub hours_h: f64,
    /// What was measured, 0 to 1 m.
    pub dimension_m: f64,
}

/// The dimension at which a part is worn out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// The greatest allowed, m: of a bore, a clearance, a ring gap.
    Greatest(f64),
    /// The least allowed, m: of a piston, a pin, a plate.
    Least(f64),
}

/// Which way a dimension goes, as far as the readings tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// It grows.
    Growing,
    /// It shrinks.
    Shrinking,
    /// No direction is told apart from the scatter.
    NotSeen,
}

/// From where to where a quantity lies at a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// When a dimension reaches its limit, in hours of the part, h; hours before the last reading say that it is
/// past it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LimitReach {
    /// The line and both edges of its band come to the limit.
    Between {
        /// Where the line does.
        hours_h: f64,
        /// Where the near edge does.
        soonest_h: f64,
        /// Where the far edge does.
        latest_h: f64,
    },
    /// The rate is not told apart from none: not before some hours, and perhaps never.
    Open {
        /// Where the line comes to the limit, if it leads there.
        hours_h: Option<f64>,
        /// Where the near edge does.
        soonest_h: f64,
    },
    /// The rate is not told apart from none, and the limit lies in the scatter of the readings or behind it:
    /// no hours are too few.
    AnyTime,
    /// The line leads away from the limit, or nowhere, and so does its band.
    Never,
}

/// A straight line of a dimension on hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedLine {
    readings: f64,
    mean_hours: f64,
    mean_m: f64,
    /// Sums of squares about the means: of the hours, and of the dimension.
    hours_squares: f64,
    squares: f64,
    rate: f64,
    scatter: f64,
}

impl FittedLine {
    /// The line of least squares through at least three readings, in any order, the first and the last at
    /// least 0.01 h apart.
    pub fn fit(readings: &[DimensionReading]) -> Result<Self, EngineError> {
        if readings.len() < READINGS {
            return Err(EngineError::TooFew {
                field: "list of readings",
                found: readings.len(),
                needed: READINGS,
                help: "Two readings set a line but not its scatter.",
            });
        }
        let mut sorted: Vec<(f64, f64)> = readings
            .iter()
            .map(|reading| Ok((HOURS.check(reading.hours_h)?, DIMENSION.check(reading.dimension_m)?)))
            .collect::<Result<_, EngineError>>()?;
        // Sorted, so that the order of the record changes no digit.
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let (first, last) =
            sorted.iter().fold((f64::MAX, 0.0_f64), |(first, last), at| (first.min(at.0), last.max(at.0)));
        APART.check(last - first)?;
        let count = sorted.iter().map(|_| 1.0).sum();
        let mean = |of: fn(&(f64, f64)) -> f64| sorted.iter().map(of).sum::<f64>() / count;
        let (mean_hours, mean_m) = (mean(|at| at.0), mean(|at| at.1));
        let sum = |of: &dyn Fn(f64, f64) -> f64| -> f64 {
            sorted.iter().map(|at| of(at.0 - mean_hours, at.1 - mean_m)).sum()
        };
        let hours_squares = sum(&|hours, _| hours * hours);
        let rate = sum(&|hours, length| hours * length) / hours_squares;
        let residuals = sum(&|hours, length| (length - rate * hours).powi(2));
        Ok(Self {
            readings: count,
            mean_hours,
            mean_m,
            hours_squares,
            squares: sum(&|_, length| length * length),
            rate,
            scatter: (residuals / (count - 2.0)).sqrt(),
        })
    }

    /// Rate of wear, m/h: positive where the dimension grows.
    pub fn rate_m_h(&self) -> f64 {
        self.rate
    }

    /// Standard error of the rate, m/h.
    pub fn rate_error_m_h(&self) -> f64 {
        self.scatter / self.hours_squares.sqrt()
    }

    /// The dimension that the line has at 0 h, m; measured or not, it may be no real one.
    pub fn at_zero_m(&self) -> f64 {
        self.mean_m - self.rate * self.mean_hours
    }

    /// Standard error of the dimension at 0 h, m.
    pub fn at_zero_error_m(&self) -> f64 {
        self.scatter * (1.0 / self.readings + self.mean_hours * self.mean_hours / self.hours_squares).sqrt()
    }

    /// Standard deviation of the readings about the line, m.
    pub fn scatter_m(&self) -> f64 {
        self.scatter
    }

    /// Correlation of dimension and hours, -1 to 1; none where all readings are one.
    pub fn correlation(&self) -> Option<f64> {
        let correlation = self.rate * (self.hours_squares / self.squares).sqrt();
        (self.squares > 0.0).then(|| correlation.clamp(-1.0, 1.0))
    }

    /// Degrees of freedom of the scatter: the readings less two.
    pub fn freedom(&self) -> f64 {
        self.readings - 2.0
    }

    /// The dimension on the line at 0 to 100 000 h, m.
    pub fn dimension_m(&self, hours_h: f64) -> Result<f64, EngineError> {
        Ok(self.mean_m + self.rate * (HOURS.check(hours_h)? - self.mean_hours))
    }

    /// Where a further reading at 0 to 100 000 h will lie at a level of 0.5 to 0.999, m.
    pub fn next_reading_between(&self, hours_h: f64, level: f64) -> Result<Range, EngineError> {
        let (middle, away) = (self.dimension_m(hours_h)?, hours_h - self.mean_hours);
        let spread = (1.0 + 1.0 / self.readings + away * away / self.hours_squares).sqrt();
        let half = student_t(level, self.freedom())? * self.scatter * spread;
        Ok(Range { low: middle - half, high: middle + half })
    }

    /// The interval of the rate at a level of 0.5 to 0.999, m/h.
    pub fn rate_between(&self, level: f64) -> Result<Range, EngineError> {
        let half = student_t(level, self.freedom())? * self.rate_error_m_h();
        Ok(Range { low: self.rate - half, high: self.rate + half })
    }

    /// Which way the dimension goes, where nought is outside the interval of the rate at a level of 0.5 to
    /// 0.999.
    pub fn direction(&self, level: f64) -> Result<Direction, EngineError> {
        let rate = self.rate_between(level)?;
        Ok(if rate.low > 0.0 {
            Direction::Growing
        } else if rate.high < 0.0 {
            Direction::Shrinking
        } else {
            Direction::NotSeen
        })
    }

    /// When a limit of 0 to 1 m is reached: where the line crosses it, and where the edges of the band of one
    /// further reading do, at a level of 0.5 to 0.999.
    pub fn reaches(&self, limit: Limit, level: f64) -> Result<LimitReach, EngineError> {
        // A dimension that shrinks to its limit is turned over; then all limits lie above.
        let (limit_m, turn) = match limit {
            Limit::Greatest(limit_m) => (limit_m, 1.0),
            Limit::Least(limit_m) => (limit_m, -1.0),
        };
        let (rate, ahead) = (turn * self.rate, turn * (DIMENSION.check(limit_m)? - self.mean_m));
        let q = student_t(level, self.freedom())?;
        let (slack, width) = ((q * self.rate_error_m_h()).powi(2), (q * self.scatter).powi(2));
        // The edges, u hours after the mean: (rate u - ahead)² = width (1 + 1/n) + slack u².
        let opening = rate * rate - slack;
        let beyond = ahead * ahead - width * (1.0 + 1.0 / self.readings);
        let root = (slack * ahead * ahead + opening * (ahead * ahead - beyond)).max(0.0).sqrt();
        let line = self.mean_hours + ahead / rate;
        if opening > 0.0 {
            if rate < 0.0 {
                return Ok(LimitReach::Never);
            }
            // The root that adds keeps its digits; their product gives the other.
            let sum = rate * ahead + root.copysign(ahead);
            let edges = (self.mean_hours + sum / opening, self.mean_hours + quotient(beyond, sum));
            let (soonest_h, latest_h) = (edges.0.min(edges.1), edges.0.max(edges.1));
            return Ok(LimitReach::Between { hours_h: line, soonest_h, latest_h });
        }
        if ahead <= 0.0 || beyond <= 0.0 {
            return Ok(LimitReach::AnyTime);
        }
        // Of the two places where the near edge is at the limit, the one after the readings.
        let sum = rate * ahead + root;
        let soonest_h =
            self.mean_hours + if rate > 0.0 { beyond / sum } else { (rate * ahead - root) / opening };
        if soonest_h.is_finite() {
            Ok(LimitReach::Open { hours_h: (rate > 0.0).then_some(line), soonest_h })
        } else {
            Ok(LimitReach::Never)
        }
    }
}

/// A quotient that is 0 where both are: the readings lie on their line, and the limit at their mean.
fn quotient(over: f64, under: f64) -> f64 {
    if under.abs() > 0.0 { over / under } else { 0.0 }
}

/// The two-sided quantile of Student's t: a share `level` (0.5 to 0.999) of the distribution with so many
/// degrees of freedom (1 to 100 000) lies no further from nought.
///
/// P(|T| > t) = I(v/(v + t²); v/2, 1/2) with the regularised incomplete beta function (NIST Digital Library
/// of Mathematical Functions, 8.17; from memory), halved down to the quantile.
pub fn student_t(level: f64, freedom: f64) -> Result<f64, EngineError> {
    let (level, freedom) = (LEVEL.check(level)?, FREEDOM.check(freedom)?);
    // At one degree of freedom and the highest level the quantile is 637.
    Ok(search::turn(0.0, 1000.0, |t| share_within(t, freedom) < level).middle())
}

/// The share of Student's distribution that lies no further from nought than t.
fn share_within(t: f64, freedom: f64) -> f64 {
    let (a, b) = (freedom / 2.0, 0.5);
    let whole = freedom + t * t;
    let (x, rest) = (freedom / whole, t * t / whole);
    // x^a (1-x)^b / B(a, b); ln x is had from the other end, where it keeps its digits.
    let front =
        (libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * (-rest).ln_1p()).exp() * rest.sqrt();
    // Each fraction converges quickly on its own side of the mean.
    if x < (a + 1.0) / (a + b + 2.0) {
        1.0 - front * beta_fraction(x, a, b) / a
    } else {
        front * beta_fraction(rest, b, a) / b
    }
}

/// The continued fraction of the incomplete beta function, 8.17.22, from the front by Lentz's method.
fn beta_fraction(x: f64, a: f64, b: f64) -> f64 {
    let away = |value: f64| if value.abs() < 1e-300 { 1e-300 } else { value };
    let (mut over, mut under) = (1.0, 1.0 / away(1.0 - (a + b) * x / (a + 1.0)));
    let mut fraction = under;
    for term in 1..=TERMS {
        let m = f64::from(term);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let before = fraction;
        for coefficient in [even, odd] {
            under = 1.0 / away(1.0 + coefficient * under);
            over = away(1.0 + coefficient / over);
            fraction *= under * over;
        }
        if (fraction - before).abs() < 1e-16 * fraction.abs() {
            break;
        }
    }
    fraction
}
