//! The jetting over a grid of airs, for the lid of a toolbox, and over a list of forecast airs, for a weekend.

use std::io::Write;

use serde_json::{Value as Json, json};

use crate::advice::rejet::{ClipAdvice, Rejet};
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Circuit, FieldSet};
use crate::quantity::{Quantity, fixed, nearly_equal, trimmed};
use crate::report::air::reading::rounded;
use crate::report::jetting::record::percent;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::words::layout::{air_in_short, signed, table};

/// What the mark at a main jet or a trim means.
const ABOVE_THE_LIMIT: &str =
    "!: the risk of lean is above the limit there; ask for that air by itself before it is run.";

/// What to fit in one air.
#[derive(Debug, Clone, PartialEq)]
pub struct CardCell {
    /// Main jet; none where no size in the box is safe.
    pub main: Option<f64>,
    /// The sizes to go through to it from the one on the bike, where it is much leaner; the last is the jet itself.
    steps: Vec<f64>,
    /// Whether the setup has a main jet at all.
    has_main: bool,
    /// Clip groove, where the needle is known.
    pub clip: Option<u8>,
    /// Pilot jet.
    pub pilot: Option<f64>,
    /// Power jet.
    pub power: Option<f64>,
    /// Turns of the air or fuel screw.
    pub screw: Option<f64>,
    /// Needle, where one is named.
    pub needle: Option<String>,
    /// Whether it is another one than the baseline's.
    other_needle: bool,
    /// Trim of an injected bike, percent.
    pub trim: Option<f64>,
    /// The factor on the fuel.
    pub factor: f64,
    /// The chance of lean at full throttle, 0 to 1; none where the record says nothing.
    pub lean_risk: Option<f64>,
    /// Whether that is above the limit.
    above_limit: bool,
}

/// The heads of what a cell gives as CSV.
pub const fn cell_heads() -> [&'static str; 8] {
    ["fuel_factor", "main", "clip", "pilot", "power", "screw_turns", "needle", "trim_percent"]
}

