//! Two setups side by side: by section, only what changed.

use serde_json::{Value as Json, json};

use crate::advice::building::InsideEngine;
use crate::advice::derived::Derived;
use crate::advice::standing::SinceOuting;
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::{AirEntry, Change, Comparison, MapDifference, ProseSign, Value, section_of};
use crate::quantity::{Units, fixed, trimmed};
use crate::report::air::reading::rounded;
use crate::report::engine::package::derived_words;
use crate::report::history::outing::air_json;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{air_in_short, count, signed, table};

/// Cells of a map that are shown one by one; with more only the sentence and the first ones are.
const CELLS_SHOWN: usize = 24;

/// An air and where it is known from.
pub type KnownAir = (AirEntry, String);

/// Two setups and what differs.
pub struct ComparisonReport<'a> {
    /// The bike, or "one and another".
    pub bike: String,
    /// The older side as it is called, "setup 3" or "now".
    pub from: String,
    /// The newer side.
    pub to: String,
    /// What differs.
    pub comparison: &'a Comparison,
    /// The air of both, where known.
    pub air: (Option<KnownAir>, Option<KnownAir>),
    /// What follows from the differences.
    pub derived: Vec<Derived>,
    /// Parts that stand alone beside the pipe now, or agree with it now.
    pub standings: Vec<String>,
    /// What changed since the last outing.
    pub since: Option<SinceOuting>,
    /// What changed inside the engine: parts and builds.
    pub inside: Option<InsideEngine>,
    /// Why a field could not be compared.
    pub remarks: Vec<String>,
}

impl ComparisonReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let air = |air: &Option<KnownAir>| air.as_ref().map(|(entry, _)| air_json(entry));
        json!({
            "bike": self.bike,
            "from": self.from,
            "to": self.to,
            "changes": changes_json(self.comparison),
            "maps": maps_json(self.comparison),
            "sections": self.comparison.tuning_sections(),
            "derived": self.derived.iter().map(derived_json).collect::<Vec<_>>(),
            "standings": self.standings,
            "air": { "from": air(&self.air.0), "to": air(&self.air.1) },
            "since_outing": self.since.as_ref().map(|since| json!({
                "outing": since.outing.id,
                "setup": since.setup,
                "sections": since.sections,
            })),
            "inside_engine": self.inside.as_ref().map(|inside| json!({
                "engine": inside.engine,
                "from": inside.from.to_string(),
                "to": inside.to.to_string(),
                "changes": inside.changes,
            })),
            "remarks": self.remarks,
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines =
            vec![screen.strong(&format!("{}: {} compared with {}", self.bike, self.to, self.from))];
        for (side, air) in [(&self.from, &self.air.0), (&self.to, &self.air.1)] {
            if let Some((entry, source)) = air {
                lines.push(
                    screen
                        .wrap(&format!("  {side}: {} ({})", air_in_short(screen, entry), visible(source)), 4),
                );
            }
        }
        lines.push(String::new());
        if self.comparison.is_empty() {
            let nothing =
                if self.inside.is_some() { "Nothing differs in the setups." } else { "Nothing differs." };
            lines.push(nothing.into());
        } else {
            lines.push(changes_text(screen, self.comparison, (&self.from, &self.to)));
            lines.push(String::new());
            lines.push(self.sum());
        }
        if let Some(inside) = &self.inside {
            lines.push(String::new());
            lines.push(format!(
                "Inside {}, {} against {}:",
                inside.engine,
                inside.to.day(),
                inside.from.day()
            ));
            lines.extend(inside.changes.iter().map(|change| screen.wrap(&format!("  {change}"), 4)));
        }
        if !self.derived.is_empty() || !self.standings.is_empty() {
            lines.push(String::new());
            lines.push("What follows, computed:".into());
            lines.extend(
                self.derived
                    .iter()
                    .map(|one| screen.wrap(&format!("  {}", derived_words(one, screen.units())), 4)),
            );
            lines.extend(self.standings.iter().map(|words| screen.wrap(&format!("  {words}"), 4)));
        }
        if let Some(since) = &self.since {
            lines.push(screen.wrap(&since.words(), 2));
        }
        lines.extend(self.remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
        lines.join("\n")
    }
}

impl ComparisonReport<'_> {
    /// How much differs, in one line.
    fn sum(&self) -> String {
        let differences = count(self.comparison.changes.len(), "difference");
        match self.comparison.tuning_sections().len() {
            0 => format!("{differences}, in the notes only."),
            sections => format!("{differences} in {} of the bike.", count(sections, "section")),
        }
    }
}

fn derived_json(one: &Derived) -> Json {
    let value = |side: Option<f64>| side.map(|value| rounded(value, one.decimals + 1));
    json!({
        "figure": one.figure,
        "unit": one.unit,
        "old": value(one.old),
        "new": value(one.new),
        "words": derived_words(one, Units::Metric),
    })
}

/// Changes of single fields, for a script; maps have their own list.
pub(super) fn changes_json(comparison: &Comparison) -> Vec<Json> {
    comparison
        .changes
        .iter()
        .map(|change| {
            let difference = change.difference.as_ref();
            json!({
                "field": change.field,
                "old": change.old.as_ref().map(Value::text),
                "new": change.new.as_ref().map(Value::text),
                "difference": difference.map(|d| rounded(d.value, 6)),
                "unit": difference.map(|d| d.unit).filter(|unit| !unit.is_empty()),
                "percent": difference.and_then(|d| d.percent).map(|percent| rounded(percent, 3)),
            })
        })
        .collect()
}

