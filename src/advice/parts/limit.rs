//! The limits of a part, each with where it is from and how far it is used up.

use super::count::Count;
use crate::notebook::{Deed, Limits, Part, PartLimits, When};
use crate::quantity::Hours;

/// What a limit goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum By {
    /// Hours until it is changed.
    Hours,
    /// Starts until it is changed.
    Starts,
    /// Days since it was first fitted until it is changed.
    Days,
    /// The day by which it is changed.
    Date,
    /// Hours since the last look until the next one.
    Look,
}

impl By {
    /// Its word for a script.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hours => "hours",
            Self::Starts => "starts",
            Self::Days => "days",
            Self::Date => "date",
            Self::Look => "look",
        }
    }

    /// Whether it counts hours.
    pub fn counts_hours(self) -> bool {
        matches!(self, Self::Hours | Self::Look)
    }

    /// Whether the part is changed by it, not only looked at.
    pub fn changes(self) -> bool {
        self != Self::Look
    }
}

/// Where a limit is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// The part's own file.
    Own,
    /// The table of its kind in configs/limits.toml.
    Kind {
        /// The kind.
        kind: String,
        /// What the table says of where its figures are from.
        said: Option<String>,
    },
}

impl Source {
    /// In words: "the part's own", "configs/limits.toml, \[parts.piston\]: common practice".
    pub fn words(&self) -> String {
        match self {
            Self::Own => "the part's own".to_owned(),
            Self::Kind { kind, said: None } => format!("configs/limits.toml, [parts.{kind}]"),
            Self::Kind { kind, said: Some(said) } => format!("configs/limits.toml, [parts.{kind}]: {said}"),
        }
    }
}

/// How far one limit of a part is used up; in hours, starts or days, after what it goes by.
#[derive(Debug, Clone, PartialEq)]
pub struct Reached {
    /// What it goes by.
    pub by: By,
    /// The limit. Of a fixed day, the days to it from when the part was first fitted.
    pub limit: f64,
    /// How much of it is used.
    pub run: f64,
    /// Whether that is only the least it can be.
    pub at_least: bool,
    /// The day that days and dates end at; its last second is still in time.
    pub day: Option<When>,
    /// Where the limit is from.
    pub source: Source,
}

impl Reached {
    /// What is left of it, negative once it is over; the most it can be where the run is the least it can be.
    pub fn left(&self) -> f64 {
        self.limit - self.run
    }

    /// The share that is used, 0 or more; 1 and above once it is over. Of two limits the one with the larger share comes
    /// first if the part goes on being used as it was.
    pub fn share(&self) -> f64 {
        if self.limit > 0.0 { (self.run / self.limit).max(0.0) } else { f64::from(u8::from(self.is_over())) }
    }

    /// Whether it is over. The millionth of an hour is what adding up outings loses.
    pub fn is_over(&self) -> bool {
        if self.day.is_some() { self.left() < 0.0 } else { self.left() <= 1e-6 }
    }
}

const DAY_S: f64 = 86_400.0;

/// The limits of a part by what it has run until now: its own, else those of its kind. A day of its own takes the place of
/// its kind's number of days. Empty where nothing is set.
pub fn reached(part: &Part, count: &Count, limits: &Limits, now: When) -> Vec<Reached> {
    let of_kind = limits.parts.get(&part.kind);
    let choose = Choose { part, of_kind };
    let hours = choose.hours(part.change_after.as_ref(), |kind| kind.change_after.as_ref());
    let starts = choose.number(part.change_after_starts.as_ref().map(crate::quantity::Number::si), |kind| {
        kind.change_after_starts.as_ref().map(crate::quantity::Number::si)
    });
    let look = choose
        .hours(part.inspect_after.as_ref(), |kind| kind.inspect_after.as_ref())
        .filter(|_| count.last_look.is_some());
    let mut found = Vec::new();
    found.extend(hours.map(|limit| limit.reached(By::Hours, count.hours_h, count.hours_at_least)));
    found.extend(starts.map(|limit| limit.reached(By::Starts, count.starts, count.starts_at_least)));
    found.extend(by_the_calendar(&choose, count, now));
    found.extend(look.map(|limit| limit.reached(By::Look, count.since_look_h, count.since_look_at_least)));
    found
}

struct Choose<'a> {
    part: &'a Part,
    of_kind: Option<&'a PartLimits>,
}

struct Limit {
    value: f64,
    source: Source,
}

impl Limit {
    fn reached(self, by: By, run: f64, at_least: bool) -> Reached {
        Reached { by, limit: self.value, run, at_least, day: None, source: self.source }
    }
}

impl Choose<'_> {
    fn number(&self, own: Option<f64>, of_kind: impl Fn(&PartLimits) -> Option<f64>) -> Option<Limit> {
        if let Some(value) = own {
            return Some(Limit { value, source: Source::Own });
        }
        let kind = self.of_kind?;
        let source = Source::Kind { kind: self.part.kind.clone(), said: kind.source.clone() };
        of_kind(kind).map(|value| Limit { value, source })
    }

    fn hours(&self, own: Option<&Hours>, of_kind: impl Fn(&PartLimits) -> Option<&Hours>) -> Option<Limit> {
        self.number(own.map(in_hours), |kind| of_kind(kind).map(in_hours))
    }
}

fn in_hours(hours: &Hours) -> f64 {
    hours.si() / 3600.0
}

fn by_the_calendar(choose: &Choose<'_>, count: &Count, now: When) -> Option<Reached> {
    let since = |from: When, to: When| seconds(to.unix() - from.unix()) / DAY_S;
    if let Some(day) = choose.part.change_by {
        let last = end_of(day);
        let from = count.first_fitted.filter(|first| *first < last).unwrap_or(now);
        let limit = Limit { value: since(from, last), source: Source::Own };
        return Some(Reached { day: Some(last), ..limit.reached(By::Date, since(from, now), false) });
    }
    let first = count.first_fitted?;
    let limit =
        choose.number(None, |kind| kind.change_after_days.as_ref().map(crate::quantity::Number::si))?;
    let last = When::from_unix(
        first.unix().saturating_add(whole_seconds(limit.value * DAY_S)),
        first.offset_minutes(),
    )?;
    // A part that ran before this book was fitted once before, and nobody knows when.
    let made_new = choose.part.events.values().any(|event| event.did == Deed::Renewed);
    let ran_before = choose.part.past_hours.as_ref().is_none_or(|hours| hours.si() > 0.0);
    let ran_before = ran_before && !made_new;
    Some(Reached { day: Some(last), ..limit.reached(By::Days, since(first, now), ran_before) })
}

/// The last second of a day: what is to be done by a day may be done on it.
fn end_of(day: When) -> When {
    When::parse_to(&day.day(), day.offset()).unwrap_or(day)
}

#[allow(clippy::cast_precision_loss)] // seconds of some ten thousand years
fn seconds(whole: i64) -> f64 {
    whole as f64
}

#[allow(clippy::cast_possible_truncation)] // at most 20,000 days, which the document's range keeps
fn whole_seconds(seconds: f64) -> i64 {
    seconds as i64
}
