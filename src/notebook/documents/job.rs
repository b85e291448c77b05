//! `jobs/<when>-<id>.toml`: what was still to be done at a bike when its setup was recorded, or a tick. A file is written once and
//! not rewritten, so that two who work at one bike never meet in it.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::fields::date::When;

/// Things to be done at a bike so that a setup is on it, or what was ticked of them.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// The bike.
    #[schemars(extend("pattern" = "^[a-z0-9][a-z0-9_-]{0,39}$"))]
    pub bike: String,
    /// Identity of the setup that wants it; of a part, the setup that was on the bike.
    pub setup: String,
    /// When it was written down.
    pub date: When,
    /// What is to be done, each under the number by which it is ticked.
    #[serde(default)]
    pub items: BTreeMap<String, JobItem>,
}

/// One thing to be done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobItem {
    /// The field of the setup that it is for; "part" for a part that goes in or comes out, "fitted" and the section for a part of
    /// an earlier setup that was said to be on again.
    pub field: String,
    /// The part that goes in or comes out.
    #[schemars(extend("pattern" = "^[a-z0-9][a-z0-9_-]{0,39}$"))]
    pub part: Option<String>,
    /// What the hands do.
    pub what: String,
    /// The value before, or the engine that a part comes out of, with its cylinder ("sanda-engine at right") where it was at one of several; left out where there was none.
    pub from: Option<String>,
    /// The value that the setup wants, or the engine that a part goes into, with its cylinder where it goes to one of several; left out where it wants none.
    pub to: Option<String>,
    /// When it was done; left out while it is not.
    pub done: Option<When>,
    /// When a tick was taken back: what was ticked before counts no more.
    pub undone: Option<When>,
}

/// What [`JobItem::field`] says of a part that goes in or comes out.
pub const OF_PART: &str = "part";
/// What stands before the section in [`JobItem::field`] for a part of an earlier setup that was said to be on again.
pub const SAID_TO_BE_ON: &str = "fitted.";

impl JobItem {
    /// What two items of a bike are one job by.
    pub fn key(&self) -> (&str, Option<&str>) {
        (&self.field, self.part.as_deref())
    }

    /// Whether it is a tick, or one taken back.
    pub fn is_mark(&self) -> bool {
        self.done.is_some() || self.undone.is_some()
    }
}
