//! `engines/<engine>/builds/<when>-<id>.toml`: what was measured at one assembly of an engine, with which gauges, and the
//! check list that was worked through.
//!
//! See [`crate::notebook::setup`] for what `x-range` means: the ranges only keep out slips of the pen (common practice, no source).

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::gauges::Gauges;
use crate::notebook::fields::date::When;
use crate::notebook::fields::names::visible;
use crate::quantity::{Length, Mass, Number, Temperature, Torque, Volume};

/// How much of the engine was taken apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Scope {
    /// Cylinder, piston and head.
    #[default]
    TopEnd,
    /// Cases, crank and gearbox.
    BottomEnd,
    /// All of it.
    Whole,
}

impl Scope {
    /// All three.
    pub const ALL: [Self; 3] = [Self::TopEnd, Self::BottomEnd, Self::Whole];

    /// As written in a document.
    pub fn word(self) -> &'static str {
        match self {
            Self::TopEnd => "top-end",
            Self::BottomEnd => "bottom-end",
            Self::Whole => "whole",
        }
    }

    /// In words for reading.
    pub fn words(self) -> &'static str {
        match self {
            Self::TopEnd => "top end",
            Self::BottomEnd => "bottom end",
            Self::Whole => "whole engine",
        }
    }
}

/// What a cylinder's running surface grows with when it warms.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CylinderMaterial {
    /// Aluminium, plated or not.
    #[default]
    Aluminium,
    /// A liner of cast iron.
    CastIron,
}

/// What the cases are made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CaseMaterial {
    /// An aluminium alloy.
    #[default]
    Aluminium,
    /// A magnesium alloy.
    Magnesium,
}

/// One assembly of an engine.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Build {
    /// When the engine was put together.
    pub date: When,
    /// How much of it was apart.
    #[serde(default)]
    pub scope: Scope,
    /// Why.
    pub why: Option<String>,
    /// Who built it.
    pub by: Option<String>,
    /// Temperature of the parts as they were measured; 20 C where it is not said.
    #[schemars(extend("x-range" = [-30, 80]))]
    pub temperature: Option<Temperature>,
    /// What the cylinder grows with when it warms: aluminium where it is not said.
    pub cylinder_material: Option<CylinderMaterial>,
    /// What the cases grow with when they warm: aluminium where it is not said.
    pub case_material: Option<CaseMaterial>,
    /// The gauges it was measured with.
    pub gauges: Option<Gauges>,
    /// The bore map: each depth under a name of its own, three or more from top to bottom.
    #[serde(default)]
    pub bore: BTreeMap<String, BoreLevel>,
    /// The piston.
    pub piston: Option<PistonReadings>,
    /// The piston ring.
    pub ring: Option<RingReadings>,
    /// The piston pin.
    pub pin: Option<PinReadings>,
    /// The connecting rod.
    pub rod: Option<RodReadings>,
    /// The crank.
    pub crank: Option<CrankReadings>,
    /// Squish clearance by solder at four places.
    pub squish: Option<SquishReadings>,
    /// The piston at top dead centre.
    pub deck: Option<DeckReadings>,
    /// The combustion chamber.
    pub chamber: Option<ChamberReadings>,
    /// The reeds.
    pub reed: Option<ReedReadings>,
    /// Bearings in their cases and on their shafts, each under a name of its own: main-left, main-right.
    #[serde(default)]
    pub seats: BTreeMap<String, SeatReadings>,
    /// The check list, each step under its name, as it was copied from configs/checklists.toml when the build was begun.
    #[serde(default)]
    pub steps: BTreeMap<String, ChecklistStep>,
    /// Anything else.
    pub notes: Option<String>,
    /// What was measured and done at one of several cylinders, under its name; what is written without a name is of all.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(extend("x-cylinders" = true))]
    pub cylinder: BTreeMap<String, OwnBuild>,
}

