//! A fuel map trimmed cell by cell: the factor and the duty first, then the cells to set, then the cautions.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::learning::percent_beside;
use crate::advice::maps::trim::{Duty, DutyAt, MAP, TrimMap, TrimMapError};
use crate::notebook::fields::cylinder::{at_cylinder, said_of_all};
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, FuelMapUnit, MapTable, map_csv};
use crate::quantity::{fixed, trimmed};
use crate::report::draw::heat::map_table;
use crate::report::out::each::OfCylinders;
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::words::layout::{grouped, signed, table};

/// Every cell of an injected bike's fuel map for other air or fuel, and the injector's duty.
#[derive(Debug, Serialize, JsonSchema)]
pub struct TrimMapAnswer<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Dotted field of the map.
    field: &'static str,
    /// What the cells are.
    unit: FuelMapUnit,
    /// Engine speeds, rpm.
    rpm: &'a [f64],
    /// Throttle openings, percent; empty when the map has none.
    throttle: &'a [f64],
    /// Factor on the fuel for each row.
    factors: Vec<Figure<6>>,
    /// Factors on the fuel for each row after each later step, once plug and piston were read on the one before; empty where one step
    /// does.
    then: Vec<Vec<Figure<6>>>,
    /// Cells of the baseline, a row for each throttle opening.
    before: Vec<Vec<Figure<6>>>,
    /// Cells to set.
    after: Vec<Vec<Figure<6>>>,
    /// The chance of lean at full throttle with these cells, 0 to 1; null where the bike's record does not say.
    lean_risk: Option<Figure<4>>,
    /// The most that is taken there.
    #[serde(skip)]
    limit: f64,
    /// Dead time they were reckoned with, ms; null where it does not matter.
    dead_time_ms: Option<Figure<6>>,
    /// Duty of the injector; null where it cannot be said.
    duty: Option<DutyChange>,
    /// What is needed for the duty, in words.
    duty_not_known: Option<String>,
    /// What is dangerous.
    warnings: &'a [String],
    /// What it rests on.
    remarks: &'a [String],
    /// The cautions.
    cautions: &'a [String],
    /// The cells to set with their axes.
    #[serde(skip)]
    map: &'a MapTable,
    /// The air that they are for, as it is typed behind a command.
    #[serde(skip)]
    air: String,
    /// Whether they are on the bike already.
    #[serde(skip)]
    stays: bool,
    /// The most fuel that one step takes away, as a part of the baseline's.
    #[serde(skip)]
    step: f64,
}

/// An air as it is typed behind a command: `--temp "24 C" --baro "1008 hPa"`.
fn as_options(air: &AirEntry) -> String {
    let option =
        |(name, text): &(&str, String)| format!("--{} \"{}\"", name.replace('_', "-"), visible(text));
    air.parts().iter().map(option).collect::<Vec<_>>().join(" ")
}

/// Duty of the injector before and after.
#[derive(Debug, Serialize, JsonSchema)]
struct DutyChange {
    /// Whether it is at the limiter's speed, or at the map's highest because the limiter is not known.
    at_limiter: bool,
    /// At that speed, before.
    before: DutyPoint,
    /// At that speed, after.
    after: DutyPoint,
    /// The most up to that speed, before.
    most_before: DutyPoint,
    /// The most up to that speed, after.
    most_after: DutyPoint,
}

/// Duty of the injector at one place of the map.
#[derive(Debug, Serialize, JsonSchema)]
struct DutyPoint {
    /// Engine speed, rpm.
    rpm: Figure<1>,
    /// Throttle opening, percent; null when the map has no throttle.
    throttle: Option<f64>,
    /// Pulse, ms, dead time included.
    pulse_ms: Figure<4>,
    /// Share of the time that the injector is driven, percent.
    percent: Figure<2>,
}

impl From<&Duty> for DutyChange {
    fn from(duty: &Duty) -> Self {
        Self {
            at_limiter: duty.at_limiter,
            before: duty.before.into(),
            after: duty.after.into(),
            most_before: duty.most_before.into(),
            most_after: duty.most_after.into(),
        }
    }
}

impl From<DutyAt> for DutyPoint {
    fn from(at: DutyAt) -> Self {
        Self {
            rpm: Figure(at.rpm),
            throttle: at.throttle,
            pulse_ms: Figure(at.pulse_ms),
            percent: Figure(100.0 * at.share),
        }
    }
}

impl DutyPoint {
    fn words(&self) -> String {
        format!("{} %", fixed(self.percent.0, 0))
    }
}

