//! How much one event takes of an engine: the outings of a bike on days near each other at one place.

use std::collections::BTreeSet;

use super::running::EngineRun;
use crate::notebook::When;

/// Days from one outing to the next of the same event, at most.
const APART_DAYS: i64 = 2;
/// Days back that the events are looked for.
const BACK_DAYS: i64 = 365;
const DAY_S: i64 = 86_400;

/// What an event of a bike takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Where it was, where that was written.
    pub place: Option<String>,
    /// Its first outing.
    pub from: When,
    /// Its last outing.
    pub to: When,
    /// Hours of its outings.
    pub hours_h: f64,
    /// Whether it had at least so many, because an outing has no hours.
    pub hours_at_least: bool,
    /// Starts of its outings; of several events the most that any had.
    pub starts: f64,
    /// Outings.
    pub outings: usize,
    /// Whether it is the one with the most hours of the last 365 days; otherwise it is the last one, longer ago.
    pub of_the_year: bool,
}

/// The event of a bike that took the most hours of the 365 days before `now`, or the last one before them; none where the
/// bike never ran. An outing without a place is taken to belong to every event that it is near enough to.
pub fn biggest_event(runs: &[EngineRun], bike: &str, now: When) -> Option<Event> {
    let of_bike: Vec<&EngineRun> =
        runs.iter().filter(|run| run.bike == bike && run.date.unix() <= now.unix() + DAY_S).collect();
    let places: BTreeSet<Option<String>> = of_bike.iter().map(|run| place(run)).collect();
    let mut events = Vec::new();
    for wanted in &places {
        let there: Vec<&EngineRun> = of_bike
            .iter()
            .copied()
            .filter(|run| place(run).is_none_or(|here| Some(&here) == wanted.as_ref()))
            .collect();
        let near = |pair: &[&EngineRun]| day(pair[1]) - day(pair[0]) <= APART_DAYS;
        let mut rest = there.as_slice();
        while !rest.is_empty() {
            let end = rest.windows(2).position(|pair| !near(pair)).map_or(rest.len(), |gap| gap + 1);
            let (one, later) = rest.split_at(end);
            events.extend(event(one));
            rest = later;
        }
    }
    let first = now.unix() - BACK_DAYS * DAY_S;
    let recent: Vec<&Event> = events.iter().filter(|event| event.to.unix() >= first).collect();
    let starts = recent.iter().map(|event| event.starts).fold(0.0, f64::max);
    let most = recent.into_iter().max_by(|a, b| a.hours_h.total_cmp(&b.hours_h).then(a.to.cmp(&b.to)));
    match most {
        Some(most) => Some(Event { starts, of_the_year: true, ..most.clone() }),
        None => events.into_iter().max_by_key(|event| event.to),
    }
}

fn event(runs: &[&EngineRun]) -> Option<Event> {
    let (first, last) = (runs.first()?, runs.last()?);
    Some(Event {
        place: runs.iter().find_map(|run| run.place.clone().filter(|_| place(run).is_some())),
        from: first.date,
        to: last.date,
        hours_h: runs.iter().filter_map(|run| run.hours_h).sum(),
        hours_at_least: runs.iter().any(|run| run.hours_h.is_none()),
        starts: runs.iter().map(|run| run.starts).sum(),
        outings: runs.len(),
        of_the_year: false,
    })
}

/// A place by which outings are told apart: capitals and blanks around it make no other place of it.
fn place(run: &EngineRun) -> Option<String> {
    run.place.as_ref().map(|place| place.trim().to_lowercase()).filter(|place| !place.is_empty())
}

/// The day of an outing where it was, counted from 1970.
fn day(run: &EngineRun) -> i64 {
    (run.date.unix() + i64::from(run.date.offset_minutes()) * 60).div_euclid(DAY_S)
}
