//! Runs side by side: what was on the bike in each, and which of two comes first by a word of the trade.

use std::cmp::Ordering;
use std::collections::HashMap;

use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{CommandOption, Guidance};
use crate::notebook::{Combination, Mixture, Outing, Value};
use crate::store::{BikeJobs, Book, OutingRecord, StoreError};

/// What runs are put in order by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// When, the newest first.
    Date,
    /// Where, by the alphabet.
    Place,
    /// The air, the densest first.
    Air,
    /// The engine, by the alphabet.
    Engine,
    /// The main jet, the largest first.
    Main,
    /// The needle's groove, from the top.
    Clip,
    /// The pilot jet, the largest first.
    Pilot,
    /// The base setting of the spark, the earliest first.
    Spark,
    /// The verdict at full throttle, and below it: the leanest first.
    Verdict,
    /// The lap, the fastest first.
    Lap,
}

/// What was on the bike in a run.
#[derive(Debug, Clone, Default)]
pub struct OnTheBike {
    /// The setup's fields; none where the setup is not known or could not be read.
    whole: Option<Combination>,
}

impl OnTheBike {
    /// What is on a bike now: what is written of it, and while jobs are open what they have not changed yet.
    pub fn now(book: &Book<'_>, bike: &str, jobs: &BikeJobs) -> Result<Self, StoreError> {
        let mut whole = book.combination(bike, None)?;
        if let Some(on_it) = jobs.not_as_written() {
            whole.fields = on_it.clone();
        }
        Ok(Self { whole: Some(whole) })
    }

    /// The cylinders in their order; none where there is only one.
    pub fn cylinders(&self) -> Vec<String> {
        self.whole.as_ref().map(|whole| whole.fields.cylinders()).unwrap_or_default()
    }

    /// A field as it was typed; where cylinders have it otherwise each one's, in their order.
    pub fn text(&self, field: &str) -> Option<String> {
        let fields = &self.whole.as_ref()?.fields;
        if fields.owners(field).is_empty() {
            return fields.get(field).map(Value::text);
        }
        // Each cylinder's, in their order.
        let names = fields.cylinders();
        let of_each =
            |name: &String| fields.holding(&format!("{name}.{field}")).map_or("-".to_owned(), Value::text);
        let mut all: Vec<String> = names.iter().map(of_each).collect();
        if all.iter().all(|one| *one == all[0]) {
            all.truncate(1);
        }
        Some(all.join("/"))
    }

    /// A jet's number, and whatever else has no unit.
    pub(super) fn quantity(&self, field: &str) -> Option<f64> {
        self.whole.as_ref()?.fields.quantity(field).map(crate::quantity::Quantity::value)
    }

    /// A field's number in SI units, for putting runs in order.
    pub(super) fn number(&self, field: &str) -> Option<f64> {
        let fields = &self.whole.as_ref()?.fields;
        let own = fields.owners(field).first().and_then(|(_, value)| value.quantity());
        fields.quantity(field).or(own).map(crate::quantity::Quantity::si)
    }
}

/// A run to be put in order.
#[derive(Debug, Clone, Copy)]
pub struct RunOnBike<'a> {
    /// The outing.
    pub record: &'a OutingRecord,
    /// What was on the bike.
    pub fitted: &'a OnTheBike,
}

/// What was on the bike in each of some runs; a setup that many ran is read once.
#[derive(Debug, Default)]
pub struct FittedIn {
    known: HashMap<(String, u32), OnTheBike>,
    unknown: OnTheBike,
}