/// What was measured and done at one of several cylinders. Crank, cases and their bearings are of all.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnBuild {
    /// Temperature of its parts as they were measured.
    #[schemars(extend("x-range" = [-30, 80]))]
    pub temperature: Option<Temperature>,
    /// What it grows with when it warms.
    pub cylinder_material: Option<CylinderMaterial>,
    /// The gauges it was measured with, where they were others, or were set otherwise.
    pub gauges: Option<Gauges>,
    /// Its bore map.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub bore: BTreeMap<String, BoreLevel>,
    /// Its piston.
    pub piston: Option<PistonReadings>,
    /// Its piston ring.
    pub ring: Option<RingReadings>,
    /// Its piston pin.
    pub pin: Option<PinReadings>,
    /// Its connecting rod.
    pub rod: Option<RodReadings>,
    /// Its squish clearance by solder.
    pub squish: Option<SquishReadings>,
    /// Its piston at top dead centre.
    pub deck: Option<DeckReadings>,
    /// Its combustion chamber.
    pub chamber: Option<ChamberReadings>,
    /// Its reeds.
    pub reed: Option<ReedReadings>,
    /// The steps of the check list that are done at each cylinder.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub steps: BTreeMap<String, ChecklistStep>,
}

/// The bore at one depth; with a gauge that was zeroed, differences from what it was zeroed on.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoreLevel {
    /// How far below the cylinder's top face.
    #[schemars(extend("x-range" = [0, 200]))]
    pub depth: Option<Length>,
    /// In line with the piston pin.
    #[schemars(extend("x-range" = [-2, 130]))]
    pub along_pin: Option<Length>,
    /// Front to back, across the pin.
    #[schemars(extend("x-range" = [-2, 130]))]
    pub across_pin: Option<Length>,
    /// Between the two, from front left to rear right.
    #[schemars(extend("x-range" = [-2, 130]))]
    pub diagonal_left: Option<Length>,
    /// Between the two, from front right to rear left.
    #[schemars(extend("x-range" = [-2, 130]))]
    pub diagonal_right: Option<Length>,
}

/// The piston as it was measured.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PistonReadings {
    /// Its diameter across the pin at the gauge height.
    #[schemars(extend("x-range" = [20, 130]))]
    pub diameter: Option<Length>,
    /// Where it is measured, above the skirt's lower edge.
    #[schemars(extend("x-range" = [0, 100]))]
    pub gauge_height: Option<Length>,
    /// Bore for the pin.
    #[schemars(extend("x-range" = [5, 40]))]
    pub pin_bore: Option<Length>,
    /// Linear expansion of its alloy in millionths per K, from its maker: with much silicon 18 to 21, with little 22 to 23.5.
    /// Where it is not said, all of that is in the doubt of what is brought to 20 C.
    #[schemars(extend("x-range" = [15, 26]))]
    pub expansion: Option<Number>,
}

/// The piston ring as it was measured.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RingReadings {
    /// Its end gap by depth in the bore, each depth under a name of its own.
    #[serde(default)]
    pub gaps: BTreeMap<String, RingGap>,
    /// Room beside it in its groove.
    #[schemars(extend("x-range" = [0, 2]))]
    pub side_clearance: Option<Length>,
}

/// A ring's end gap at one depth of the bore.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RingGap {
    /// How far below the cylinder's top face, the ring square in the bore.
    #[schemars(extend("x-range" = [0, 200]))]
    pub depth: Option<Length>,
    /// The gap between its ends.
    #[schemars(extend("x-range" = [0, 10]))]
    pub gap: Option<Length>,
}

/// The piston pin as it was measured.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PinReadings {
    /// Its diameter where it is worn most.
    #[schemars(extend("x-range" = [5, 40]))]
    pub diameter: Option<Length>,
}

/// The connecting rod as it was measured.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RodReadings {
    /// Bore of the small end, without its bearing.
    #[schemars(extend("x-range" = [5, 50]))]
    pub small_end_bore: Option<Length>,
    /// Room beside the big end, between the crank webs.
    #[schemars(extend("x-range" = [0, 5]))]
    pub side_clearance: Option<Length>,
    /// Play of the big end, up and down.
    #[schemars(extend("x-range" = [0, 2]))]
    pub big_end_play: Option<Length>,
}

/// The crank as it was measured.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CrankReadings {
    /// Run-out of the left main journal: the needle's whole swing.
    #[schemars(extend("x-range" = [0, 2]))]
    pub runout_left: Option<Length>,
    /// Run-out of the right main journal: the needle's whole swing.
    #[schemars(extend("x-range" = [0, 2]))]
    pub runout_right: Option<Length>,
}

