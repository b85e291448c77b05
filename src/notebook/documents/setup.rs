//! `bikes/<bike>/setup.toml`: what is on the bike besides its engine. All fields are optional unless said: a setup is
//! written down as far as it is known.
//!
//! Each field's doc comment is its description in the JSON Schema. `x-range` is the allowed range in the unit of a bare
//! number, `x-other-range` that of a value measured another way; `x-whole` marks what is counted; the ranges only keep out slips of the pen and are wide on purpose (common practice, no source). `x-metal` marks
//! what is cut and cannot be put back by a command; its value names the field that says which part it was cut into.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::maps::table::{Axis, Cells};
use crate::quantity::{
    Angle, BeforeTopCentre, DeadTime, Delay, Density, EngineSpeed, InjectorFlow, Length, Number, Percent,
    Pressure, Temperature, Turns,
};

/// A whole setup but for its engine, which has its own file.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Setup {
    /// Name of the engine that is in the bike: the folder under engines/.
    #[schemars(extend("pattern" = "^[a-z0-9][a-z0-9_-]{0,39}$"))]
    pub engine: Option<String>,
    /// Anything worth remembering about this setup, in your own words.
    pub notes: Option<String>,
    /// When the spark comes.
    pub ignition: Option<Ignition>,
    /// The carburetor and everything in it.
    pub jetting: Option<Jetting>,
    /// Fuel injection, on a bike that has no carburetor.
    pub injection: Option<Injection>,
    /// Exhaust pipe, stinger and silencer.
    pub pipe: Option<Pipe>,
    /// What is in the tank.
    pub fuel: Option<Fuel>,
    /// Gearing: it decides the engine speed reached.
    pub gearing: Option<Gearing>,
    /// Whatever was not foreseen: flywheel weight, cooling, spark plug cap. Free names and values.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, serde_json::Value>")]
    pub extra: toml::Table,
}

/// How the angles of an ignition map count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MapKind {
    /// Degrees before top dead centre, true when the pickup stands where the map assumes.
    Absolute,
    /// Degrees to be added to the base setting.
    Relative,
}

/// When the spark comes.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("dependentRequired" = { "advance": ["map_kind"] }))]
pub struct Ignition {
    /// Base setting of the pickup or stator, before top dead centre: degrees, or millimetres of piston travel.
    #[schemars(extend("x-range" = [-5, 60], "x-other-range" = {"range": [-2, 30], "unit": "mm"}))]
    pub base: Option<BeforeTopCentre>,
    /// How the base setting was set: dial gauge, timing light, marks.
    pub base_set_by: Option<String>,
    /// Whether the map's angles are absolute or count from the base. Required with a map; never guessed, because adding
    /// the wrong way doubles the advance.
    pub map_kind: Option<MapKind>,
    /// The base setting that an absolute map assumes. Required with an absolute map.
    #[schemars(extend("x-range" = [-5, 60]))]
    pub assumed_base: Option<Angle>,
    /// Delay of pickup and box, 0 where the box compensates its own.
    #[schemars(extend("x-range" = [0, 500]))]
    pub lag: Option<Delay>,
    /// Engine speed at which the box limits.
    #[schemars(extend("x-range" = [1000, 25000]))]
    pub limiter: Option<EngineSpeed>,
    /// The box, by the name you know it by.
    pub box_name: Option<String>,
    /// Engine speeds of the map, ascending, in rpm.
    pub rpm: Option<Axis>,
    /// Throttle openings of a two-dimensional map, ascending, in percent.
    pub throttle: Option<Axis>,
    /// Advance in degrees: one row along the engine speeds, one row per throttle opening, or the name of a file in maps/.
    #[schemars(extend("x-map" = {"across": "rpm", "down": "throttle", "unit": "deg", "range": [-20, 70]}))]
    pub advance: Option<Cells>,
}

/// How a jet's number counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NumberedBy {
    /// The number is proportional to what flows through.
    Flow,
    /// The number is the bore in hundredths of a millimetre.
    Bore,
}

