//! One part on a page: what is known of it, its limits with where they are from, and its history with the hours at each step.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::parts::{By, EventCount};
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::{Deed, Part, When, at_cylinder};
use crate::quantity::{Hours, fixed};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::parts::list::{Kept, PartWritten};
use crate::report::parts::standing::{at_least_hours, hours};
use crate::report::parts::word::Worded;
use crate::report::words::layout::{count, first_line, table};

/// A part, its limits with where they are from, and its history.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartShowAnswer {
    /// The part with what is written of it.
    part: PartWritten,
    /// What happened to it, newest first.
    history: Vec<PartEventShown>,
    /// What else should be known: outings and parts that could not be counted, and why.
    remarks: Vec<String>,
    /// What it ran before this book, in words.
    #[serde(skip)]
    before_the_book: String,
}

/// One event of the part.
#[derive(Debug, Serialize, JsonSchema)]
struct PartEventShown {
    /// The event's name in the part's file.
    event: String,
    /// When.
    #[schemars(with = "String")]
    date: When,
    /// What was done.
    did: Deed,
    /// The engine it was put into; null for anything but fitted.
    engine: Option<String>,
    /// The cylinder it was put to, of an engine with several; not there where it was put to none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    cylinder: Option<String>,
    /// Hours it had run by the book up to then.
    hours: Figure<4>,
    /// Whether it had at least so many.
    hours_at_least: bool,
    /// Starts up to then.
    starts: Figure<0>,
    /// Whether it had at least so many.
    starts_at_least: bool,
    /// Its hours then by the tuner's own count, which the count goes on from; null when not said.
    hours_stated: Option<Figure<4>>,
    /// Hours that no outing of the book holds; null for anything but ran.
    ran_hours: Option<Figure<4>>,
    /// Whether it said then that the part can be used as it is; null when nothing was said.
    usable: Option<bool>,
    /// How it failed; null for anything but failed.
    how: Option<String>,
    /// Who did it.
    by: Option<String>,
    /// Anything else.
    note: Option<String>,
    /// The hours by the tuner's own count, as typed.
    #[serde(skip)]
    stated: Option<String>,
    /// The hours that no outing of the book holds, as typed.
    #[serde(skip)]
    ran: Option<String>,
    /// Hours with what the event says, in words.
    #[serde(skip)]
    whole: String,
}

impl PartEventShown {
    fn of(one: &EventCount<'_>) -> Self {
        let (event, before, after) = (one.event, one.before, one.after);
        let in_hours = |typed: &Hours| Figure(typed.si() / 3600.0);
        Self {
            event: one.name.to_owned(),
            date: event.date,
            did: event.did,
            engine: event.engine.clone(),
            cylinder: event.cylinder.clone(),
            hours: Figure(before.hours_h),
            hours_at_least: before.hours_at_least,
            starts: Figure(before.starts),
            starts_at_least: before.starts_at_least,
            hours_stated: event.hours.as_ref().map(in_hours),
            ran_hours: event.ran.as_ref().map(in_hours),
            usable: event.usable,
            how: event.how.clone(),
            by: event.by.clone(),
            note: event.note.clone(),
            stated: event.hours.as_ref().map(ToString::to_string),
            ran: event.ran.as_ref().map(ToString::to_string),
            whole: at_least_hours(after.hours_h, after.hours_at_least),
        }
    }

    /// "2026-05-16 18:00  removed from cicada at 9.6 h, by Oskar: \"ring land marked\"".
    fn line(&self) -> String {
        let mut text = format!("{}  {}", self.date.short(), self.did.word());
        if let Some(engine) = &self.engine {
            text.push_str(&format!(" to {}", at_cylinder(&visible(engine), self.cylinder.as_deref())));
        }
        let counted = at_least_hours(self.hours.0, self.hours_at_least);
        match (&self.stated, &self.ran, self.did) {
            (_, Some(ran), _) => {
                text.push_str(&format!(" {ran} outside this book: {} then", self.whole));
            }
            (Some(stated), _, _) => {
                text.push_str(&format!(" at {stated} by your own log (the book: {counted})"));
            }
            (None, None, Deed::Renewed) => {
                text.push_str(&format!(", hours till then {counted}; counted anew from here"));
            }
            (None, None, _) if counted == "not known" => text.push_str(", hours not known"),
            (None, None, _) => text.push_str(&format!(" at {counted}")),
        }
        if let Some(by) = &self.by {
            text.push_str(&format!(", by {}", first_line(by)));
        }
        match self.usable {
            Some(true) => text.push_str(", usable"),
            Some(false) => text.push_str(", not usable"),
            None => {}
        }
        for words in [&self.how, &self.note].into_iter().flatten() {
            text.push_str(&format!(": \"{}\"", first_line(words)));
        }
        text
    }
}

