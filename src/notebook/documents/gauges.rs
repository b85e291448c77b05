//! The gauges of a build by what they read, what they resolve, and what they were zeroed on.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::{Length, Mass, Temperature, Volume};

/// The gauges by what they read.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gauges {
    /// For the cylinder's bore.
    pub bore: Option<Gauge>,
    /// For other bores: piston pin, small end, cases, bearings.
    pub inside: Option<Gauge>,
    /// For outsides: piston, pin, bearings, shafts.
    pub outside: Option<Gauge>,
    /// For gaps: ring, rod, reeds.
    pub feeler: Option<Gauge>,
    /// For run-out, play and deck.
    pub indicator: Option<Gauge>,
    /// For squashed solder.
    pub solder: Option<Gauge>,
    /// For the chamber's volume.
    pub burette: Option<VolumeGauge>,
    /// For the reeds' tension.
    pub balance: Option<MassGauge>,
}

/// What a gauge was zeroed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SetOn {
    /// A setting ring or a micrometer at a known size, given by `set_to`.
    Ring,
    /// The piston, at its gauge height: what the gauge shows is the clearance.
    Piston,
}

/// One gauge for lengths.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gauge {
    /// Which one it was.
    pub name: Option<String>,
    /// The least step it shows.
    #[schemars(extend("x-range" = [0.0001, 1]))]
    pub resolution: Option<Length>,
    /// Standard uncertainty of one reading beside the resolution: its setting, its calibration, the hand.
    #[schemars(extend("x-range" = [0, 1]))]
    pub uncertainty: Option<Length>,
    /// The share of that which is new with each reading, the hand: half of it where it is not said. The rest, setting and
    /// calibration, is common to all readings and cancels in taper and out-of-round.
    #[schemars(extend("x-range" = [0, 1]))]
    pub repeatability: Option<Length>,
    /// The size it was zeroed on: its readings are differences from it.
    #[schemars(extend("x-range" = [1, 200]))]
    pub set_to: Option<Length>,
    /// What it was zeroed on.
    pub set_on: Option<SetOn>,
    /// Its temperature when it was read; that of the parts where it is not said.
    #[schemars(extend("x-range" = [-30, 80]))]
    pub temperature: Option<Temperature>,
    /// Where its resolution and uncertainty are from.
    pub source: Option<String>,
}

/// One gauge for volumes.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VolumeGauge {
    /// Which one it was.
    pub name: Option<String>,
    /// The least step it shows.
    #[schemars(extend("x-range" = [0.001, 5]))]
    pub resolution: Option<Volume>,
    /// Standard uncertainty of one reading beside the resolution.
    #[schemars(extend("x-range" = [0, 5]))]
    pub uncertainty: Option<Volume>,
    /// Where its resolution and uncertainty are from.
    pub source: Option<String>,
}

/// One gauge for forces, as the mass it shows.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MassGauge {
    /// Which one it was.
    pub name: Option<String>,
    /// The least step it shows.
    #[schemars(extend("x-range" = [0.01, 100]))]
    pub resolution: Option<Mass>,
    /// Standard uncertainty of one reading beside the resolution.
    #[schemars(extend("x-range" = [0, 100]))]
    pub uncertainty: Option<Mass>,
    /// Where its resolution and uncertainty are from.
    pub source: Option<String>,
}

impl Gauges {
    /// The same gauges at another build: what they were set to and how warm they were is not known yet.
    #[must_use]
    pub fn not_yet_set(mut self) -> Self {
        let lengths = [
            &mut self.bore,
            &mut self.inside,
            &mut self.outside,
            &mut self.feeler,
            &mut self.indicator,
            &mut self.solder,
        ];
        for gauge in lengths.into_iter().flatten() {
            gauge.set_to = None;
            gauge.set_on = None;
            gauge.temperature = None;
        }
        self
    }
}
