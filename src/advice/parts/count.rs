//! What a part has run by a date: its past, the outings of the engines it was in, and what was written down of it.

use super::running::EngineRun;
use crate::notebook::{Deed, Part, PartEvent, When};
use crate::quantity::{Hours, Number};

/// What a part has run. What is not known is never taken for none: the figure is then the least it can be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Count {
    /// Hours.
    pub hours_h: f64,
    /// Whether it has at least so many hours, because some are not known.
    pub hours_at_least: bool,
    /// Starts.
    pub starts: f64,
    /// Whether it had at least so many starts.
    pub starts_at_least: bool,
    /// Outings that counted.
    pub outings: usize,
    /// Of these, outings of which no hours are known.
    pub outings_without_hours: usize,
    /// When it was first fitted since it was new or made new.
    pub first_fitted: Option<When>,
    /// Hours since it was looked at, fitted or made new, whichever was last; a move to another cylinder of its engine is none of these.
    pub since_look_h: f64,
    /// Whether it has at least so many hours since, because an outing since has none.
    pub since_look_at_least: bool,
    /// When that was.
    pub last_look: Option<When>,
}

/// Counts a part by a date, from runs that come by date. An outing at the moment of fitting counts; one at the moment of
/// taking out does not.
pub fn count(part: &Part, runs: &[EngineRun], until: When) -> Count {
    let mut counting = Counting { runs, count: past(part), place: None, out: None };
    for (_, event) in part.events_in_order() {
        if event.date.unix() > until.unix() {
            break;
        }
        counting.run_until(event.date, false);
        counting.take(event);
    }
    counting.run_until(until, true);
    counting.count
}

/// What a part had run when something happened to it.
#[derive(Debug, Clone, Copy)]
pub struct EventCount<'p> {
    /// The event's name in the part's file.
    pub name: &'p str,
    /// The event.
    pub event: &'p PartEvent,
    /// By the book, up to that moment.
    pub before: Count,
    /// With what the event says: hours by your own log, a part made new.
    pub after: Count,
}

/// A part's events in the order in which they happened, each with what the part had run then.
pub fn counts_at_events<'p>(part: &'p Part, runs: &[EngineRun]) -> Vec<EventCount<'p>> {
    let mut counting = Counting { runs, count: past(part), place: None, out: None };
    let in_order = part.events_in_order().into_iter();
    in_order
        .map(|(name, event)| {
            counting.run_until(event.date, false);
            let before = counting.count;
            counting.take(event);
            EventCount { name, event, before, after: counting.count }
        })
        .collect()
}

fn past(part: &Part) -> Count {
    Count {
        hours_h: part.past_hours.as_ref().map_or(0.0, hours_of),
        hours_at_least: part.past_hours.is_none(),
        starts: part.past_starts.as_ref().map_or(0.0, Number::si),
        starts_at_least: part.past_starts.is_none(),
        ..Count::default()
    }
}

fn hours_of(hours: &Hours) -> f64 {
    hours.si() / 3600.0
}

struct Counting<'r> {
    runs: &'r [EngineRun],
    count: Count,
    /// The engine it is in, and until when its runs are counted.
    place: Option<(String, When)>,
    /// The engine it was taken out of last, and when.
    out: Option<(String, When)>,
}

impl Counting<'_> {
    /// Counts the runs of the engine it is in, up to a moment.
    fn run_until(&mut self, until: When, with_that_moment: bool) {
        let Some((engine, from)) = self.place.clone() else {
            return;
        };
        // Moments are compared, not what a clock showed: an outing may be dated by another offset than the part's event.
        let (first, last) = (from.unix(), until.unix() - i64::from(!with_that_moment));
        let within = |run: &&EngineRun| run.engine == engine && (first..=last).contains(&run.date.unix());
        for run in self.runs.iter().filter(within) {
            self.count.outings += 1;
            self.count.starts += run.starts;
            if let Some(hours) = run.hours_h {
                self.count.hours_h += hours;
                self.count.since_look_h += hours;
            } else {
                self.count.outings_without_hours += 1;
                self.count.hours_at_least = true;
                self.count.since_look_at_least = true;
            }
        }
        self.place = Some((engine, until));
    }

    fn take(&mut self, event: &PartEvent) {
        match event.did {
            Deed::Fitted => {
                self.place = event.engine.clone().map(|engine| (engine, event.date));
                self.count.first_fitted = self.count.first_fitted.or(Some(event.date));
                // A part that moves to another cylinder of its engine takes along what it ran since it was looked at.
                if self.out.is_none() || self.out != self.place {
                    self.look(event);
                }
            }
            Deed::Inspected => self.look(event),
            Deed::Ran => {
                let hours = event.ran.as_ref().map_or(0.0, hours_of);
                self.count.hours_h += hours;
                self.count.since_look_h += hours;
                self.count.starts_at_least = true;
            }
            Deed::Renewed => {
                let first_fitted = self.place.as_ref().map(|_| event.date);
                self.count = Count { first_fitted, ..Count::default() };
                self.look(event);
            }
            Deed::Removed => self.out = self.place.take().map(|(engine, _)| (engine, event.date)),
            Deed::Failed | Deed::Retired => self.place = None,
        }
        if let Some(hours) = &event.hours {
            self.count.hours_h = hours_of(hours);
            self.count.hours_at_least = false;
            self.count.outings_without_hours = 0;
        }
    }

    /// A part that is fitted or made new was in somebody's hands: it has been looked at.
    fn look(&mut self, event: &PartEvent) {
        self.count.since_look_h = 0.0;
        self.count.since_look_at_least = false;
        self.count.last_look = Some(event.date);
    }
}