/// Squish clearance by solder, and with which gaskets it was measured.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SquishReadings {
    /// At the front, the exhaust side.
    #[schemars(extend("x-range" = [0.1, 5]))]
    pub front: Option<Length>,
    /// At the rear.
    #[schemars(extend("x-range" = [0.1, 5]))]
    pub rear: Option<Length>,
    /// At the left, over the pin.
    #[schemars(extend("x-range" = [0.1, 5]))]
    pub left: Option<Length>,
    /// At the right, over the pin.
    #[schemars(extend("x-range" = [0.1, 5]))]
    pub right: Option<Length>,
    /// Thickness of the head gasket that was in.
    #[schemars(extend("x-range" = [0, 5]))]
    pub head_gasket: Option<Length>,
    /// Thickness of the base gasket or shims that were in.
    #[schemars(extend("x-range" = [0, 10]))]
    pub base_gasket: Option<Length>,
}

/// The piston at top dead centre.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DeckReadings {
    /// From the cylinder's top face down to the crown's edge; negative when the crown stands above.
    #[schemars(extend("x-range" = [-5, 15]))]
    pub height: Option<Length>,
}

/// The combustion chamber as it was filled from a burette.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChamberReadings {
    /// Its volume.
    #[schemars(extend("x-range" = [1, 200]))]
    pub volume: Option<Volume>,
    /// What the volume takes in: plug hole, gasket, the room above the crown.
    pub includes: Option<String>,
}

/// The reeds as they were measured.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReedReadings {
    /// What a spring balance shows when a petal's tip lifts off.
    #[schemars(extend("x-range" = [0, 2000]))]
    pub tension: Option<Mass>,
    /// Gap under a petal's tip at rest.
    #[schemars(extend("x-range" = [0, 5]))]
    pub gap: Option<Length>,
}

/// A bearing in its case and on its shaft.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeatReadings {
    /// Bore of the case, the bearing out of it.
    #[schemars(extend("x-range" = [5, 200]))]
    pub case_bore: Option<Length>,
    /// Outside diameter of the bearing.
    #[schemars(extend("x-range" = [5, 200]))]
    pub bearing_outside: Option<Length>,
    /// Bore of the bearing.
    #[schemars(extend("x-range" = [3, 150]))]
    pub bearing_bore: Option<Length>,
    /// Diameter of the shaft.
    #[schemars(extend("x-range" = [3, 150]))]
    pub shaft: Option<Length>,
}

/// One step of the check list: what is to be done, and what became of it.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChecklistStep {
    /// The list it is from.
    pub list: Option<String>,
    /// Its place in the list.
    #[schemars(extend("x-range" = [1, 1000], "x-whole" = true))]
    pub place: Option<Number>,
    /// What is to be done.
    pub says: Option<String>,
    /// What can hurt somebody or spoil the engine.
    pub caution: Option<String>,
    /// Whether it is for after the first run; such a step does not keep an engine from being ready.
    #[serde(default)]
    pub after_first_run: bool,
    /// Whether a torque is to be written down.
    #[serde(default)]
    pub wants_torque: bool,
    /// Whether a mark is to be put on.
    #[serde(default)]
    pub wants_mark: bool,
    /// The torque that is wanted.
    #[schemars(extend("x-range" = [0.1, 500]))]
    pub torque_wanted: Option<Torque>,
    /// When it was done.
    pub done: Option<When>,
    /// Who did it.
    pub by: Option<String>,
    /// The torque it was tightened to.
    #[schemars(extend("x-range" = [0.1, 500]))]
    pub torque: Option<Torque>,
    /// The mark that was put on.
    pub mark: Option<String>,
    /// Why it was left out, where it does not apply.
    pub left_out: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

impl ChecklistStep {
    /// Whether it is still to be done; a step that wants its torque written down is not done without it.
    pub fn is_open(&self) -> bool {
        let done = self.done.is_some() && (!self.wants_torque || self.torque.is_some());
        !done && self.left_out.is_none()
    }

