//! The screen of what is due: every part that sits in an engine, the most urgent first, and what to take to the next event.

use serde_json::{Value, json};

use crate::advice::parts::{Ask, By, DueList, Event, Reached, Standing, State, Taking, Want};
use crate::quantity::fixed;
use crate::report::air::reading::rounded;
use crate::report::out::screen::Screen;
use crate::report::parts::list::{amount, hours, left, limit, one_line_each, place, run, standing_json};
use crate::report::words::layout::{count, first_line};

/// What the screen is about.
pub struct DueReport {
    /// The parts.
    pub due: DueList,
    /// What to take along.
    pub taking: Vec<Taking>,
    /// Show parts that are fine one by one, too.
    pub all: bool,
    /// Only what comes due within the next event.
    pub next_event: bool,
    /// Why something may be missing.
    pub remarks: Vec<String>,
}

impl DueReport {
    /// For a script.
    pub fn json(&self) -> Value {
        let parts = self.shown(|_| true).map(standing_json).collect::<Vec<_>>();
        let events: Vec<_> = self.due.events.iter().map(|(bike, event)| event_json(bike, event)).collect();
        json!({
            "parts": parts,
            "of_retired_bikes": self.due.of_retired_bikes,
            "events": events,
            "take": self.taking.iter().map(taking_json).collect::<Vec<_>>(),
            "remarks": self.remarks,
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = Vec::new();
        if self.due.parts.is_empty() {
            lines.push(screen.wrap(self.none(), 2));
        }
        for state in [State::Overdue, State::NotForAnotherEvent, State::NotKnown, State::Soon] {
            lines.extend(self.block(screen, state));
        }
        lines.extend(self.without_limit(screen));
        lines.extend(self.fine(screen));
        if self.due.of_retired_bikes > 0 {
            let text = format!("{} of retired bikes left out.", count(self.due.of_retired_bikes, "part"));
            lines.push(text);
        }
        let gap = lines.last().is_some_and(|line| !line.is_empty());
        lines.extend(gap.then(String::new).filter(|_| !self.taking.is_empty()));
        lines.extend(take(screen, &self.taking));
        lines.extend(self.remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
        lines.join("\n").trim_end().to_owned()
    }

    fn none(&self) -> &'static str {
        if self.due.of_retired_bikes > 0 {
            "No part sits in an engine of a bike that is in use."
        } else {
            "No part sits in an engine here. Take one in: reedbook part add NAME --kind KIND --fit ENGINE"
        }
    }

    /// Parts that are asked for.
    fn shown<'a>(&'a self, wanted: impl Fn(&Standing) -> bool + 'a) -> impl Iterator<Item = &'a Standing> {
        let urgent = |part: &&Standing| !self.next_event || part.state() >= State::NotForAnotherEvent;
        self.due.parts.iter().filter(urgent).filter(move |part| wanted(part))
    }

    fn block(&self, screen: &Screen, state: State) -> Vec<String> {
        let parts: Vec<_> = self.shown(|part| part.state() == state).collect();
        if parts.is_empty() {
            return Vec::new();
        }
        let head = match state {
            State::Overdue => "OVERDUE: change it, or look at it, before it runs again",
            State::NotForAnotherEvent => "NOT FOR ANOTHER EVENT: less is left than the next one takes",
            State::Soon => "Due soon",
            State::NotKnown => "Hours or age not known: nobody can say that enough is left",
            State::NoLimit => "No limit set",
            State::Fine => "Ok",
        };
        let mut lines = vec![screen.strong(head), rows(screen, &parts)];
        if state == State::NotKnown {
            lines.push(screen.wrap(&how_to_give(&parts), 2));
        }
        lines.push(String::new());
        lines
    }

    fn without_limit(&self, screen: &Screen) -> Vec<String> {
        if self.all {
            return self.block(screen, State::NoLimit);
        }
        let names: Vec<_> =
            self.shown(|part| part.state() == State::NoLimit).map(|part| part.part.as_str()).collect();
        let Some(first) = names.first() else { return Vec::new() };
        let text = format!(
            "No limit set: {}. Set one: reedbook part edit {first} change_after=10",
            names.join(", ")
        );
        vec![screen.wrap(&text, 2)]
    }

    fn fine(&self, screen: &Screen) -> Vec<String> {
        if self.all {
            return self.block(screen, State::Fine);
        }
        let parts: Vec<_> = self.shown(|part| part.state() == State::Fine).collect();
        if parts.is_empty() {
            return Vec::new();
        }
        let more = if parts.len() == self.due.parts.len() { "" } else { "more " };
        let (what, verb) = if parts.len() == 1 { ("part", "has") } else { ("parts", "have") };
        let least = least_left(&parts);
        let text = format!("{} {more}{what} {verb} {least} or more left (--all lists them).", parts.len());
        vec![screen.wrap(&text, 2)]
    }
}

/// The least that is left of parts that are fine: "6 h", "6 h, 12 starts".
fn least_left(parts: &[&Standing]) -> String {
    let least = |wanted: &dyn Fn(By) -> bool| {
        let firsts = parts.iter().flat_map(|part| part.limits.iter().map(|(_, limit)| limit));
        firsts.filter(|limit| wanted(limit.by)).map(Reached::left).min_by(f64::total_cmp)
    };
    let of_hours = least(&By::counts_hours).map(hours);
    let of_starts = least(&|by| by == By::Starts).map(|left| format!("{} starts", fixed(left.floor(), 0)));
    let of_days =
        least(&|by| matches!(by, By::Days | By::Date)).map(|left| format!("{} days", fixed(left.floor(), 0)));
    [of_hours, of_starts, of_days].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn rows(screen: &Screen, parts: &[&Standing]) -> String {
    let rows = parts.iter().map(|part| row(part)).collect();
    one_line_each(screen, &["part", "kind", "engine", "has run", "due at", "left"], rows, &[1, 2])
}

fn row(part: &Standing) -> Vec<String> {
    let first = part.first();
    let has_run = match first {
        Some(reached) if reached.by == By::Starts => {
            let starts = amount(By::Starts, reached.run);
            match (reached.at_least, reached.run < 1.0) {
                (true, true) => "not known".to_owned(),
                (true, false) => format!("at least {starts}"),
                (false, _) => starts,
            }
        }
        _ => run(&part.count),
    };
    let mut left = first.map_or_else(String::new, left);
    if first.is_some_and(|reached| reached.by == By::Starts) {
        // What is counted stands beside it, and the line is full.
        left = left.replace(" starts", "").replace(" start", "");
    }
    vec![
        part.part.clone(),
        part.kind.clone(),
        place(part),
        has_run,
        first.map_or_else(String::new, limit),
        left.strip_suffix(" left").unwrap_or(&left).to_owned(),
    ]
}

/// How what is not known is made known.
fn how_to_give(parts: &[&Standing]) -> String {
    let by = |wanted: By| parts.iter().find(|part| part.first().is_some_and(|limit| limit.by == wanted));
    let first = by(By::Hours).or_else(|| by(By::Look)).or_else(|| by(By::Starts));
    let Some(part) = first else {
        let name = parts.first().map_or("PART", |part| part.part.as_str());
        return format!("Give a day of its own: reedbook part edit {name} change_by=2027-03-01");
    };
    let name = &part.part;
    let without = part.count.outings_without_hours;
    match (part.first().map(|limit| limit.by), &part.bike) {
        (Some(By::Starts), _) => format!("If you know them: reedbook part edit {name} past_starts=20"),
        (_, Some(bike)) if without > 0 => format!(
            "{} of {name} without hours. If you know them: reedbook outing edit {bike} OUTING --hours 0.4, or the \
             part's whole hours: reedbook part inspect {name} --hours 8",
            count(without, "outing")
        ),
        _ => format!(
            "If you know them: reedbook part edit {name} past_hours=3 (those before this book), or the part's whole \
             hours: reedbook part inspect {name} --hours 8"
        ),
    }
}

fn take(screen: &Screen, taking: &[Taking]) -> Vec<String> {
    if taking.is_empty() {
        return Vec::new();
    }
    let mut lines = vec![screen.strong("To take to the next event")];
    for bike in taking {
        lines.push(screen.wrap(&format!("  {}: {}", bike.bike, event_words(bike.event.as_ref())), 4));
        if !bike.unknown.is_empty() {
            let names: Vec<_> = bike.unknown.iter().map(|part| part.part.as_str()).collect();
            let text = format!("    may come due, as what they ran is not known: {}", names.join(", "));
            lines.push(screen.wrap(&text, 6));
        } else if bike.wants.is_empty() {
            lines.push("    no part is known to come due within it".to_owned());
        }
        for want in &bike.wants {
            lines.push(screen.wrap(&format!("    {}", want_words(want)), 6));
            lines.extend(asked(screen, want));
        }
    }
    lines
}

/// What must be said of the parts that may be spares: of the first one, with the command that says it.
fn asked(screen: &Screen, want: &Want) -> Vec<String> {
    let Some((first, ask)) = want.asked.first() else { return Vec::new() };
    let name = &first.part;
    let more = match want.asked.len() - 1 {
        0 => String::new(),
        more => format!(" ({more} more may be)"),
    };
    let engine = &want.engine;
    let (question, command) = match ask {
        Ask::Fits => (
            format!("{name} is a {}: does it fit {engine}?{more} If so:", want.kind),
            format!("reedbook part edit {name} --fits {engine}"),
        ),
        Ask::Sound(words) => (
            format!("{name} was written down as \"{}\": can it be used?{more} If so:", first_line(words)),
            format!("reedbook part inspect {name} --usable"),
        ),
    };
    // A command stands whole on its own line, so that it can be typed as it is read.
    vec![screen.wrap(&format!("      ? {question}"), 8), format!("        {command}")]
}

/// "an event takes 2.1 h (Tarn Hollow 2026-05-16, the most of 365 days)".
fn event_words(event: Option<&Event>) -> String {
    let Some(event) = event else {
        return "it has no outings, so what an event takes is not known".to_owned();
    };
    let place = event.place.as_deref().map(first_line);
    let day = event.to.day();
    let which =
        if event.of_the_year { "the most of 365 days" } else { "its last one, none in the last 365 days" };
    match (event.hours_at_least, event.hours_h > 1e-6) {
        (true, false) => {
            let place = place.map(|place| format!(" at {place}")).unwrap_or_default();
            format!("what an event takes is not known: no hours are written of the outings{place} on {day}")
        }
        (at_least, _) => {
            let at_least = if at_least { "at least " } else { "" };
            let place = place.map(|place| format!("{place} ")).unwrap_or_default();
            format!("an event takes {at_least}{} ({place}{day}, {which})", hours(event.hours_h))
        }
    }
}

/// Spares that are told one by one; what is beyond is counted.
const SPARES_NAMED: usize = 2;

/// "piston for piston-7: piston-8 (0 h), piston-9 (at least 3.5 h)".
fn want_words(want: &Want) -> String {
    let parts: Vec<_> = want.parts.iter().map(|part| part.part.as_str()).collect();
    let spares: Vec<_> = want
        .spares
        .iter()
        .map(|spare| {
            let over = if spare.state() == State::Overdue { ", over its own limit" } else { "" };
            let run = if spare.hours_unknown() { "hours not known".to_owned() } else { run(&spare.count) };
            format!("{} ({run}{over})", spare.part)
        })
        .collect();
    let have = match spares.as_slice() {
        [] if want.asked.is_empty() => "no spare in the book".to_owned(),
        [] => "no spare that is known to fit".to_owned(),
        few if few.len() <= SPARES_NAMED => few.join(", "),
        many => format!("{} and {} more", many[..SPARES_NAMED].join(", "), many.len() - SPARES_NAMED),
    };
    let short = want.parts.len().saturating_sub(want.good_spares());
    let short = match (want.spares.is_empty(), short) {
        (true, _) | (_, 0) => String::new(),
        (false, short) => format!("; {short} short"),
    };
    format!("{} for {}: {have}{short}", want.kind, parts.join(", "))
}

fn event_json(bike: &str, event: &Event) -> Value {
    json!({
        "bike": bike,
        "place": event.place,
        "from": event.from.to_string(),
        "to": event.to.to_string(),
        "hours": rounded(event.hours_h, 4),
        "hours_at_least": event.hours_at_least,
        "starts": rounded(event.starts, 0),
        "outings": event.outings,
        "most_of_365_days": event.of_the_year,
    })
}

fn taking_json(taking: &Taking) -> Value {
    let wants: Vec<_> = taking
        .wants
        .iter()
        .map(|want| {
            json!({
                "kind": want.kind,
                "parts": want.parts.iter().map(|part| part.part.as_str()).collect::<Vec<_>>(),
                "engine": want.engine,
                "spares": want.spares.iter().map(standing_json).collect::<Vec<_>>(),
                "asked": want.asked.iter().map(asked_json).collect::<Vec<_>>(),
            })
        })
        .collect();
    let unknown: Vec<_> = taking.unknown.iter().map(|part| part.part.as_str()).collect();
    json!({ "bike": taking.bike, "wants": wants, "not_known": unknown })
}

fn asked_json((part, ask): &(Standing, Ask)) -> Value {
    let (what, words) = match ask {
        Ask::Fits => ("fits", None),
        Ask::Sound(words) => ("usable", Some(words)),
    };
    json!({ "part": part.part, "asked": what, "words": words })
}
