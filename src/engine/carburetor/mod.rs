//! The whole carburetor at any slide lift: the pilot circuit beside main jet and needle.
//!
//! Fuel at a lift over what a baseline passes there is s P + (1 - s) M: s the pilot's share of the baseline's fuel at that lift,
//! P the pilot circuit's fuel over the baseline's, M the area of main jet and annulus in series over the baseline's
//! ([`circuits`]). With the slide shut the pilot is alone. With the slide fully up its two percent or so are left out,
//! because they move with the same factor, and a power jet that feeds is beside the main circuit.
//!
//! Sources: the series rule is textbook, from memory; the pilot's share by lift, and what a turn of its screw is worth, are common
//! practice without a source.

pub mod circuits;
pub mod jets;
pub mod needle;

use super::{Allowed, EngineError, FACTOR};
use circuits::{FuelPath, LIFT_FRACTION, pilot_share};
use needle::{NeedleInJet, NeedleSetting};

const POWER_AREA: Allowed = Allowed {
    field: "power jet area",
    unit: "m2",
    low: 0.0,
    high: 1e-3,
    help: "Give the area of the power jet, 0 for none.",
};

const SCREW: Allowed = Allowed {
    field: "turns of the pilot screw",
    unit: "",
    low: -20.0,
    high: 20.0,
    help: "Give how far it is turned, in turns.",
};

/// What stays when jets, needle and screw are changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Carburetor<'a> {
    /// Slide lift that uncovers the whole bore, m.
    pub full_lift_m: f64,
    /// Share of the fuel that the pilot brings, by lift as a fraction of full: rows as in [`pilot_share`].
    pub pilot_shares: &'a [(f64, f64)],
    /// Ratio of discharge coefficients, annulus over main jet, 1 unless measured.
    pub annulus_over_main: f64,
}

/// What is fitted in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted<'a> {
    /// Area of the main jet, m2.
    pub main_area_m2: f64,
    /// Needle and needle jet.
    pub needle: &'a NeedleInJet,
    /// Clip groove counted from the top, 1 the leanest.
    pub clip: u8,
    /// Thickness of shims under the clip, m, 0 for none.
    pub shim_m: f64,
    /// Fuel of the pilot circuit, jet and screw together, over the baseline's; 1 for the baseline itself.
    pub pilot: f64,
}

/// A power jet beside the main circuit while it feeds, m2 before and after; 0 for none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerJets {
    /// In the baseline.
    pub before_m2: f64,
    /// In the other.
    pub after_m2: f64,
}

impl Carburetor<'_> {
    /// Effective area of main jet and annulus in series at a lift (0 to 1 of full), m2.
    pub fn main_circuit_m2(&self, fitted: &Fitted<'_>, lift_fraction: f64) -> Result<f64, EngineError> {
        let setting = NeedleSetting {
            lift_m: LIFT_FRACTION.check(lift_fraction)? * self.full_lift_m,
            clip: fitted.clip,
            shim_m: fitted.shim_m,
        };
        let annulus = fitted.needle.annulus_area_m2(setting)?;
        Ok(FuelPath::new(fitted.main_area_m2, annulus, self.annulus_over_main)?.series_area_m2())
    }

    /// Fuel that `other` passes at a lift (0 to 1 of full) over what `base` passes there. A pure number.
    ///
    /// The power jet counts at full lift only. There, and with the slide shut, it is the same both ways: from `other` to
    /// `base` is one over it. In between it is not quite, because the share is the baseline's.
    pub fn fuel_over(
        &self,
        base: &Fitted<'_>,
        other: &Fitted<'_>,
        lift_fraction: f64,
        power: Option<PowerJets>,
    ) -> Result<f64, EngineError> {
        let share = self.pilot_share(lift_fraction)?;
        let pilot = FACTOR.check(other.pilot / base.pilot)?;
        let before = self.main_circuit_m2(base, lift_fraction)?;
        let after = self.main_circuit_m2(other, lift_fraction)?;
        let main = match power.filter(|_| lift_fraction >= 1.0) {
            Some(power) => {
                (after + POWER_AREA.check(power.after_m2)?) / (before + POWER_AREA.check(power.before_m2)?)
            }
            None => after / before,
        };
        Ok(both_circuits(share, pilot, main))
    }

    /// The pilot's share of the fuel at a lift as it is reckoned with: all of it with the slide shut, none with it fully up.
    pub fn pilot_share(&self, lift_fraction: f64) -> Result<f64, EngineError> {
        let by_table = pilot_share(lift_fraction, self.pilot_shares)?;
        Ok(match lift_fraction {
            shut if shut <= 0.0 => 1.0,
            open if open >= 1.0 => 0.0,
            _ => by_table,
        })
    }
}

/// Fuel over the baseline's where the pilot brings a `share` of it: both factors are pure numbers.
pub fn both_circuits(share: f64, pilot: f64, main: f64) -> f64 {
    // Written so that two factors of 1 give exactly 1.
    1.0 + share * (pilot - 1.0) + (1.0 - share) * (main - 1.0)
}

/// Fuel of the pilot circuit over what it was when its screw is turned toward rich by so many turns, below 0 toward lean.
///
/// `worth` is what one turn is worth, as a part of the fuel there (0.08 for 8 %; common practice, no source). Turns
/// multiply, so that back is the same as there.
pub fn screw_factor(worth: f64, turns_richer: f64) -> Result<f64, EngineError> {
    let one_turn =
        Allowed { field: "fuel after one turn of the pilot screw", ..FACTOR }.check(1.0 + worth)?;
    Ok(one_turn.powf(SCREW.check(turns_richer)?))
}
