//! How the two sides of a comparison ran: each run with its own day, place, air, lap and verdict.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::brief::{below_full, full_sign, in_words_at_each};
use crate::advice::runs::{lap_seconds, lap_time};
use crate::notebook::{AirEntry, Mixture, Outing, Verdict};
use crate::quantity::{fixed, trimmed};
use crate::report::history::noted_air::NotedAir;
use crate::report::out::glue::GLUE;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, count, first_line};
use crate::store::OutingRecord;

/// The runs of a side.
#[derive(Debug, Clone, Copy)]
pub struct RanAsCompared<'a> {
    /// Its outings, oldest first.
    pub outings: &'a [OutingRecord],
    /// Setups that may have been on the bike in an outing instead, by its identity; only where that is not known.
    pub instead: &'a BTreeMap<String, Vec<u32>>,
}

/// How both sides ran.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct BothRan {
    /// The older side.
    pub(super) from: SideRan,
    /// The newer side.
    pub(super) to: SideRan,
}

/// How one side ran.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SideRan {
    /// How many outings it had; of a side that a day or a place named, those of that day or place.
    outings: usize,
    /// Best lap at the place where the other side has one too, else where it ran last, as typed; null where none was, or none that is a
    /// time.
    best_lap: Option<String>,
    /// Where that lap was driven; null where it is not known.
    best_lap_place: Option<String>,
    /// The day of that lap; null where there is none.
    best_lap_day: Option<String>,
    /// The air of that lap; null where it is not written down.
    best_lap_air: Option<NotedAir>,
    /// Verdicts of its last runs, the newest first.
    verdicts: Vec<SideVerdict>,
    /// The run with the best lap.
    #[serde(skip)]
    best: Option<SideVerdict>,
    /// How many runs with a verdict come before those.
    #[serde(skip)]
    before: usize,
}

/// The verdict of a run.
#[derive(Debug, Clone, Serialize, JsonSchema)]
struct SideVerdict {
    /// Day of the run.
    day: String,
    /// Where it ran; null where it is not written down.
    place: Option<String>,
    /// The air it ran in; null where it is not written down.
    air: Option<NotedAir>,
    /// Its best lap, as typed; null where none was.
    lap: Option<String>,
    /// Fully open; of several cylinders the leanest, where one was lean.
    full: Option<Mixture>,
    /// Three quarters open, likewise.
    three_quarters: Option<Mixture>,
    /// Half open, likewise.
    half: Option<Mixture>,
    /// A quarter open, likewise.
    quarter: Option<Mixture>,
    /// An eighth open, likewise.
    eighth: Option<Mixture>,
    /// Shut, likewise.
    idle: Option<Mixture>,
    /// Numbers of setups that may have been on the bike instead, where jobs were never ticked; empty where that is known.
    instead: Vec<u32>,
    /// The same of each cylinder of which something was seen by itself, by name; not there where all ran alike.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(extend("default" = {}))]
    cylinders: BTreeMap<String, OwnVerdict>,
    /// The signs at each throttle that was judged, with what the notes say, each with the cylinder that it is of.
    #[serde(skip)]
    signs: String,
    /// The same in words, for a page: "full right, 1/2 slightly lean".
    #[serde(skip)]
    spoken: String,
    /// Identity of the run.
    #[serde(skip)]
    id: String,
}

/// How one of several cylinders ran in a run.
#[derive(Debug, Clone, Serialize, JsonSchema)]
struct OwnVerdict {
    /// Fully open.
    full: Option<Mixture>,
    /// Three quarters open.
    three_quarters: Option<Mixture>,
    /// Half open.
    half: Option<Mixture>,
    /// A quarter open.
    quarter: Option<Mixture>,
    /// An eighth open.
    eighth: Option<Mixture>,
    /// Shut.
    idle: Option<Mixture>,
}

impl OwnVerdict {
    fn each(outing: &Outing) -> BTreeMap<String, Self> {
        let of_one = |(name, own): (Option<&str>, Outing)| {
            let Verdict { full, three_quarters, half, quarter, eighth, idle } =
                own.verdict.unwrap_or_default();
            Some((name?.to_owned(), Self { full, three_quarters, half, quarter, eighth, idle }))
        };
        outing.at_each_cylinder().into_iter().filter_map(of_one).collect()
    }
}

/// Verdicts that are told of a side.
const LAST: usize = 2;

impl BothRan {
    pub(super) fn of(from: &RanAsCompared<'_>, to: &RanAsCompared<'_>) -> Self {
        let there = both_ran_at(from.outings, to.outings);
        Self { from: SideRan::of(from, there.as_deref()), to: SideRan::of(to, there.as_deref()) }
    }
}

/// A place by its name, whatever its capitals.
fn place(record: &OutingRecord) -> Option<String> {
    record.outing.place.as_deref().map(str::to_lowercase)
}

/// Runs with a lap that is a time, in seconds.
fn timed(outings: &[OutingRecord]) -> impl DoubleEndedIterator<Item = (f64, &OutingRecord)> {
    outings.iter().filter_map(|record| Some((lap_seconds(record.outing.lap.as_deref()?)?, record)))
}

