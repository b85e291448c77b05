//! Jet numbers: what they stand for, how they move with a metering factor, and which jet of the box to take.
//!
//! A jet is numbered by its *flow* (cubic centimetres a minute at a fixed head) or by its *bore* (hundredths of a millimetre).
//! A flow number goes as the factor, a bore number as its root: confusing the two doubles or halves
//! every correction, so a jet always carries its scale. Maker's scales are declared, never guessed (common practice, no source).

use std::f64::consts::PI;

use crate::engine::{Allowed, EngineError, FACTOR};

const JET_NUMBER: Allowed = Allowed {
    field: "jet number",
    unit: "",
    low: 1.0,
    high: 5000.0,
    help: "Give the number stamped on the jet.",
};

const JET_AREA: Allowed = Allowed {
    field: "jet area",
    unit: "m2",
    low: 1e-9,
    high: 2e-3,
    help: "A jet of 1 mm bore has 7.9e-7 m2.",
};

const REFERENCE_BORE: Allowed = Allowed {
    field: "bore of the reference jet",
    unit: "m",
    low: 1e-4,
    high: 0.02,
    help: "Measure the bore of one flow-numbered jet and give it in metres.",
};

/// What the number on a jet counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Numbering {
    /// Flow at a fixed head: the number goes as the area.
    Flow,
    /// Bore in hundredths of a millimetre: the number goes as the root of the area.
    Bore,
}

impl Numbering {
    /// The exact number for `factor` times the area of the jet `number`; not rounded to a jet that exists.
    pub fn number_for(self, number: f64, factor: f64) -> Result<f64, EngineError> {
        let number = JET_NUMBER.check(number)?;
        let factor = FACTOR.check(factor)?;
        Ok(match self {
            Self::Flow => number * factor,
            Self::Bore => number * factor.sqrt(),
        })
    }

    /// Area of the jet `to` over the area of the jet `from`.
    pub fn area_factor(self, from: f64, to: f64) -> Result<f64, EngineError> {
        let ratio = JET_NUMBER.check(to)? / JET_NUMBER.check(from)?;
        Ok(match self {
            Self::Flow => ratio,
            Self::Bore => ratio * ratio,
        })
    }
}

/// How the number of a jet becomes an area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum JetScale {
    /// Numbered by bore: 172 is 1.72 mm.
    Bore,
    /// Numbered by flow, with one jet of the series whose bore was measured: d = `reference_bore_m` sqrt(n / `reference_number`).
    Flow {
        /// Number on the measured jet.
        reference_number: f64,
        /// Its bore, m.
        reference_bore_m: f64,
    },
    /// Numbered by flow, no bore known: ratios of jets can be computed, areas cannot.
    FlowOnly,
}

impl JetScale {
    /// What the number counts.
    pub fn numbering(&self) -> Numbering {
        match self {
            Self::Bore => Numbering::Bore,
            Self::Flow { .. } | Self::FlowOnly => Numbering::Flow,
        }
    }

    /// Bore of a jet from its number, m.
    pub fn bore_m(&self, number: f64) -> Result<f64, EngineError> {
        let number = JET_NUMBER.check(number)?;
        match *self {
            Self::Bore => Ok(number * 1e-5),
            Self::Flow { reference_number, reference_bore_m } => {
                let reference = JET_NUMBER.check(reference_number)?;
                Ok(REFERENCE_BORE.check(reference_bore_m)? * (number / reference).sqrt())
            }
            Self::FlowOnly => Err(bore_not_known()),
        }
    }

    /// Area of a jet from its number, m2.
    pub fn area_m2(&self, number: f64) -> Result<f64, EngineError> {
        self.bore_m(number).map(circle_m2)
    }

    /// The exact number of a jet of this area, m2; not rounded to a jet that exists.
    pub fn number_for_area(&self, area_m2: f64) -> Result<f64, EngineError> {
        let area = JET_AREA.check(area_m2)?;
        match *self {
            Self::Bore => Ok((4.0 * area / PI).sqrt() * 1e5),
            Self::Flow { reference_number, .. } => {
                Ok(reference_number * area / self.area_m2(reference_number)?)
            }
            Self::FlowOnly => Err(bore_not_known()),
        }
    }
}

