//! `garage.toml` and `bikes/<bike>/bike.toml`.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::air_entry::AirEntry;
use crate::notebook::fields::date::When;
use crate::quantity::{Number, Units};

/// Name of the file that makes a folder a garage.
pub const GARAGE_FILE: &str = "garage.toml";

/// The garage.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GarageDocument {
    /// Layout of the garage's files; 1 for now.
    #[schemars(extend("x-range" = [1, 1000], "x-whole" = true))]
    pub layout: Number,
    /// Name of the garage or team.
    pub name: Option<String>,
    /// Units in which computed values are shown. In an imperial garage lengths are never written without a unit.
    #[serde(default)]
    pub units: Units,
    /// The air that a density is compared with where nothing else is named.
    pub reference_air: Option<AirEntry>,
}

/// One machine.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BikeDocument {
    /// The bike by the name you call it.
    pub title: Option<String>,
    /// Who rides it.
    pub rider: Option<String>,
    /// Number of cylinders of the engines that go into it.
    #[schemars(extend("x-range" = [1, 6], "x-whole" = true))]
    pub cylinders: Option<Number>,
    /// Frame number or anything else that tells it from its sister.
    pub frame: Option<String>,
    /// The jets and needles that are at hand for this bike.
    #[serde(rename = "box")]
    pub own_box: Option<OwnBox>,
    /// When it was retired.
    pub retired: Option<When>,
    /// Setups the tuner vouches for, by their identity.
    #[serde(default)]
    pub proven: BTreeMap<String, Proven>,
    /// Whatever else should be remembered.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, serde_json::Value>")]
    pub extra: toml::Table,
}

/// The jets and needles that are at hand for one bike, where that is not all that configs/ lists. A jet or needle that is in the
/// carburetor counts as at hand whether it is listed or not.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnBox {
    /// Main jets at hand, in any order: the numbers stamped on them, counted as the bike's main jet counts.
    #[serde(default)]
    #[schemars(extend("x-columns" = [{"name": "main jet", "range": [20, 900]}]))]
    pub main: Vec<f64>,
    /// Pilot jets at hand, in any order: the numbers stamped on them, counted as the bike's pilot jet counts.
    #[serde(default)]
    #[schemars(extend("x-columns" = [{"name": "pilot jet", "range": [5, 200]}]))]
    pub pilot: Vec<f64>,
    /// Needles at hand, by their codes in configs/needles.toml.
    #[serde(default)]
    pub needles: Vec<String>,
}

/// A mark on a setup that the tuner vouches for.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Proven {
    /// When it was marked.
    pub date: When,
    /// Why.
    pub why: Option<String>,
    /// The air it was proven in.
    pub air: Option<AirEntry>,
}
