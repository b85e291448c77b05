//! `bikes/<bike>/setup.toml`: what is on the bike besides its engine. All fields are optional unless said: a setup is
//! written down as far as it is known.
//!
//! Each field's doc comment is its description in the JSON Schema. `x-range` is the allowed range in the unit of a bare
//! number, `x-other-range` that of a value measured another way; `x-whole` marks what is counted; the ranges only keep out
//! slips of the pen and are wide on purpose (common practice, no source). `x-metal` marks what is cut and cannot be put back by
//! a command; its value names the field that says which part it was cut into.
//! `x-from-a-point` marks what counts from a point of somebody's choice, so that a percentage of it means nothing.
//!
//! `x-means` is what the field means to the program, in the words of `notebook/fields/meaning.rs`. It answers six questions; the
//! compiler lets none of them out, and a test no field:
//!
//! 1. What do the hands do so that the bike has it, when is its turn, and by what name? `set`, `fit`, `load`, `numbers` (a jet),
//!    `nothing`; the lowest turn is done first, and `LAST` after all others.
//! 2. What can a change of it hurt? `leaner` when it gets less or more, with the throttles it reaches and what one size of it is;
//!    `Hungrier`, `Oil`, `Earlier`, `MayBeEarlier`, `Gasket`, `Deck`, `Squish`, `Chamber`, `Shorter`, `Narrower`, `MayBeNarrower`,
//!    `MayBeWorse`; or it is `Harmless`.
//! 3. Is it known what it does to the fuel? `Known`; `HalfKnown` (fuel hangs on it: not known where it is written down anew or taken
//!    out); `MeasuredLater` (the same, but a first reading was most likely the same before); `NotReckoned`.
//! 4. What is a run with another one worth to the record? `OtherEngine` and the like name the part that was another one then;
//!    `Followed` by the calculation, or `Alike`.
//! 5. What does an advice do with it? It `Sets` it, `FitsBack` the one it stands on, `StandsOn` it, or `Spares` it.
//! 6. Does another one make another combination? `Names` a part, `Shapes` one that has no name, `Scales` the main jet's number; else
//!    it is the `Same`.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::fields::meaning::Advised::{FitsBack, Sets, Spares, StandsOn};
use crate::notebook::fields::meaning::Fuelling::{HalfKnown, Known, MeasuredLater, NotReckoned};
use crate::notebook::fields::meaning::Hurts::{
    Earlier, Harmless, Hungrier, MayBeEarlier, MayBeNarrower, MayBeWorse, Narrower, Oil, Shorter,
};
use crate::notebook::fields::meaning::Makes::{Names, Same, Scales, Shapes};
use crate::notebook::fields::meaning::Reach::{Everywhere, Full, Main, Needle, Pilot};
use crate::notebook::fields::meaning::Recorded::{
    Alike, Followed, OtherCarburetor, OtherEngine, OtherIgnition, OtherPipe,
};
use crate::notebook::fields::meaning::Size::{
    Cells as OfCells, Groove, OfMain, OfPilot, OfPower, Percent as OfPercent, RootOfShare, Share, Span,
    Uncounted,
};
use crate::notebook::fields::meaning::When::{Less, More};
use crate::notebook::fields::meaning::{
    LAST, PartOf, fit, leaner, load, means, nothing, numbers, put_in, screw_in, set, set_or_comes_with,
};
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
    #[schemars(extend("x-means" = means(put_in(400), Harmless, Known, OtherEngine, StandsOn, Names(PartOf::Engine))))]
    pub engine: Option<String>,
    /// Anything worth remembering about this setup, in your own words.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, Alike, Spares, Same)))]
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
    /// What a cylinder has of its own, under its name, where the engine has several; what is written once holds for all.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(with = "BTreeMap<String, OwnSetup>", extend("x-cylinders" = true))]
    pub cylinder: BTreeMap<String, toml::Table>,
    /// Whatever was not foreseen: flywheel weight, cooling, spark plug cap. Free names and values.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, serde_json::Value>")]
    pub extra: toml::Table,
}