/// Area of a jet whose bore is given in hundredths of a millimetre, m2.
pub fn area_from_bore_m2(hundredths: f64) -> Result<f64, EngineError> {
    JetScale::Bore.area_m2(hundredths)
}

/// Area of a round hole from its diameter, m2.
pub(crate) fn circle_m2(diameter_m: f64) -> f64 {
    PI / 4.0 * diameter_m * diameter_m
}

fn bore_not_known() -> EngineError {
    EngineError::NotKnown {
        field: "bore of the flow-numbered jet",
        help: "Measure the bore of one jet of the series and give its number and bore as the reference.",
    }
}

/// Where the exact number lies among the sizes that exist.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AmongSizes {
    /// Between the smallest and the largest, both included.
    Within,
    /// Above the largest: no size is rich enough.
    AboveLargest,
    /// Below the smallest: every size is too rich.
    BelowSmallest,
}

/// The sizes around an exact number. For fuel jets, where a larger number is richer (an air jet is the other way round).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// The number that was asked for.
    pub exact: f64,
    /// Where it lies.
    pub place: AmongSizes,
    /// The size to take at full throttle: the smallest that is not leaner than the exact number. None above the largest,
    /// because no size there is safe.
    pub advised: Option<f64>,
    /// The size just at or below the exact number: the lean side of it.
    pub at_or_below: Option<f64>,
    /// The size closest to the exact number, a tie going rich: for circuits where a little lean does no harm.
    pub nearest: f64,
    /// One size richer than advised.
    pub richer: Option<f64>,
    /// One size leaner than advised; above the largest, the largest.
    pub leaner: Option<f64>,
}

/// A size is the exact number when they agree to this; otherwise rounding alone could cost a whole size.
const SAME_SIZE: f64 = 1e-9;

/// Which of the `sizes` to take for an `exact` number. The sizes may come in any order and more than once.
pub fn nearest(sizes: &[f64], exact: f64) -> Result<Choice, EngineError> {
    let exact = JET_NUMBER.check(exact)?;
    let mut sizes = sizes.iter().map(|size| JET_NUMBER.check(*size)).collect::<Result<Vec<f64>, _>>()?;
    sizes.sort_by(f64::total_cmp);
    sizes.dedup_by(|a, b| same_size(*a, *b));
    let (Some(&smallest), Some(&largest)) = (sizes.first(), sizes.last()) else {
        return Err(EngineError::TooFew {
            field: "jet series",
            found: 0,
            needed: 1,
            help: "Give the sizes that are in the box.",
        });
    };

    // Index of the smallest size that is not leaner than the exact number.
    let rich = sizes.partition_point(|size| *size < exact && !same_size(*size, exact));
    let advised = sizes.get(rich).copied();
    let leaner = rich.checked_sub(1).and_then(|i| sizes.get(i)).copied();
    let at_or_below = advised.filter(|size| same_size(*size, exact)).or(leaner);
    let place = if advised.is_none() {
        AmongSizes::AboveLargest
    } else if at_or_below.is_none() {
        AmongSizes::BelowSmallest
    } else {
        AmongSizes::Within
    };
    Ok(Choice {
        exact,
        place,
        advised,
        at_or_below,
        nearest: match (advised, leaner) {
            (Some(above), Some(below)) if tie_goes_rich(above - exact, exact - below) => above,
            (Some(_), Some(below)) => below,
            (Some(_), None) => smallest,
            (None, _) => largest,
        },
        richer: sizes.get(rich + 1).copied(),
        leaner,
    })
}

fn same_size(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME_SIZE * a.abs().max(b.abs())
}

/// Whether the rich neighbour is as near as the lean one, rounding allowed for.
fn tie_goes_rich(to_rich: f64, to_lean: f64) -> bool {
    to_rich - to_lean <= SAME_SIZE * (to_rich + to_lean)
}
