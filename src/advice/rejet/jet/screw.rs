//! The air or fuel screw that trims the pilot circuit.
//!
//! What one turn of it is worth is the tuner's own figure in configs/shares.toml (common practice, no source). Air screw out is
//! leaner, fuel screw out is richer. So are the places between which it belongs: farther in or out another pilot jet is wanted. A
//! screw that already stands outside them stays there until another place is better, and may come back from there.

use crate::advice::rejet::{Screw, ScrewAdvice};
use crate::engine::carburetor::screw_factor;
use crate::notebook::{Jetting, Shares};
use crate::quantity::trimmed;

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
pub(in crate::advice::rejet) struct ScrewInBike {
    screw: Screw,
    from: f64,
    /// What a turn is worth, as a part of the fuel of the pilot circuit.
    worth: f64,
    /// Turns out between which it belongs.
    place: (f64, f64),
}

impl ScrewInBike {
    /// The screw when the setup has one and a turn of it is worth something.
    pub(in crate::advice::rejet) fn read(
        jetting: &Jetting,
        shares: &Shares,
        warnings: &mut Vec<String>,
    ) -> Option<Self> {
        let Some((screw, from)) = turns(jetting) else {
            warnings.push("Pilot screw: not known; needs jetting.air_screw or jetting.fuel_screw.".into());
            return None;
        };
        let worth = shares.screw_turn.si();
        if !(worth.is_finite() && worth > 0.0) {
            warnings.push("Pilot screw: screw_turn in configs/shares.toml must be above 0 %.".into());
            return None;
        }
        Some(Self { screw, from, worth, place: shares.screw_place() })
    }

    /// Fuel of the circuit over what it was with the screw turned toward rich by so much.
    pub(in crate::advice::rejet) fn brings(&self, richer: f64) -> f64 {
        screw_factor(self.worth, richer).unwrap_or(1.0)
    }

    /// Turns toward rich, in quarters and wherever that leads, that come nearest to so much fuel over what it was and bring
    /// no less than `least`.
    pub(in crate::advice::rejet) fn turns_for(&self, fuel: f64, least: f64) -> f64 {
        let quarters = |fuel: f64| fuel.ln() / self.worth.ln_1p() / QUARTER;
        // Rounding is allowed for, so that what is enough is not made more.
        let nearest = (quarters(fuel) + 0.5).floor();
        nearest.max((quarters(least) - ROUNDING).ceil()) * QUARTER
    }

    /// By how many turns so many toward rich lead beyond where it belongs: above 0 on the rich side, below 0 on the lean side, 0 within.
    pub(in crate::advice::rejet) fn beyond(&self, richer: f64) -> f64 {
        let (leanest, richest) = self.turns_where_it_belongs();
        // Only whole quarters can be given it.
        if richer > richest + ROUNDING {
            richer - richest
        } else if richer < leanest - ROUNDING {
            richer - leanest
        } else {
            0.0
        }
    }

    /// The same turns as far as it may be turned from where it is.
    pub(in crate::advice::rejet) fn on_its_thread(&self, richer: f64) -> f64 {
        let (leanest, richest) = self.turns_at_most();
        let quarters = |turns: f64| turns / QUARTER;
        richer.clamp(
            (quarters(leanest) - ROUNDING).ceil() * QUARTER,
            (quarters(richest) + ROUNDING).floor() * QUARTER,
        )
    }

    /// The leanest and the richest turns toward rich that it can be given; none is always among them.
    pub(in crate::advice::rejet) fn turns_at_most(&self) -> (f64, f64) {
        let most = f64::from(MOST_QUARTERS) * QUARTER;
        let (leanest, richest) = self.toward_rich(0.0, FARTHEST_OUT);
        (leanest.clamp(-most, 0.0), richest.clamp(0.0, most))
    }

    /// The leanest and the richest turns toward rich that leave it where it belongs; none is always among them.
    fn turns_where_it_belongs(&self) -> (f64, f64) {
        let (leanest, richest) = self.toward_rich(self.place.0, self.place.1);
        let at_most = self.turns_at_most();
        (leanest.clamp(at_most.0, 0.0), richest.clamp(0.0, at_most.1))
    }

    /// Turns toward rich to two places, the leaner first.
    fn toward_rich(&self, farthest_in: f64, farthest_out: f64) -> (f64, f64) {
        match self.screw {
            Screw::Air => (self.from - farthest_out, self.from - farthest_in),
            Screw::Fuel => (farthest_in - self.from, farthest_out - self.from),
        }
    }

    fn to(&self, richer: f64) -> f64 {
        match self.screw {
            Screw::Air => self.from - richer,
            Screw::Fuel => self.from + richer,
        }
    }

    /// The advice to turn it, with what closed throttle then delivers over what is wanted there.
    pub(in crate::advice::rejet) fn advice(&self, richer: f64, delivered: f64) -> ScrewAdvice {
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

    /// Says when the screw would have to make up for more than it should. `turns` are those toward rich that it is advised, `factor`
    /// is what it would have to bring.
    pub(in crate::advice::rejet) fn warn(&self, turns: f64, factor: f64, warnings: &mut Vec<String>) {
        let asked = self.turns_for(factor, 0.0);
        if !asked.is_finite() {
            return;
        }
        if (asked - self.on_its_thread(asked)).abs() > QUARTER + ROUNDING {
            warnings.push(format!(
                "The {} is asked for {} turns, more than it should make up for: another pilot jet is wanted.",
                self.screw.name(),
                trimmed(asked.abs(), 2)
            ));
        } else if self.beyond(turns).abs() > ROUNDING {
            warnings.push(format!(
                "The {} goes to {} turns, where it should stand between {} and {} (common practice, no source): another pilot jet is wanted, and none at hand does better.",
                self.screw.name(),
                trimmed(self.to(turns), 2),
                trimmed(self.place.0, 2),
                trimmed(self.place.1, 2)
            ));
        }
    }
}

/// Which screw a setup has, and how far it is out.
pub(in crate::advice::rejet) fn turns(jetting: &Jetting) -> Option<(Screw, f64)> {
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
