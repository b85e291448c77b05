//! A customer's engine handed over: one file with its builds, its parts and its hours, and nothing else of the garage. What ran
//! comes back in a file of the same form.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::build::Build;
use crate::notebook::documents::outing::Outing;
use crate::notebook::documents::part::Deed;
use crate::notebook::fields::date::When;

/// The version of the form that is written.
pub const ENGINE_HANDOVER_VERSION: u32 = 1;

/// What can be handed over of an engine, in the order in which it is read out.
pub const ENGINE_SECTIONS: [&str; 6] = ["builds", "parts", "hours", "head", "outings", "notes"];

/// Chosen sections of an engine's record.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandedEngine {
    /// Version of this form.
    pub engine_handover: u32,
    /// The sections that are handed over.
    pub sections: Vec<String>,
    /// The sections that are not: nothing of them is in this file.
    pub without: Vec<String>,
    /// Where it comes from.
    pub from: HandedEngineFrom,
    /// What it ran, as that garage counts it.
    #[serde(default)]
    pub hours: Option<HandedHours>,
    /// Its builds, each under the name of its file: as measured, the check list with them.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, Build>")]
    pub builds: BTreeMap<String, toml::Table>,
    /// The parts that are or were in it, each under its name, with what happened to them in this engine.
    #[serde(default)]
    pub parts: BTreeMap<String, HandedPart>,
    /// Its runs, each under the identity of its outing, 12 hex digits, so that nothing comes twice.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, Outing>")]
    pub runs: BTreeMap<String, toml::Table>,
}

impl HandedEngine {
    /// The schema of the file, for whoever reads it with another program.
    pub fn schema() -> serde_json::Value {
        let mut settings = SchemaSettings::draft2020_12();
        settings.inline_subschemas = true;
        settings.into_generator().into_root_schema_for::<Self>().to_value()
    }
}

/// Where an engine's record comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandedEngineFrom {
    /// Name of the garage, where it has one.
    pub garage: Option<String>,
    /// Who handed it over.
    pub who: String,
    /// Folder name of the engine there.
    pub engine: String,
    /// Whose the engine is.
    pub owner: Option<String>,
    /// When it was handed over.
    pub handed_over: When,
}

/// What an engine ran by the record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandedHours {
    /// Hours.
    #[schemars(range(min = 0))]
    pub hours: f64,
    /// Whether that is the least it can be, because some runs have none.
    pub at_least: bool,
    /// How many runs that is.
    pub runs: u32,
}

/// A part that is or was in the engine.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandedPart {
    /// The part by the name it is called.
    pub title: Option<String>,
    /// Which kind of part it is: piston, ring, main-bearing.
    pub kind: String,
    /// What is stamped on it.
    pub number: Option<String>,
    /// Whether it is in the engine.
    pub is_in: bool,
    /// The cylinder it is or was at, where the engine has several.
    pub cylinder: Option<String>,
    /// Its whole hours: now, or when it came out of this engine.
    pub hours: Option<f64>,
    /// Whether these are the least it can be.
    pub hours_at_least: Option<bool>,
    /// Hours after which it is to be changed, by that garage's limits.
    pub change_at: Option<f64>,
    /// Anything else.
    pub notes: Option<String>,
    /// What happened to it in this engine, by date.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub events: Vec<HandedEvent>,
}

/// What happened to a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandedEvent {
    /// When.
    pub date: When,
    /// What was done.
    pub did: Deed,
    /// The cylinder it was put to.
    pub cylinder: Option<String>,
    /// Of a part that was taken out or looked at: whether it can be used as it is.
    pub usable: Option<bool>,
    /// How it failed.
    pub how: Option<String>,
    /// Who did it.
    pub by: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}
