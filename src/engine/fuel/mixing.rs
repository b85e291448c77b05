//! Oil into petrol at the can: how much of each, and how to bring a can that is already mixed to another ratio.
//!
//! A ratio R is parts of petrol to one of oil by volume, so oil is 1/(R + 1) of what is in the can, not 1/R. Volumes are
//! taken to add (they very nearly do, from memory) and to be measured at one temperature. More oil is less petrol for the
//! same jet: the engine gets leaner, see [`crate::engine::metering`]. Arithmetic.

use std::cmp::Ordering;

use crate::engine::{Allowed, EngineError};

const RATIO: Allowed = Allowed {
    field: "premix ratio",
    unit: "",
    low: 4.0,
    high: 1000.0,
    help: "Give the parts of petrol to one part of oil by volume, such as 32.",
};

const WANTED_RATIO: Allowed = Allowed { field: "wanted premix ratio", ..RATIO };

const PETROL: Allowed = Allowed {
    field: "volume of petrol",
    unit: "m3",
    low: 1e-6,
    high: 1.0,
    help: "Give it in cubic metres; 5 litres are 0.005.",
};

const CAN: Allowed = Allowed { field: "volume of premix", ..PETROL };

/// Petrol and oil of a can.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Premix {
    /// Petrol, m3.
    pub petrol_m3: f64,
    /// Oil, m3.
    pub oil_m3: f64,
}

impl Premix {
    /// The petrol and the oil in a volume of premix, 1e-6 to 1 m3, at a ratio of 4 to 1000: oil V/(R + 1), petrol the rest.
    ///
    /// Both what a can holds, and what to measure out to fill one.
    pub fn of_total(total_m3: f64, ratio: f64) -> Result<Self, EngineError> {
        let oil_m3 = CAN.check(total_m3)? / (RATIO.check(ratio)? + 1.0);
        Ok(Self { petrol_m3: ratio * oil_m3, oil_m3 })
    }

    /// Both together, m3.
    pub fn total_m3(&self) -> f64 {
        self.petrol_m3 + self.oil_m3
    }

    /// Parts of petrol to one of oil.
    pub fn ratio(&self) -> f64 {
        self.petrol_m3 / self.oil_m3
    }
}

/// Oil, m3, for a volume of petrol, 1e-6 to 1 m3, at a ratio of 4 to 1000.
pub fn oil_for_petrol_m3(petrol_m3: f64, ratio: f64) -> Result<f64, EngineError> {
    Ok(PETROL.check(petrol_m3)? / RATIO.check(ratio)?)
}

/// What goes into a can to bring it to another ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ToAdd {
    /// Oil, m3: more oil is wanted.
    Oil(f64),
    /// Petrol without oil, m3: less oil is wanted.
    Petrol(f64),
    /// Nothing: the can is right.
    Nothing,
}

/// A can brought to another ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// What to pour in.
    pub add: ToAdd,
    /// What the can holds afterwards: the caller sees whether it is large enough.
    pub after: Premix,
}

/// What to pour into a can of `total_m3` premix, 1e-6 to 1 m3, mixed at `ratio`, to bring it to `wanted_ratio`, both 4 to 1000.
///
/// With more oil P/R2 - O, with less R2 O - P, where P and O are the petrol and the oil in the can.
pub fn correct_can(total_m3: f64, ratio: f64, wanted_ratio: f64) -> Result<Correction, EngineError> {
    let now = Premix::of_total(total_m3, ratio)?;
    let wanted = WANTED_RATIO.check(wanted_ratio)?;
    Ok(match wanted.total_cmp(&ratio) {
        Ordering::Less => {
            let after = Premix { oil_m3: now.petrol_m3 / wanted, ..now };
            Correction { add: ToAdd::Oil(after.oil_m3 - now.oil_m3), after }
        }
        Ordering::Greater => {
            let after = Premix { petrol_m3: wanted * now.oil_m3, ..now };
            Correction { add: ToAdd::Petrol(after.petrol_m3 - now.petrol_m3), after }
        }
        Ordering::Equal => Correction { add: ToAdd::Nothing, after: now },
    })
}