/// What one of several cylinders has of its own on the bike.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnSetup {
    /// Its spark.
    pub ignition: Option<Ignition>,
    /// Its carburetor, or what is in it that the others have otherwise.
    pub jetting: Option<Jetting>,
    /// Its injection.
    pub injection: Option<Injection>,
    /// Its pipe.
    pub pipe: Option<Pipe>,
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
    #[schemars(extend("x-means" = means(set(310, "ignition base"), Earlier, Known, OtherIgnition, StandsOn, Same)))]
    pub base: Option<BeforeTopCentre>,
    /// How the base setting was set: dial gauge, timing light, marks.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherIgnition, StandsOn, Same)))]
    pub base_set_by: Option<String>,
    /// Whether the map's angles are absolute or count from the base. Required with a map; never guessed, because adding
    /// the wrong way doubles the advance.
    #[schemars(extend("x-means" = means(nothing(), MayBeEarlier, Known, OtherIgnition, StandsOn, Same)))]
    pub map_kind: Option<MapKind>,
    /// The base setting that an absolute map assumes. Required with an absolute map.
    #[schemars(extend("x-range" = [-5, 60]))]
    #[schemars(extend("x-means" = means(nothing(), MayBeEarlier, Known, OtherIgnition, StandsOn, Same)))]
    pub assumed_base: Option<Angle>,
    /// Delay of pickup and box, 0 where the box compensates its own.
    #[schemars(extend("x-range" = [0, 500]))]
    #[schemars(extend("x-means" = means(nothing(), MayBeEarlier, Known, OtherIgnition, StandsOn, Same)))]
    pub lag: Option<Delay>,
    /// Engine speed at which the box limits.
    #[schemars(extend("x-range" = [1000, 25000]))]
    #[schemars(extend("x-means" = means(set(320, "limiter"), Harmless, Known, OtherIgnition, StandsOn, Same)))]
    pub limiter: Option<EngineSpeed>,
    /// The box, by the name you know it by.
    #[schemars(extend("x-means" = means(fit(330, "ignition box"), Harmless, Known, OtherIgnition, StandsOn, Names(PartOf::IgnitionBox))))]
    pub box_name: Option<String>,
    /// Engine speeds of the map, ascending, in rpm.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherIgnition, StandsOn, Same)))]
    pub rpm: Option<Axis>,
    /// Throttle openings of a two-dimensional map, ascending, in percent.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherIgnition, StandsOn, Same)))]
    pub throttle: Option<Axis>,
    /// Advance in degrees: one row along the engine speeds, one row per throttle opening, or the name of a file in maps/.
    #[schemars(extend("x-map" = {"across": "rpm", "down": "throttle", "unit": "deg", "range": [-20, 70]}))]
    #[schemars(extend("x-means" = means(load(300, "the ignition map"), Earlier, Known, OtherIgnition, StandsOn, Same)))]
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
    #[schemars(extend("x-means" = means(set(150, "carburetor bore"), Harmless, NotReckoned(Everywhere), OtherCarburetor, StandsOn, Names(PartOf::Carburetor))))]
    pub carburetor_bore: Option<Length>,
    /// Main jet.
    #[schemars(extend("x-range" = [20, 900]))]
    #[schemars(extend("x-means" = means(set(10, "main"), leaner(Less, Main, OfMain), HalfKnown(Main), Followed, Sets, Same)))]
    pub main: Option<Number>,
    /// Whether the main jet is numbered by flow or by bore. Required with a main jet.
    #[schemars(extend("x-means" = means(numbers(10, "jetting.main"), Harmless, NotReckoned(Main), Followed, StandsOn, Scales)))]
    pub main_numbered_by: Option<NumberedBy>,
    /// The series in configs/jets.toml that the main jet belongs to.
    #[schemars(extend("x-means" = means(nothing(), Harmless, MeasuredLater(Main), Followed, StandsOn, Scales)))]
    pub main_series: Option<String>,
    /// Pilot jet.
    #[schemars(extend("x-range" = [5, 200]))]
    #[schemars(extend("x-means" = means(set(20, "pilot"), leaner(Less, Pilot, OfPilot), HalfKnown(Pilot), Followed, Sets, Same)))]
    pub pilot: Option<Number>,
    /// Whether the pilot jet is numbered by flow or by bore. Required with a pilot jet.
    #[schemars(extend("x-means" = means(numbers(20, "jetting.pilot"), Harmless, NotReckoned(Pilot), Followed, StandsOn, Same)))]
    pub pilot_numbered_by: Option<NumberedBy>,
    /// The series in configs/jets.toml that the pilot jet belongs to.
    #[schemars(extend("x-means" = means(nothing(), Harmless, MeasuredLater(Pilot), Followed, StandsOn, Same)))]
    pub pilot_series: Option<String>,
    /// Air screw, turns out from lightly seated; out is leaner.
    #[schemars(extend("x-range" = [0, 8]))]
    #[schemars(extend("x-means" = means(set(70, "air screw"), leaner(More, Pilot, Uncounted), HalfKnown(Pilot), Followed, Sets, Same)))]
    pub air_screw: Option<Turns>,
    /// Fuel screw, turns out from lightly seated; out is richer.
    #[schemars(extend("x-range" = [0, 8]))]
    #[schemars(extend("x-means" = means(set(80, "fuel screw"), leaner(Less, Pilot, Uncounted), HalfKnown(Pilot), Followed, Sets, Same)))]
    pub fuel_screw: Option<Turns>,
    /// Needle by its code, as listed in configs/needles.toml.
    #[schemars(extend("x-means" = means(set(30, "needle"), Harmless, HalfKnown(Needle), Followed, Sets, Same)))]
    pub needle: Option<String>,
    /// Clip groove counted from the top; 1 is the leanest.
    #[schemars(extend("x-range" = [1, 9], "x-whole" = true, "x-from-a-point" = true))]
    #[schemars(extend("x-means" = means(set(40, "clip"), leaner(Less, Needle, Groove), HalfKnown(Needle), Followed, Sets, Same)))]
    pub clip: Option<Number>,
    /// Thickness of the shims under the clip; more is richer.
    #[schemars(extend("x-range" = [0, 5]))]
    #[schemars(extend("x-means" = means(set(50, "shim"), leaner(Less, Needle, Uncounted), MeasuredLater(Needle), Followed, FitsBack, Same)))]
    pub shim: Option<Length>,
    /// Bore of the needle jet.
    #[schemars(extend("x-range" = [1.5, 6]))]
    #[schemars(extend("x-means" = means(set(60, "needle jet"), leaner(Less, Needle, Uncounted), MeasuredLater(Needle), Followed, FitsBack, Same)))]
    pub needle_jet: Option<Length>,
    /// From the clip's seat in the slide down to the mouth of the needle jet, slide closed.
    #[schemars(extend("x-range" = [5, 80]))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, MeasuredLater(Needle), Followed, FitsBack, Same)))]
    pub seat_to_needle_jet: Option<Length>,
    /// Power jet.
    #[schemars(extend("x-range" = [10, 300]))]
    #[schemars(extend("x-means" = means(set(90, "power jet"), leaner(Less, Full, OfPower), HalfKnown(Main), Followed, Sets, Same)))]
    pub power_jet: Option<Number>,
    /// Whether the power jet is numbered by flow or by bore. Required with a power jet.
    #[schemars(extend("x-means" = means(numbers(90, "jetting.power_jet"), Harmless, NotReckoned(Main), Followed, StandsOn, Same)))]
    pub power_jet_numbered_by: Option<NumberedBy>,
    /// Engine speed above which the power jet feeds.
    #[schemars(extend("x-range" = [0, 25000]))]
    #[schemars(extend("x-means" = means(set(110, "power jet feeds from"), leaner(More, Full, Span), HalfKnown(Main), OtherCarburetor, FitsBack, Same)))]
    pub power_jet_from: Option<EngineSpeed>,
    /// Engine speed above which the power jet is shut.
    #[schemars(extend("x-range" = [0, 25000]))]
    #[schemars(extend("x-means" = means(set(120, "power jet shuts at"), leaner(Less, Full, Span), HalfKnown(Main), OtherCarburetor, FitsBack, Same)))]
    pub power_jet_until: Option<EngineSpeed>,
    /// Main air jet.
    #[schemars(extend("x-range" = [0, 400]))]
    #[schemars(extend("x-means" = means(set(100, "air jet"), leaner(More, Main, Uncounted), MeasuredLater(Main), OtherCarburetor, FitsBack, Same)))]
    pub air_jet: Option<Number>,
    /// Whether the air jet is numbered by flow or by bore. Required with an air jet.
    #[schemars(extend("x-means" = means(numbers(100, "jetting.air_jet"), Harmless, NotReckoned(Main), OtherCarburetor, StandsOn, Same)))]
    pub air_jet_numbered_by: Option<NumberedBy>,
    /// Slide cutaway by its number.
    #[schemars(extend("x-range" = [0, 12], "x-from-a-point" = true))]
    #[schemars(extend("x-means" = means(set(130, "slide cutaway"), leaner(More, Pilot, Uncounted), MeasuredLater(Pilot), OtherCarburetor, FitsBack, Same)))]
    pub slide_cutaway: Option<Number>,
    /// Float height.
    #[schemars(extend("x-range" = [0, 50]))]
    #[schemars(extend("x-means" = means(set(140, "float height"), leaner(More, Everywhere, Uncounted), MeasuredLater(Everywhere), OtherCarburetor, FitsBack, Same)))]
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
    #[schemars(extend("x-means" = means(set(LAST, "injectors"), leaner(Less, Everywhere, Share), MeasuredLater(Everywhere), Followed, StandsOn, Same)))]
    pub injectors: Option<Number>,
    /// Flow of one injector, fully open.
    #[schemars(extend("x-range" = [20, 3000], "x-other-range" = {"range": [15, 2500], "unit": "g/min"}))]
    #[schemars(extend("x-means" = means(set(LAST, "flow"), leaner(Less, Everywhere, Share), MeasuredLater(Everywhere), Followed, StandsOn, Same)))]
    pub flow: Option<InjectorFlow>,
    /// Time an injector needs to open and passes nothing.
    #[schemars(extend("x-range" = [0, 5]))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, NotReckoned(Everywhere), OtherCarburetor, StandsOn, Same)))]
    pub dead_time: Option<DeadTime>,
    /// Fuel pressure.
    #[schemars(extend("x-range" = [500, 10000]))]
    #[schemars(extend("x-means" = means(set(220, "fuel pressure"), leaner(Less, Everywhere, RootOfShare), MeasuredLater(Everywhere), Followed, StandsOn, Same)))]
    pub fuel_pressure: Option<Pressure>,
    /// What the computer follows by itself.
    #[schemars(extend("x-means" = means(set(LAST, "compensation"), Harmless, NotReckoned(Everywhere), OtherCarburetor, StandsOn, Same)))]
    pub compensation: Option<AirCompensation>,
    /// Throttle body bore.
    #[schemars(extend("x-range" = [10, 70]))]
    #[schemars(extend("x-means" = means(set(LAST, "throttle body bore"), Harmless, NotReckoned(Everywhere), OtherCarburetor, StandsOn, Names(PartOf::ThrottleBody))))]
    pub throttle_body_bore: Option<Length>,
    /// Trim over the whole map.
    #[schemars(extend("x-range" = [-60, 100]))]
    #[schemars(extend("x-means" = means(set(210, "fuel trim"), leaner(Less, Everywhere, OfPercent), HalfKnown(Everywhere), Followed, Sets, Same)))]
    pub trim: Option<Percent>,
    /// Engine speeds of the fuel map, ascending, in rpm.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, Followed, StandsOn, Same)))]
    pub rpm: Option<Axis>,
    /// Throttle openings of the fuel map, ascending, in percent.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, Followed, StandsOn, Same)))]
    pub throttle: Option<Axis>,
    /// What the cells of the fuel map mean. Required with a fuel map.
    #[schemars(extend("x-means" = means(nothing(), Harmless, NotReckoned(Everywhere), Followed, StandsOn, Same)))]
    pub fuel_map_unit: Option<FuelMapUnit>,
    /// Fuel: one row along the engine speeds, one row per throttle opening, or the name of a file in maps/.
    #[schemars(extend("x-map" = {"across": "rpm", "down": "throttle", "unit": "", "range": [-100, 200]}))]
    #[schemars(extend("x-means" = means(load(200, "the fuel map"), leaner(Less, Everywhere, OfCells), HalfKnown(Everywhere), OtherCarburetor, StandsOn, Same)))]
    pub fuel: Option<Cells>,
}