/// The place where both sides have laps: tracks are of different length. The last one of the newer side.
fn both_ran_at(from: &[OutingRecord], to: &[OutingRecord]) -> Option<String> {
    let mut places = timed(to).rev().filter_map(|(_, record)| place(record));
    places.find(|there| timed(from).any(|(_, record)| place(record).as_ref() == Some(there)))
}

/// The run of a side with its best lap, and that lap in seconds: at the place where the other side ran too, else where it ran last.
fn fastest<'r>(outings: &'r [OutingRecord], there: Option<&str>) -> Option<(f64, &'r OutingRecord)> {
    let last = || timed(outings).next_back().and_then(|(_, record)| place(record));
    let there = there.map(str::to_owned).or_else(last);
    let of_place = timed(outings).filter(|(_, record)| place(record) == there);
    of_place.min_by(|one, other| one.0.total_cmp(&other.0))
}

impl SideRan {
    fn of(ran: &RanAsCompared<'_>, there: Option<&str>) -> Self {
        let best = fastest(ran.outings, there).map(|(_, record)| SideVerdict::of(record, ran));
        let judged = ran.outings.iter().rev().map(|record| SideVerdict::of(record, ran));
        let judged: Vec<SideVerdict> = judged.filter(|run| !run.signs.is_empty()).collect();
        Self {
            outings: ran.outings.len(),
            best_lap: best.as_ref().and_then(|best| best.lap.clone()),
            best_lap_place: best.as_ref().and_then(|best| best.place.clone()),
            best_lap_day: best.as_ref().map(|best| best.day.clone()),
            best_lap_air: best.as_ref().and_then(|best| best.air.clone()),
            before: judged.len().saturating_sub(LAST),
            verdicts: judged.into_iter().take(LAST).collect(),
            best,
        }
    }

    /// Whether a run that is told has an air: then no other is said of the side.
    pub(super) fn says_an_air(&self) -> bool {
        self.verdicts.iter().chain(&self.best).any(|run| run.air.is_some())
    }

    /// "3 runs".
    pub(super) fn counted(&self) -> String {
        if self.outings == 0 { "not run".to_owned() } else { count(self.outings, "run") }
    }

    /// A line for each run that is told: "2026-10-03 at Fennmoor, 100.6 % air, 13 C, best 1:02.4: full = 3/4 = 1/2 <".
    /// On a page the signs are `spoken`.
    pub(super) fn words(&self, screen: &Screen, spoken: bool) -> Vec<String> {
        let best = self.best.as_ref();
        let is_best = |run: &SideVerdict| self.outings > 1 && best.is_some_and(|best| best.id == run.id);
        let of_best = best.filter(|best| !self.verdicts.iter().any(|run| run.id == best.id));
        let mut told: Vec<&SideVerdict> = of_best.into_iter().chain(&self.verdicts).collect();
        // In short the one with the best lap, or else the newest, and any that was lean.
        if !screen.verbose() {
            let first = best.or(told.first().copied()).map(|run| run.id.clone());
            told.retain(|run| Some(&run.id) == first.as_ref() || run.signs.contains('<'));
        }
        let mut lines: Vec<String> =
            told.iter().map(|run| run.words(screen, (is_best(run), spoken))).collect();
        let others = self.outings.saturating_sub(told.len());
        let more = match others {
            0 => None,
            _ if !screen.verbose() => Some(format!("; {others} more (-v)")),
            _ => (self.before > 0).then(|| format!("; before that {}", count(others, "run"))),
        };
        if let Some((last, more)) = lines.last_mut().zip(more) {
            last.push_str(&more);
        }
        lines
    }
}

impl SideVerdict {
    fn of(record: &OutingRecord, ran: &RanAsCompared<'_>) -> Self {
        let outing = &record.outing;
        let at = |zone: fn(&Verdict) -> Option<Mixture>| outing.at_throttle(zone);
        let zones = std::iter::once(("full", full_sign(record))).chain(below_full(record));
        let judged = zones.filter(|(_, signs)| !signs.is_empty());
        let signs =
            judged.map(|(zone, signs)| format!("{zone}{GLUE}{}", signs.replace(' ', &GLUE.to_string())));
        let said = in_words_at_each(record).into_iter().filter(|(_, words)| !words.is_empty());
        let spoken = said.map(|(zone, words)| format!("{zone} {words}"));
        Self {
            day: outing.date.day(),
            place: outing.place.clone(),
            air: outing.air.as_ref().map(NotedAir::of),
            lap: outing.lap.clone(),
            full: at(|verdict| verdict.full),
            three_quarters: at(|verdict| verdict.three_quarters),
            half: at(|verdict| verdict.half),
            quarter: at(|verdict| verdict.quarter),
            eighth: at(|verdict| verdict.eighth),
            idle: at(|verdict| verdict.idle),
            instead: ran.instead.get(&record.id).cloned().unwrap_or_default(),
            cylinders: OwnVerdict::each(outing),
            signs: signs.collect::<Vec<_>>().join(" "),
            spoken: spoken.collect::<Vec<_>>().join("; "),
            id: record.id.clone(),
        }
    }

