//! A fuel map trimmed cell by cell: the factor and the duty first, then the cells to set, then the cautions.

use serde_json::{Value as Json, json};

use crate::advice::trim_map::{Duty, DutyAt, MAP, TrimMap, TrimMapError};
use crate::notebook::fields::names::visible;
use crate::notebook::{FuelMapUnit, MapTable, map_csv};
use crate::quantity::{fixed, trimmed};
use crate::report::air::reading::rounded;
use crate::report::draw::heat::map_table;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::words::layout::{grouped, signed, table};

/// A trimmed fuel map, ready to be told.
#[derive(Debug, Clone, Copy)]
pub struct TrimMapReport<'a> {
    /// The bike.
    pub bike: &'a str,
    /// The map before and after.
    pub trim: &'a TrimMap,
    /// The map on the bike, which may be another one than the baseline's.
    pub on_the_bike: &'a MapTable,
    /// The factors of each row after each later step; empty where one step does.
    pub then: &'a [Vec<f64>],
    /// The most fuel that one step takes away, as a part of the baseline's.
    pub step: f64,
}

impl TrimMapReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let trim = self.trim;
        let rows = |rows: &[Vec<f64>]| -> Vec<Vec<Json>> {
            rows.iter().map(|row| row.iter().map(|cell| rounded(*cell, 6)).collect()).collect()
        };
        json!({
            "bike": self.bike,
            "field": MAP,
            "unit": unit_word(trim.unit),
            "rpm": trim.after.rpm,
            "throttle": trim.after.throttle,
            "factors": trim.factors.iter().map(|factor| rounded(*factor, 6)).collect::<Vec<_>>(),
            "then": rows(self.then),
            "before": rows(&trim.before.rows),
            "after": rows(&trim.after.rows),
            "dead_time_ms": trim.dead_time_ms.map(|time| rounded(time, 6)),
            "duty": trim.duty.as_ref().ok().map(duty_json),
            "duty_not_known": trim.duty.as_ref().err().map(ToString::to_string),
            "warnings": trim.warnings,
            "remarks": trim.notes,
            "cautions": trim.cautions,
        })
    }

    /// For a person: everything but the cautions, which the report it stands in may have said.
    pub fn lines(&self, screen: &Screen) -> Vec<String> {
        let trim = self.trim;
        let mut lines = vec![screen.strong(&screen.wrap(&self.answer(), 2))];
        lines.extend(self.steps().map(|line| screen.strong(&screen.wrap(&line, 2))));
        lines.extend(self.most().map(|line| screen.wrap(&line, 2)));
        if let Err(gap) = &trim.duty {
            lines.push(screen.wrap(&format!("duty {gap}"), 2));
        }
        lines.push(String::new());
        lines.push(format!("cells to set, {}", unit_words(trim.unit)));
        lines.push(map_table(&trim.after, screen.width()));
        lines.push(String::new());
        lines.push(self.changes(screen));
        lines.push(String::new());
        let warnings = trim.warnings.iter().map(|line| format!("WARNING  {line}"));
        lines.extend(warnings.map(|line| screen.strong(&screen.wrap(&line, 9))));
        lines.extend(trim.notes.iter().map(|line| screen.wrap(&format!("note: {line}"), 6)));
        lines
    }

    /// For a person, whole.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.lines(screen);
        lines.push(screen.wrap(&format!("CAUTION  {}", self.trim.cautions.join(" ")), 9));
        let end = if self.stays() {
            "Every cell stays: there is nothing to load.".into()
        } else {
            format!(
                "The map was not changed. Written to a CSV file, the cells are recorded with `reedbook map load {} fuel FILE --record`.",
                self.bike
            )
        };
        lines.push(screen.wrap(&end, 0));
        lines.join("\n")
    }

    /// The cells to set, as `map load` reads them.
    pub fn csv(&self) -> String {
        map_csv(&self.trim.after)
    }

    fn stays(&self) -> bool {
        self.trim.after.same_as(self.on_the_bike)
    }

    /// The answer in one line.
    fn answer(&self) -> String {
        let trim = self.trim;
        let of = match (trim.unit, trim.dead_time_ms) {
            (FuelMapUnit::Ms, Some(_)) => "of its open time",
            (FuelMapUnit::Ms, None) => "of its whole pulse",
            (FuelMapUnit::Mg, _) => "of its fuel",
            (FuelMapUnit::Percent, _) => "of the fuel it stands for",
        };
        let first = if self.then.is_empty() { "" } else { "first " };
        let cells = match from_least_to_most(&trim.factors) {
            _ if self.stays() => "every cell stays".to_owned(),
            (all, None) => format!("{first}every cell × {all} {of}"),
            (least, Some(most)) => format!("{first}each cell × {least} to {most} {of}, by its throttle"),
        };
        let duty = trim.duty.as_ref().map_or_else(
            |_| String::new(),
            |duty| {
                let speed = grouped(duty.after.rpm);
                format!("; duty at {speed} rpm {}", from_to(duty.before, duty.after))
            },
        );
        format!("{}: {cells}{duty}", visible(self.bike))
    }

    /// The later steps, where it goes there in steps.
    fn steps(&self) -> Option<String> {
        let last = self.then.last()?;
        let by_way_of: Vec<String> = self
            .then
            .iter()
            .map(|factors| match from_least_to_most(factors) {
                (all, None) => format!("× {all}"),
                (least, Some(most)) => format!("× {least} to {most}"),
            })
            .collect();
        let taken = self.trim.factors.iter().zip(last).map(|(first, last)| first - last);
        let more = taken.fold(0.0, f64::max);
        Some(format!(
            "A step: {} % of the fuel at a time at most, and {} % more in all. Load these cells, read plug and piston on them, and ask again: then {}.",
            trimmed(100.0 * self.step, 1),
            fixed(100.0 * more, 1),
            by_way_of.join(", then ")
        ))
    }

    /// Where the duty is above that at the limiter.
    fn most(&self) -> Option<String> {
        let duty = self.trim.duty.as_ref().ok()?;
        let more = percent(duty.most_after) != percent(duty.after);
        more.then(|| {
            let most = duty.most_after;
            let throttle = most.throttle.map(|at| format!(", {} % throttle", trimmed(at, 1)));
            let place = format!("{} rpm{}", grouped(most.rpm), throttle.unwrap_or_default());
            format!("most duty up to there {}, at {place}", from_to(duty.most_before, most))
        })
    }

    /// What each row of cells changes by.
    fn changes(&self, screen: &Screen) -> String {
        let trim = self.trim;
        let rows = trim.factors.iter().enumerate().map(|(row, factor)| {
            let throttle = trim.after.throttle.get(row);
            vec![
                throttle.map_or_else(|| "any".to_owned(), |at| format!("{} %", trimmed(*at, 1))),
                format!("{} %", signed(100.0 * (factor - 1.0), 1)),
                self.change_of(row),
            ]
        });
        let cells = if trim.unit == FuelMapUnit::Percent { "added to the cells" } else { "cells" };
        table(&["throttle", "fuel", cells], rows.collect(), &[0, 1, 2], screen.width())
    }

    /// "-2.6 to -0.9 %": the least and the most that a row's cells change by; for cells in percent, what is
    /// added to them.
    fn change_of(&self, row: usize) -> String {
        let cells = |map: &'_ [Vec<f64>]| map.get(row).cloned().unwrap_or_default();
        let (before, after) = (cells(&self.trim.before.rows), cells(&self.trim.after.rows));
        let pairs = before.iter().zip(&after);
        let changes: Vec<f64> = if self.trim.unit == FuelMapUnit::Percent {
            pairs.map(|(before, after)| after - before).collect()
        } else {
            // A cell that holds nothing stays so.
            let filled = pairs.filter(|(before, _)| **before > 0.0);
            filled.map(|(before, after)| 100.0 * (after / before - 1.0)).collect()
        };
        let least = changes.iter().copied().reduce(f64::min).unwrap_or(0.0);
        let most = changes.iter().copied().reduce(f64::max).unwrap_or(0.0);
        let (least, most) = (signed(least, 1), signed(most, 1));
        if least == most { format!("{least} %") } else { format!("{least} to {most} %") }
    }
}