/// Exhaust pipe, stinger and silencer.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pipe {
    /// The pipe by the name you know it by; another name is another pipe.
    #[schemars(extend("x-means" = means(fit(600, "pipe"), Harmless, Known, OtherPipe, StandsOn, Names(PartOf::Pipe))))]
    pub name: Option<String>,
    /// Sections from the cylinder to the stinger, each under its own name: header, diffuser-1, belly, baffle.
    #[serde(default)]
    pub sections: BTreeMap<String, PipeSection>,
    /// An insert screwed into the stinger, by the name you know it by; leave it out where none is in.
    #[schemars(extend("x-means" = means(screw_in(605, "stinger insert"), MayBeNarrower, Known, OtherPipe, StandsOn, Same)))]
    pub stinger_insert: Option<String>,
    /// Inside diameter of the stinger, with the insert that is in it.
    #[schemars(extend("x-range" = [5, 60], "x-metal" = "pipe.name pipe.stinger_insert"))]
    #[schemars(extend("x-means" = means(nothing(), Narrower, Known, OtherPipe, StandsOn, Same)))]
    pub stinger_diameter: Option<Length>,
    /// Length of the stinger, with the insert that is in it.
    #[schemars(extend("x-range" = [10, 1000], "x-metal" = "pipe.name pipe.stinger_insert"))]
    #[schemars(extend("x-means" = means(nothing(), Shorter, Known, OtherPipe, StandsOn, Same)))]
    pub stinger_length: Option<Length>,
    /// Silencer, by the name you know it by.
    #[schemars(extend("x-means" = means(fit(610, "silencer"), Harmless, Known, OtherPipe, StandsOn, Same)))]
    pub silencer: Option<String>,
    /// Core diameter of the silencer.
    #[schemars(extend("x-range" = [5, 80]))]
    #[schemars(extend("x-means" = means(set(620, "silencer core"), Narrower, Known, OtherPipe, StandsOn, Same)))]
    pub silencer_core: Option<Length>,
}