impl CardCell {
    /// What an answer fits, from a baseline with this needle, with the chance of lean and its limit where the record knows them.
    pub fn of(rejet: &Rejet, needle: Option<&str>, risk: Option<(f64, f64)>) -> Self {
        let jet = |circuit| rejet.jets.iter().find(|jet| jet.circuit == circuit);
        Self {
            main: jet(Circuit::Main).and_then(|jet| jet.advised),
            steps: jet(Circuit::Main).map(|jet| jet.steps.clone()).unwrap_or_default(),
            has_main: jet(Circuit::Main).is_some(),
            clip: match rejet.clip {
                ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. } => None,
                ClipAdvice::Stays { clip, .. } => Some(clip),
                ClipAdvice::Move { to, .. } => Some(to),
            },
            pilot: jet(Circuit::Pilot).and_then(|jet| jet.advised),
            power: jet(Circuit::Power).and_then(|jet| jet.advised),
            screw: rejet.screw.as_ref().map(|screw| screw.to_turns),
            needle: rejet
                .needle
                .as_ref()
                .map_or(needle, |needle| Some(needle.to.as_str()))
                .map(str::to_owned),
            other_needle: rejet.needle.is_some(),
            trim: rejet.injection.as_ref().map(|advice| advice.to_percent),
            factor: rejet.factor.total,
            lean_risk: risk.map(|(risk, _)| risk),
            above_limit: risk.is_some_and(|(risk, limit)| risk > limit),
        }
    }

    /// What is on a bike.
    pub fn on_the_bike(fields: &FieldSet) -> Self {
        let number = |field: &str| fields.quantity(field).map(Quantity::si);
        let clip = number("jetting.clip")
            .and_then(|clip| (1..=u8::MAX).find(|groove| nearly_equal(f64::from(*groove), clip)));
        Self {
            main: number("jetting.main"),
            steps: Vec::new(),
            has_main: number("jetting.main").is_some(),
            clip,
            pilot: number("jetting.pilot"),
            power: number("jetting.power_jet"),
            screw: number("jetting.air_screw").or_else(|| number("jetting.fuel_screw")),
            needle: fields.text("jetting.needle").map(str::to_owned),
            other_needle: false,
            trim: number("injection.trim").map(|trim| 100.0 * trim),
            factor: 1.0,
            lean_risk: None,
            above_limit: false,
        }
    }

    /// In a cell: "178/3/50", with the power jet where there is one, or the trim.
    fn words(&self) -> String {
        let above = if self.above_limit { "!" } else { "" };
        if let Some(trim) = self.trim {
            return format!("{}{above}", signed(trim, 1));
        }
        let dash = || "-".to_owned();
        let main = match self.main {
            Some(main) => trimmed(main, 2),
            None if self.has_main => "none".to_owned(),
            None => dash(),
        };
        let clip = self.clip.map_or_else(dash, |clip| clip.to_string());
        let pilot = self.pilot.map_or_else(dash, |pilot| trimmed(pilot, 2));
        let mark = if self.other_needle { "*" } else { "" };
        let power = self.power.map(|power| format!("/{}", trimmed(power, 2))).unwrap_or_default();
        format!("{main}{above}/{clip}{mark}/{pilot}{power}")
    }

    /// As cells of a CSV line, under [`cell_heads`].
    pub fn csv(&self) -> Vec<String> {
        let number =
            |value: Option<f64>, decimals| value.map_or_else(String::new, |value| trimmed(value, decimals));
        vec![
            fixed(self.factor, 5),
            number(self.main, 2),
            self.clip.map_or_else(String::new, |clip| clip.to_string()),
            number(self.pilot, 2),
            number(self.power, 2),
            number(self.screw, 2),
            self.needle.clone().unwrap_or_default(),
            number(self.trim, 1),
        ]
    }

    fn json(&self) -> Json {
        json!({
            "factor": rounded(self.factor, 5),
            "main": self.main,
            "clip": self.clip,
            "pilot": self.pilot,
            "power": self.power,
            "screw_turns": self.screw,
            "needle": self.needle,
            "trim_percent": self.trim,
            "lean_risk": self.lean_risk.map(|risk| rounded(risk, 4)),
        })
    }

    /// What is to be done between two sessions, the quickest last; none where everything stays.
    fn changes_to(&self, next: &Self) -> String {
        let number = |name: &str, from: Option<f64>, to: Option<f64>, decimals| match (from, to) {
            (Some(from), Some(to)) if !nearly_equal(from, to) => {
                Some(format!("{name} {} → {}", trimmed(from, decimals), trimmed(to, decimals)))
            }
            (Some(_), None) if name == "main" => Some("no main jet is safe".to_owned()),
            (None, Some(to)) => Some(format!("{name} {}", trimmed(to, decimals))),
            _ => None,
        };
        let clip = |cell: &Self| cell.clip.map(f64::from);
        let needle = next.needle.as_deref().filter(|needle| self.needle.as_deref() != Some(*needle));
        // Much leaner is gone in steps, with plug and piston read on each.
        let main = match (self.main, next.steps.as_slice()) {
            (Some(from), [_, _, ..]) => {
                let sizes = std::iter::once(&from).chain(&next.steps).map(|size| trimmed(*size, 2));
                Some(format!("main {}, reading the plug on each", sizes.collect::<Vec<_>>().join(" → ")))
            }
            _ => number("main", self.main, next.main, 2),
        };
        let changes: Vec<String> = [
            main,
            needle.map(|needle| format!("needle {}", visible(needle))),
            number("clip", clip(self), clip(next), 0),
            number("pilot", self.pilot, next.pilot, 2),
            number("power", self.power, next.power, 2),
            number("screw", self.screw, next.screw, 2),
            number("trim", self.trim, next.trim, 1),
        ]
        .into_iter()
        .flatten()
        .collect();
        if changes.is_empty() { "nothing to change".to_owned() } else { changes.join(", ") }
    }
}

/// What stands in the cells, in words.
fn jets_words<'c>(mut cells: impl Iterator<Item = &'c CardCell>) -> &'static str {
    if cells.any(|cell| cell.power.is_some()) { "main/clip/pilot/power" } else { "main/clip/pilot" }
}

/// A row of the card.
#[derive(Debug, Clone)]
pub struct CardRow {
    /// Its pressure or elevation as typed.
    pub head: String,
    /// A cell for each temperature.
    pub cells: Vec<CardCell>,
}