/// The carburetor and everything in it.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("dependentRequired" = {
    "main": ["main_numbered_by"],
    "pilot": ["pilot_numbered_by"],
    "power_jet": ["power_jet_numbered_by"],
    "air_jet": ["air_jet_numbered_by"]
}))]
pub struct Jetting {
    /// Bore of the carburetor at the slide.
    #[schemars(extend("x-range" = [10, 60]))]
    pub carburetor_bore: Option<Length>,
    /// Main jet.
    #[schemars(extend("x-range" = [20, 900]))]
    pub main: Option<Number>,
    /// Whether the main jet is numbered by flow or by bore. Required with a main jet.
    pub main_numbered_by: Option<NumberedBy>,
    /// The series in configs/jets.toml that the main jet belongs to.
    pub main_series: Option<String>,
    /// Pilot jet.
    #[schemars(extend("x-range" = [5, 200]))]
    pub pilot: Option<Number>,
    /// Whether the pilot jet is numbered by flow or by bore. Required with a pilot jet.
    pub pilot_numbered_by: Option<NumberedBy>,
    /// The series in configs/jets.toml that the pilot jet belongs to.
    pub pilot_series: Option<String>,
    /// Air screw, turns out from lightly seated; out is leaner.
    #[schemars(extend("x-range" = [0, 8]))]
    pub air_screw: Option<Turns>,
    /// Fuel screw, turns out from lightly seated; out is richer.
    #[schemars(extend("x-range" = [0, 8]))]
    pub fuel_screw: Option<Turns>,
    /// Needle by its code, as listed in configs/needles.toml.
    pub needle: Option<String>,
    /// Clip groove counted from the top; 1 is the leanest.
    #[schemars(extend("x-range" = [1, 9], "x-whole" = true))]
    pub clip: Option<Number>,
    /// Thickness of the shims under the clip; more is richer.
    #[schemars(extend("x-range" = [0, 5]))]
    pub shim: Option<Length>,
    /// Bore of the needle jet.
    #[schemars(extend("x-range" = [1.5, 6]))]
    pub needle_jet: Option<Length>,
    /// From the clip's seat in the slide down to the mouth of the needle jet, slide closed.
    #[schemars(extend("x-range" = [5, 80]))]
    pub seat_to_needle_jet: Option<Length>,
    /// Power jet.
    #[schemars(extend("x-range" = [10, 300]))]
    pub power_jet: Option<Number>,
    /// Whether the power jet is numbered by flow or by bore. Required with a power jet.
    pub power_jet_numbered_by: Option<NumberedBy>,
    /// Engine speed above which the power jet feeds.
    #[schemars(extend("x-range" = [0, 25000]))]
    pub power_jet_from: Option<EngineSpeed>,
    /// Engine speed above which the power jet is shut.
    #[schemars(extend("x-range" = [0, 25000]))]
    pub power_jet_until: Option<EngineSpeed>,
    /// Main air jet.
    #[schemars(extend("x-range" = [0, 400]))]
    pub air_jet: Option<Number>,
    /// Whether the air jet is numbered by flow or by bore. Required with an air jet.
    pub air_jet_numbered_by: Option<NumberedBy>,
    /// Slide cutaway by its number.
    #[schemars(extend("x-range" = [0, 12]))]
    pub slide_cutaway: Option<Number>,
    /// Float height.
    #[schemars(extend("x-range" = [0, 50]))]
    pub float_height: Option<Length>,
}

/// Which changes of the air the injection computer follows by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum AirCompensation {
    /// Neither: every cell is fixed.
    None,
    /// Air temperature only.
    Temperature,
    /// Air pressure only.
    Pressure,
    /// Temperature and pressure.
    Both,
}

/// What the cells of a fuel map mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FuelMapUnit {
    /// Milliseconds of injector opening.
    Ms,
    /// Milligrams a cycle.
    Mg,
    /// Percent of trim on a map in the box.
    Percent,
}

/// Fuel injection.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("dependentRequired" = { "fuel": ["fuel_map_unit"] }))]
pub struct Injection {
    /// Number of injectors.
    #[schemars(extend("x-range" = [1, 4], "x-whole" = true))]
    pub injectors: Option<Number>,
    /// Flow of one injector, fully open.
    #[schemars(extend("x-range" = [20, 3000], "x-other-range" = {"range": [15, 2500], "unit": "g/min"}))]
    pub flow: Option<InjectorFlow>,
    /// Time an injector needs to open and passes nothing.
    #[schemars(extend("x-range" = [0, 5]))]
    pub dead_time: Option<DeadTime>,
    /// Fuel pressure.
    #[schemars(extend("x-range" = [500, 10000]))]
    pub fuel_pressure: Option<Pressure>,
    /// What the computer follows by itself.
    pub compensation: Option<AirCompensation>,
    /// Throttle body bore.
    #[schemars(extend("x-range" = [10, 70]))]
    pub throttle_body_bore: Option<Length>,
    /// Trim over the whole map.
    #[schemars(extend("x-range" = [-60, 100]))]
    pub trim: Option<Percent>,
    /// Engine speeds of the fuel map, ascending, in rpm.
    pub rpm: Option<Axis>,
    /// Throttle openings of the fuel map, ascending, in percent.
    pub throttle: Option<Axis>,
    /// What the cells of the fuel map mean. Required with a fuel map.
    pub fuel_map_unit: Option<FuelMapUnit>,
    /// Fuel: one row along the engine speeds, one row per throttle opening, or the name of a file in maps/.
    #[schemars(extend("x-map" = {"across": "rpm", "down": "throttle", "unit": "", "range": [-100, 200]}))]
    pub fuel: Option<Cells>,
}

