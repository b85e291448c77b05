//! How outings are heard and how much risk is taken: the tuner's own figures, or those that come with the program.

use super::model::kinship::Spreads;
use super::model::verdicts::Tails;
use crate::notebook::{Assumptions, RecordEntries};
use crate::quantity::{Kind, Measure};

/// The tuner's figures. All are common practice, no source; they stand in `[record]` of configs/assumptions.toml.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// The most chance of running lean at full throttle, 0 to 1.
    pub lean_risk: f64,
    /// The most chance of running lean at the other openings, 0 to 1.
    pub lean_risk_elsewhere: f64,
    /// What is believed of unlike runs.
    pub spreads: Spreads,
    /// What days cost.
    pub costs: Costs,
}

/// What the choice of a size weighs, against one for a rich day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Costs {
    /// A lean day.
    pub lean: f64,
    /// Changing a jet.
    pub change: f64,
}

/// What is believed of unlike runs where the tuner says nothing else. The drifts and the tails have no field: they hold against
/// the simulated seasons of `tests/learning/families_table.rs`, and a tuner has no way of knowing them.
const SPREADS: Spreads = Spreads {
    parts: [0.025, 0.01, 0.007, 0.02, 0.02, 0.02],
    cylinders: 0.015,
    drift: 0.01,
    half_life_days: 365.0,
    wear: 0.01,
    half_life_running: 8.0,
    tails: Tails { share: 0.1, wider: 3.0 },
    change_chance: 0.02,
    change: 0.05,
};

/// From such a spread on, ln fuel, each cylinder is a bike of its own: no two of one engine lie as far apart (common practice, no
/// source).
pub const UNRELATED: f64 = 0.1;

impl Default for Settings {
    fn default() -> Self {
        Self {
            lean_risk: 0.05,
            lean_risk_elsewhere: 0.10,
            spreads: SPREADS,
            costs: Costs { lean: 5.0, change: 0.1 },
        }
    }
}

impl Settings {
    /// From the garage's table; what it does not say stands as it comes with the program.
    pub fn read(assumptions: &Assumptions) -> Self {
        let own = Self::default();
        let Some(record) = &assumptions.record else {
            return own;
        };
        Self {
            lean_risk: or(record.lean_risk.as_ref(), own.lean_risk),
            lean_risk_elsewhere: or(record.lean_risk_elsewhere.as_ref(), own.lean_risk_elsewhere),
            spreads: Spreads {
                parts: parts(record, own.spreads.parts),
                cylinders: or(record.other_cylinder.as_ref(), own.spreads.cylinders),
                half_life_days: or(record.half_life.as_ref(), own.spreads.half_life_days),
                ..own.spreads
            },
            costs: Costs {
                lean: or(record.lean_costs.as_ref(), own.costs.lean),
                change: or(record.change_costs.as_ref(), own.costs.change),
            },
        }
    }

    /// Whether the cylinders of an engine tell each other anything.
    pub fn cylinders_are_related(&self) -> bool {
        self.spreads.cylinders < UNRELATED
    }

    /// The limit that holds at a throttle zone.
    pub fn limit(&self, zone: &str) -> f64 {
        if zone == "full" { self.lean_risk } else { self.lean_risk_elsewhere }
    }
}

fn or<K: Kind>(value: Option<&Measure<K>>, own: f64) -> f64 {
    value.map_or(own, Measure::si)
}

/// In the order of [`super::heard::weight::KIND_NAMES`].
fn parts(record: &RecordEntries, own: [f64; 6]) -> [f64; 6] {
    [
        or(record.other_engine.as_ref(), own[0]),
        or(record.inside_engine.as_ref(), own[1]),
        or(record.other_ignition.as_ref(), own[2]),
        or(record.other_pipe.as_ref(), own[3]),
        or(record.other_carburetor.as_ref(), own[4]),
        or(record.other_fuel.as_ref(), own[5]),
    ]
}

/// How far the right jet may lie from the proven one in the proven air, in ln of its number (standard deviation).
pub(super) const CENTRE_SD: f64 = 0.05;