/// The card.
pub struct Card<'a> {
    /// The bike.
    pub bike: &'a str,
    /// Number of the setup it starts from.
    pub baseline: u32,
    /// Temperatures across, as typed.
    pub temperatures: Vec<String>,
    /// What stands down the side: "pressure" or "elevation".
    pub down: &'static str,
    /// The rows.
    pub rows: Vec<CardRow>,
    /// What holds in every cell: humidity, sea-level pressure, in words.
    pub air_words: String,
    /// How much of it is theory and how much record, in words.
    pub record_words: String,
    /// What differs on the bike from that setup, in words.
    pub moved_on: Option<String>,
    /// The cautions.
    pub cautions: Vec<String>,
}

impl Card<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let rows: Vec<Json> = self
            .rows
            .iter()
            .map(|row| json!({ self.down: row.head, "cells": row.cells.iter().map(CardCell::json).collect::<Vec<_>>() }))
            .collect();
        json!({
            "bike": self.bike,
            "baseline": self.baseline,
            "temperatures": self.temperatures,
            "down": self.down,
            "rows": rows,
            "air": self.air_words,
            "record": self.record_words,
            "moved_on": self.moved_on,
            "cautions": self.cautions,
        })
    }

    /// For the lid of a toolbox.
    pub fn text(&self, screen: &Screen) -> String {
        let injected = self.rows.iter().flat_map(|row| &row.cells).any(|cell| cell.trim.is_some());
        let cells = || self.rows.iter().flat_map(|row| &row.cells);
        let what = if injected { "trim of the whole map in %" } else { jets_words(cells()) };
        let mut lines = vec![screen.strong(&format!("{}: {what}, from setup {}", self.bike, self.baseline))];
        lines.extend(self.moved_on.iter().map(|words| screen.wrap(words, 2)));
        lines.push(screen.wrap(&format!("  {}", self.air_words), 2));
        lines.push(String::new());
        lines.push(self.grid(screen, &CardCell::words));
        lines.push(String::new());
        lines.extend(self.screw(screen));
        if cells().any(|cell| cell.main.is_none() && cell.has_main) {
            lines.push(screen.wrap("none: no main jet in the box is safe there; do not run it.", 2));
        }
        if cells().any(|cell| cell.other_needle) {
            lines.push(screen.wrap("*: with another needle; the list by --csv names it.", 2));
        }
        if cells().any(|cell| cell.above_limit) {
            lines.push(screen.wrap(ABOVE_THE_LIMIT, 2));
        }
        lines.push(screen.wrap(&self.record_words, 2));
        lines.push(screen.wrap(&format!("CAUTION  {}", self.cautions.join(" ")), 9));
        lines.join("\n")
    }

    /// The screw: in a grid of its own where it is not the same everywhere.
    fn screw(&self, screen: &Screen) -> Vec<String> {
        let turns: Vec<Option<f64>> =
            self.rows.iter().flat_map(|row| &row.cells).map(|cell| cell.screw).collect();
        let shown = |turns: Option<f64>| turns.map_or_else(|| "-".to_owned(), |turns| trimmed(turns, 2));
        let Some(first) = turns.first().copied().flatten() else {
            return Vec::new();
        };
        if turns.iter().all(|turns| turns.is_some_and(|turns| nearly_equal(turns, first))) {
            return vec![format!("Pilot screw {} turns out everywhere.", shown(Some(first)))];
        }
        vec!["pilot screw, turns out".to_owned(), self.grid(screen, &|cell| shown(cell.screw)), String::new()]
    }

    /// The grid, in parts where the screen is too narrow for it.
    fn grid(&self, screen: &Screen, words: &dyn Fn(&CardCell) -> String) -> String {
        let widest = self
            .rows
            .iter()
            .flat_map(|row| row.cells.iter().map(|cell| words(cell).chars().count()))
            .chain(self.temperatures.iter().map(|head| head.chars().count()))
            .max()
            .unwrap_or(1);
        let side = self.rows.iter().map(|row| row.head.chars().count()).max().unwrap_or(1);
        let fit = (screen.width().saturating_sub(side.max(self.down.len()) + 2) / (widest + 2)).max(1);
        // Parts of one width: a last column by itself would be overlooked.
        let parts = self.temperatures.len().div_ceil(fit).max(1);
        let fit = self.temperatures.len().div_ceil(parts).max(1);
        let columns: Vec<usize> = (0..self.temperatures.len()).collect();
        let blocks: Vec<String> = columns.chunks(fit).map(|part| self.part(part, screen, words)).collect();
        blocks.join("\n\n")
    }

    fn part(&self, columns: &[usize], screen: &Screen, words: &dyn Fn(&CardCell) -> String) -> String {
        let mut head = vec![self.down];
        head.extend(columns.iter().filter_map(|at| self.temperatures.get(*at)).map(String::as_str));
        let rows = self
            .rows
            .iter()
            .map(|row| {
                let cells = columns.iter().filter_map(|at| row.cells.get(*at)).map(words);
                std::iter::once(row.head.clone()).chain(cells).collect()
            })
            .collect();
        let right: Vec<usize> = (0..head.len()).collect();
        table(&head, rows, &right, screen.width())
    }

    /// As CSV, a line for each cell.
    pub fn csv(&self, out: impl Write) -> Result<(), Trouble> {
        let mut writer = csv::Writer::from_writer(out);
        let heads = ["temperature", self.down].into_iter().chain(cell_heads());
        crate::report::air::list::finish(writer.write_record(heads))?;
        for row in &self.rows {
            for (temperature, cell) in self.temperatures.iter().zip(&row.cells) {
                let cells = [temperature.clone(), row.head.clone()].into_iter().chain(cell.csv());
                crate::report::air::list::finish(writer.write_record(cells))?;
            }
        }
        crate::report::air::list::finish(writer.flush().map_err(csv::Error::from))
    }
}

