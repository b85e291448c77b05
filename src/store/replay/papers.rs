//! The builds and parts of a replayed season.

use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Table;

use crate::machine::Moment;
use crate::notebook::{Deed, Entered, Scope};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::writing::builds::{BuildChange, NewBuild, Recording, Tick, begin, write_down};
use crate::store::writing::parts::places::Fitting;
use crate::store::writing::parts::{NewPart, PartDeed, act, add};

/// A part taken into the book.
#[derive(Debug, Deserialize)]
pub(super) struct PartEvent {
    name: String,
    fit: Option<String>,
    at: Option<String>,
    instead_of: Option<String>,
    by: Option<String>,
    /// The fields of its file.
    #[serde(flatten)]
    fields: Table,
}

/// What was done to a part.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DeedEvent {
    part: String,
    did: String,
    engine: Option<String>,
    at: Option<String>,
    instead_of: Option<String>,
    hours: Option<toml::Value>,
    ran: Option<toml::Value>,
    how: Option<String>,
    by: Option<String>,
    note: Option<String>,
}

/// One assembly, as it was measured.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BuildEvent {
    engine: String,
    #[serde(default)]
    scope: Scope,
    why: Option<String>,
    by: Option<String>,
    /// Whether the steps of its check list were done.
    #[serde(default)]
    tick: bool,
    /// Steps that were left out, and why.
    #[serde(default)]
    left_out: BTreeMap<String, String>,
    /// Steps that stay open.
    #[serde(default)]
    open: Vec<String>,
    /// The torques of those that want one.
    #[serde(default)]
    torques: BTreeMap<String, String>,
    /// Fields of the build's file.
    #[serde(default)]
    set: Table,
}

impl PartEvent {
    pub(super) fn act(self, garage: &Garage, moment: &Moment) -> Result<(), StoreError> {
        let entered = entered(&self.fields);
        let fitted = self.fit.map(|engine| Fitting {
            engine,
            at: self.at,
            instead_of: self.instead_of,
            beside: false,
        });
        let new = NewPart { name: self.name, entered, fitted, date: None, by: self.by };
        add(garage, &new, moment).map(|_| ())
    }
}

impl DeedEvent {
    pub(super) fn act(self, garage: &Garage, moment: &Moment) -> Result<(), StoreError> {
        let moved = self.did == "moved";
        let word = if moved { Deed::Fitted.word() } else { self.did.as_str() };
        let did = Deed::ALL.into_iter().find(|deed| deed.word() == word).ok_or_else(|| {
            let words: Vec<_> = Deed::ALL.into_iter().map(Deed::word).collect();
            StoreError::request(
                Some("deed.did"),
                format!(
                    "\"{}\" is nothing that is done to a part.",
                    crate::notebook::fields::names::visible(&self.did)
                ),
                format!("Allowed: {}, moved.", words.join(", ")),
            )
        })?;
        let said = [
            ("hours", self.hours.as_ref().map(as_typed)),
            ("ran", self.ran.as_ref().map(as_typed)),
            ("how", self.how),
            ("by", self.by),
            ("note", self.note),
        ];
        let deed = PartDeed {
            part: self.part,
            did,
            date: None,
            fitting: self.engine.map(|engine| Fitting {
                engine,
                at: self.at,
                instead_of: self.instead_of,
                beside: false,
            }),
            moved,
            said: said.into_iter().filter_map(|(name, value)| Some((name, value?))).collect(),
        };
        act(garage, &deed, moment).map(|_| ())
    }
}

impl BuildEvent {
    pub(super) fn act(self, garage: &Garage, moment: &Moment) -> Result<(), StoreError> {
        let new = NewBuild {
            engine: self.engine.clone(),
            scope: self.scope,
            at: None,
            why: self.why.clone(),
            by: self.by.clone(),
            date: None,
            entered: entered(&self.set),
            gauges_as_before: true,
        };
        let record = begin(garage, &new, moment)?;
        let mut done = Vec::new();
        for (name, step) in record.build.steps_in_order() {
            // A step of each cylinder is meant by its own name too.
            let last = name.rsplit('.').next().unwrap_or(&name);
            let of = |said: &BTreeMap<String, String>| said.get(&name).or_else(|| said.get(last)).cloned();
            let left_out = of(&self.left_out);
            if self.open.iter().any(|open| *open == name || open == last)
                || (!self.tick && left_out.is_none())
            {
                continue;
            }
            let ticked = Tick {
                by: self.by.clone(),
                torque: of(&self.torques),
                mark: (step.wants_mark && left_out.is_none()).then(|| "white paint".to_owned()),
                left_out,
                ..Tick::default()
            };
            done.extend(ticked.entered(&name, step, moment.now)?);
        }
        if done.is_empty() {
            return Ok(());
        }
        let change = BuildChange { which: Some(record.id), entered: done };
        write_down(garage, &self.engine, &change, Recording::Now, moment).map(|_| ())
    }
}

fn entered(set: &Table) -> Vec<Entered> {
    set.iter().map(|(field, value)| Entered::new(field, Some(&as_typed(value)))).collect()
}

pub(super) fn as_typed(value: &toml::Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}