impl FittedIn {
    /// Reads the setups that were run.
    pub fn of<'a>(
        book: &Book<'_>,
        records: impl Iterator<Item = &'a OutingRecord>,
    ) -> Result<Self, StoreError> {
        let mut setups = HashMap::new();
        let mut known = HashMap::new();
        for record in records {
            let Some(number) = record.setup else { continue };
            let key = (record.bike.clone(), number);
            if known.contains_key(&key) {
                continue;
            }
            if !setups.contains_key(&record.bike) {
                setups.insert(record.bike.clone(), book.setups(&record.bike)?);
            }
            let of_bike = setups.get(&record.bike).map(Vec::as_slice).unwrap_or_default();
            let setup = of_bike.iter().find(|setup| setup.number == number);
            let whole = setup.map(|setup| book.combination(&record.bike, Some(setup))).transpose()?;
            known.insert(key, OnTheBike { whole });
        }
        Ok(Self { known, unknown: OnTheBike::default() })
    }

    /// What was on the bike in a run.
    pub fn in_run(&self, record: &OutingRecord) -> &OnTheBike {
        let known = record.setup.and_then(|number| self.known.get(&(record.bike.clone(), number)));
        known.unwrap_or(&self.unknown)
    }
}

/// What is wrong with a lap as it was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LapFault {
    /// It is no time; the text, made visible.
    NoTime(String),
    /// Minutes typed without their colon, or seconds: 109 for 1:09.
    MinutesOrSeconds(u32),
}

impl LapFault {
    /// What is wrong, in a sentence.
    pub fn message(&self) -> String {
        match self {
            Self::NoTime(text) => format!("\"{text}\" is not a time."),
            Self::MinutesOrSeconds(digits) => {
                format!("The lap {digits} can be {digits} s or {}.", with_a_colon(*digits))
            }
        }
    }

    /// How to write it; `lap` is how one is given, by an option or in a column.
    pub fn help(&self, lap: impl Fn(String) -> Guidance) -> Guidance {
        match self {
            Self::NoTime(_) => {
                Guidance::from(
                    "Write the best lap or run like 1:02.4 or 62.4 s; words may stand behind it, and the rest goes into ",
                ) + CommandOption::Note
                    + "."
            }
            Self::MinutesOrSeconds(digits) => {
                let minutes = lap(with_a_colon(*digits));
                Guidance::from("Write which of them it is: ")
                    + minutes
                    + " or "
                    + lap(format!("{digits}s"))
                    + "."
            }
        }
    }
}

fn with_a_colon(digits: u32) -> String {
    format!("{}:{:02}", digits / 100, digits % 100)
}

/// What is wrong with a lap as it was typed; none where it is a time.
pub fn lap_fault(text: &str) -> Option<LapFault> {
    if lap_seconds(text).is_none() {
        return Some(LapFault::NoTime(visible(text)));
    }
    let digits: u32 = text.trim().parse().ok()?;
    (digits / 100 > 0 && digits % 100 < 60).then_some(LapFault::MinutesOrSeconds(digits))
}

/// Seconds of a lap as it was typed: "1:02.4", "62.4", "62.4 s", "1:02.4 in heat 2"; none where it is no time.
pub fn lap_seconds(text: &str) -> Option<f64> {
    let word = text.split_whitespace().next()?;
    let plain = |part: &str| {
        let digits = !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        part.parse::<f64>().ok().filter(|_| digits)
    };
    let parts: Vec<f64> = word.trim_end_matches('s').split(':').map(plain).collect::<Option<Vec<_>>>()?;
    // Minutes and seconds end at 60; a time without a colon is seconds, however many.
    let fits = parts.len() <= 3 && parts.iter().skip(1).all(|part| *part < 60.0);
    let seconds = parts.iter().fold(0.0, |sum, part| sum * 60.0 + part);
    (fits && seconds > 0.0).then_some(seconds)
}

