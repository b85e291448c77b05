//! The air or fuel screw that trims the pilot circuit.
//!
//! What one turn of it is worth is the tuner's own figure in configs/shares.toml (common practice, no source). Air screw out is
//! leaner, fuel screw out is richer.

use super::{Screw, ScrewAdvice};
use crate::engine::carburetor::screw_factor;
use crate::notebook::{Jetting, Shares};
use crate::quantity::{nearly_equal, trimmed};

/// Screws are set to a quarter of a turn (common practice, no source).
const QUARTER: f64 = 0.25;

/// More than so many quarters on the screw wants another pilot jet (common practice, no source).
const MOST_QUARTERS: i8 = 4;

/// A screw farther out than this falls out: the range of the two screws' fields.
const FARTHEST_OUT: f64 = 8.0;

/// Rounding in turns.
const ROUNDING: f64 = 1e-9;

/// The screw as the setup has it.
#[derive(Clone, Copy)]
pub(super) struct ScrewInBike {
    screw: Screw,
    from: f64,
    /// What a turn is worth, as a part of the fuel of the pilot circuit.
    worth: f64,
}

impl ScrewInBike {
    /// The screw when the setup has one and a turn of it is worth something.
    pub(super) fn read(jetting: &Jetting, shares: &Shares, warnings: &mut Vec<String>) -> Option<Self> {
        let Some((screw, from)) = turns(jetting) else {
            warnings.push("Pilot screw: not known; needs jetting.air_screw or jetting.fuel_screw.".into());
            return None;
        };
        let worth = shares.screw_turn.si();
        if !(worth.is_finite() && worth > 0.0) {
            warnings.push("Pilot screw: screw_turn in configs/shares.toml must be above 0 %.".into());
            return None;
        }
        Some(Self { screw, from, worth })
    }

    /// Turns toward rich that can be given it, in quarters, none among them, with the fuel each leaves over what it was.
    pub(super) fn choices(&self) -> Vec<(f64, f64)> {
        (-MOST_QUARTERS..=MOST_QUARTERS)
            .map(|quarters| f64::from(quarters) * QUARTER)
            .filter(|richer| nearly_equal(*richer, 0.0) || self.is_on_its_thread(*richer))
            .filter_map(|richer| Some((richer, screw_factor(self.worth, richer).ok()?)))
            .collect()
    }

    fn is_on_its_thread(&self, richer: f64) -> bool {
        (-ROUNDING..=FARTHEST_OUT + ROUNDING).contains(&self.to(richer))
    }

    fn to(&self, richer: f64) -> f64 {
        match self.screw {
            Screw::Air => self.from - richer,
            Screw::Fuel => self.from + richer,
        }
    }

    /// The advice to turn it, with what closed throttle then delivers over what is wanted there.
    pub(super) fn advice(&self, richer: f64, delivered: f64) -> ScrewAdvice {
        let to = self.to(richer);
        ScrewAdvice {
            screw: self.screw,
            field: self.screw.field(),
            from_turns: self.from,
            to_turns: to,
            left_percent: 100.0 * (delivered - 1.0),
            words: words(to - self.from, richer),
        }
    }

    /// Says when the screw alone would have to make up for more than it should. `factor` is what it would have to bring.
    pub(super) fn warn(&self, factor: f64, warnings: &mut Vec<String>) {
        let asked = factor.ln() / self.worth.ln_1p();
        let asked = (asked / QUARTER).round() * QUARTER;
        let too_many = asked.abs() > f64::from(MOST_QUARTERS) * QUARTER + ROUNDING;
        if asked.is_finite() && (too_many || !self.is_on_its_thread(asked)) {
            warnings.push(format!(
                "The {} is asked for {} turns, more than it should make up for: another pilot jet is wanted.",
                self.screw.name(),
                trimmed(asked.abs(), 2)
            ));
        }
    }
}

/// Which screw a setup has, and how far it is out.
pub(super) fn turns(jetting: &Jetting) -> Option<(Screw, f64)> {
    match (&jetting.air_screw, &jetting.fuel_screw) {
        (Some(air), _) => Some((Screw::Air, air.si())),
        (None, Some(fuel)) => Some((Screw::Fuel, fuel.si())),
        (None, None) => None,
    }
}

fn words(moved: f64, richer_turns: f64) -> String {
    let turns = trimmed(moved.abs(), 2);
    let effect = if richer_turns > 0.0 { "richer" } else { "leaner" };
    match turns.as_str() {
        "0" => "stays".into(),
        _ if moved > 0.0 => format!("out {turns} turns: {effect}"),
        _ => format!("in {turns} turns: {effect}"),
    }
}

impl Screw {
    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Air => "air screw",
            Self::Fuel => "fuel screw",
        }
    }

    /// Its field in a setup.
    pub fn field(self) -> &'static str {
        match self {
            Self::Air => "jetting.air_screw",
            Self::Fuel => "jetting.fuel_screw",
        }
    }
}
