//! Logging a run: one button a zone, then the rest; what looks like a slip is asked with everything that was typed still there.

use maud::{Markup, html};

use super::super::pocket::{PLUG, verdicts};
use super::super::shell::text;
use super::jets::{air_fields, questions};
use super::sure::{SURE, answered, answers, entered};
use super::{FormFields, PageFrame, in_address, of_bike, plain, signed};
use crate::advice::slips::Slip;
use crate::notebook::ZONES;
use crate::report::history::outing::{OutingEntry, OutingRemoved, OutingWritten};
use crate::report::{Screen, Trouble};
use crate::store::{BikeJobs, OutingRecord};

/// The setup that stood on the form.
pub const SETUP: &str = "setup";
/// Name of the field that says which run is mended.
pub const RUN: &str = "run";
/// Name of the field that says what that run said when the form was opened.
pub const AS_IT_WAS: &str = "was";
/// Start of the names of the fields that say what each field showed when the form was opened.
pub const SHOWN: &str = "shown.";
/// Name of the button that takes it back.
pub const REMOVE: &str = "remove";

/// The run that a form mends.
pub struct Mends<'a> {
    /// As it is recorded.
    pub record: &'a OutingRecord,
    /// What it says, in short.
    pub as_it_was: String,
    /// The same as it would be typed.
    pub shown: &'a FormFields,
}

/// What the form is about.
pub struct LogPage<'a> {
    /// What was typed.
    pub typed: &'a FormFields,
    /// Names of known places.
    pub places: &'a [String],
    /// Names of its cylinders; none of a bike with one.
    pub cylinders: &'a [String],
    /// Its jobs.
    pub jobs: &'a BikeJobs,
    /// The setup it runs.
    pub setup: Option<u32>,
    /// The air that is kept, in words; none where none serves.
    pub air: Option<String>,
    /// What is asked before it is recorded.
    pub asked: Vec<&'a Slip>,
    /// What was wrong in what was typed.
    pub wrong: Option<Trouble>,
    /// The run that is mended; none where a new one is logged.
    pub mends: Option<Mends<'a>>,
}

/// The form.
pub fn log(place: &PageFrame<'_>, screen: &Screen, page: &LogPage<'_>) -> String {
    let bike = place.bike.unwrap_or_default();
    let setup = page.setup.map_or_else(|| "no setup yet".to_owned(), |number| format!("setup {number}"));
    let Some(pen) = place.pen else { return place.page("Log", &html! {}) };
    let title = of_bike(bike, if page.mends.is_some() { "mend a run" } else { "log a run" });
    let body = html! {
        h1 { (title) }
        @if let Some(wrong) = &page.wrong {
            p.hands { @if page.mends.is_some() { "Not mended yet:" } @else { "Not logged yet:" } }
            (plain(&wrong.parts(screen)))
        }
        @if let Some(mends) = &page.mends { p { "The run as it is logged: " (text(&OutingEntry::of(mends.record).line(screen))) } }
        form method="post" action=(place.address(if page.mends.is_some() { "/last" } else { "/log" })) {
            (signed(pen))
            (entered())
            @match &page.mends {
                Some(mends) => {
                    input type="hidden" name=(RUN) value=(mends.record.id);
                    input type="hidden" name=(AS_IT_WAS) value=(mends.as_it_was);
                    @for (name, text) in mends.shown.fields() { input type="hidden" name={ (SHOWN) (name) } value=(text); }
                }
                None => input type="hidden" name=(SETUP) value=(page.setup.unwrap_or_default());,
            }
            (answered(page.typed))
            @if !page.asked.is_empty() {
                (questions(&page.asked))
                button.main name=(SURE) value=(answers(&page.asked)) { "Yes, that is right: " @if page.mends.is_some() { "mend it" } @else { "log it" } }
                @for what in doubts(&page.asked) {
                    button.also name="doubted" value=(what) { @if page.mends.is_some() { "Mend it" } @else { "Log it" } ", its " (what) " doubted" }
                }
                h2 { "Or mend it" }
            }
            (zones("", page.typed, &ZONES[3..]))
            details open[ZONES[..3].iter().any(|(zone, _, _)| page.typed.said(&format!("z.{zone}")).is_some())] {
                summary { "1/4, 1/8, closed" }
                (zones("", page.typed, &ZONES[..3]))
            }
            @for name in page.cylinders {
                @let start = format!("{name}.");
                details open[page.typed.fields().any(|(field, said)| field.starts_with(&format!("z.{start}")) && !said.is_empty())] {
                    summary { "Only at the cylinder " (text(name)) }
                    (zones(&start, page.typed, &ZONES))
                    label { "Plug there" input name=(format!("plug.{name}")) list="plugs" maxlength="200"
                        value=(page.typed.get(&format!("plug.{name}"))); }
                }
            }
            label { "Plug" input name="plug" list="plugs" maxlength="200" value=(page.typed.get("plug")) autocomplete="off"; }
            datalist id="plugs" { @for word in PLUG { option value=(word) {} } }
            div.pair {
                label { "Best lap" input name="lap" maxlength="40" placeholder="1:23.4" value=(page.typed.get("lap")) autocomplete="off"; }
                label { "Ran, min" input name="minutes" inputmode="decimal" maxlength="20" value=(page.typed.get("minutes")) autocomplete="off"; }
                label { "Session" input name="session" maxlength="80" value=(page.typed.get("session")); }
                label { "When, if not now" input name="date" maxlength="30" placeholder="9:40" value=(page.typed.get("date")) autocomplete="off"; }
            }
            label { "Note" textarea name="notes" rows="3" maxlength="2000" { (page.typed.get("notes")) } }
            (without(page))
            details open[page.air.is_none()] {
                summary { "The air: " @match &page.air { Some(air) => (text(air)), None => "none is kept, type it" } }
                (air_fields(page.typed, page.places, screen.units()))
            }
            button.main { @if page.mends.is_some() { "Mend it" } @else { "Log it on " (setup) } }
            @if page.mends.is_some() {
                details {
                    summary { "Take it back: it never ran, or is of another bike" }
                    p { "It goes out of the record, with its hours, and what was learned from it. The history at the laptop keeps it." }
                    button.also name=(REMOVE) value="1" { "Take this run back" }
                }
            }
        }
    };
    place.page(&title, &body)
}

