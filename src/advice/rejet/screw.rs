//! The pilot jet, and the air or fuel screw that takes what the pilot jet leaves over.
//!
//! The pilot jet is alone in its circuit. What one turn of the screw is worth is the tuner's own figure in
//! configs/shares.toml (common practice, no source). Air screw out is leaner, fuel screw out is richer.

use super::error::RejetError;
use super::jets::{JetInBike, Jets, Rule};
use super::main_jet::{Wanted, alone};
use super::{JetAdvice, Screw, ScrewAdvice};
use crate::notebook::{Circuit, Jetting};
use crate::quantity::trimmed;

/// Screws are set to a quarter of a turn (common practice, no source).
const STEPS_IN_A_TURN: f64 = 4.0;

/// A screw farther out than this falls out: the range of the two screws' fields.
const FARTHEST_OUT: f64 = 8.0;

/// More than this on the screw wants another pilot jet (common practice, no source).
const MOST_TURNS: f64 = 1.0;

/// What is advised near closed throttle.
pub(super) struct ClosedThrottle {
    pub(super) pilot: Option<JetAdvice>,
    pub(super) screw: Option<ScrewAdvice>,
    /// Fuel of the pilot circuit over what it was: jet and screw together. 1 where neither is known.
    pub(super) pilot_factor: f64,
}

/// Advises pilot jet and screw.
pub(super) fn closed_throttle(
    jetting: &Jetting,
    wanted: Wanted<'_>,
    warnings: &mut Vec<String>,
) -> Result<ClosedThrottle, RejetError> {
    let jet = JetInBike::read(
        Circuit::Pilot,
        jetting.pilot.as_ref(),
        jetting.pilot_numbered_by,
        jetting.pilot_series.as_ref(),
    )?;
    let pilot = if let Some(jet) = &jet {
        let jets = Jets::at_hand(*jet, wanted.jets, warnings)?;
        Some(alone(jet, &jets, Rule::Nearest, wanted.factor, warnings)?)
    } else {
        warnings.push("Pilot jet: not known; needs jetting.pilot.".into());
        None
    };
    let delivered_percent = match &pilot {
        Some(pilot) => pilot.advised_percent.unwrap_or(pilot.unchanged_percent),
        None => 100.0 * (1.0 / wanted.factor - 1.0),
    };
    let delivered = 1.0 + delivered_percent / 100.0;
    let mut pilot_factor = if pilot.is_some() { delivered * wanted.factor } else { 1.0 };
    let per_turn = wanted.shares.screw_turn.si();
    let screw = screw(jetting, per_turn, delivered, warnings);
    if let Some((_, richer_turns)) = &screw {
        pilot_factor *= 1.0 + per_turn * richer_turns;
    }
    Ok(ClosedThrottle { pilot, screw: screw.map(|(advice, _)| advice), pilot_factor })
}

/// The screw for what is left over, with the turns toward rich.
fn screw(
    jetting: &Jetting,
    per_turn: f64,
    delivered: f64,
    warnings: &mut Vec<String>,
) -> Option<(ScrewAdvice, f64)> {
    let (screw, from) = match (&jetting.air_screw, &jetting.fuel_screw) {
        (Some(air), _) => (Screw::Air, air.si()),
        (None, Some(fuel)) => (Screw::Fuel, fuel.si()),
        (None, None) => {
            warnings.push("Pilot screw: not known; needs jetting.air_screw or jetting.fuel_screw.".into());
            return None;
        }
    };
    if !(per_turn.is_finite() && per_turn > 0.0) {
        warnings.push("Pilot screw: screw_turn in configs/shares.toml must be above 0 %.".into());
        return None;
    }
    let wanted = quarter_turns((1.0 / delivered - 1.0) / per_turn);
    let to = match screw {
        Screw::Air => from - wanted,
        Screw::Fuel => from + wanted,
    }
    .clamp(0.0, FARTHEST_OUT);
    let moved = to - from;
    let richer_turns = match screw {
        Screw::Air => -moved,
        Screw::Fuel => moved,
    };
    let left_percent = 100.0 * (delivered * (1.0 + per_turn * richer_turns) - 1.0);
    if wanted.abs() > MOST_TURNS || (wanted - richer_turns).abs() > f64::EPSILON * FARTHEST_OUT {
        warnings.push(format!(
            "The {} is asked for {} turns, more than it should make up for: another pilot jet is wanted.",
            screw.name(),
            trimmed(wanted.abs(), 2)
        ));
    }
    let advice = ScrewAdvice {
        screw,
        field: screw.field(),
        from_turns: from,
        to_turns: to,
        left_percent,
        words: words(moved, richer_turns),
    };
    Some((advice, richer_turns))
}

/// To the nearest quarter of a turn; half-way goes rich.
fn quarter_turns(richer: f64) -> f64 {
    // A little beyond the half, so that rounding in the last digit does not decide.
    (richer * STEPS_IN_A_TURN + 0.5 + 1e-9).floor() / STEPS_IN_A_TURN
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