impl<'a> TrimMapAnswer<'a> {
    /// A trimmed map beside the one on the bike, which may be another than the baseline's. `then` holds the factors of each row after
    /// each later step; `step` is the most fuel that one step takes away, as a part of the baseline's; `risk` the chance of lean at full
    /// throttle with its limit, where the record knows it; `air` the one that they are for.
    pub fn new(
        bike: &'a str,
        (trim, on_the_bike): (&'a TrimMap, &MapTable),
        (then, step): (&[Vec<f64>], f64),
        (risk, air): (Option<(f64, f64)>, &AirEntry),
    ) -> Self {
        let figures = |row: &Vec<f64>| row.iter().copied().map(Figure).collect::<Vec<_>>();
        let rows = |rows: &[Vec<f64>]| rows.iter().map(figures).collect();
        Self {
            bike,
            field: MAP,
            unit: trim.unit,
            rpm: &trim.after.rpm,
            throttle: &trim.after.throttle,
            factors: figures(&trim.factors),
            then: rows(then),
            before: rows(&trim.before.rows),
            after: rows(&trim.after.rows),
            lean_risk: risk.map(|(risk, _)| Figure(risk)),
            limit: risk.map_or(1.0, |(_, limit)| limit),
            dead_time_ms: trim.dead_time_ms.map(Figure),
            duty: trim.duty.as_ref().ok().map(DutyChange::from),
            duty_not_known: trim.duty.as_ref().err().map(ToString::to_string),
            warnings: &trim.warnings,
            remarks: &trim.notes,
            cautions: &trim.cautions,
            map: &trim.after,
            air: as_options(air),
            stays: trim.after.same_as(on_the_bike),
            step,
        }
    }

    /// For a person: everything but the cautions, which the report it stands in may have said.
    pub fn lines(&self, screen: &Screen) -> Vec<String> {
        let mut lines = vec![screen.strong(&screen.wrap(&self.answer(), 2))];
        let warnings = self.warnings.iter().map(|line| format!("WARNING  {line}"));
        lines.extend(warnings.map(|line| screen.strong(&screen.wrap(&line, 9))));
        lines.extend(self.steps().map(|line| screen.strong(&screen.wrap(&line, 2))));
        lines.extend(self.most().map(|line| screen.wrap(&line, 2)));
        lines.extend(self.risk().map(|line| screen.wrap(&line, 2)));
        if let Some(gap) = &self.duty_not_known {
            lines.push(screen.wrap(&format!("duty {gap}"), 2));
        }
        lines.push(String::new());
        lines.push(format!("cells to set, {}", unit_words(self.unit)));
        lines.push(map_table(self.map, screen.width()));
        lines.push(String::new());
        lines.push(self.changes(screen));
        lines.push(String::new());
        lines.extend(self.remarks.iter().map(|line| screen.known(line)));
        lines
    }

    /// For a person, whole.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.lines(screen);
        lines.extend(self.end(screen));
        lines.join("\n")
    }

    /// The cautions, and what is done with the cells.
    fn end(&self, screen: &Screen) -> Vec<String> {
        let mut lines = Vec::new();
        lines.push(screen.wrap(&format!("CAUTION  {}", self.cautions.join(" ")), 9));
        let end = if self.stays {
            "Every cell stays: there is nothing to load.".into()
        } else {
            format!(
                "The map was not changed. Written to a CSV file, the cells are recorded with `reedbook map load {} fuel FILE --record` and the air that they are for: {}.",
                self.bike, self.air
            )
        };
        lines.push(screen.wrap(&end, 0));
        lines
    }

    /// The cells to set, as `map load` reads them.
    pub fn csv(&self) -> String {
        map_csv(self.map)
    }

    /// The answer in one line.
    fn answer(&self) -> String {
        let of = match (self.unit, self.dead_time_ms) {
            (FuelMapUnit::Ms, Some(_)) => "of its open time",
            (FuelMapUnit::Ms, None) => "of its whole pulse",
            (FuelMapUnit::Mg, _) => "of its fuel",
            (FuelMapUnit::Percent, _) => "of the fuel it stands for",
        };
        let first = if self.then.is_empty() { "" } else { "first " };
        let cells = match from_least_to_most(&self.factors) {
            _ if self.stays => "every cell stays".to_owned(),
            (all, None) => format!("{first}every cell × {all} {of}"),
            (least, Some(most)) => format!("{first}each cell × {least} to {most} {of}, by its throttle"),
        };
        let duty = self.duty.as_ref().map(|duty| {
            let speed = grouped(duty.after.rpm.0);
            format!("; duty at {speed} rpm {}", from_to(&duty.before, &duty.after))
        });
        format!("{}: {cells}{}", visible(self.bike), duty.unwrap_or_default())
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
        let taken = self.factors.iter().zip(last).map(|(first, last)| first.0 - last.0);
        let more = taken.fold(0.0, f64::max);
        Some(format!(
            "A step: {} % of the fuel at a time at most, and {} % more in all. Load these cells, read plug and piston on them, and ask again: then {}.",
            trimmed(100.0 * self.step, 1),
            fixed(100.0 * more, 1),
            by_way_of.join(", then ")
        ))
    }

