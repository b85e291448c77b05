//! One part on a page: what is known of it, its limits with where they are from, and its history with the hours at each step.

use serde_json::{Value, json};

use crate::advice::parts::{By, EventCount};
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::{Condition, Deed};
use crate::quantity::fixed;
use crate::report::air::reading::rounded;
use crate::report::out::screen::Screen;
use crate::report::parts::list::{Kept, at_least_hours, hours, left, limit, place, run};
use crate::report::words::layout::{first_line, table};

/// A part and its history, for a script; newest first.
pub fn json(kept: &Kept, events: &[EventCount<'_>], remarks: &[String]) -> Value {
    let history: Vec<_> = events
        .iter()
        .rev()
        .map(|one| {
            let event = one.event;
            json!({
                "event": one.name,
                "date": event.date.to_string(),
                "did": event.did.word(),
                "engine": event.engine,
                "hours": rounded(one.before.hours_h, 4),
                "hours_at_least": one.before.hours_at_least,
                "starts": rounded(one.before.starts, 0),
                "starts_at_least": one.before.starts_at_least,
                "hours_stated": event.hours.as_ref().map(|hours| rounded(hours.si() / 3600.0, 4)),
                "ran_hours": event.ran.as_ref().map(|hours| rounded(hours.si() / 3600.0, 4)),
                "usable": event.usable,
                "how": event.how,
                "by": event.by,
                "note": event.note,
            })
        })
        .collect();
    json!({ "part": crate::report::parts::list::json(kept), "history": history, "remarks": remarks })
}

/// A part and its history, for a person.
pub fn page(screen: &Screen, kept: &Kept, events: &[EventCount<'_>], remarks: &[String]) -> String {
    let mut lines = vec![screen.strong(&head(kept)), table(&[], facts(kept), &[], screen.width())];
    if kept.standing.gone.is_none() && !matches!(kept.standing.condition, Condition::Unusable(_)) {
        lines.push(String::new());
        lines.push(screen.strong("Limits, the nearest first"));
        lines.extend(limits(screen, kept));
    }
    lines.push(String::new());
    lines.push(screen.strong("History, newest first"));
    if events.is_empty() {
        let help = format!("  nothing yet. Put it in: reedbook part fit {} ENGINE", kept.record.name);
        lines.push(screen.wrap(&help, 4));
    }
    lines.extend(events.iter().rev().map(|one| screen.wrap(&format!("  {}", event(one)), 4)));
    if let Some(notes) = &kept.record.part.notes {
        lines.push(String::new());
        lines.push(screen.wrap(&visible_lines(notes), 0));
    }
    if !remarks.is_empty() {
        lines.push(String::new());
        lines.extend(remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
    }
    lines.join("\n")
}

fn head(kept: &Kept) -> String {
    let title = kept.record.part.title.as_deref().map(|title| format!(": {}", first_line(title)));
    format!("{}{}", kept.record.name, title.unwrap_or_default())
}

fn facts(kept: &Kept) -> Vec<Vec<String>> {
    let (part, standing) = (&kept.record.part, &kept.standing);
    let count = &standing.count;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut row =
        |name: &str, value: Option<String>| rows.extend(value.map(|value| vec![name.to_owned(), value]));
    row("kind", Some(visible(&part.kind)));
    row("number", part.number.as_ref().map(|text| visible(text)));
    row("where", Some(place(standing)));
    row("fits", (!part.fits.is_empty()).then(|| visible(&part.fits.join(", "))));
    row("for a bore of", part.for_bore.as_ref().map(|bore| bore.quantity().with_unit()));
    row("has run", Some(run(count)));
    row("in the book", Some(outings(count.outings)));
    row("before it", Some(before_the_book(kept)));
    row("starts", Some(starts(count.starts, count.starts_at_least)));
    let without = count.outings_without_hours;
    row("not counted", (without > 0).then(|| format!("{} without hours", outings(without))));
    row(
        "since look",
        count.last_look.map(|look| {
            format!("{} (from {})", at_least_hours(count.since_look_h, count.since_look_at_least), look.day())
        }),
    );
    let of_use = standing.gone.is_none() && !matches!(standing.condition, Condition::Unusable(_));
    row("state", of_use.then(|| standing.words().to_owned()));
    row("file", Some(kept.record.file.display().to_string()));
    rows
}

fn before_the_book(kept: &Kept) -> String {
    let part = &kept.record.part;
    if part.events.values().any(|event| event.did == Deed::Renewed) {
        return "made new since".to_owned();
    }
    part.past_hours.as_ref().map_or("not known".to_owned(), |hours| visible(&hours.to_string()))
}

fn outings(number: usize) -> String {
    crate::report::words::layout::count(number, "outing")
}

fn starts(value: f64, at_least: bool) -> String {
    let number = fixed(value, 0);
    match (at_least, number.as_str()) {
        (true, "0") => "not known".to_owned(),
        (true, _) => format!("at least {number}"),
        (false, _) => number,
    }
}

fn limits(screen: &Screen, kept: &Kept) -> Vec<String> {
    let name = &kept.record.name;
    if kept.standing.limits.is_empty() {
        let text = format!(
            "  none set, neither for this part nor for its kind. Set one: reedbook part edit {name} change_after=10"
        );
        return vec![screen.wrap(&text, 2)];
    }
    let mut lines = Vec::new();
    for (state, reached) in &kept.standing.limits {
        let what = match (reached.by, reached.day) {
            (By::Look, _) => format!("look at it every {}", hours(reached.limit)),
            (_, Some(_)) => format!("change by {}", limit(reached)),
            (_, None) => format!("change at {}", limit(reached)),
        };
        let text = format!("  {what}: {}, {}", left(reached), state.words(Some(reached.by)));
        lines.push(screen.wrap(&text, 4));
        lines.push(screen.wrap(&format!("    from {}", visible(&reached.source.words())), 6));
    }
    lines
}

/// "2026-05-16 18:00  removed from cicada at 9.6 h, by Oskar: \"ring land marked\"".
fn event(one: &EventCount<'_>) -> String {
    let event = one.event;
    let mut text = format!("{}  {}", event.date.short(), event.did.word());
    if let Some(engine) = &event.engine {
        text.push_str(&format!(" to {}", visible(engine)));
    }
    let counted = at_least_hours(one.before.hours_h, one.before.hours_at_least);
    match (&event.hours, &event.ran, event.did) {
        (_, Some(ran), _) => {
            let whole = at_least_hours(one.after.hours_h, one.after.hours_at_least);
            text.push_str(&format!(" {ran} outside this book: {whole} then"));
        }
        (Some(stated), _, _) => {
            text.push_str(&format!(" at {stated} by your own count (the book: {counted})"));
        }
        (None, None, Deed::Renewed) => {
            text.push_str(&format!(", hours till then {counted}; counted anew from here"));
        }
        (None, None, _) if counted == "not known" => text.push_str(", hours not known"),
        (None, None, _) => text.push_str(&format!(" at {counted}")),
    }
    if let Some(by) = &event.by {
        text.push_str(&format!(", by {}", first_line(by)));
    }
    match event.usable {
        Some(true) => text.push_str(", usable"),
        Some(false) => text.push_str(", not usable"),
        None => {}
    }
    for words in [&event.how, &event.note].into_iter().flatten() {
        text.push_str(&format!(": \"{}\"", first_line(words)));
    }
    text
}
