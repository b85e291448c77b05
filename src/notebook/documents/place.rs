//! `places/<place>.toml`: a venue, and the airs that were kept there.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::air_entry::AirEntry;
use crate::notebook::fields::date::When;
use crate::quantity::{Elevation, Pressure};

/// A place where bikes run.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaceDocument {
    /// The place by the name you call it.
    pub title: Option<String>,
    /// Elevation of the track, not of an airfield nearby.
    #[schemars(extend("x-range" = [-500, 5000]))]
    pub elevation: Option<Elevation>,
    /// The lowest that a barometer usually reads there.
    #[schemars(extend("x-range" = [400, 1100]))]
    pub usual_lowest: Option<Pressure>,
    /// The highest that a barometer usually reads there.
    #[schemars(extend("x-range" = [400, 1100]))]
    pub usual_highest: Option<Pressure>,
    /// The track: surface, long straights, what the mixture has to last.
    pub notes: Option<String>,
    /// Airs that were kept, each under a name made of its time and a random id.
    #[serde(default)]
    pub airs: BTreeMap<String, KeptEntry>,
}

/// An air that was read once and serves what follows.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct KeptEntry {
    /// When it was read.
    pub date: When,
    /// The reading as typed.
    pub air: AirEntry,
    /// When it was typed in, where that is not the moment it was read: of two readings of one moment the one that was typed last serves.
    pub kept: Option<When>,
    /// Whether it is doubted: then it serves nothing that sets jets.
    pub doubted: Option<bool>,
}

impl KeptEntry {
    /// When it was typed in.
    pub fn typed(&self) -> When {
        self.kept.unwrap_or(self.date)
    }
}