/// One session of a weekend.
pub struct PlanLine {
    /// Its other columns in the list, as typed: the session, the time.
    pub words: String,
    /// Its air.
    pub air: AirEntry,
    /// What to fit.
    pub cell: CardCell,
}

/// A weekend.
pub struct Plan<'a> {
    /// The bike.
    pub bike: &'a str,
    /// Number of the setup it starts from.
    pub baseline: u32,
    /// What is on the bike now.
    pub before: CardCell,
    /// The sessions in the order of the list.
    pub lines: Vec<PlanLine>,
    /// How much of it is theory and how much record, in words.
    pub record_words: String,
    /// What differs on the bike from that setup, in words.
    pub moved_on: Option<String>,
    /// The cautions.
    pub cautions: Vec<String>,
}

impl Plan<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let sessions: Vec<Json> = self
            .with_changes()
            .map(|(line, changes)| {
                let mut session = line.cell.json();
                if let Some(members) = session.as_object_mut() {
                    members.insert("session".to_owned(), json!(line.words));
                    members.insert("air".to_owned(), crate::report::history::outing::air_json(&line.air));
                    members.insert("change".to_owned(), json!(changes));
                }
                session
            })
            .collect();
        json!({
            "bike": self.bike,
            "baseline": self.baseline,
            "sessions": sessions,
            "record": self.record_words,
            "moved_on": self.moved_on,
            "cautions": self.cautions,
        })
    }

    /// The sessions with what to change before each.
    fn with_changes(&self) -> impl Iterator<Item = (&PlanLine, String)> {
        let before = std::iter::once(&self.before).chain(self.lines.iter().map(|line| &line.cell));
        self.lines.iter().zip(before).map(|(line, before)| (line, before.changes_to(&line.cell)))
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let injected = self.lines.iter().any(|line| line.cell.trim.is_some());
        let what = if injected { "trim %" } else { jets_words(self.lines.iter().map(|line| &line.cell)) };
        let mut lines =
            vec![screen.strong(&format!("{}: plan by session, from setup {}", self.bike, self.baseline))];
        lines.extend(self.moved_on.iter().map(|words| screen.wrap(words, 2)));
        lines.push(String::new());
        let rows = self
            .with_changes()
            .map(|(line, changes)| {
                vec![
                    visible(&line.words),
                    air_in_short(screen, &line.air),
                    line.cell.words(),
                    line.cell.lean_risk.map_or_else(|| "-".to_owned(), percent),
                    changes,
                ]
            })
            .collect();
        lines.push(table(&["session", "air", what, "lean risk", "before it"], rows, &[3], screen.width()));
        lines.push(String::new());
        if self.lines.iter().any(|line| line.cell.above_limit) {
            lines.push(screen.wrap(ABOVE_THE_LIMIT, 2));
        }
        lines.push(screen.wrap(&self.record_words, 2));
        lines.push(screen.wrap(&format!("CAUTION  {}", self.cautions.join(" ")), 9));
        lines.join("\n")
    }
}
