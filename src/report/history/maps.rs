//! A map: its cells, what of it is worth a look, and what a shaping of it changes.

use serde_json::{Value as Json, json};

use crate::notebook::fields::names::visible;
use crate::notebook::{MapTable, Region, Remark, RemarkKind, ShapeError};
use crate::report::air::reading::rounded;
use crate::report::draw::heat::{difference_table, map_table};
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::words::cells::{decimals_between, differing};
use crate::store::Recorded;

/// What was done with a map.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MapDeed {
    /// It is shown.
    Shown,
    /// It was held against the limits.
    Checked,
    /// It was changed, or would be.
    Changed,
    /// It was written to a file.
    Saved,
}

/// A map, and what there is to say of it.
#[derive(Debug)]
pub struct MapReport<'a> {
    /// The bike.
    pub bike: &'a str,
    /// "now" or "setup 12".
    pub setup: String,
    /// "ignition.advance" or "injection.fuel".
    pub field: &'a str,
    /// Unit of the cells: "deg", "ms", "mg" or "percent".
    pub unit: String,
    /// What was done.
    pub deed: MapDeed,
    /// What was done, in words: "shifted by -1.5 from 9,000 to 12,000 rpm".
    pub doing: String,
    /// The map.
    pub map: &'a MapTable,
    /// What it is held against or was before, and how that is called.
    pub old: Option<(String, &'a MapTable)>,
    /// What it was held against, in words.
    pub held: Vec<String>,
    /// What is worth a look.
    pub found: Vec<Remark>,
    /// What was not looked at, and why.
    pub not_checked: Vec<String>,
    /// What else should be known.
    pub notes: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// The file it was written to.
    pub file: Option<String>,
    /// What was recorded.
    pub recorded: Option<&'a Recorded>,
}

impl MapReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let cells = self.old.as_ref().map(|(_, old)| differing(old, self.map)).unwrap_or_default();
        json!({
            "bike": self.bike,
            "setup": self.setup,
            "field": self.field,
            "unit": self.unit,
            "map": { "rpm": self.map.rpm, "throttle": self.map.throttle, "rows": rows_json(self.map) },
            "against": self.old.as_ref().map(|(name, _)| name),
            "cells": cells,
            "found": self.found.iter().map(remark_json).collect::<Vec<_>>(),
            "held_against": self.held,
            "not_checked": self.not_checked,
            "remarks": self.notes,
            "cautions": self.cautions,
            "file": self.file,
            "recorded": self.recorded.map(|recorded| recorded.setup.number),
        })
    }

    /// For a person; what was recorded is told where changes are.
    pub fn text(&self, screen: &Screen) -> String {
        let called = |what: &str| format!("{}, {}: {what}", self.bike, self.setup);
        let cells = |map: &MapTable| map_table(map, screen.width());
        let heading = match self.deed {
            MapDeed::Saved => {
                format!("{} written to {}", called(self.field), self.file.as_deref().unwrap_or("-"))
            }
            MapDeed::Changed => called(&format!("{} {}", self.field, self.doing)),
            MapDeed::Shown | MapDeed::Checked => called(self.field),
        };
        let mut lines = vec![screen.strong(&screen.wrap(&visible(&heading), 2))];
        match (self.deed, &self.old) {
            (MapDeed::Saved | MapDeed::Checked, _) => {}
            (_, Some((name, old))) => {
                let how = if self.field == "ignition.advance" { "earlier" } else { "more fuel" };
                lines.push(format!("against {name}, {}: + is {how}", self.unit_words()));
                lines.push(String::new());
                let decimals = decimals_between(old, self.map);
                lines.push(difference_table(old, self.map, decimals, screen.width(), screen.coloured()));
            }
            (_, None) => {
                lines.push(self.unit_words().to_owned());
                lines.push(String::new());
                lines.push(cells(self.map));
            }
        }
        if self.deed == MapDeed::Checked {
            lines.extend(self.held.iter().map(|one| screen.wrap(&format!("  {}", visible(one)), 4)));
            lines.extend(self.findings(screen));
        }
        if self.deed == MapDeed::Changed {
            lines.push(String::new());
            lines.extend(self.warnings(screen));
            let same = self.old.as_ref().is_some_and(|(_, old)| old.same_as(self.map));
            let end = if same { "Nothing to record." } else { "Not recorded; --record records it." };
            lines.push(end.into());
        }
        lines.join("\n")
    }

    /// What should be known of a change, recorded or not.
    pub fn warnings(&self, screen: &Screen) -> Vec<String> {
        let found = self.found.iter().map(|one| format!("note: {}", one.sentence));
        let notes = found.chain(self.notes.iter().map(|note| format!("note: {note}")));
        let mut lines: Vec<String> = notes.map(|note| screen.wrap(&note, 6)).collect();
        if !self.cautions.is_empty() {
            let caution = format!("CAUTION  {}", self.cautions.join(" "));
            lines.push(screen.strong(&screen.wrap(&caution, 9)));
        }
        lines
    }

    fn findings(&self, screen: &Screen) -> Vec<String> {
        let mut lines = vec![String::new()];
        lines.extend(self.found.iter().map(|one| screen.wrap(&one.sentence, 2)));
        if self.found.is_empty() {
            lines.push("Nothing to look at.".into());
        }
        if !self.not_checked.is_empty() {
            lines.push(String::new());
            lines.push("Not checked:".into());
            lines.extend(self.not_checked.iter().map(|one| screen.wrap(&format!("  {}", visible(one)), 4)));
        }
        lines
    }

    /// The unit of the cells, as a mechanic says it.
    fn unit_words(&self) -> &str {
        match self.unit.as_str() {
            "deg" => "degrees",
            "ms" => "milliseconds",
            "mg" => "milligrams",
            "percent" => "percent",
            "" => "unit not written down",
            other => other,
        }
    }
}

fn rows_json(map: &MapTable) -> Vec<Vec<Json>> {
    map.rows.iter().map(|row| row.iter().map(|cell| rounded(*cell, 6)).collect()).collect()
}

fn remark_json(remark: &Remark) -> Json {
    let kind = match remark.kind {
        RemarkKind::Order => "order",
        RemarkKind::SinglePoint => "single_point",
        RemarkKind::Ragged => "ragged",
        RemarkKind::Gap => "gap",
        RemarkKind::SteepOverSpeed => "steep_over_speed",
        RemarkKind::SteepOverThrottle => "steep_over_throttle",
        RemarkKind::TooHigh => "too_high",
        RemarkKind::TooLow => "too_low",
    };
    let Region { rpm, throttle } = remark.place;
    json!({
        "kind": kind,
        "rpm": rpm.map(|(low, high)| [low, high]),
        "throttle": throttle.map(|(low, high)| [low, high]),
        "found": rounded(remark.found, 6),
        "limit": remark.limit.map(|limit| rounded(limit, 6)),
        "sentence": remark.sentence,
    })
}

impl From<ShapeError> for Trouble {
    fn from(error: ShapeError) -> Self {
        Self::request(None, error.to_string(), error.help())
    }
}