/// A lap's time in one form, "1:20.1", with the decimals that were typed: "80.1" and "1:20.1" stand in one column. None where it is no
/// time, an hour long, or has words behind it.
pub fn lap_time(text: &str) -> Option<String> {
    let seconds = lap_seconds(text).filter(|seconds| *seconds < 3_600.0)?;
    let mut words = text.split_whitespace();
    let word = words.next().filter(|_| words.next().is_none())?.trim_end_matches('s');
    let decimals = word.rsplit_once('.').map_or(0, |(_, decimals)| decimals.len().min(3));
    let unit = 10_f64.powi(i32::try_from(decimals).ok()?);
    // Rounded first: 59.96 to a tenth is 1:00.0, and never 0:60.0.
    let rounded = (seconds * unit).round() / unit;
    let minutes = (rounded / 60.0).floor();
    let width = if decimals == 0 { 2 } else { decimals + 3 };
    Some(format!("{minutes}:{:0width$.decimals$}", rounded - minutes * 60.0))
}

impl By {
    /// Which of two runs comes first; what a run lacks puts it last, whichever way round the order is.
    pub fn order(self, reverse: bool, one: RunOnBike<'_>, other: RunOnBike<'_>) -> Ordering {
        let newest = || other.record.outing.date.cmp(&one.record.outing.date);
        let turned = |order: Ordering| if reverse { order.reverse() } else { order };
        let numbers = |of: &dyn Fn(RunOnBike<'_>) -> Option<f64>, falling: bool| match (of(one), of(other)) {
            (Some(a), Some(b)) => turned(if falling { b.total_cmp(&a) } else { a.total_cmp(&b) }),
            (a, b) => b.is_some().cmp(&a.is_some()),
        };
        let words = |of: &dyn Fn(RunOnBike<'_>) -> Option<String>| match (of(one), of(other)) {
            (Some(a), Some(b)) => turned(a.to_lowercase().cmp(&b.to_lowercase())),
            (a, b) => b.is_some().cmp(&a.is_some()),
        };
        let order = match self {
            Self::Date => turned(newest()),
            Self::Place => words(&|run| run.record.outing.place.clone()),
            Self::Air => numbers(&|run| air_percent(run.record), true),
            Self::Engine => words(&|run| run.fitted.text("engine")),
            Self::Main => numbers(&|run| run.fitted.number("jetting.main"), true),
            Self::Clip => numbers(&|run| run.fitted.number("jetting.clip"), false),
            Self::Pilot => numbers(&|run| run.fitted.number("jetting.pilot"), true),
            Self::Spark => numbers(&|run| run.fitted.number("ignition.base"), true),
            Self::Verdict => numbers(&|run| how_lean(run.record), false),
            Self::Lap => numbers(&|run| lap_seconds(run.record.outing.lap.as_deref()?), false),
        };
        order.then_with(newest)
    }
}

/// Moist density in percent of the standard air's.
fn air_percent(record: &OutingRecord) -> Option<f64> {
    Some(record.outing.air.as_ref()?.air().ok()?.relative_density_percent())
}

/// The verdict as one number, full throttle first: the leaner, the smaller; none where nothing was judged there.
fn how_lean(record: &OutingRecord) -> Option<f64> {
    // The leanest of several cylinders.
    let each = record.outing.at_each_cylinder();
    each.iter().filter_map(|(_, outing)| lean_number(outing)).min_by(f64::total_cmp)
}

fn lean_number(outing: &Outing) -> Option<f64> {
    let place = |mixture: Option<Mixture>| {
        // What was not judged stands with what is right.
        let known = Mixture::ALL.iter().position(|one| Some(*one) == mixture).unwrap_or(2);
        f64::from(u8::try_from(known).unwrap_or(2))
    };
    let said = super::learning::sign_of_lean(outing).map(|_| Mixture::Lean);
    let verdict = outing.verdict.clone().unwrap_or_default();
    let zones = [said.or(verdict.full), verdict.three_quarters, verdict.half, verdict.quarter];
    zones.iter().any(Option::is_some).then(|| zones.iter().fold(0.0, |sum, zone| sum * 5.0 + place(*zone)))
}