pub(super) fn maps_json(comparison: &Comparison) -> Vec<Json> {
    let maps = comparison.changes.iter().filter_map(|change| Some((change, change.map.as_ref()?)));
    maps.map(|(change, map)| {
        let cells: Vec<_> = map
            .cells
            .iter()
            .map(|cell| json!({ "rpm": cell.place.rpm, "throttle": cell.place.throttle, "old": cell.old, "new": cell.new }))
            .collect();
        json!({ "field": change.field, "sentence": map.sentence, "axes_changed": map.axes_changed, "cells": cells })
    })
    .collect()
}

/// The changes by section; `sides` are the names of the old and the new column.
pub(super) fn changes_text(screen: &Screen, comparison: &Comparison, sides: (&str, &str)) -> String {
    let mut blocks = Vec::new();
    let mut rows = Vec::new();
    let mut last_section = "";
    let mut after = Vec::new();
    for change in &comparison.changes {
        let section = section_of(&change.field);
        let shown = if section == last_section { String::new() } else { section.to_owned() };
        last_section = section;
        if let Some(lines) = prose_lines(change) {
            after.push(format!("{}:\n{lines}", change.field));
            continue;
        }
        if let Some(map) = &change.map {
            after.push(map_text(screen, change, map));
        }
        rows.push(row(shown, change));
    }
    if !rows.is_empty() {
        blocks.push(table(&["section", "field", sides.0, sides.1, "difference"], rows, &[], screen.width()));
    }
    blocks.extend(after);
    blocks.join("\n\n")
}

fn row(section: String, change: &Change) -> Vec<String> {
    let text =
        |value: &Option<Value>| value.as_ref().map_or_else(|| "-".to_owned(), |value| visible(&value.text()));
    let difference = match (&change.difference, &change.map) {
        (Some(difference), _) => {
            let percent =
                difference.percent.map(|percent| format!(" ({} %)", signed(percent, 1))).unwrap_or_default();
            format!(
                "{} {}{percent}{}",
                signed(difference.value, difference.decimals),
                difference.unit,
                direction(change)
            )
            .replace("  ", " ")
            .trim()
            .to_owned()
        }
        (None, Some(map)) => map.sentence.clone(),
        (None, None) => String::new(),
    };
    vec![section, field_words(&change.field), text(&change.old), text(&change.new), difference]
}

/// A field within its section, as a mechanic would say it: "air screw", "exhaust top".
pub(super) fn field_words(field: &str) -> String {
    let inner = field.split_once('.').map_or(field, |(_, inner)| inner);
    let words: Vec<_> = inner.split('.').filter(|name| !matches!(*name, "windows" | "sections")).collect();
    visible(&words.join(" ").replace('_', " "))
}

/// A difference of cells with the decimals it needs, one at least and two at most.
fn signed_trimmed(difference: f64) -> String {
    let decimals = if fixed(difference, 2).ends_with('0') { 1 } else { 2 };
    signed(difference, decimals)
}

/// Edges are measured from the deck downwards, so that a smaller number is a higher edge: said in words.
fn direction(change: &Change) -> &'static str {
    let edge =
        ["top", "floor", "top_valve_shut"].iter().any(|edge| change.field.ends_with(&format!(".{edge}")));
    match change.difference.as_ref().filter(|_| edge && section_of(&change.field) == "ports") {
        Some(difference) if difference.value < 0.0 => ", higher",
        Some(difference) if difference.value > 0.0 => ", lower",
        _ => "",
    }
}

fn map_text(screen: &Screen, change: &Change, map: &MapDifference) -> String {
    let value = |cell: Option<f64>| cell.map_or_else(|| "-".to_owned(), |value| trimmed(value, 2));
    let two_dimensional = map.cells.iter().any(|cell| cell.place.throttle.is_some());
    let rows: Vec<Vec<String>> = map
        .cells
        .iter()
        .take(CELLS_SHOWN)
        .map(|cell| {
            let difference = match (cell.old, cell.new) {
                (Some(old), Some(new)) => signed_trimmed(new - old),
                _ => String::new(),
            };
            let mut row = vec![crate::report::words::layout::grouped(cell.place.rpm)];
            if two_dimensional {
                row.push(
                    cell.place
                        .throttle
                        .map(|throttle| format!("{} %", fixed(throttle, 0)))
                        .unwrap_or_default(),
                );
            }
            row.extend([value(cell.old), value(cell.new), difference]);
            row
        })
        .collect();
    let head: &[&str] = if two_dimensional {
        &["rpm", "throttle", "old", "new", "difference"]
    } else {
        &["rpm", "old", "new", "difference"]
    };
    let columns: Vec<usize> = (0..head.len()).collect();
    let mut text = format!(
        "{}, cell by cell:\n{}",
        field_words(&change.field),
        table(head, rows, &columns, screen.width())
    );
    if map.cells.len() > CELLS_SHOWN {
        text.push_str(&format!("\n… and {} more cells (--json has all)", map.cells.len() - CELLS_SHOWN));
    }
    text
}

fn prose_lines(change: &Change) -> Option<String> {
    let lines = change.prose.as_ref()?;
    let shown: Vec<_> = lines
        .iter()
        .map(|line| {
            let sign = match line.sign {
                ProseSign::Kept => " ",
                ProseSign::Removed => "-",
                ProseSign::Added => "+",
                ProseSign::Gap => return "  ...".to_owned(),
            };
            format!("  {sign} {}", visible_lines(&line.text))
        })
        .collect();
    Some(shown.join("\n"))
}
