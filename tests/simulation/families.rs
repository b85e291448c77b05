//! Simulated seasons in families: bikes, tuners, airs and accidents from other physics than the program's own, for advisers
//! of any kind to be held against each other.
//!
//! - [`truth`]: an engine with its carburetor as they really are, and the tuner who judges; [`metal`]: jets and needle;
//! - [`weather`]: the air of a season, as it was and as it was read;
//! - [`season`]: what a season brings, and riding it with an adviser;
//! - [`advisers`]: rules that a rider could follow without a record or with a simple one; [`learned`]: the program's model;
//! - [`scores`]: lean and rich days, what was foretold, the loss, and tables of them.
//!
//! All is drawn beforehand from seeds of its own: each adviser meets the same bike, airs, accidents and eyes. A run's verdict
//! differs only because its fuel does. All data here are invented.
#![allow(dead_code)] // each file that includes this uses its own part of it

pub(crate) mod advisers;
pub(crate) mod chance;
pub(crate) mod learned;
pub(crate) mod metal;
pub(crate) mod scores;
pub(crate) mod season;
pub(crate) mod truth;
pub(crate) mod weather;

use chance::Chance;
use season::Leak;
use truth::{Machine, Tuner};
use weather::Misreading;

/// What makes the truth other than what a model takes it for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Family {
    /// Nothing but a bike's own exponent, a discharge that is not the jet's, scatter, and a tuner of his own.
    Plain,
    /// The engine wants 1.5 % more, or less, for every 10 K.
    TemperatureEffect,
    /// The barometer is 1.5 % off for five days, the thermometer up to 4 K on any.
    WrongAir,
    /// Fuel does not follow any power of what the air asks for: a square is added, or a kink in thin air.
    WrongCurve,
    /// The engine comes to want 3 % more, or less, over the season.
    Drift,
    /// Days scatter with heavy tails, and one verdict in twenty is a slip.
    NoisyAndSlips,
    /// The tuner's "right" lies 2.5 % rich of what is.
    LikesRich,
    /// The tuner's "right" lies 1.5 % lean of what is.
    LikesLean,
    /// A spare engine goes in and out two or three times.
    Swaps,
    /// An air leak opens, costs 6 % of the fuel for a day or two, and is mended.
    Seizures,
    /// One or two of these on each bike.
    Mixture,
}

impl Family {
    /// All of them.
    pub(crate) const ALL: [Self; 11] = [
        Self::Plain,
        Self::TemperatureEffect,
        Self::WrongAir,
        Self::WrongCurve,
        Self::Drift,
        Self::NoisyAndSlips,
        Self::LikesRich,
        Self::LikesLean,
        Self::Swaps,
        Self::Seizures,
        Self::Mixture,
    ];

    /// In words, as in a table.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::TemperatureEffect => "temperature effect",
            Self::WrongAir => "wrong air readings",
            Self::WrongCurve => "wrong curve",
            Self::Drift => "drifting engine",
            Self::NoisyAndSlips => "noise and slips",
            Self::LikesRich => "likes it rich",
            Self::LikesLean => "likes it lean",
            Self::Swaps => "engines swapped",
            Self::Seizures => "seizures from leaks",
            Self::Mixture => "mixture",
        }
    }

    /// What a bike of the family has about it: itself, or for the mixture one or two others.
    fn drawn(self, chance: &mut Chance) -> Vec<Self> {
        if self != Self::Mixture {
            return vec![self];
        }
        // Without the plain ones and the mixture itself.
        let others = &Self::ALL[1..Self::ALL.len() - 1];
        let mut drawn: Vec<Self> =
            (0..=chance.below(2)).map(|_| others[chance.below(others.len())]).collect();
        drawn.dedup();
        drawn
    }
}

/// What is true of one bike and its season, and known to nobody.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Nature {
    /// The engine with its carburetor.
    pub(crate) machine: Machine,
    /// The tuner.
    pub(crate) tuner: Tuner,
    /// How wrongly the air is read.
    pub(crate) misreading: Misreading,
    /// The days on which the spare engine goes in or comes out.
    pub(crate) swaps: Vec<usize>,
    /// The leak that opens.
    pub(crate) leak: Option<Leak>,
}

impl Nature {
    /// A bike of a family. What all bikes have is drawn apart from what the family adds: the same seed is the same bike in
    /// every family, but for that.
    pub(crate) fn drawn(family: Family, seed: u64, days: usize) -> Self {
        let mut common = Chance::new(seed, 1);
        let mut nature = Self {
            machine: Machine::drawn(&mut common),
            tuner: Tuner::drawn(&mut common),
            misreading: Misreading::default(),
            swaps: Vec::new(),
            leak: None,
        };
        let mut own = Chance::new(seed, 2);
        for family in family.drawn(&mut own) {
            nature.take_on(family, &mut own, days);
        }
        nature
    }

    fn take_on(&mut self, family: Family, chance: &mut Chance, days: usize) {
        let Self { machine, tuner, .. } = self;
        match family {
            Family::Plain | Family::Mixture => {}
            Family::TemperatureEffect => machine.temperature = 0.015 * chance.sign(),
            Family::WrongAir => {
                let from = i64::try_from(chance.below(days)).expect("a season is short") - 1;
                self.misreading = Misreading {
                    barometer: 0.015 * chance.sign(),
                    barometer_days: (from, 5),
                    thermometer: 4.0,
                };
            }
            Family::WrongCurve if chance.happens(0.5) => machine.curvature = 1.5 * chance.sign(),
            Family::WrongCurve => machine.kink = 0.5 * chance.sign(),
            Family::Drift => machine.drift = 0.03 * chance.sign(),
            Family::NoisyAndSlips => {
                machine.heavy = true;
                tuner.slips = 0.05;
            }
            Family::LikesRich => tuner.centre += 0.025,
            Family::LikesLean => tuner.centre -= 0.015,
            Family::Swaps => {
                machine.engines = [0.025 * chance.normal(), 0.025 * chance.normal()];
                self.swaps = swaps(chance, days);
            }
            Family::Seizures => {
                // Not before a day has been ridden, and mended before the last.
                let from = 1 + chance.below(days.saturating_sub(4).max(1));
                self.leak =
                    Some(Leak { from, days: 1 + chance.below(2), loss: 0.06, told: chance.happens(0.5) });
            }
        }
    }
}

/// The days of two or three swaps in and out, in order: four to six different days.
fn swaps(chance: &mut Chance, days: usize) -> Vec<usize> {
    let wanted = (2 * (2 + chance.below(2))).min(days.saturating_sub(1));
    let mut swaps: Vec<usize> = Vec::new();
    while swaps.len() < wanted {
        let day = 1 + chance.below(days - 1);
        if !swaps.contains(&day) {
            swaps.push(day);
        }
    }
    swaps.sort_unstable();
    swaps
}