impl PartShowAnswer {
    /// A part with its events in the order in which they happened.
    pub fn new(kept: &Kept, events: &[EventCount<'_>], remarks: Vec<String>) -> Self {
        Self {
            part: PartWritten::from(kept),
            history: events.iter().rev().map(PartEventShown::of).collect(),
            remarks,
            before_the_book: before_the_book(&kept.record.part),
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines =
            vec![screen.strong(&screen.wrap(&self.head(), 2)), table(&[], self.facts(), &[], screen.width())];
        if self.part.standing.is_of_use() {
            lines.push(String::new());
            lines.push(screen.strong("Limits, the nearest first"));
            lines.extend(self.limits(screen));
        }
        lines.push(String::new());
        lines.push(screen.strong("History, newest first"));
        if self.history.is_empty() {
            let help =
                format!("  nothing yet. Put it in:\n  reedbook part fit {} ENGINE", self.part.standing.part);
            lines.push(screen.wrap(&help, 4));
        }
        lines.extend(self.history.iter().map(|deed| screen.wrap(&format!("  {}", deed.line()), 4)));
        if let Some(notes) = &self.part.notes {
            lines.push(String::new());
            lines.push(screen.wrap(&visible_lines(notes), 0));
        }
        if !self.remarks.is_empty() {
            lines.push(String::new());
            lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
        }
        lines.join("\n")
    }

    fn head(&self) -> String {
        let title = self.part.title.as_deref().map(|title| format!(": {}", first_line(title)));
        format!("{}{}", self.part.standing.part, title.unwrap_or_default())
    }

    fn facts(&self) -> Vec<Vec<String>> {
        let (part, standing) = (&self.part, &self.part.standing);
        let run = &standing.count;
        let mut rows: Vec<Vec<String>> = Vec::new();
        let mut row =
            |name: &str, value: Option<String>| rows.extend(value.map(|value| vec![name.to_owned(), value]));
        row("kind", Some(visible(&standing.kind)));
        row("number", part.number.as_ref().map(|text| visible(text)));
        row("where", Some(standing.place()));
        row("cylinder", standing.cylinder.as_deref().map(visible));
        row("fits", (!part.fits.is_empty()).then(|| visible(&part.fits.join(", "))));
        row("for a bore of", part.bore.clone());
        row("has run", Some(run.run()));
        row("in the book", Some(outings(run.outings)));
        row("before it", Some(self.before_the_book.clone()));
        row("starts", Some(starts(run.starts.0, run.starts_at_least)));
        let without = run.outings_without_hours;
        row("not counted", (without > 0).then(|| format!("{} without hours", outings(without))));
        row(
            "since inspection",
            run.last_look.map(|look| {
                let since = at_least_hours(run.since_look_hours.0, run.since_look_at_least);
                format!("{since} (from {})", look.day())
            }),
        );
        row("state", standing.is_of_use().then(|| standing.state.0.word().to_owned()));
        row("file", Some(part.file.clone()));
        rows
    }

    fn limits(&self, screen: &Screen) -> Vec<String> {
        let standing = &self.part.standing;
        if standing.limits.is_empty() {
            let text = format!(
                "  none set, neither for this part nor for its kind. Set one:\n  reedbook part edit {} change_after=…",
                standing.part
            );
            return vec![screen.wrap(&text, 2)];
        }
        let mut lines = Vec::new();
        for limit in &standing.limits {
            let what = match (limit.by.0, &limit.day) {
                (By::Look, _) => format!("look at it every {}", hours(limit.limit.0)),
                (_, Some(_)) => format!("change by {}", limit.place()),
                (_, None) => format!("change at {}", limit.place()),
            };
            let text = format!("  {what}: {}, {}", limit.left_words(), limit.state.0.word());
            lines.push(screen.wrap(&text, 4));
            lines.push(screen.wrap(&format!("    from {}", visible(&limit.source)), 6));
        }
        lines
    }
}

fn before_the_book(part: &Part) -> String {
    if part.events.values().any(|event| event.did == Deed::Renewed) {
        return "rebuilt since".to_owned();
    }
    part.past_hours.as_ref().map_or("not known".to_owned(), |hours| visible(&hours.to_string()))
}

fn outings(number: usize) -> String {
    count(number, "outing")
}

fn starts(value: f64, at_least: bool) -> String {
    let number = fixed(value, 0);
    match (at_least, number.as_str()) {
        (true, "0") => "not known".to_owned(),
        (true, _) => format!("at least {number}"),
        (false, _) => number,
    }
}
