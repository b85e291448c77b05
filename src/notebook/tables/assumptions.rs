//! `configs/assumptions.toml`: what the engine's calculations assume where nothing on the bike says it, and how far apart
//! two speeds may lie before they are said to disagree. Each with where it is from, so that no figure hides its guess.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::{Angle, EngineSpeed, Kind, Measure, Number, Percent, Temperature, TimeArea, Velocity};

/// `configs/assumptions.toml`: what the calculations of the engine assume. What is left out makes a figure "not known".
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Assumptions {
    /// Mean temperature of the gas in the pipe.
    pub pipe_gas: Option<GasTemperature>,
    /// Where in the baffle the wave turns back, as a share of the baffle's length from its wide end.
    pub reflection: Option<ReflectionShare>,
    /// Temperature of the mixture in the intake tract.
    pub intake_air: Option<IntakeTemperature>,
    /// Specific time-area that the exhaust windows together want.
    pub exhaust: Option<TimeAreaBand>,
    /// Specific time-area that the exhaust wants before the transfers open.
    pub blowdown: Option<TimeAreaBand>,
    /// Specific time-area that the transfers and the boost window together want.
    pub transfers: Option<TimeAreaBand>,
    /// Specific time-area that a piston-controlled intake window wants.
    pub intake_window: Option<TimeAreaBand>,
    /// Highest squish velocity that is wanted.
    pub squish: Option<VelocityBand>,
    /// Where the ignition's retard should begin, in percent of the pipe's tuned speed.
    pub retard: Option<ShareBand>,
    /// Where the limiter should stand, in percent of the pipe's tuned speed.
    pub limiter: Option<ShareBand>,
    /// Where a power valve should be fully open, in percent of the pipe's tuned speed.
    pub power_valve: Option<ShareBand>,
    /// How far another speed may lie from the pipe's tuned speed and still agree with it, in percent.
    pub agreement: Option<AgreementShare>,
    /// What a map is held against.
    pub map_limits: Option<MapLimitEntries>,
    /// How the bike's own outings are weighed when the jetting is advised, and how much risk is taken.
    pub record: Option<RecordEntries>,
}

/// A temperature that is assumed.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GasTemperature {
    /// The temperature.
    #[schemars(extend("x-range" = [100, 1200]))]
    pub value: Temperature,
    /// Where it is from.
    pub source: String,
}

/// The temperature of the mixture.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct IntakeTemperature {
    /// The temperature.
    #[schemars(extend("x-range" = [-20, 90]))]
    pub value: Temperature,
    /// Where it is from.
    pub source: String,
}

/// A share of the baffle.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReflectionShare {
    /// The share.
    #[schemars(extend("x-range" = [0, 100]))]
    pub value: Percent,
    /// Where it is from.
    pub source: String,
}

/// A distance between two speeds.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AgreementShare {
    /// The distance.
    #[schemars(extend("x-range" = [0, 50]))]
    pub value: Percent,
    /// Where it is from.
    pub source: String,
}

/// From where to where a specific time-area is right.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TimeAreaBand {
    /// The least.
    #[schemars(extend("x-range" = [0.0001, 0.1]))]
    pub from: TimeArea,
    /// The most.
    #[schemars(extend("x-range" = [0.0001, 0.1]))]
    pub to: TimeArea,
    /// Where it is from.
    pub source: String,
}

/// From where to where a velocity is right.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VelocityBand {
    /// The least.
    #[schemars(extend("x-range" = [0.1, 200]))]
    pub from: Velocity,
    /// The most.
    #[schemars(extend("x-range" = [0.1, 200]))]
    pub to: Velocity,
    /// Where it is from.
    pub source: String,
}

/// From where to where a speed is right, in percent of the pipe's tuned speed.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShareBand {
    /// The least.
    #[schemars(extend("x-range" = [10, 300]))]
    pub from: Percent,
    /// The most.
    #[schemars(extend("x-range" = [10, 300]))]
    pub to: Percent,
    /// Where it is from.
    pub source: String,
}