    fn words(&self, screen: &Screen, (is_best, spoken): (bool, bool)) -> String {
        let place = self.place.as_deref().map(|place| format!(" at {}", first_line(place)));
        let best = if is_best { "best " } else { "" };
        let mut parts = vec![format!("{}{}", self.day, place.unwrap_or_default())];
        parts.extend(self.air.as_ref().map(|air| air.in_short(screen)));
        parts.extend(self.lap.as_deref().map(|lap| format!("{best}{}", first_line(lap))));
        let signs = if spoken { &self.spoken } else { &self.signs };
        let signs = if signs.is_empty() { String::new() } else { format!(": {signs}") };
        let instead: Vec<String> = self.instead.iter().map(ToString::to_string).collect();
        let doubt = if instead.is_empty() {
            String::new()
        } else {
            format!("; or on setup {} (not ticked)", instead.join(" or "))
        };
        format!("{}{signs}{doubt}", parts.join(", "))
    }
}

/// How far the two sides' runs are apart: their best laps at one place with the air of each, else the air of both sides.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct Apart {
    /// The newer side's best lap over the older one's, seconds; null unless both were driven at one place.
    lap_s: Option<f64>,
    /// How much denser the newer side's air is than the older one's, percent: of those laps where they are set against each other; null
    /// where one is not known.
    air_percent: Option<f64>,
    /// The place of the laps.
    #[serde(skip)]
    place: Option<String>,
    /// Both laps.
    #[serde(skip)]
    laps: Option<(String, String)>,
    /// Both airs, percent.
    #[serde(skip)]
    airs: Option<(f64, f64)>,
}

/// Airs that are no further apart count as one, percent.
const SAME: f64 = 0.05;

impl Apart {
    pub(super) fn between(
        (from, to): (&RanAsCompared<'_>, &RanAsCompared<'_>),
        known: (Option<&AirEntry>, Option<&AirEntry>),
    ) -> Option<Self> {
        let there = both_ran_at(from.outings, to.outings);
        let both = there
            .as_deref()
            .and_then(|there| Some((fastest(from.outings, Some(there))?, fastest(to.outings, Some(there))?)));
        let laps = both.filter(|((_, one), (_, other))| one.id != other.id);
        let airs = match &laps {
            Some(((_, one), (_, other))) => (one.outing.air.as_ref(), other.outing.air.as_ref()),
            None => known,
        };
        let percent = |air: Option<&AirEntry>| Some(air?.air().ok()?.relative_density_percent());
        let airs = percent(airs.0).zip(percent(airs.1));
        let differ = airs.filter(|(one, other)| (one - other).abs() >= SAME);
        if laps.is_none() && differ.is_none() {
            return None;
        }
        let lap = |record: &OutingRecord| {
            let lap = record.outing.lap.as_deref().unwrap_or_default();
            lap_time(lap).unwrap_or_else(|| first_line(lap))
        };
        Some(Self {
            lap_s: laps.map(|((one, _), (other, _))| rounded(other - one, 3)),
            air_percent: airs.map(|(one, other)| rounded((other / one - 1.0) * 100.0, 2)),
            place: laps.and_then(|((_, one), _)| one.outing.place.as_deref().map(first_line)),
            laps: laps.map(|((_, one), (_, other))| (lap(one), lap(other))),
            airs: differ,
        })
    }

    /// Whether the air differs.
    pub(super) fn is_other_air(&self) -> bool {
        self.airs.is_some()
    }

    /// "1:03.1 → 1:04.9 at Fennmoor, 1.8 s slower; the air 97.5 → 95.6 %, 1.9 % thinner."
    pub(super) fn words(&self) -> String {
        let laps = self.laps.as_ref().zip(self.lap_s).map(|((one, other), apart)| {
            let how = match apart {
                apart if apart > 0.0 => format!("{} s slower", plain(apart)),
                apart if apart < 0.0 => format!("{} s faster", plain(-apart)),
                _ => "the same".to_owned(),
            };
            format!("{one} → {other} at {}, {how}", self.place.as_deref().unwrap_or_default())
        });
        let airs = self.airs.zip(self.air_percent).map(|((one, other), apart)| {
            let how = if apart < 0.0 { "thinner" } else { "denser" };
            format!("the air {} → {} %, {} % {how}", fixed(one, 1), fixed(other, 1), fixed(apart.abs(), 1))
        });
        let words: Vec<String> = laps.into_iter().chain(airs).collect();
        format!("  {}.", capital(&words.join("; ")))
    }
}

fn rounded(value: f64, decimals: usize) -> f64 {
    fixed(value, decimals).parse().unwrap_or(value)
}

/// Seconds without needless noughts.
fn plain(seconds: f64) -> String {
    trimmed(seconds, 3)
}
