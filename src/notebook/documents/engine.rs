//! `engines/<engine>/engine.toml`: bottom end, cylinder and head, which stay together when the engine moves.
//!
//! See [`crate::notebook::setup`] for what `x-range`, `x-metal` and `x-means` mean.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::fields::meaning::Advised::{Spares, StandsOn};
use crate::notebook::fields::meaning::Fuelling::Known;
use crate::notebook::fields::meaning::Hurts::{Chamber, Deck, Gasket, Harmless, MayBeWorse, Squish};
use crate::notebook::fields::meaning::Makes::Same;
use crate::notebook::fields::meaning::Recorded::{Alike, OtherCarburetor, OtherInside, OtherPipe};
use crate::notebook::fields::meaning::{LAST, fit, means, nothing, set, set_or_comes_with};
use crate::quantity::{Angle, EngineSpeed, Length, Number, Volume};

/// The engine file, `engines/<engine>/engine.toml`: what stays with the engine when it moves to another bike.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EngineDocument {
    /// Whose engine it is, where it is a customer's. It is nothing of the setup: another owner is no other combination.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, Alike, Spares, Same)))]
    pub owner: Option<String>,
    /// Bottom end and cylinder size.
    pub engine: Option<BottomEnd>,
    /// The cylinder's windows.
    pub ports: Option<Ports>,
    /// Head or head insert.
    pub head: Option<Head>,
    /// The cylinders' names, where there are several.
    pub cylinders: Option<Cylinders>,
    /// What a cylinder has of its own, under its name; what is written once holds for all.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(with = "BTreeMap<String, OwnEngine>", extend("x-cylinders" = true))]
    pub cylinder: BTreeMap<String, toml::Table>,
    /// Notes that stay with the engine.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, Alike, Spares, Same)))]
    pub engine_notes: Option<String>,
}

/// The cylinders of an engine that has several: what is written once holds for all of them.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cylinders {
    /// Their names, two to six of them, as they stand in the bike or by number: left and right, or 1 and 2.
    #[schemars(extend("x-names" = true))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub names: Vec<String>,
    /// How they stand to each other.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub layout: Option<CylinderLayout>,
    /// When each fires, under its name: degrees of crank after the first one. The firing order follows from it.
    #[serde(default)]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub fires_at: BTreeMap<String, Angle>,
    /// Cylinders that one carburetor feeds, joined by "+", an entry a carburetor: "front+rear". It has one main jet and one needle, judged
    /// by the leanest of them.
    #[serde(default)]
    #[schemars(extend("x-names" = true))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherCarburetor, StandsOn, Same)))]
    pub shared_carburetors: Vec<String>,
    /// Cylinders that blow into one pipe, joined by "+", an entry a pipe.
    #[serde(default)]
    #[schemars(extend("x-names" = true))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherPipe, StandsOn, Same)))]
    pub shared_pipes: Vec<String>,
}

/// How cylinders stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CylinderLayout {
    /// Side by side.
    Parallel,
    /// Opposite each other.
    Opposed,
    /// In a V.
    V,
    /// In a square, on two cranks.
    Square,
}

/// What one of several cylinders has of its own in the engine.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnEngine {
    /// Its size, where it is not that of the others.
    pub engine: Option<BottomEnd>,
    /// Its windows and its intake.
    pub ports: Option<Ports>,
    /// Its head or head insert.
    pub head: Option<Head>,
}

/// Bottom end and cylinder size.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BottomEnd {
    /// Number of cylinders, up to 6; where there are several they have names under `[cylinders]`, and all sizes are of one.
    #[schemars(extend("x-range" = [1, 6], "x-whole" = true))]
    #[schemars(extend("x-means" = means(set(LAST, "engine cylinders"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub cylinders: Option<Number>,
    /// Cylinder bore.
    #[schemars(extend("x-range" = [20, 130], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub bore: Option<Length>,
    /// Stroke.
    #[schemars(extend("x-range" = [20, 130], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub stroke: Option<Length>,
    /// Connecting rod between centres.
    #[schemars(extend("x-range" = [40, 300], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub rod: Option<Length>,
    /// Offset of the cylinder axis or piston pin from the crank axis.
    #[schemars(extend("x-range" = [-10, 10], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub pin_offset: Option<Length>,
    /// Crankcase volume at bottom dead centre.
    #[schemars(extend("x-range" = [20, 2000], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub crankcase_volume: Option<Volume>,
}