    /// The chance of lean at full throttle, as the answer for the whole map gives it.
    fn risk(&self) -> Option<String> {
        let risk = self.lean_risk?.0;
        let taken = trimmed(100.0 * self.limit, 1);
        let lean = percent_beside(risk, self.limit, 0);
        let above = if risk > self.limit { ": read plug and piston before it is held open" } else { "" };
        Some(format!("lean at full throttle with a chance of {lean}, {taken} % are taken{above}"))
    }

    /// Where the duty is above that at the limiter.
    fn most(&self) -> Option<String> {
        let duty = self.duty.as_ref()?;
        let more = duty.most_after.words() != duty.after.words();
        more.then(|| {
            let most = &duty.most_after;
            let throttle = most.throttle.map(|at| format!(", {} % throttle", trimmed(at, 1)));
            let place = format!("{} rpm{}", grouped(most.rpm.0), throttle.unwrap_or_default());
            format!("most duty up to there {}, at {place}", from_to(&duty.most_before, most))
        })
    }

    /// What each row of cells changes by.
    fn changes(&self, screen: &Screen) -> String {
        let rows = self.factors.iter().enumerate().map(|(row, factor)| {
            let throttle = self.throttle.get(row);
            vec![
                throttle.map_or_else(|| "any".to_owned(), |at| format!("{} %", trimmed(*at, 1))),
                format!("{} %", signed(100.0 * (factor.0 - 1.0), 1)),
                self.change_of(row),
            ]
        });
        let cells = if self.unit == FuelMapUnit::Percent { "added to the cells" } else { "cells" };
        table(&["throttle", "fuel", cells], rows.collect(), &[0, 1, 2], screen.width())
    }

    /// "-2.6 to -0.9 %": the least and the most that a row's cells change by; for cells in percent, what is
    /// added to them.
    fn change_of(&self, row: usize) -> String {
        let cells = |map: &[Vec<Figure<6>>]| map.get(row).cloned().unwrap_or_default();
        let (before, after) = (cells(&self.before), cells(&self.after));
        let pairs = before.iter().zip(&after).map(|(before, after)| (before.0, after.0));
        let changes: Vec<f64> = if self.unit == FuelMapUnit::Percent {
            pairs.map(|(before, after)| after - before).collect()
        } else {
            // A cell that holds nothing stays so.
            let filled = pairs.filter(|(before, _)| *before > 0.0);
            filled.map(|(before, after)| 100.0 * (after / before - 1.0)).collect()
        };
        let least = changes.iter().copied().reduce(f64::min).unwrap_or(0.0);
        let most = changes.iter().copied().reduce(f64::max).unwrap_or(0.0);
        let (least, most) = (signed(least, 1), signed(most, 1));
        if least == most { format!("{least} %") } else { format!("{least} to {most} %") }
    }
}

impl OfCylinders<TrimMapAnswer<'_>> {
    /// For a person: the cells of each cylinder, those of all once where they are the same.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.alike(|cells| cells.lines(screen)).unwrap_or_else(|| {
            let heading = |name: &str| screen.strong(&format!("Cylinder {}", visible(name)));
            let each = self.of_each(|cells| cells.lines(screen)).into_iter();
            each.flat_map(|(name, lines)| [vec![heading(name)], lines].concat()).collect()
        });
        lines.extend(said_of_all(&self.of_each(|cells| cells.end(screen)), |name, line| {
            screen.wrap(&at_cylinder(name, line), 2)
        }));
        lines.join("\n")
    }

    /// The cells of all, where they are the same.
    pub fn the_same_cells(&self) -> Option<&TrimMapAnswer<'_>> {
        self.alike(TrimMapAnswer::csv).and_then(|_| Some(&self.0.first()?.1))
    }
}

/// The least and the most of some factors, in words; one where they are the same.
fn from_least_to_most(factors: &[Figure<6>]) -> (String, Option<String>) {
    let all = || factors.iter().map(|factor| factor.0);
    let least = fixed(all().reduce(f64::min).unwrap_or(1.0), 3);
    let most = fixed(all().reduce(f64::max).unwrap_or(1.0), 3);
    (least.clone(), (most != least).then_some(most))
}

/// "71 % → 69 %".
fn from_to(before: &DutyPoint, after: &DutyPoint) -> String {
    format!("{} → {}", before.words(), after.words())
}

/// The unit as a mechanic says it.
fn unit_words(unit: FuelMapUnit) -> &'static str {
    match unit {
        FuelMapUnit::Ms => "milliseconds",
        FuelMapUnit::Mg => "milligrams",
        FuelMapUnit::Percent => "percent",
    }
}

impl From<TrimMapError> for Trouble {
    fn from(error: TrimMapError) -> Self {
        Self::request(error.field(), error.to_string(), error.help())
    }
}
