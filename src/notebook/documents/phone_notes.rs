//! What was noted on a pocket page: outings and ticks of jobs, as a file that the phone writes and `outing import` takes in.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::air_entry::AirEntry;
use crate::notebook::documents::outing::{OwnReading, Verdict};
use crate::notebook::fields::date::When;

/// The version of the form that is written.
pub const PHONE_NOTES_VERSION: u32 = 1;

/// Notes of a phone.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhoneNotes {
    /// Version of this form.
    pub phone_notes: u32,
    /// The garage that the page was made from, by its first commit: 40 hex digits.
    #[schemars(extend("pattern" = "^[0-9a-f]{40}$"))]
    pub garage: String,
    /// When the page was made.
    pub made: When,
    /// When the file was written, by the phone's clock.
    pub written: When,
    /// The notes, a line each where the page wrote the file; 1,000 at most.
    pub notes: Vec<PhoneNote>,
}

/// One note: an outing, or the tick of a job.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhoneNote {
    /// Its identity, 12 hex digits: the outing's or the tick's own in the garage, so that nothing comes twice.
    #[schemars(extend("pattern" = "^[0-9a-f]{12}$"))]
    pub id: String,
    /// Folder name of the bike.
    pub bike: String,
    /// Identity of the setup that the page showed as the bike's newest; left out where there was none.
    pub setup: Option<String>,
    /// When it was noted, by the phone's clock, with its offset.
    pub date: When,
    /// The outing; left out in the note of a tick.
    pub outing: Option<PhoneOuting>,
    /// The tick; left out in the note of an outing.
    pub tick: Option<PhoneTick>,
}

/// An outing as it is noted, each value as it is written in an outing's own file.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhoneOuting {
    /// Where it was.
    pub place: Option<String>,
    /// The session.
    pub session: Option<String>,
    /// Running time, with its unit: "18 min".
    pub hours: Option<String>,
    /// Best lap or run.
    pub lap: Option<String>,
    /// Plug reading.
    pub plug: Option<String>,
    /// Anything else.
    pub notes: Option<String>,
    /// The air that was entered on the page, as it was typed.
    pub air: Option<AirEntry>,
    /// The mixture by throttle zone.
    pub verdict: Option<Verdict>,
    /// What was seen at one of several cylinders, under its name.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub cylinder: BTreeMap<String, OwnReading>,
}

/// The tick of a job, or one taken back.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhoneTick {
    /// Number of the job, as the page showed it.
    pub number: u32,
    /// The field of the setup that it is for; left out for a part.
    pub field: Option<String>,
    /// The part that goes in or comes out.
    pub part: Option<String>,
    /// What the hands do, as the page showed it.
    pub what: String,
    /// Whether it was done, or is not done after all.
    pub done: bool,
}

impl PhoneNotes {
    /// The schema of the file, for whoever reads or writes it with another program.
    pub fn schema() -> serde_json::Value {
        let mut settings = SchemaSettings::draft2020_12();
        settings.inline_subschemas = true;
        settings.into_generator().into_root_schema_for::<Self>().to_value()
    }
}
