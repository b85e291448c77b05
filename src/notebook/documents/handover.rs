//! A setup handed over: one file that carries chosen sections of a setup to somebody else, and nothing of the others.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::air_entry::AirEntry;
use crate::notebook::fields::date::When;
use crate::notebook::maps::table::MapTable;

/// The version of the form that is written.
pub const HANDOVER_VERSION: u32 = 1;

/// Chosen sections of a setup, with the air that they were right in and where they come from.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Handover {
    /// Version of this form.
    pub handover: u32,
    /// Whether whoever hands it over vouches for the setup that it was taken from.
    pub proven: bool,
    /// Where the air below is known from.
    pub air_from: Option<String>,
    /// The sections that are handed over.
    pub sections: Vec<String>,
    /// The sections that are not: nothing of them is in this file.
    pub without: Vec<String>,
    /// What can hurt.
    pub cautions: Vec<String>,
    /// Where it comes from.
    pub from: HandedFrom,
    /// The air that it was right in, as it was read.
    #[serde(default)]
    pub air: Option<AirEntry>,
    /// Every value by its dotted field, as it was typed.
    #[serde(default)]
    pub fields: BTreeMap<String, String>,
    /// Every map by its dotted field.
    #[serde(default)]
    pub maps: BTreeMap<String, HandedMap>,
    /// What a file that was read says can hurt beside what this program says of any: how it ran where it comes from.
    #[serde(skip)]
    pub said_there: Vec<String>,
}

impl Handover {
    /// The schema of the file, for whoever reads it with another program.
    pub fn schema() -> serde_json::Value {
        let mut settings = SchemaSettings::draft2020_12();
        settings.inline_subschemas = true;
        settings.into_generator().into_root_schema_for::<Self>().to_value()
    }
}

/// Where a handover comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandedFrom {
    /// Name of the garage, where it has one.
    pub garage: Option<String>,
    /// Who handed it over.
    pub who: String,
    /// Folder name of the bike there.
    pub bike: String,
    /// Number of the setup there.
    pub setup: u32,
    /// When that setup was recorded.
    pub recorded: When,
    /// When it was handed over.
    pub handed_over: When,
}

/// A map with its breakpoints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandedMap {
    /// Unit of the cells.
    pub unit: String,
    /// Engine speeds across, rpm.
    pub rpm: Vec<f64>,
    /// Throttle openings down, percent; empty for a map over engine speed alone.
    pub throttle: Vec<f64>,
    /// One row for each throttle opening, or a single row.
    pub rows: Vec<Vec<f64>>,
}

impl From<&MapTable> for HandedMap {
    fn from(map: &MapTable) -> Self {
        Self {
            unit: map.unit.clone(),
            rpm: map.rpm.clone(),
            throttle: map.throttle.clone(),
            rows: map.rows.clone(),
        }
    }
}

impl HandedMap {
    /// As a table; none where its rows and breakpoints do not go together.
    pub fn table(&self) -> Option<MapTable> {
        let ascending = |axis: &[f64]| axis.windows(2).all(|pair| pair[0] < pair[1]);
        let finite = |numbers: &[f64]| numbers.iter().all(|number| number.is_finite());
        let rows = self.throttle.len().max(1);
        let fits =
            self.rows.len() == rows && self.rows.iter().all(|row| row.len() == self.rpm.len() && finite(row));
        let axes = [&self.rpm, &self.throttle].into_iter().all(|axis| ascending(axis) && finite(axis));
        (fits && axes && !self.rpm.is_empty()).then(|| MapTable {
            rpm: self.rpm.clone(),
            throttle: self.throttle.clone(),
            rows: self.rows.clone(),
            unit: self.unit.clone(),
            file: None,
        })
    }
}