/// Fields of an outing or of what ran it, for a column: as typed, control characters made visible.
pub fn asked(run: RunOnBike<'_>, field: &str) -> Option<String> {
    let outing = &run.record.outing;
    let seen = |outing: &Outing, field: &str| {
        let table = toml::Table::try_from(outing).ok()?;
        let mut value = &toml::Value::Table(table);
        for name in field.split('.') {
            value = value.get(name)?;
        }
        match value {
            toml::Value::String(text) => Some(text.clone()),
            toml::Value::Table(_) | toml::Value::Array(_) => None,
            other => Some(other.to_string()),
        }
    };
    let names = run.fitted.cylinders();
    let own = || match own_of(field) {
        Some((name, rest)) => seen(&outing.for_cylinder(name), rest),
        None if names.is_empty() || outing.cylinder.is_empty() => seen(outing, field),
        // What differs between cylinders stands in their order, as what is fitted does.
        None => {
            let each: Vec<_> = names.iter().map(|name| seen(&outing.for_cylinder(name), field)).collect();
            if each.iter().all(|value| *value == each[0]) {
                return each[0].clone();
            }
            Some(
                each.into_iter()
                    .map(|value| value.unwrap_or_else(|| "-".to_owned()))
                    .collect::<Vec<_>>()
                    .join("/"),
            )
        }
    };
    run.fitted.text(field).or_else(own).map(|text| visible(&text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lap_is_read_as_it_is_typed() {
        for (text, seconds) in [
            ("1:02.4", 62.4),
            ("62.4", 62.4),
            ("62.4 s", 62.4),
            ("62.4s", 62.4),
            ("1:00:05", 3605.0),
            ("1:02.4 heat 2", 62.4),
        ] {
            let read = lap_seconds(text).unwrap();
            assert!((read - seconds).abs() < 1e-9, "{text}: {read}");
        }
        for text in ["", "fast", "1:62", "-3", "1:2:3:4", ":30", "0", "1e3"] {
            assert!(lap_seconds(text).is_none(), "{text}");
        }
    }

    fn run(date: &str, lap: Option<&str>, full: Option<Mixture>) -> OutingRecord {
        let mut outing = crate::notebook::Outing { lap: lap.map(str::to_owned), ..Default::default() };
        outing.date = crate::notebook::When::parse(date, jiff::tz::Offset::UTC).unwrap();
        outing.verdict = full.map(|full| crate::notebook::Verdict { full: Some(full), ..Default::default() });
        OutingRecord {
            bike: "moth".into(),
            id: date.into(),
            file: std::path::PathBuf::new(),
            outing,
            setup: None,
            cylinders: Vec::new(),
        }
    }

    fn order(by: By, reverse: bool) -> Vec<String> {
        let mut runs = [
            run("2026-01-01 10:00", Some("1:02.4"), Some(Mixture::Rich)),
            run("2026-01-02 10:00", None, None),
            run("2026-01-03 10:00", Some("59.9"), Some(Mixture::Right)),
            run("2026-01-04 10:00", Some("1:00.0"), Some(Mixture::Lean)),
        ];
        let none = OnTheBike::default();
        runs.sort_by(|a, b| {
            by.order(reverse, RunOnBike { record: a, fitted: &none }, RunOnBike { record: b, fitted: &none })
        });
        runs.iter().map(|run| run.id[8..10].to_owned()).collect()
    }

    #[test]
    fn the_fastest_leanest_and_newest_come_first_and_what_lacks_it_last_both_ways() {
        assert_eq!(order(By::Date, false), ["04", "03", "02", "01"]);
        assert_eq!(order(By::Date, true), ["01", "02", "03", "04"]);
        assert_eq!(order(By::Lap, false), ["03", "04", "01", "02"]);
        assert_eq!(order(By::Lap, true), ["01", "04", "03", "02"]);
        assert_eq!(order(By::Verdict, false), ["04", "03", "01", "02"]);
        assert_eq!(order(By::Verdict, true), ["01", "03", "04", "02"]);
    }
}