/// How fresh mixture enters the case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Intake {
    /// Reed valve into the case.
    Reed,
    /// Piston skirt opens the window.
    PistonPort,
    /// Rotary disc or drum.
    RotaryValve,
}

/// The cylinder's windows and the intake. All heights are measured from the cylinder's top face, the deck.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ports {
    /// From the deck down to the crown's edge at top dead centre; negative when the crown stands above.
    #[schemars(extend("x-range" = [-5, 15], "x-metal" = "ports.base_gasket"))]
    #[schemars(extend("x-means" = means(nothing(), Deck, Known, OtherInside, StandsOn, Same)))]
    pub deck_height: Option<Length>,
    /// Thickness of the gasket or shims under the cylinder.
    #[schemars(extend("x-range" = [0, 10]))]
    #[schemars(extend("x-means" = means(set(500, "base gasket"), Gasket, Known, OtherInside, StandsOn, Same)))]
    pub base_gasket: Option<Length>,
    /// The windows, each under its own name: exhaust, auxiliary-left, transfer-main, boost.
    #[serde(default)]
    pub windows: BTreeMap<String, Window>,
    /// The power valve's drive.
    pub power_valve: Option<PowerValve>,
    /// Length of the exhaust duct in the cylinder, from the piston's face to the joint with the pipe; 0 where the header's
    /// length is taken from the piston's face.
    #[schemars(extend("x-range" = [0, 300], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub exhaust_duct: Option<Length>,
    /// How mixture enters the case.
    #[schemars(extend("x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub intake: Option<Intake>,
    /// Length of the intake tract, from the bell mouth to the reeds, the disc or the intake window.
    #[schemars(extend("x-range" = [20, 1000]))]
    #[schemars(extend("x-means" = means(set(LAST, "ports intake length"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub intake_length: Option<Length>,
    /// Mean inside diameter of the intake tract, where it is not that of the carburetor or throttle body.
    #[schemars(extend("x-range" = [10, 80]))]
    #[schemars(extend("x-means" = means(set(LAST, "ports intake diameter"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub intake_diameter: Option<Length>,
    /// Piston port: from the crown's edge down to the skirt's lower edge on the intake side.
    #[schemars(extend("x-range" = [15, 150], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub skirt_length: Option<Length>,
    /// The reed block.
    pub reed: Option<Reed>,
    /// Rotary valve: where it opens, in degrees of crank after bottom dead centre. Counted before top dead centre, as discs are
    /// often marked, take it off 180: 140 before top is 40.
    #[schemars(extend("x-range" = [0, 360], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub rotary_opens: Option<Angle>,
    /// Rotary valve: where it shuts, in degrees of crank after top dead centre.
    #[schemars(extend("x-range" = [0, 360], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub rotary_shuts: Option<Angle>,
}

/// What a window does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum WindowKind {
    /// The main exhaust.
    Exhaust,
    /// An auxiliary exhaust beside the main one.
    Auxiliary,
    /// A transfer, from the case to the cylinder.
    Transfer,
    /// The boost window opposite the exhaust.
    Boost,
    /// A piston-controlled intake.
    Intake,
}

/// One window, or several alike.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// What it does.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub kind: WindowKind,
    /// How many are alike.
    #[schemars(extend("x-range" = [1, 12], "x-whole" = true, "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub count: Option<Number>,
    /// Upper edge, from the deck.
    #[schemars(extend("x-range" = [0, 150], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub top: Option<Length>,
    /// Upper edge with the power valve shut, from the deck.
    #[schemars(extend("x-range" = [0, 150], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub top_valve_shut: Option<Length>,
    /// Lower edge or floor, from the deck.
    #[schemars(extend("x-range" = [0, 200], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub floor: Option<Length>,
    /// Width across the window, straight from edge to edge.
    #[schemars(extend("x-range" = [0.5, 120], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub width: Option<Length>,
    /// Width of a bridge that stands in the window.
    #[schemars(extend("x-range" = [0, 20], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub bridge: Option<Length>,
    /// Corner radius at the upper edge.
    #[schemars(extend("x-range" = [0, 60], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub top_radius: Option<Length>,
    /// Corner radius at the lower edge.
    #[schemars(extend("x-range" = [0, 60], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub floor_radius: Option<Length>,
    /// Angle of the roof to the horizontal, up is positive.
    #[schemars(extend("x-range" = [-45, 90], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub roof_angle: Option<Angle>,
    /// Direction in plan, from the line to the exhaust.
    #[schemars(extend("x-range" = [-180, 180], "x-metal" = ""))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub plan_angle: Option<Angle>,
}