/// Exhaust pipe, stinger and silencer.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pipe {
    /// The pipe by the name you know it by; another name is another pipe.
    pub name: Option<String>,
    /// Sections from the cylinder to the stinger, each under its own name: header, diffuser-1, belly, baffle.
    #[serde(default)]
    pub sections: BTreeMap<String, PipeSection>,
    /// Inside diameter of the stinger.
    #[schemars(extend("x-range" = [5, 60], "x-metal" = "pipe.name"))]
    pub stinger_diameter: Option<Length>,
    /// Length of the stinger.
    #[schemars(extend("x-range" = [10, 1000], "x-metal" = "pipe.name"))]
    pub stinger_length: Option<Length>,
    /// Silencer, by the name you know it by.
    pub silencer: Option<String>,
    /// Core diameter of the silencer.
    #[schemars(extend("x-range" = [5, 80]))]
    pub silencer_core: Option<Length>,
}

/// One section of a pipe.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PipeSection {
    /// Place in the pipe, 1 at the cylinder.
    #[schemars(extend("x-range" = [1, 40], "x-whole" = true))]
    pub place: Option<Number>,
    /// Length along the centre line.
    #[schemars(extend("x-range" = [1, 2000], "x-metal" = "pipe.name"))]
    pub length: Option<Length>,
    /// Inside diameter where the gas enters.
    #[schemars(extend("x-range" = [5, 250], "x-metal" = "pipe.name"))]
    pub inlet: Option<Length>,
    /// Inside diameter where the gas leaves.
    #[schemars(extend("x-range" = [5, 250], "x-metal" = "pipe.name"))]
    pub outlet: Option<Length>,
}

/// What is in the tank. Race fuels are toxic and flammable.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fuel {
    /// The fuel by the name you know it by.
    pub name: Option<String>,
    /// Density of the petrol without oil at 15 C.
    #[schemars(extend("x-range" = [600, 1200]))]
    pub density: Option<Density>,
    /// Air mass to fuel mass at which both burn completely.
    #[schemars(extend("x-range" = [1, 20]))]
    pub stoichiometric_ratio: Option<Number>,
    /// Petrol to oil by volume: 32 means 32:1.
    #[schemars(extend("x-range" = [8, 200]))]
    pub oil_ratio: Option<Number>,
    /// Density of the oil.
    #[schemars(extend("x-range" = [700, 1100]))]
    pub oil_density: Option<Density>,
    /// The oil by the name you know it by.
    pub oil: Option<String>,
    /// Temperature of the fuel in the bowl or tank, where it was measured.
    #[schemars(extend("x-range" = [-30, 70]))]
    pub temperature: Option<Temperature>,
}

impl Fuel {
    /// This fuel, with what it leaves out taken from another.
    #[must_use]
    pub fn over(&self, other: Option<&Self>) -> Self {
        let or = |own: &Option<String>, of: fn(&Self) -> &Option<String>| {
            own.clone().or_else(|| other.and_then(|other| of(other).clone()))
        };
        Self {
            name: or(&self.name, |fuel| &fuel.name),
            density: self.density.clone().or_else(|| other?.density.clone()),
            stoichiometric_ratio: self
                .stoichiometric_ratio
                .clone()
                .or_else(|| other?.stoichiometric_ratio.clone()),
            oil_ratio: self.oil_ratio.clone().or_else(|| other?.oil_ratio.clone()),
            oil_density: self.oil_density.clone().or_else(|| other?.oil_density.clone()),
            oil: or(&self.oil, |fuel| &fuel.oil),
            temperature: self.temperature.clone().or_else(|| other?.temperature.clone()),
        }
    }
}

/// Gearing.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Gearing {
    /// Teeth on the gearbox sprocket.
    #[schemars(extend("x-range" = [5, 40], "x-whole" = true))]
    pub front: Option<Number>,
    /// Teeth on the wheel sprocket.
    #[schemars(extend("x-range" = [10, 120], "x-whole" = true))]
    pub rear: Option<Number>,
    /// Primary reduction.
    #[schemars(extend("x-range" = [1, 6]))]
    pub primary: Option<Number>,
    /// Gearbox cluster by the name you know it by.
    pub gearbox: Option<String>,
    /// Reduction of each gear, first gear first.
    #[serde(default)]
    pub ratios: BTreeMap<String, Number>,
    /// Rolling radius of the driven wheel.
    #[schemars(extend("x-range" = [100, 500]))]
    pub rolling_radius: Option<Length>,
}
