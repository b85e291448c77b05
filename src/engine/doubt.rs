//! Doubt: a value with its standard uncertainty, kept apart by where it comes from.
//!
//! First-order propagation, GUM (JCGM 100:2008) 5.1 and 5.2. Every doubt belongs to a named source, and
//! sources are independent of each other. A value that depends on the sources with the signed contributions
//! `c` has
//!
//! ```text
//! u² = Σ c²        covariance of two values = Σ c1 c2
//! ```
//!
//! so what two values share is known without a table of correlations: two bores read with one gauge share
//! the doubt of its setting, and in their difference that cancels. It only works if the names are chosen so:
//! one name for what is common (the setting of the bore gauge), a name of its own for what is new with each
//! reading (the resolution, at the top, along the pin).
//!
//! *First order*: terms of two small things multiplied are left out. That is safe as long as a doubt is small
//! beside its value, or enters by a sum. A product of two values that are both near nought comes out with
//! too little doubt.

use std::collections::BTreeMap;

use super::{Allowed, EngineError};

const DIVISOR: Allowed = Allowed {
    field: "size of the divisor",
    unit: "",
    low: 1e-9,
    high: 1e9,
    help: "Nothing can be divided by nought; check the value that stands below the line.",
};

/// What the standard uncertainty is multiplied by to be shown: about 95 in 100 of a normal distribution.
pub const COVERAGE: f64 = 2.0;

/// A value, and how much each source adds to its doubt.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubtful {
    value: f64,
    parts: BTreeMap<String, f64>,
}

impl Doubtful {
    /// A value without doubt: a constant, or a number that is agreed.
    #[must_use]
    pub fn exact(value: f64) -> Self {
        Self { value, parts: BTreeMap::new() }
    }

    /// A value with the standard uncertainty that one source gives it, both in the value's unit.
    #[must_use]
    pub fn new(value: f64, source: &str, standard_uncertainty: f64) -> Self {
        Self::exact(value).also(source, standard_uncertainty)
    }

    /// The same value with what a further source adds, in the value's unit. What is added twice under one
    /// name moves together and adds up; a negative contribution says that the value falls where others of
    /// that source rise. Not-a-number is kept, and refused by what works with the value.
    #[must_use]
    pub fn also(mut self, source: &str, standard_uncertainty: f64) -> Self {
        *self.parts.entry(source.to_owned()).or_insert(0.0) += standard_uncertainty;
        self
    }

    /// The sum.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        self.joined(other, self.value + other.value, (1.0, 1.0))
    }

    /// The difference: what both have from one source cancels.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        self.joined(other, self.value - other.value, (1.0, -1.0))
    }

    /// The value times a number without doubt.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        self.joined(&Self::exact(0.0), self.value * factor, (factor, 0.0))
    }

    /// The product.
    #[must_use]
    pub fn product(&self, other: &Self) -> Self {
        self.joined(other, self.value * other.value, (other.value, self.value))
    }

    /// The quotient; the size of the divisor must be 1e-9 to 1e9.
    pub fn quotient(&self, other: &Self) -> Result<Self, EngineError> {
        DIVISOR.check(other.value.abs())?;
        let value = self.value / other.value;
        Ok(self.joined(other, value, (1.0 / other.value, -value / other.value)))
    }

    /// A value that follows from both, with how fast it follows either.
    fn joined(&self, other: &Self, value: f64, slopes: (f64, f64)) -> Self {
        let mut joined = Self::exact(value);
        for (of, slope) in [(self, slopes.0), (other, slopes.1)] {
            for (source, part) in &of.parts {
                joined = joined.also(source, slope * part);
            }
        }
        joined
    }

    /// The value itself.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Standard uncertainty, in the value's unit.
    pub fn uncertainty(&self) -> f64 {
        self.parts.values().map(|part| part * part).sum::<f64>().sqrt()
    }

    /// Expanded uncertainty, twice the standard one: what is shown after a ±.
    pub fn expanded(&self) -> f64 {
        COVERAGE * self.uncertainty()
    }

    /// Each source with what it adds, signed, in the value's unit, by name.
    pub fn parts(&self) -> impl Iterator<Item = (&str, f64)> {
        self.parts.iter().map(|(source, part)| (source.as_str(), *part))
    }

    /// The source that adds most, the first by name of those that add alike; none where there is no doubt.
    pub fn main_source(&self) -> Option<&str> {
        let mut most = (None, 0.0);
        for (source, part) in self.parts() {
            if part.abs() > most.1 {
                most = (Some(source), part.abs());
            }
        }
        most.0
    }
}

/// Standard uncertainty of what lies anywhere within a half-width alike, a/√3 (GUM 4.3.7, from memory), in
/// the unit of the half-width.
pub fn rectangular(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// Standard uncertainty that the smallest step of a gauge brings: what was read lies anywhere within half a
/// step of it, r/√12 (GUM F.2.2.1, from memory), in the unit of the step.
pub fn of_resolution(step: f64) -> f64 {
    rectangular(step / 2.0)
}