/// The power valve's drive.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PowerValve {
    /// Engine speed at which it begins to open.
    #[schemars(extend("x-range" = [0, 25000]))]
    #[schemars(extend("x-means" = means(set(530, "power valve begins to open at"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub opens: Option<EngineSpeed>,
    /// Engine speed at which it is fully open.
    #[schemars(extend("x-range" = [0, 25000]))]
    #[schemars(extend("x-means" = means(set(540, "power valve fully open at"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub open: Option<EngineSpeed>,
    /// Spring, ramp or servo table by the name you know it by.
    #[schemars(extend("x-means" = means(fit(520, "power valve drive"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub drive: Option<String>,
}

/// The reed block.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reed {
    /// The block by the name you know it by.
    #[schemars(extend("x-means" = means(fit(510, "reed block"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub name: Option<String>,
    /// Number of petals.
    #[schemars(extend("x-range" = [1, 24], "x-whole" = true))]
    #[schemars(extend("x-means" = means(set_or_comes_with("reed petals", "ports.reed.name"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub petals: Option<Number>,
    /// Petal material.
    #[schemars(extend("x-means" = means(set_or_comes_with("reed material", "ports.reed.name"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub material: Option<String>,
    /// Petal thickness.
    #[schemars(extend("x-range" = [0.05, 3]))]
    #[schemars(extend("x-means" = means(set_or_comes_with("reed thickness", "ports.reed.name"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub thickness: Option<Length>,
    /// Free length of a petal.
    #[schemars(extend("x-range" = [5, 100]))]
    #[schemars(extend("x-means" = means(set_or_comes_with("reed length", "ports.reed.name"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub length: Option<Length>,
    /// Width of a petal.
    #[schemars(extend("x-range" = [3, 100]))]
    #[schemars(extend("x-means" = means(set_or_comes_with("reed width", "ports.reed.name"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub width: Option<Length>,
    /// Height of the stop above the petal's tip.
    #[schemars(extend("x-range" = [0, 40]))]
    #[schemars(extend("x-means" = means(set_or_comes_with("reed stop height", "ports.reed.name"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub stop_height: Option<Length>,
}

/// Head or head insert.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Head {
    /// The insert by the name you know it by; another name is another insert, which can lie in the drawer.
    #[schemars(extend("x-means" = means(fit(410, "head insert"), MayBeWorse, Known, OtherInside, StandsOn, Same)))]
    pub insert: Option<String>,
    /// Chamber volume at top dead centre.
    #[schemars(extend("x-range" = [1, 200], "x-metal" = "head.insert"))]
    #[schemars(extend("x-means" = means(nothing(), Chamber, Known, OtherInside, StandsOn, Same)))]
    pub chamber_volume: Option<Volume>,
    /// What the chamber volume includes: plug hole, dome, gasket.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub volume_includes: Option<String>,
    /// Squish clearance as measured with solder.
    #[schemars(extend("x-range" = [0.2, 6], "x-metal" = "head.insert head.gasket ports.base_gasket"))]
    #[schemars(extend("x-means" = means(nothing(), Squish, Known, OtherInside, StandsOn, Same)))]
    pub squish_clearance: Option<Length>,
    /// Width of the squish band.
    #[schemars(extend("x-range" = [0, 60], "x-metal" = "head.insert"))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub band_width: Option<Length>,
    /// Angle of the squish band to the horizontal.
    #[schemars(extend("x-range" = [-5, 45], "x-metal" = "head.insert"))]
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub band_angle: Option<Angle>,
    /// Shape of the dome: hemisphere, toroid, bathtub.
    #[schemars(extend("x-means" = means(nothing(), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub dome: Option<String>,
    /// Thickness of the head gasket or ring seal.
    #[schemars(extend("x-range" = [0, 5]))]
    #[schemars(extend("x-means" = means(set(420, "head gasket"), Gasket, Known, OtherInside, StandsOn, Same)))]
    pub gasket: Option<Length>,
    /// Spark plug, by the code on it.
    #[schemars(extend("x-means" = means(fit(430, "spark plug"), MayBeWorse, Known, OtherInside, StandsOn, Same)))]
    pub plug: Option<String>,
    /// Plug gap.
    #[schemars(extend("x-range" = [0.1, 3]))]
    #[schemars(extend("x-means" = means(set(440, "plug gap"), Harmless, Known, OtherInside, StandsOn, Same)))]
    pub plug_gap: Option<Length>,
}
