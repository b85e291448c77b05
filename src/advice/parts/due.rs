//! When parts are due: how each stands against its limits and against what the next event takes.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use super::count::{Count, count};
use super::event::{Event, biggest_event};
use super::fitting::Fitting;
use super::limit::{By, Reached, reached};
use super::running::EngineRun;
use crate::notebook::{Condition, Deed, Limits, When};
use crate::store::PartRecord;

/// How a part stands, by urgency: the last is the most urgent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// Enough is left.
    Fine,
    /// Neither the part nor its kind has a limit.
    NoLimit,
    /// Less than two events or a tenth of its limit is left.
    Soon,
    /// Too little is known of it to say that enough is left.
    NotKnown,
    /// Less is left than the next event takes.
    NotForAnotherEvent,
    /// A limit is over.
    Overdue,
}

impl State {
    /// In words for reading; what is not known is told by what it is.
    pub fn words(self, by: Option<By>) -> &'static str {
        match (self, by) {
            (Self::Fine, _) => "ok",
            (Self::NoLimit, _) => "no limit set",
            (Self::NotKnown, Some(By::Starts)) => "starts not known",
            (Self::NotKnown, Some(By::Days)) => "age not known",
            (Self::NotKnown, _) => "hours not known",
            (Self::Soon, _) => "due soon",
            (Self::NotForAnotherEvent, _) => "not for another event",
            (Self::Overdue, _) => "overdue",
        }
    }
}

/// Days before a date from which a part is due soon: time to order one. Common practice, no source.
const SOON_DAYS: f64 = 30.0;
/// Share of a limit that is due soon when it is all that is left. Common practice, no source.
const SOON_SHARE: f64 = 0.1;
/// What adding up hours may lose.
const LOST: f64 = 1e-6;

/// How one part stands.
#[derive(Debug, Clone)]
pub struct DueStanding {
    /// The part.
    pub part: String,
    /// Its kind.
    pub kind: String,
    /// The engine it is in.
    pub engine: Option<String>,
    /// The cylinder it is at, of an engine with several.
    pub cylinder: Option<String>,
    /// The bike that engine is in.
    pub bike: Option<String>,
    /// Failed or retired, if it was.
    pub gone: Option<Deed>,
    /// Whether it can be used as it is.
    pub condition: Condition,
    /// Which engines it is known to fit.
    pub fitting: Fitting,
    /// What it has run.
    pub count: Count,
    /// Its limits with the state of each, the most urgent first.
    pub limits: Vec<(State, Reached)>,
}

impl DueStanding {
    /// The state of the part: that of its most urgent limit.
    pub fn state(&self) -> State {
        self.limits.first().map_or(State::NoLimit, |(state, _)| *state)
    }

    /// The state in words.
    pub fn words(&self) -> &'static str {
        self.state().words(self.limits.first().map(|(_, limit)| limit.by))
    }

    /// The limit that comes first.
    pub fn first(&self) -> Option<&Reached> {
        self.limits.first().map(|(_, limit)| limit)
    }

    /// The limit that comes first of those by which it is changed.
    pub fn change(&self) -> Option<(State, &Reached)> {
        self.limits.iter().find(|(_, limit)| limit.by.changes()).map(|(state, limit)| (*state, limit))
    }

    /// Whether nothing at all is known of its hours.
    pub fn hours_unknown(&self) -> bool {
        self.count.hours_at_least && self.count.hours_h <= LOST
    }

    /// How urgent it is, to compare two parts: by its state, a change before a look, then by the share that is used.
    pub fn urgency(&self) -> (State, bool, f64) {
        let first = self.first();
        (self.state(), first.is_some_and(|limit| limit.by.changes()), first.map_or(0.0, Reached::share))
    }
}

/// What the parts are counted and judged by.
#[derive(Debug, Clone, Copy)]
pub struct Ledger<'a> {
    /// All runs by date.
    pub runs: &'a [EngineRun],
    /// The tuner's limits.
    pub limits: &'a Limits,
    /// The present.
    pub now: When,
    /// The bike each engine is in, with the number of the setup that took it there.
    pub holders: &'a BTreeMap<String, (String, u32)>,
    /// Bikes that are retired.
    pub retired: &'a BTreeSet<String>,
    /// Hours left under which a part is due soon, in place of two events or a tenth of its limit.
    pub within_h: Option<f64>,
}

/// The parts that sit in engines, and what an event of each bike takes.
#[derive(Debug, Clone)]
pub struct DueList {
    /// How each stands, the most urgent first.
    pub parts: Vec<DueStanding>,
    /// What an event takes, by bike; a bike that never ran is not there.
    pub events: BTreeMap<String, Event>,
    /// Parts left out because their bike is retired.
    pub of_retired_bikes: usize,
}

/// The moment until which what is written down has happened: a day without a time of day is its noon, so something done this
/// morning may be dated some hours ahead.
pub fn as_written(now: When) -> When {
    When::from_unix(now.unix().saturating_add(86_400), now.offset_minutes()).unwrap_or(now)
}