/// One section of a pipe.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PipeSection {
    /// Place in the pipe, 1 at the cylinder.
    #[schemars(extend("x-range" = [1, 40], "x-whole" = true, "x-from-a-point" = true))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherPipe, StandsOn, Shapes(PartOf::Pipe))))]
    pub place: Option<Number>,
    /// Length along the centre line.
    #[schemars(extend("x-range" = [1, 2000], "x-metal" = "pipe.name"))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherPipe, StandsOn, Shapes(PartOf::Pipe))))]
    pub length: Option<Length>,
    /// Inside diameter where the gas enters.
    #[schemars(extend("x-range" = [5, 250], "x-metal" = "pipe.name"))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherPipe, StandsOn, Shapes(PartOf::Pipe))))]
    pub inlet: Option<Length>,
    /// Inside diameter where the gas leaves.
    #[schemars(extend("x-range" = [5, 250], "x-metal" = "pipe.name"))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherPipe, StandsOn, Shapes(PartOf::Pipe))))]
    pub outlet: Option<Length>,
}

/// What is in the tank. Race fuels are toxic and flammable.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fuel {
    /// The fuel by the name you know it by.
    #[schemars(extend("x-means" = means(set(700, "fuel"), MayBeWorse, Known, Followed, StandsOn, Names(PartOf::Fuel))))]
    pub name: Option<String>,
    /// Density of the petrol without oil at 15 C.
    #[schemars(extend("x-range" = [600, 1200]))]
    #[schemars(extend("x-means" = means(nothing(), Hungrier, MeasuredLater(Everywhere), Followed, StandsOn, Same)))]
    pub density: Option<Density>,
    /// Air mass to fuel mass at which both burn completely.
    #[schemars(extend("x-range" = [1, 20]))]
    #[schemars(extend("x-means" = means(nothing(), Hungrier, MeasuredLater(Everywhere), Followed, StandsOn, Same)))]
    pub stoichiometric_ratio: Option<Number>,
    /// Petrol to oil by volume: 32 means 32:1.
    #[schemars(extend("x-range" = [8, 200]))]
    #[schemars(extend("x-means" = means(set(710, "petrol to oil"), Oil, MeasuredLater(Everywhere), Followed, StandsOn, Same)))]
    pub oil_ratio: Option<Number>,
    /// Density of the oil.
    #[schemars(extend("x-range" = [700, 1100]))]
    #[schemars(extend("x-means" = means(nothing(), Hungrier, MeasuredLater(Everywhere), Followed, StandsOn, Same)))]
    pub oil_density: Option<Density>,
    /// The oil by the name you know it by.
    #[schemars(extend("x-means" = means(set(720, "oil"), MayBeWorse, Known, Followed, StandsOn, Same)))]
    pub oil: Option<String>,
    /// Temperature of the fuel in the bowl or tank, where it was measured.
    #[schemars(extend("x-range" = [-30, 70]))]
    #[schemars(extend("x-means" = means(nothing(), Hungrier, Known, Followed, StandsOn, Same)))]
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
    /// Teeth on the front sprocket.
    #[schemars(extend("x-range" = [5, 40], "x-whole" = true))]
    #[schemars(extend("x-means" = means(set(800, "front sprocket"), Harmless, Known, Alike, Spares, Same)))]
    pub front: Option<Number>,
    /// Teeth on the rear sprocket.
    #[schemars(extend("x-range" = [10, 120], "x-whole" = true))]
    #[schemars(extend("x-means" = means(set(810, "rear sprocket"), Harmless, Known, Alike, Spares, Same)))]
    pub rear: Option<Number>,
    /// Primary reduction.
    #[schemars(extend("x-range" = [1, 6]))]
    #[schemars(extend("x-means" = means(set(820, "primary reduction"), Harmless, Known, Alike, Spares, Same)))]
    pub primary: Option<Number>,
    /// Gearbox cluster by the name you know it by.
    #[schemars(extend("x-means" = means(fit(830, "gearbox cluster"), Harmless, Known, Alike, Spares, Same)))]
    pub gearbox: Option<String>,
    /// Reduction of each gear, first gear first.
    #[serde(default)]
    #[schemars(extend("x-means" = means(set_or_comes_with("gear *", "gearing.gearbox"), Harmless, Known, Alike, Spares, Same)))]
    pub ratios: BTreeMap<String, Number>,
    /// Rolling radius of the driven wheel.
    #[schemars(extend("x-range" = [100, 500]))]
    #[schemars(extend("x-means" = means(set(LAST, "gearing rolling radius"), Harmless, Known, Alike, Spares, Same)))]
    pub rolling_radius: Option<Length>,
}