    /// Its place in its list; a step without one comes last.
    pub fn order(&self) -> f64 {
        self.place.as_ref().map_or(f64::INFINITY, Number::si)
    }
}

/// The first few of some steps for reading, and how many more there are; one that is named at several cylinders is said once:
/// "ring-gap (left, right), circlips and 3 more".
pub fn steps_in_words(names: &[String], most: usize) -> String {
    let mut said: Vec<(&str, Vec<&str>)> = Vec::new();
    for name in names {
        let (cylinder, step) =
            name.split_once('.').map_or((None, name.as_str()), |(of, step)| (Some(of), step));
        match (cylinder, said.last_mut()) {
            (Some(of), Some((last, cylinders))) if *last == step && !cylinders.is_empty() => {
                cylinders.push(of);
            }
            (of, _) => said.push((step, of.into_iter().collect())),
        }
    }
    said.truncate(most);
    let told: usize = said.iter().map(|(_, cylinders)| cylinders.len().max(1)).sum();
    let words = said.into_iter().map(|(step, cylinders)| match cylinders.as_slice() {
        [] => visible(step),
        [only] => format!("{}.{}", visible(only), visible(step)),
        several => format!("{} ({})", visible(step), visible(&several.join(", "))),
    });
    let words = words.collect::<Vec<_>>().join(", ");
    match names.len() - told {
        0 => words,
        more => format!("{words} and {more} more"),
    }
}

impl OwnBuild {
    /// Whether something was read or said here that the bore at 20 C hangs on.
    pub fn measures_the_bore(&self) -> bool {
        !self.bore.is_empty()
            || self.gauges.is_some()
            || self.temperature.is_some()
            || self.cylinder_material.is_some()
            || self.piston.is_some()
    }
}

impl Build {
    /// A build of which nothing is known but its date.
    pub fn blank(date: When) -> Self {
        Self {
            date,
            scope: Scope::default(),
            why: None,
            by: None,
            temperature: None,
            cylinder_material: None,
            case_material: None,
            gauges: None,
            bore: BTreeMap::new(),
            piston: None,
            ring: None,
            pin: None,
            rod: None,
            crank: None,
            squish: None,
            deck: None,
            chamber: None,
            reed: None,
            seats: BTreeMap::new(),
            steps: BTreeMap::new(),
            notes: None,
            cylinder: BTreeMap::new(),
        }
    }

    /// Steps that are still open: those that keep the engine from being ready, or those for after the first run.
    pub fn open_steps(&self, after_first_run: bool) -> Vec<(String, &ChecklistStep)> {
        let open = self
            .steps_in_order()
            .into_iter()
            .filter(|(_, step)| step.is_open() && step.after_first_run == after_first_run);
        open.collect()
    }

    /// The steps in the order of work: a list is where its first step was copied to, the steps by their places. One that is done at
    /// each cylinder is called `right.ring-gap`.
    pub fn steps_in_order(&self) -> Vec<(String, &ChecklistStep)> {
        let of_all = self.steps.iter().map(|(name, step)| (name.clone(), step));
        let own = self.cylinder.iter().flat_map(|(cylinder, own)| {
            own.steps.iter().map(move |(name, step)| (format!("{cylinder}.{name}"), step))
        });
        let mut steps: Vec<_> = of_all.chain(own).collect();
        steps.sort_by(|(_, a), (_, b)| {
            (a.after_first_run.cmp(&b.after_first_run)).then(a.order().total_cmp(&b.order()))
        });
        steps
    }

    /// The steps that a name means: `right.ring-gap` is that of one cylinder, `ring-gap` that of each that has it.
    pub fn steps_called(&self, wanted: &str) -> Vec<(String, &ChecklistStep)> {
        let all = self.steps_in_order().into_iter();
        let last = |name: &str| name.rsplit('.').next() == Some(wanted);
        all.filter(|(name, _)| name == wanted || last(name)).collect()
    }

    /// The field of a step, as it is called in [`Build::steps_in_order`].
    pub fn field_of_step(name: &str, inner: &str) -> String {
        match name.split_once('.') {
            Some((cylinder, step)) => format!("{cylinder}.steps.{step}.{inner}"),
            None => format!("steps.{name}.{inner}"),
        }
    }
}