impl Ledger<'_> {
    /// What an event of a bike takes.
    pub fn event(&self, bike: &str) -> Option<Event> {
        biggest_event(self.runs, bike, self.now)
    }

    /// How a part stands.
    pub fn standing(&self, record: &PartRecord) -> DueStanding {
        let bike = self.bike_of(record);
        self.stands(record, bike.as_deref().and_then(|bike| self.event(bike)).as_ref())
    }

    /// All parts that sit in an engine, those of retired bikes left out; with `bike`, only those of its engine.
    pub fn due(&self, parts: &[PartRecord], bike: Option<&str>) -> DueList {
        let mut events = BTreeMap::new();
        let mut list = Vec::new();
        let mut of_retired_bikes = 0;
        for record in parts {
            let sits_in = self.bike_of(record);
            if self.engine_of(record).is_none() || bike.is_some_and(|bike| sits_in.as_deref() != Some(bike)) {
                continue;
            }
            if sits_in.as_ref().is_some_and(|bike| self.retired.contains(bike)) {
                of_retired_bikes += 1;
                continue;
            }
            if let Some(name) = sits_in.as_ref().filter(|name| !events.contains_key(*name)) {
                events.insert(name.clone(), self.event(name));
            }
            let event = sits_in.as_ref().and_then(|bike| events.get(bike)?.as_ref());
            list.push(self.stands(record, event));
        }
        most_urgent_first(&mut list);
        let events = events.into_iter().filter_map(|(bike, event)| Some((bike, event?))).collect();
        DueList { parts: list, events, of_retired_bikes }
    }

    /// Parts that lie on the shelf: in no engine, neither failed nor retired, nor said to be unusable.
    pub fn shelf(&self, parts: &[PartRecord]) -> Vec<DueStanding> {
        let lies =
            |record: &&PartRecord| self.engine_of(record).is_none() && gone(record, self.until()).is_none();
        let stand = parts.iter().filter(lies).map(|record| self.stands(record, None));
        stand.filter(|part| !matches!(part.condition, Condition::Unusable(_))).collect()
    }

    fn until(&self) -> When {
        as_written(self.now)
    }

    fn engine_of(&self, record: &PartRecord) -> Option<String> {
        record.part.engine_at(self.until()).map(|(engine, _)| engine.to_owned())
    }

    fn bike_of(&self, record: &PartRecord) -> Option<String> {
        self.holders.get(&self.engine_of(record)?).map(|(bike, _)| bike.clone())
    }

    fn stands(&self, record: &PartRecord, event: Option<&Event>) -> DueStanding {
        let count = count(&record.part, self.runs, self.until());
        let mut limits: Vec<(State, Reached)> = reached(&record.part, &count, self.limits, self.now)
            .into_iter()
            .map(|limit| (self.state_of(&limit, event), limit))
            .collect();
        limits.sort_by(|(a, one), (b, other)| {
            let changes = |limit: &Reached| Reverse(limit.by.changes());
            (Reverse(a), changes(one))
                .cmp(&(Reverse(b), changes(other)))
                .then(other.share().total_cmp(&one.share()))
                .then(one.by.cmp(&other.by))
        });
        DueStanding {
            part: record.name.clone(),
            kind: record.part.kind.clone(),
            engine: self.engine_of(record),
            cylinder: record.part.place_at(self.until()).and_then(|place| place.cylinder).map(str::to_owned),
            bike: self.bike_of(record),
            gone: gone(record, self.until()),
            condition: record.part.condition_at(self.until()),
            fitting: Fitting::of(&record.part, self.until()),
            count,
            limits,
        }
    }

    fn state_of(&self, limit: &Reached, event: Option<&Event>) -> State {
        let left = limit.left();
        let takes = event.map_or(0.0, |event| match limit.by {
            By::Hours | By::Look => event.hours_h,
            By::Starts => event.starts,
            By::Days | By::Date => 0.0,
        });
        if limit.is_over() {
            State::Overdue
        } else if left < takes - LOST {
            State::NotForAnotherEvent
        } else if limit.at_least {
            State::NotKnown
        } else if left < self.soon_below(limit, takes) {
            State::Soon
        } else {
            State::Fine
        }
    }

    fn soon_below(&self, limit: &Reached, takes: f64) -> f64 {
        match self.within_h.filter(|_| limit.by.counts_hours()) {
            Some(within) => within + LOST,
            None if limit.day.is_some() => SOON_DAYS,
            // Nothing is ordered for a look.
            None if !limit.by.changes() => SOON_SHARE * limit.limit,
            None => (2.0 * takes).max(SOON_SHARE * limit.limit),
        }
    }
}

/// Whether it failed or was retired, and was not rebuilt since.
fn gone(record: &PartRecord, until: When) -> Option<Deed> {
    let events = record.part.events_in_order();
    let past = events.iter().map(|(_, event)| event).filter(|event| event.date.unix() <= until.unix());
    let last = past.rev().find(|event| matches!(event.did, Deed::Failed | Deed::Retired | Deed::Renewed));
    last.map(|event| event.did).filter(|did| *did != Deed::Renewed)
}

/// Sorts parts by urgency, those alike by name.
pub(super) fn most_urgent_first(list: &mut [DueStanding]) {
    list.sort_by(|one, other| {
        let (a, b) = (one.urgency(), other.urgency());
        (b.0, b.1).cmp(&(a.0, a.1)).then(b.2.total_cmp(&a.2)).then_with(|| one.part.cmp(&other.part))
    });
}
