//! What was on the bike in a run.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::runs::{RunOnBike, asked, lap_seconds};
use crate::notebook::fields::names::visible;
use crate::report::out::figure::Figure;

/// What was on the bike in a run.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Ran {
    /// Engine that was in the bike; null where the setup is not known.
    pub(super) engine: Option<String>,
    /// The cylinders of several, in the order in which their values stand where they differ; not there of a single.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) cylinders: Vec<String>,
    /// Main jet, as typed.
    pub(super) main: Option<String>,
    /// Groove of the needle's clip from the top, as typed.
    pub(super) clip: Option<String>,
    /// Pilot jet, as typed.
    pub(super) pilot: Option<String>,
    /// Base setting of the spark, as typed, with its unit.
    pub(super) spark: Option<String>,
    /// Best lap, seconds; null where what was typed is no time.
    pub(super) lap_s: Option<Figure<3>>,
    /// Fields that were asked about, with what they were in this run.
    pub(super) asked: Vec<AskedField>,
}

/// A field that was asked about.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct AskedField {
    /// Dotted field, like jetting.needle.
    pub(super) field: String,
    /// What it was, as typed; null where there was nothing.
    pub(super) value: Option<String>,
}

impl Ran {
    pub(super) fn of(run: RunOnBike<'_>, fields: &[String]) -> Self {
        let text = |field: &str| run.fitted.text(field);
        Self {
            engine: text("engine"),
            cylinders: run.fitted.cylinders(),
            main: text("jetting.main"),
            clip: text("jetting.clip"),
            pilot: text("jetting.pilot"),
            spark: text("ignition.base"),
            lap_s: run.record.outing.lap.as_deref().and_then(lap_seconds).map(Figure),
            asked: fields
                .iter()
                .map(|field| AskedField { field: field.clone(), value: asked(run, field) })
                .collect(),
        }
    }

    /// Main jet, clip and pilot jet: "178/2/52.5"; what differs between cylinders has a comma, "176,178/2/52.5", the cylinders as they
    /// stand in one of `orders`.
    pub(super) fn jets(&self, orders: &[Vec<String>]) -> String {
        let parts = [&self.main, &self.clip, &self.pilot];
        if parts.iter().all(|part| part.is_none()) {
            return String::new();
        }
        let own = &self.cylinders;
        let order = orders.iter().find(|order| are_the_same(order, own)).unwrap_or(own);
        let of_cylinders = |part: &String| {
            let each: Vec<&str> = part.split('/').collect();
            let of = |name: &String| each.get(own.iter().position(|other| other == name)?).copied();
            let sorted: Option<Vec<&str>> = order.iter().map(of).collect();
            let each = sorted.filter(|sorted| sorted.len() == each.len()).unwrap_or(each);
            visible(&each.join(","))
        };
        parts.map(|part| part.as_ref().map_or_else(|| "-".to_owned(), of_cylinders)).join("/")
    }
}

/// The cylinders of the runs whose jets differ between them, each engine's in one order: that of the first run, whatever order they
/// were written down in for another.
pub(super) fn orders<'r>(runs: impl Iterator<Item = &'r Ran>) -> Vec<Vec<String>> {
    let mut orders: Vec<Vec<String>> = Vec::new();
    for own in runs.map(|ran| &ran.cylinders).filter(|own| own.len() > 1) {
        if !orders.iter().any(|order| are_the_same(order, own)) {
            orders.push(own.clone());
        }
    }
    orders
}

/// Whether two lists name the same cylinders.
fn are_the_same(one: &[String], other: &[String]) -> bool {
    one.len() == other.len() && one.iter().all(|name| other.contains(name))
}