/// What may be recorded as doubted.
fn doubts(asked: &[&Slip]) -> Vec<&'static str> {
    let mut doubts: Vec<&'static str> =
        asked.iter().filter_map(|slip| slip.doubt()).map(crate::notebook::Doubted::word).collect();
    doubts.dedup();
    doubts
}

/// How far the throttle is open in a zone, as the form says it.
pub fn opening<'z>(zone: &'z str, short: &'z str) -> &'z str {
    match zone {
        "idle" => "closed",
        "full" => "full",
        _ => short,
    }
}

/// A row of buttons for each zone, from full throttle down; the sixth says nothing.
fn zones(start: &str, typed: &FormFields, zones: &[(&str, &str, f64)]) -> Markup {
    html! {
        @for (zone, short, _) in zones.iter().rev() {
            @let name = format!("z.{start}{zone}");
            @let chosen = typed.get(&name);
            fieldset {
                legend { (opening(zone, short)) " throttle" }
                @for (word, sign, words) in verdicts() {
                    label { input type="radio" name=(name) value=(word) checked[chosen == word]; span { b { (sign) } (words) } }
                }
                label.none { input type="radio" name=(name) value="" checked[chosen.is_empty()]; span { b { "–" } "not read" } }
            }
        }
    }
}

/// Jobs that are open: what it ran without.
fn without(page: &LogPage<'_>) -> Markup {
    let open: Vec<_> = page.jobs.open().collect();
    html! {
        @if !open.is_empty() {
            details open[page.typed.said("without").is_some()] {
                summary { (open.len()) " open: taken as done, or did it run without?" }
                @for job in open {
                    @let value = super::bikes::job_value(job);
                    label.check {
                        input type="checkbox" name="without" value=(value) checked[page.typed.all("without").any(|one| one == value.trim())];
                        "without: " (text(&job.item.what))
                    }
                }
            }
        }
    }
}

/// What was logged, what it calls for first.
pub fn logged(place: &PageFrame<'_>, screen: &Screen, (answer, id): (&OutingWritten<'_>, &str)) -> String {
    let bike = place.bike.unwrap_or_default();
    let body = html! {
        (plain(&answer.logged_on_a_page(screen)))
        (ways_on(place))
        p { a.button href=(place.address(&format!("/last?{RUN}={}", in_address(id)))) { "Something is wrong: mend it, or take it back" } }
    };
    place.page(&of_bike(bike, "logged"), &body)
}

fn ways_on(place: &PageFrame<'_>) -> Markup {
    html! {
        p { a.button href=(place.address("")) { "To the bike" } " " a.button href=(place.address("/jets")) { "What the air wants" } }
    }
}

/// What was mended, and what it calls for now.
pub fn mended(place: &PageFrame<'_>, screen: &Screen, answer: &OutingWritten<'_>) -> String {
    let title = of_bike(place.bike.unwrap_or_default(), "mended");
    place.page(&title, &html! { h1 { (title) } (plain(&answer.mended_on_a_page(screen))) (ways_on(place)) })
}

/// The run that a form was of that was sent as it stood.
pub fn as_it_was(place: &PageFrame<'_>, screen: &Screen, record: &OutingRecord) -> String {
    let title = of_bike(place.bike.unwrap_or_default(), "nothing to mend");
    let body = html! {
        h1 { (title) }
        p.hands { "Nothing was changed in the form: the run stays as it is logged." }
        p { (text(&OutingEntry::of(record).line(screen))) }
        (ways_on(place))
    };
    place.page(&title, &body)
}

/// What was taken back.
pub fn taken_back(place: &PageFrame<'_>, screen: &Screen, answer: &OutingRemoved<'_>) -> String {
    let title = of_bike(place.bike.unwrap_or_default(), "taken back");
    place.page(&title, &html! { h1 { (title) } (plain(&answer.on_a_page(screen))) (ways_on(place)) })
}
