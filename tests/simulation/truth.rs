//! A bike as it really is, and the man who judges it: nothing of this is known to an adviser.
//!
//! The carburetor is two orifices in series under a depression, the engine a pump for moist air of which the dry part
//! burns. Neither follows its textbook exponent to the letter, and each family adds what no model knows.

use reedbook::advice::learning::verdicts::Judged;
use reedbook::air::Air;

use super::chance::Chance;
use super::metal::Carburetor;

/// Fuel to either side of what an engine wants that does it no harm and costs it nothing, ln fuel. The engine's, whatever
/// its tuner likes (common practice, no source).
pub(crate) const PHYSICALLY_RIGHT: f64 = 0.02;

/// Short of fuel by more than this, ln fuel, an engine is in danger (common practice, no source).
pub(crate) const DANGEROUSLY_LEAN: f64 = 0.05;

/// Density of the mixture in the bowl, kg/m3.
const FUEL_DENSITY: f64 = 745.0;

/// Discharge coefficient of a plain jet (Heywood 1988, chapter 7, from memory).
const JET_DISCHARGE: f64 = 0.75;

/// Depression at the venturi in standard air at full throttle, Pa.
const DEPRESSION_PA: f64 = 2500.0;

/// Fuel over dry air by mass that the engine likes best at full throttle.
const FUEL_OVER_AIR: f64 = 0.08;

/// In air that wants less than this of what standard air wants, the kink of a wrong curve begins.
const KINK: f64 = 0.95;

/// An engine with its carburetor.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Machine {
    /// The carburetor.
    pub(crate) carburetor: Carburetor,
    /// How well the ring about the needle passes fuel beside a jet of its area.
    pub(crate) annulus_discharge: f64,
    /// Volume of air that it swallows in standard air, m3/s.
    pub(crate) swallowed: f64,
    /// The power of the density by which it swallows more or less than that volume.
    pub(crate) breathing: f64,
    /// By how much the depression's power of the density differs from 1.
    pub(crate) venturi: f64,
    /// What it wants more for 10 K more, ln fuel.
    pub(crate) temperature: f64,
    /// What it wants more for the square of ln K from standard air, ln fuel.
    pub(crate) curvature: f64,
    /// What is added to its exponent where K from standard air is below [`KINK`].
    pub(crate) kink: f64,
    /// What it comes to want more from the first day to the last, ln fuel.
    pub(crate) drift: f64,
    /// What each engine wants more than the drawing, ln fuel: its own, and the spare.
    pub(crate) engines: [f64; 2],
    /// Standard deviation of what a day wants beyond all that, ln fuel.
    pub(crate) scatter: f64,
    /// Whether that scatter has heavy tails.
    pub(crate) heavy: bool,
}

impl Machine {
    /// One out of many, without what its family adds.
    pub(crate) fn drawn(chance: &mut Chance) -> Self {
        let mut machine = Self {
            carburetor: Carburetor::drawn(chance),
            annulus_discharge: chance.between(0.85, 1.15),
            swallowed: 1.0,
            breathing: 0.06 * chance.normal(),
            venturi: 0.12 * chance.normal(),
            temperature: 0.0,
            curvature: 0.0,
            kink: 0.0,
            drift: 0.0,
            engines: [0.0; 2],
            scatter: 0.01 * (0.45 * chance.normal()).exp(),
            heavy: false,
        };
        // So large an engine that in standard air a jet of this number is right.
        let number = chance.between(165.0, 185.0);
        machine.swallowed = machine.fuel(number, &Air::STANDARD) / machine.fuel_wanted(&Air::STANDARD);
        machine
    }

    /// Fuel that runs through a jet and the ring about the needle, kg/s: area times the root of density times depression.
    pub(crate) fn fuel(&self, number: f64, air: &Air) -> f64 {
        let denser = air.density() / Air::STANDARD.density();
        let depression = DEPRESSION_PA * denser.powf(1.0 + self.venturi);
        let area = 1e-6 * self.carburetor.effective_mm2(number, self.annulus_discharge);
        JET_DISCHARGE * area * (2.0 * FUEL_DENSITY * depression).sqrt()
    }

    /// Fuel that the dry part of the swallowed air wants, kg/s, without what the family adds.
    fn fuel_wanted(&self, air: &Air) -> f64 {
        let denser = air.density() / Air::STANDARD.density();
        FUEL_OVER_AIR * self.swallowed * air.dry_density() * denser.powf(self.breathing)
    }

    /// What it wants beyond that, ln fuel, the scatter of days left out.
    fn beyond_textbook(&self, air: &Air, through: f64, engine: usize) -> f64 {
        let standard = Air::STANDARD;
        let factor = air.dry_density() / standard.dry_density() * (standard.density() / air.density()).sqrt();
        let thin = (factor / KINK).ln().min(0.0);
        self.temperature * (air.temperature_c() - standard.temperature_c()) / 10.0
            + self.curvature * factor.ln().powi(2)
            + self.kink * thin
            + self.drift * through
            + self.engines[engine]
    }

    /// By how much the fuel of a jet is too much, ln; below nought it is too little. `through` is how far through the season
    /// the day is, 0 to 1.
    pub(crate) fn excess(&self, number: f64, air: &Air, through: f64, engine: usize) -> f64 {
        (self.fuel(number, air) / self.fuel_wanted(air)).ln() - self.beyond_textbook(air, through, engine)
    }

    /// What a day wants beyond what its air explains, ln fuel.
    pub(crate) fn day_scatter(&self, chance: &mut Chance) -> f64 {
        self.scatter * if self.heavy { chance.heavy() } else { chance.normal() }
    }
}

/// The man who reads the plug and the piston.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tuner {
    /// What he calls right lies so much richer than what is, ln fuel.
    pub(crate) centre: f64,
    /// Fuel to either side that he calls right, ln fuel.
    pub(crate) right: f64,
    /// Fuel beyond which he says lean or rich and no longer slightly, ln fuel.
    pub(crate) clear: f64,
    /// Standard deviation of what he sees about what is, ln fuel.
    pub(crate) scatter: f64,
    /// Share of his verdicts that are a slip.
    pub(crate) slips: f64,
}

/// How well a tuner sees on one day, drawn before the day whatever will be ridden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Eye {
    off: f64,
    slip: Option<Judged>,
}

impl Tuner {
    /// One out of many, without what his family adds.
    pub(crate) fn drawn(chance: &mut Chance) -> Self {
        let right = 0.02 * (0.4 * chance.normal()).exp();
        Self {
            centre: 0.005 * chance.normal(),
            right,
            clear: right * (1.0 + 1.5 * (0.35 * chance.normal()).exp()),
            scatter: 0.006 * (0.45 * chance.normal()).exp(),
            slips: 0.01,
        }
    }

    /// How he will see on one day.
    pub(crate) fn eye(&self, chance: &mut Chance) -> Eye {
        let (off, slips, at) = (self.scatter * chance.normal(), chance.happens(self.slips), chance.below(5));
        Eye { off, slip: slips.then_some(Judged::ALL[at]) }
    }

    /// What he says of a run with so much fuel too much, ln.
    pub(crate) fn says(&self, excess: f64, eye: Eye) -> Judged {
        let seen = excess - self.centre + eye.off;
        let cuts = [-self.clear, -self.right, self.right, self.clear];
        eye.slip.unwrap_or(Judged::ALL[cuts.into_iter().filter(|cut| seen > *cut).count()])
    }
}
