//! Parts, outings and engines made up for the tests of parts by hours.
#![allow(dead_code, unreachable_pub)] // each test file uses its own part of this
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use jiff::tz::Offset;
use reedbook::advice::parts::{EngineRun, Ledger};
use reedbook::notebook::{Limits, Part, When};
use reedbook::store::PartRecord;

/// A moment, in universal time unless it says otherwise.
pub fn at(text: &str) -> When {
    When::parse(text, Offset::UTC).unwrap()
}

/// A part of that text: fields, then a line for each event like "2026-03-01 fitted cicada".
pub fn part(fields: &str, events: &[&str]) -> Part {
    let mut text = fields.to_owned();
    for (index, line) in events.iter().enumerate() {
        let (date, rest) = line.split_once("  ").unwrap();
        let (did, more) = rest.split_once(' ').unwrap_or((rest, ""));
        text.push_str(&format!("\n[events.e{index}]\ndate = \"{date}\"\ndid = \"{did}\"\n"));
        for word in more.split(' ').filter(|word| !word.is_empty()) {
            match word.split_once('=') {
                Some((field, value)) => text.push_str(&format!("{field} = \"{value}\"\n")),
                None => text.push_str(&format!("engine = \"{word}\"\n")),
            }
        }
    }
    toml::from_str(&text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// A part's record of that name.
pub fn record(name: &str, part: Part) -> PartRecord {
    PartRecord { name: name.to_owned(), file: PathBuf::from(format!("parts/{name}.toml")), part }
}

/// An outing of an engine in the bike moth; hours below 0 are not known.
pub fn run(engine: &str, date: &str, hours_h: f64) -> EngineRun {
    EngineRun {
        engine: engine.to_owned(),
        bike: "moth".to_owned(),
        outing: format!("{engine} {date}"),
        date: at(date),
        place: None,
        hours_h: (hours_h >= 0.0).then_some(hours_h),
        starts: 1.0,
    }
}

/// The same at a place.
pub fn run_at(engine: &str, date: &str, place: &str, hours_h: f64) -> EngineRun {
    EngineRun { place: Some(place.to_owned()), ..run(engine, date, hours_h) }
}

/// Limits of that text.
pub fn limits(text: &str) -> Limits {
    toml::from_str(text).unwrap()
}

/// Everything a part is judged by, owned.
pub struct Shop {
    pub runs: Vec<EngineRun>,
    pub limits: Limits,
    pub holders: BTreeMap<String, (String, u32)>,
    pub retired: BTreeSet<String>,
    pub now: When,
    pub within_h: Option<f64>,
}

impl Shop {
    /// The engine cicada in the bike moth, and these outings.
    pub fn new(now: &str, limits_text: &str, mut runs: Vec<EngineRun>) -> Self {
        runs.sort_by_key(|run| run.date);
        Self {
            runs,
            limits: limits(limits_text),
            holders: BTreeMap::from([("cicada".to_owned(), ("moth".to_owned(), 1))]),
            retired: BTreeSet::new(),
            now: at(now),
            within_h: None,
        }
    }

    pub fn ledger(&self) -> Ledger<'_> {
        Ledger {
            runs: &self.runs,
            limits: &self.limits,
            now: self.now,
            holders: &self.holders,
            retired: &self.retired,
            within_h: self.within_h,
        }
    }
}

/// Equal to a second.
#[track_caller]
pub fn assert_hours(is: f64, should: f64) {
    assert!((is - should).abs() < 1.0 / 3600.0, "{is} h and not {should} h");
}
