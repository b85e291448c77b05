//! How outings are weighed and how much risk is taken: the tuner's own figures, or those that come with the program.

use crate::notebook::Assumptions;
use crate::quantity::Measure;

/// The tuner's figures. All are common practice, no source; they stand in `[record]` of configs/assumptions.toml.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// The most chance of running lean at full throttle, 0 to 1.
    pub lean_risk: f64,
    /// The most chance of running lean at the other openings, 0 to 1.
    pub lean_risk_elsewhere: f64,
    /// Days until a verdict counts half.
    pub half_life_days: f64,
    /// What is left of a weight for each part of the bike that was another one, 0 to 1.
    pub other_part: f64,
    /// What is left of a weight after more than one section was changed at once, 0 to 1.
    pub several_changes: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            lean_risk: 0.05,
            lean_risk_elsewhere: 0.10,
            half_life_days: 365.0,
            other_part: 0.5,
            several_changes: 0.25,
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
        let or = |value: Option<f64>, own: f64| value.unwrap_or(own);
        Self {
            lean_risk: or(record.lean_risk.as_ref().map(Measure::si), own.lean_risk),
            lean_risk_elsewhere: or(
                record.lean_risk_elsewhere.as_ref().map(Measure::si),
                own.lean_risk_elsewhere,
            ),
            half_life_days: or(record.half_life.as_ref().map(Measure::si), own.half_life_days),
            other_part: or(record.other_part.as_ref().map(Measure::si), own.other_part),
            several_changes: or(record.several_changes.as_ref().map(Measure::si), own.several_changes),
        }
    }

    /// The limit that holds at a throttle zone.
    pub fn limit(&self, zone: &str) -> f64 {
        if zone == "full" { self.lean_risk } else { self.lean_risk_elsewhere }
    }
}