/// What a map is held against; what is left out is not checked.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MapLimitEntries {
    /// Widest gap between two engine speeds of a map.
    #[schemars(extend("x-range" = [50, 20000]))]
    pub widest_gap: Option<EngineSpeed>,
    /// Steepest step of an ignition map, for each 1000 rpm.
    #[schemars(extend("x-range" = [0.1, 90]))]
    pub steepest_step: Option<Angle>,
    /// Most advance anywhere in an ignition map, before top dead centre, as the crank sees it.
    #[schemars(extend("x-range" = [0, 70]))]
    pub most_advance: Option<Angle>,
    /// Where these are from.
    pub source: Option<String>,
}

/// How outings are weighed, and how much risk of running lean is taken; what is left out stands as in the table that comes
/// with the program.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RecordEntries {
    /// The most risk of running lean at full throttle that an advised main jet may carry.
    #[schemars(extend("x-range" = [0.1, 50]))]
    pub lean_risk: Option<Percent>,
    /// The most risk of running lean at the other throttle openings.
    #[schemars(extend("x-range" = [0.1, 50]))]
    pub lean_risk_elsewhere: Option<Percent>,
    /// Days after which half of what an engine wants, its parts the same, is another thing.
    #[schemars(extend("x-range" = [7, 36500]))]
    pub half_life: Option<Number>,
    /// By how much of the fuel two engines differ that are alike otherwise, a standard deviation.
    #[schemars(extend("x-range" = [0, 20]))]
    pub other_engine: Option<Percent>,
    /// The same of one engine before and after something in it was changed: ports, head, gaskets.
    #[schemars(extend("x-range" = [0, 20]))]
    pub inside_engine: Option<Percent>,
    /// The same of the cylinders of one engine; from 10 percent on each is a bike of its own, and learns nothing from the others.
    #[schemars(extend("x-range" = [0, 20]))]
    pub other_cylinder: Option<Percent>,
    /// The same of two ignition settings.
    #[schemars(extend("x-range" = [0, 20]))]
    pub other_ignition: Option<Percent>,
    /// The same of two pipes.
    #[schemars(extend("x-range" = [0, 20]))]
    pub other_pipe: Option<Percent>,
    /// The same of two carburetors, or of what is in one that the calculation of its circuits does not follow.
    #[schemars(extend("x-range" = [0, 20]))]
    pub other_carburetor: Option<Percent>,
    /// The same of two fuels that cannot be set against each other.
    #[schemars(extend("x-range" = [0, 20]))]
    pub other_fuel: Option<Percent>,
    /// What a lean day costs, against one for a rich day.
    #[schemars(extend("x-range" = [1, 100]))]
    pub lean_costs: Option<Number>,
    /// What changing a jet costs, against one for a rich day: what is on the bike stays for less.
    #[schemars(extend("x-range" = [0, 1]))]
    pub change_costs: Option<Number>,
    /// Of older garages, and no longer used: how unlike parts are now stands in percent of fuel.
    #[schemars(extend("x-range" = [0, 100]))]
    pub other_part: Option<Percent>,
    /// Of older garages, and no longer used: each changed part has its own share of what is not known.
    #[schemars(extend("x-range" = [0, 100]))]
    pub several_changes: Option<Percent>,
    /// Where these are from.
    pub source: Option<String>,
}

/// A band of any kind, in SI, with where it is from.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// The least, SI (a share as a fraction of one).
    pub from: f64,
    /// The most, SI.
    pub to: f64,
    /// Where it is from.
    pub source: String,
}

/// A band as numbers; one that was written the wrong way round is turned.
fn band<K: Kind>(from: &Measure<K>, to: &Measure<K>, source: &str) -> Band {
    let (from, to) = (from.si(), to.si());
    Band { from: from.min(to), to: from.max(to), source: source.to_owned() }
}

impl TimeAreaBand {
    /// In s/m.
    pub fn si(&self) -> Band {
        band(&self.from, &self.to, &self.source)
    }
}

impl VelocityBand {
    /// In m/s.
    pub fn si(&self) -> Band {
        band(&self.from, &self.to, &self.source)
    }
}

impl ShareBand {
    /// As fractions of one.
    pub fn si(&self) -> Band {
        band(&self.from, &self.to, &self.source)
    }
}
