//! What a tuner may change without recompiling, in `configs/`: the jets in the box, the needles, and the shares.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::setup::NumberedBy;
use crate::notebook::fields::meaning::Circuit;
use crate::quantity::{Length, Measure, Number, Percent, Turns};

/// `configs/jets.toml`: the jets that are really in the box.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JetBox {
    /// Series of jets, each under its own name.
    #[serde(default)]
    pub series: BTreeMap<String, JetSeries>,
}

/// One series of jets.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JetSeries {
    /// Whether its numbers count flow or bore.
    pub numbered_by: NumberedBy,
    /// Circuit the series is for: main, pilot, power. A bike that names no series takes the one that fits.
    pub circuit: Option<Circuit>,
    /// Sizes in the box.
    #[schemars(extend("x-columns" = [{"name": "size", "range": [5, 900]}]))]
    pub sizes: Vec<f64>,
    /// One jet of a series numbered by flow whose bore is known: its number.
    #[schemars(extend("x-range" = [5, 900]))]
    pub known_number: Option<Number>,
    /// The bore of that jet, measured with a pin gauge.
    #[schemars(extend("x-range" = [0.1, 6]))]
    pub known_bore: Option<Length>,
    /// Where these numbers come from.
    pub source: Option<String>,
}

/// `configs/needles.toml`: needles by their code, as measured.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NeedleBox {
    /// Needles by their code.
    #[serde(default)]
    pub needles: BTreeMap<String, NeedleEntry>,
}

/// One needle.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NeedleEntry {
    /// Number of clip grooves.
    #[schemars(extend("x-range" = [1, 9], "x-whole" = true))]
    pub grooves: Number,
    /// Distance from groove to groove.
    #[schemars(extend("x-range" = [0.2, 3]))]
    pub groove_spacing: Length,
    /// Points along the needle, each `[position, diameter]` in mm: the position counts from the top groove towards the tip.
    #[schemars(extend("x-columns" = [
        {"name": "position", "unit": "mm", "range": [0, 200]},
        {"name": "diameter", "unit": "mm", "range": [0.2, 10]}
    ], "x-least-rows" = 2))]
    pub points: Vec<[f64; 2]>,
    /// Where these measurements come from.
    pub source: Option<String>,
}

/// `configs/shares.toml`: rules of the trade that the calculation needs and no book gives. Common practice, no source.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shares {
    /// What one turn of the air or fuel screw is worth at idle, in percent of fuel.
    #[schemars(extend("x-range" = [0.1, 50]))]
    pub screw_turn: Percent,
    /// Farthest in that the air or fuel screw is advised, in turns from lightly seated; farther in the next pilot jet is wanted.
    #[schemars(extend("x-range" = [0, 8]))]
    pub screw_least: Option<Turns>,
    /// Farthest out that the air or fuel screw is advised; farther out the next pilot jet is wanted.
    #[schemars(extend("x-range" = [0, 8]))]
    pub screw_most: Option<Turns>,
    /// What counts as one size of an injected bike's trim, in percent of fuel.
    #[schemars(extend("x-range" = [0.5, 10]))]
    pub trim_size: Option<Percent>,
    /// Discharge of the needle annulus beside that of the main jet (1 = equal; unproven).
    #[schemars(extend("x-range" = [0.3, 3]))]
    pub annulus_discharge: Number,
    /// Share of the fuel that comes from the pilot, `[slide lift in percent, share in percent]`.
    #[schemars(extend("x-columns" = [
        {"name": "slide lift", "unit": "%", "range": [0, 100]},
        {"name": "share", "unit": "%", "range": [0, 100]}
    ], "x-least-rows" = 1))]
    pub pilot: Vec<[f64; 2]>,
}

/// Where the screw belongs if a garage's table does not say, turns (common practice, no source).
pub(in crate::notebook) const SCREW_LEAST: f64 = 1.0;
pub(in crate::notebook) const SCREW_MOST: f64 = 2.0;

impl Shares {
    /// Turns out between which the air or fuel screw belongs, the smaller first; 1 and 2 where a garage's table does not say (common
    /// practice, no source).
    pub fn screw_place(&self) -> (f64, f64) {
        let least = self.screw_least.as_ref().map_or(SCREW_LEAST, Measure::si);
        let most = self.screw_most.as_ref().map_or(SCREW_MOST, Measure::si);
        (least, most)
    }

    /// One size of an injected bike's trim, percent; 2 where a garage's table does not say (common practice, no source).
    pub fn trim_size_percent(&self) -> f64 {
        100.0 * self.trim_size.as_ref().map_or(0.02, Measure::si)
    }
}