/// The least and the most of some factors, in words; one where they are the same.
fn from_least_to_most(factors: &[f64]) -> (String, Option<String>) {
    let least = fixed(factors.iter().copied().reduce(f64::min).unwrap_or(1.0), 3);
    let most = fixed(factors.iter().copied().reduce(f64::max).unwrap_or(1.0), 3);
    (least.clone(), (most != least).then_some(most))
}

/// "71 % → 69 %".
fn from_to(before: DutyAt, after: DutyAt) -> String {
    format!("{} → {}", percent(before), percent(after))
}

fn percent(duty: DutyAt) -> String {
    format!("{} %", fixed(100.0 * duty.share, 0))
}

/// "ms", "mg" or "percent", as the setup has it.
fn unit_word(unit: FuelMapUnit) -> &'static str {
    match unit {
        FuelMapUnit::Ms => "ms",
        FuelMapUnit::Mg => "mg",
        FuelMapUnit::Percent => "percent",
    }
}

/// The same as a mechanic says it.
fn unit_words(unit: FuelMapUnit) -> &'static str {
    match unit {
        FuelMapUnit::Ms => "milliseconds",
        FuelMapUnit::Mg => "milligrams",
        FuelMapUnit::Percent => "percent",
    }
}

fn duty_json(duty: &Duty) -> Json {
    json!({
        "at_limiter": duty.at_limiter,
        "before": duty_at_json(duty.before),
        "after": duty_at_json(duty.after),
        "most_before": duty_at_json(duty.most_before),
        "most_after": duty_at_json(duty.most_after),
    })
}

fn duty_at_json(at: DutyAt) -> Json {
    json!({
        "rpm": rounded(at.rpm, 1),
        "throttle": at.throttle,
        "pulse_ms": rounded(at.pulse_ms, 4),
        "percent": rounded(100.0 * at.share, 2),
    })
}

impl From<TrimMapError> for Trouble {
    fn from(error: TrimMapError) -> Self {
        Self::request(error.field(), error.to_string(), error.help())
    }
}
