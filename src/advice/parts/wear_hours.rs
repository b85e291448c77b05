//! At which hours an engine was measured: hours of the part that a dimension belongs to, or of the engine where the book has
//! no such part. Another part, or the same one rebuilt, begins another line.
//!
//! A line needs differences of hours only. Hours that are not known before the first reading therefore do no harm; hours
//! that are not known between two readings do, and which way is kept beside each reading.

use super::{Count, EngineRun, count};
use crate::notebook::{Deed, When};
use crate::store::PartRecord;

/// A reading with when it was taken.
pub(super) trait Dated {
    fn date(&self) -> When;
}

/// What is known of the hours between two readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoursGap {
    /// They are as counted.
    Known,
    /// There are more than were counted, if any: outings without hours lie between.
    More,
    /// The count does not tell: an own count of hours came between, where those before were not all known.
    NotTold,
}

/// A reading on the hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnTheHours {
    /// Which of the readings, counted from 0.
    pub reading: usize,
    /// Hours, h.
    pub hours_h: f64,
    /// What is known of the hours since the reading before.
    pub gap: HoursGap,
}

/// Whose hours they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Whose {
    /// Those of a part, by its name.
    Part(String),
    /// Those that the book has of the engine.
    Engine,
}

/// The hours of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct HoursAxis {
    /// Whose hours they are.
    pub whose: Whose,
    /// Whether they begin before what the book knows, so that only differences count.
    pub open_at_the_beginning: bool,
    /// Readings of the same parts as the newest, by date.
    pub places: Vec<OnTheHours>,
    /// How many readings are of other parts, or of these before they were made new.
    pub of_other_parts: usize,
    /// Kinds of part that matter and of which the book has none in the engine: a change of one is not seen.
    pub unseen: Vec<&'static str>,
    /// Kinds of which another part, or one made new, is in the engine now.
    pub changed_since: Vec<&'static str>,
    /// Hours now, h.
    pub now_h: f64,
    /// What is known of the hours since the newest reading.
    pub gap_to_now: HoursGap,
}

/// What an engine's readings are laid on.
pub(super) struct Book<'a> {
    pub engine: &'a str,
    /// The cylinder, of an engine with several.
    pub cylinder: Option<&'a str>,
    pub parts: &'a [PartRecord],
    /// By date.
    pub runs: &'a [EngineRun],
    /// When the engine was built, by date.
    pub builds: &'a [When],
    pub now: When,
}

/// Whether a part is in an engine; of several cylinders at this one, or where all have it in common.
pub(super) fn is_in(known: &PartRecord, (engine, cylinder): (&str, Option<&str>), date: When) -> bool {
    let at = |name: &str| cylinder.is_none_or(|cylinder| cylinder == name);
    let place = known.part.place_at(date).filter(|place| place.engine == engine);
    place.is_some_and(|place| place.cylinder.is_none_or(at))
}

/// A part of a kind with how often it was made new.
type Key<'a> = (&'static str, &'a str, usize);

impl<'a> Book<'a> {
    /// Lays readings, which come by date, on the hours of a part of the first kind, as long as the parts of all kinds stay the
    /// same. None without a reading.
    pub(super) fn axis<T: Dated>(&self, readings: &[T], kinds: &[&'static str]) -> Option<HoursAxis> {
        let dates: Vec<When> = readings.iter().map(Dated::date).collect();
        let newest = *dates.last()?;
        let keys = self.keys(self.together_by(newest), kinds);
        let of_kind = |kind: &str| keys.iter().filter(move |key| key.0 == kind).collect::<Vec<_>>();
        let own = match of_kind(kinds.first()?).as_slice() {
            [only] => self.parts.iter().find(|known| known.name == only.1),
            _ => None,
        };
        let same: Vec<usize> =
            (0..dates.len()).filter(|at| self.keys(self.together_by(dates[*at]), kinds) == keys).collect();
        let counted: Vec<HoursRun> = same.iter().map(|at| self.counted(own, dates[*at])).collect();
        let now = self.counted_now(own);
        let gaps = std::iter::once(HoursGap::Known)
            .chain(counted.windows(2).map(|pair| Self::gap(own, &pair[0], &pair[1])));
        let places = same.iter().zip(&counted).zip(gaps);
        let then_and_now = self.keys(self.now, kinds);
        Some(HoursAxis {
            whose: own.map_or(Whose::Engine, |known| Whose::Part(known.name.clone())),
            open_at_the_beginning: own.is_none() || counted.iter().any(|at| at.count.hours_at_least),
            places: places
                .map(|((at, counted), gap)| OnTheHours { reading: *at, hours_h: counted.count.hours_h, gap })
                .collect(),
            of_other_parts: dates.len() - same.len(),
            unseen: kinds.iter().copied().filter(|kind| of_kind(kind).is_empty()).collect(),
            changed_since: kinds
                .iter()
                .copied()
                .filter(|kind| {
                    let now: Vec<_> = then_and_now.iter().filter(|key| key.0 == *kind).collect();
                    !now.is_empty() && now != of_kind(kind)
                })
                .collect(),
            now_h: now.count.hours_h,
            gap_to_now: counted.last().map_or(HoursGap::NotTold, |last| Self::gap(own, last, &now)),
        })
    }

    /// The last moment at which a part that goes in still belongs to what was measured: before the engine runs again, is
    /// built again, or a part of it ran where no outing holds it.
    fn together_by(&self, measured: When) -> When {
        let run = self.runs.iter().filter(|run| run.engine == self.engine).map(|run| run.date);
        let run = run.filter(|date| *date >= measured).min();
        let build = self.builds.iter().copied().filter(|date| *date > measured).min();
        let ran = self.parts.iter().flat_map(|known| {
            let events = known.part.events.values().filter(|event| event.did == Deed::Ran);
            events.map(|event| event.date).filter(|date| {
                *date > measured
                    && known.part.engine_at(*date).is_some_and(|(engine, _)| engine == self.engine)
            })
        });
        let end = ran.chain(run).chain(build).min();
        let before = end.and_then(|end| When::from_unix(end.unix() - 1, end.offset_minutes()));
        before.unwrap_or(self.now).max(measured)
    }

    /// The parts of some kinds that are in the engine at a date.
    fn keys(&self, date: When, kinds: &[&'static str]) -> Vec<Key<'a>> {
        let mut keys: Vec<Key<'a>> = Vec::new();
        for known in self.parts {
            let Some(kind) = kinds.iter().find(|kind| **kind == known.part.kind) else { continue };
            if is_in(known, (self.engine, self.cylinder), date) {
                let renewed = known.part.events.values();
                let renewed =
                    renewed.filter(|event| event.did == Deed::Renewed && event.date <= date).count();
                keys.push((kind, known.name.as_str(), renewed));
            }
        }
        keys.sort_unstable();
        keys
    }

    /// What was run when the engine was measured. An outing at that moment came after; a part that only then went in, or
    /// was made new, had the hours it had there.
    fn counted(&self, own: Option<&PartRecord>, measured: When) -> HoursRun {
        let before = self.runs.partition_point(|run| run.date < measured);
        let Some(known) = own else {
            return HoursRun { count: self.of_the_engine(before), at: measured };
        };
        let by = self.together_by(measured);
        let begins = |did: Deed| matches!(did, Deed::Fitted | Deed::Renewed);
        let events = known.part.events.values().filter(|event| begins(event.did));
        let went_in = events.map(|event| event.date).filter(|date| *date > measured && *date <= by).max();
        let at = went_in.unwrap_or(measured);
        HoursRun { count: count(&known.part, &self.runs[..before], at), at }
    }

    fn counted_now(&self, own: Option<&PartRecord>) -> HoursRun {
        let until = self.runs.partition_point(|run| run.date <= self.now);
        let of_part = own.map(|known| count(&known.part, &self.runs[..until], self.now));
        HoursRun { count: of_part.unwrap_or_else(|| self.of_the_engine(until)), at: self.now }
    }

    /// Hours that the book has of the engine, of the first so many runs.
    fn of_the_engine(&self, runs: usize) -> Count {
        let mut count = Count::default();
        for run in self.runs.iter().take(runs).filter(|run| run.engine == self.engine) {
            count.hours_h += run.hours_h.unwrap_or(0.0);
            count.outings_without_hours += usize::from(run.hours_h.is_none());
        }
        count.hours_at_least = true;
        count
    }

    /// What is known of the hours between two moments.
    fn gap(own: Option<&PartRecord>, from: &HoursRun, to: &HoursRun) -> HoursGap {
        let counted_by_hand = own.is_some_and(|known| {
            let mut events = known.part.events.values().filter(|event| event.hours.is_some());
            events.any(|event| event.date > from.at && event.date <= to.at)
        });
        let without = |counted: &HoursRun| counted.count.outings_without_hours;
        match (from.count.hours_at_least, to.count.hours_at_least) {
            (false, false) => HoursGap::Known,
            (true, false) => HoursGap::NotTold,
            (true, true) if counted_by_hand => HoursGap::NotTold,
            (true, true) if without(from) == without(to) => HoursGap::Known,
            (_, true) => HoursGap::More,
        }
    }
}

/// What was run by a moment.
struct HoursRun {
    count: Count,
    at: When,
}
