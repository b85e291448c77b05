//! Logging a run: one button a zone, then the rest; what looks like a slip is asked with everything that was typed still there.

use maud::{Markup, html};

use super::super::pocket::{PLUG, verdicts};
use super::super::shell::text;
use super::compare::short;
use super::jets::{FieldSigns, air_fields, field};
use super::sure::{Deed, answered, entered, questions};
use super::{FormFields, PageFrame, in_address, kept, of_bike, plain, signed};
use crate::advice::slips::Slip;
use crate::notebook::{Doubted, ZONES};
use crate::quantity::{Dimension, Units};
use crate::report::history::outing::{OpenOnAPage, OutingEntry, OutingRemoved, OutingWritten};
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
/// Name of the button that has the bike recorded as it ran; its value is what was on it.
pub const AS_IT_RAN: &str = "as_it_ran";
/// Name of the button that takes it back.
pub const REMOVE: &str = "remove";

/// Name of the field that says what was on the bike: [`ALL`], or a setup's number.
pub const RAN: &str = "ran";
/// Its value where all that was recorded was on it.
pub const ALL: &str = "all";
/// Name of the fields that say what is doubted no more.
pub const CONFIRM: &str = "confirm";
/// What a reading of the plug, the piston and the exhaust gas is called in a form; of one cylinder its name stands behind it, after a point.
pub const OF_A_CYLINDER: [(&str, &str); 3] =
    [("plug", "plug"), ("piston", "piston"), ("exhaust_gas", "exhaust gas")];

/// The run that a form mends.
pub struct Mends<'a> {
    /// As it is recorded.
    pub record: &'a OutingRecord,
    /// What it says, in short.
    pub as_it_was: String,
    /// The same as it would be typed.
    pub shown: &'a FormFields,
    /// Setups that it may have run, the newest first, with their reasons.
    pub setups: &'a [(u32, String)],
    /// Whether it ran lean: then what made it so, and what was done about that, can be said.
    pub is_lean: bool,
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
    /// What was on the bike, where no setup is like that.
    pub as_it_ran: Option<String>,
    /// The run that is mended; none where a new one is logged.
    pub mends: Option<Mends<'a>>,
}

/// The form.
pub fn log(place: &PageFrame<'_>, screen: &Screen, page: &LogPage<'_>) -> String {
    let bike = place.bike.unwrap_or_default();
    let setup = page.setup.map_or_else(|| "no setup yet".to_owned(), |number| format!("setup {number}"));
    let Some(pen) = place.pen else { return place.page("Log", &html! {}) };
    let (what, deed) = if page.mends.is_some() { ("fix a run", "fix it") } else { ("log a run", "log it") };
    let title = of_bike(bike, what);
    let body = html! {
        h1 { (title) }
        (place.overdue())
        @if let Some(wrong) = &page.wrong {
            p.hands { @if page.mends.is_some() { "Not fixed yet:" } @else { "Not logged yet:" } }
            (plain(place, &wrong.parts(screen)))
        }
        @if let Some(mends) = &page.mends { p { "The run as it is logged: " (kept(&OutingEntry::of(mends.record).line(screen))) } }
        form method="post" action=(place.address(if page.mends.is_some() { "/last" } else { "/log" })) {
            (signed(pen))
            (entered())
            @match &page.mends {
                Some(mends) => {
                    (of_the_run(mends))
                    @for (name, text) in mends.shown.fields() { input type="hidden" name={ (SHOWN) (name) } value=(text); }
                    (what_was_on_it(mends))
                }
                None => input type="hidden" name=(SETUP) value=(page.setup.unwrap_or_default());,
            }
            (answered(page.typed))
            @match (&page.as_it_ran, page.typed.said(AS_IT_RAN)) {
                (Some(ran), _) => {
                    p.hands { "Not logged yet: no setup is like that" }
                    p.know { "Some of " (setup) " was on it, and some was not. Is this what it ran with? " b { (kept(ran)) } ", and the rest as recorded." }
                    button.main name=(AS_IT_RAN) value=(ran) { "Yes: record that as a setup, and log the run on it" }
                    p { "What was not done is no job any more then." }
                    h2 { "Or look it over" }
                }
                (None, Some(ran)) => input type="hidden" name=(AS_IT_RAN) value=(ran);,
                (None, None) => {}
            }
            @if !page.asked.is_empty() {
                (questions(place, &page.asked, (page.typed, &Deed { words: deed, may_doubt: true })))
                h2 { "Or fix it" }
            }
            (zones("", page.typed, &ZONES[3..]))
            details open[ZONES[..3].iter().any(|(zone, _, _)| page.typed.said(&format!("z.{zone}")).is_some())] {
                summary { "1/4, 1/8, closed" }
                (zones("", page.typed, &ZONES[..3]))
            }
            (readings(page, screen.units()))
            (without(page))
            @if let Some(mends) = &page.mends { (why_it_was_lean(mends, page.typed)) }
            details open[page.air.is_none()] {
                summary { "The air: " @match &page.air { Some(air) => (kept(air)), None => "none is kept, type it" } }
                (air_fields((page.typed, page.wrong_field()), page.places, screen.units()))
            }
            button.main { @if page.mends.is_some() { "Fix it" } @else { "Log it on " (setup) } }
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

impl LogPage<'_> {
    /// The field that is wrong.
    fn wrong_field(&self) -> Option<&str> {
        self.wrong.as_ref().and_then(Trouble::field)
    }
}

/// What says which run a form is of.
fn of_the_run(mends: &Mends<'_>) -> Markup {
    html! {
        input type="hidden" name=(RUN) value=(mends.record.id);
        input type="hidden" name=(AS_IT_WAS) value=(mends.as_it_was);
    }
}

/// What was read of it, and what else is said.
fn readings(page: &LogPage<'_>, units: Units) -> Markup {
    let (typed, wrong) = (page.typed, page.wrong_field());
    let of = |name: &str, label: &str, more: &FieldSigns<'_>| field((name, label), (typed, wrong), more);
    let words = FieldSigns { most: 200, ..FieldSigns::WORDS };
    let plug = FieldSigns { list: Some("plugs"), ..words };
    let gas = format!("Exhaust gas, {}", Dimension::Temperature.display(units).0);
    let short = |example| FieldSigns { example: Some(example), most: 40, ..FieldSigns::WORDS };
    html! {
        @for name in page.cylinders {
            @let is_said = |field: &str| field.starts_with(&format!("z.{name}.")) || OF_A_CYLINDER.iter().any(|(of, _)| field == format!("{of}.{name}"));
            details open[typed.fields().any(|(field, said)| is_said(field) && !said.is_empty())] {
                summary { "Only at the cylinder " (text(name)) }
                (zones(&format!("{name}."), typed, &ZONES))
                (of(&format!("plug.{name}"), "Plug there", &plug))
                div.pair {
                    (of(&format!("piston.{name}"), "Piston there", &words))
                    (of(&format!("exhaust_gas.{name}"), &format!("{gas}, there"), &FieldSigns::FIGURE))
                }
            }
        }
        // What stands above ends here.
        @if !page.cylinders.is_empty() { h2 { "Of the whole bike, and of each cylinder alike" } }
        (of("plug", "Plug", &plug))
        datalist id="plugs" { @for word in PLUG { option value=(word) {} } }
        (of("piston", "Piston", &words))
        div.pair {
            (of("lap", "Best lap", &short("1:23.4")))
            (of("minutes", "Ran, min", &FieldSigns::FIGURE))
            (of("session", "Session", &FieldSigns::WORDS))
            (of("exhaust_gas", &gas, &FieldSigns::FIGURE))
        }
        (of("date", if page.mends.is_some() { "When" } else { "When, if not now" }, &short("9:40")))
        @if typed.has("feel") { label { "How it felt" textarea name="feel" rows="3" maxlength="2000" { (typed.get("feel")) } } }
        label { "Note" textarea name="notes" rows="3" maxlength="2000" { (typed.get("notes")) } }
    }
}

/// What was on the bike, where nobody said it yet, and what else is doubted.
fn what_was_on_it(mends: &Mends<'_>) -> Markup {
    let outing = &mends.record.outing;
    let logged = mends.record.setup;
    html! {
        @if outing.doubts(Doubted::Setup) {
            p.stop { "Say what was on it: a job was open when it ran." }
            @if let Some(number) = logged { button.main name=(RAN) value=(ALL) { "It ran with all of setup " (number) } }
        }
        @for what in outing.doubted.iter().filter(|what| **what != Doubted::Setup) {
            label.check { input type="checkbox" name=(CONFIRM) value=(what.word()); span { "its " (what.word()) " is right after all" } }
        }
        details {
            summary { "It ran another setup" @if let Some(number) = logged { " than " (number) } }
            label { "Setup" select name=(RAN) {
                option value="" { "as it is logged" }
                @for (number, why) in mends.setups { @if Some(*number) != logged { option value=(number) { (number) ": " (short(why)) } } }
            } }
        }
    }
}

/// The cause of a lean run, once it is found.
fn why_it_was_lean(mends: &Mends<'_>, typed: &FormFields) -> Markup {
    let more = FieldSigns { most: 200, ..FieldSigns::WORDS };
    html! {
        @if mends.is_lean {
            h2 { "It was lean: why?" }
            p { "Once the cause is found and fixed, say both: until then nothing leaner is advised. A jet that was too small is no cause: that is what the verdict says." }
            (field(("cause", "What made it lean"), (typed, None), &more))
            (field(("mended", "Fixed: what was done"), (typed, None), &more))
        }
    }
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
                legend { @if let Some(name) = start.strip_suffix('.') { (text(name)) ": " } (opening(zone, short)) " throttle" }
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
            // Whoever logs a run says by it that all of these were done: they are looked at first.
            details open {
                summary { (open.len()) " open: taken as done, or did it run without?" }
                @for job in open {
                    @let value = super::bikes::job_value(job);
                    label.check {
                        input type="checkbox" name="without" value=(value) checked[page.typed.all("without").any(|one| one == value.trim())];
                        span { "without: " (kept(&job.item.what)) }
                    }
                }
            }
        }
    }
}

/// A run that was just logged.
pub struct JustLogged<'a> {
    /// What is said of it.
    pub answer: &'a OutingWritten<'a>,
    /// Its identity.
    pub id: &'a str,
    /// What it says, in short.
    pub as_it_was: String,
}

/// What was logged, what it calls for first; and what was on the bike, where that is to be said.
pub fn logged(place: &PageFrame<'_>, screen: &Screen, run: &JustLogged<'_>) -> String {
    let bike = place.bike.unwrap_or_default();
    let JustLogged { answer, id, as_it_was } = run;
    let body = html! {
        (plain(place, &answer.logged_on_a_page(screen)))
        @if let (Some(open), Some(pen)) = (answer.open_on_a_page(), place.pen) {
            form.ask method="post" action=(place.address("/last")) {
                (signed(pen))
                input type="hidden" name=(RUN) value=(id);
                input type="hidden" name=(AS_IT_WAS) value=(as_it_was);
                (was_it_on(&open))
            }
        }
        (ways_on(place))
        p { a.button href=(place.address(&format!("/last?{RUN}={}", in_address(id)))) { "Something is wrong: fix it, or take it back" } }
    };
    place.page(&of_bike(bike, "logged"), &body)
}

/// What was still open when it ran, to be answered with one press.
fn was_it_on(open: &OpenOnAPage) -> Markup {
    let OpenOnAPage { what, is_asked, setup, without, parts } = open;
    html! {
        @if *is_asked {
            p.hands { "Was this on it? " (kept(what)) }
            button.main name=(RAN) value=(ALL) { "Yes, it ran with all of it" }
        } @else {
            p.know { "Taken as done: " (kept(what)) "." }
        }
        @if !parts.is_empty() {
            p { "If it ran without some of it, press which:" }
            @for (number, part) in parts { label.check { input type="checkbox" name="without" value=(number); span { "without: " (kept(part)) } } }
            button.also { "It ran without these" }
        } @else if let Some(number) = without.filter(|number| Some(*number) != *setup) {
            button.also name=(RAN) value=(number) { @if *is_asked { "No, it" } @else { "It" } " ran without: on setup " (number) }
        } @else {
            p { "If it ran without: no setup is as it stood. Record one as it was at the laptop, then say under \"Something is wrong\" that it ran that one." }
        }
    }
}

fn ways_on(place: &PageFrame<'_>) -> Markup {
    html! {
        p { a.button href=(place.address("")) { "To the bike" } " " a.button href=(place.address("/jets")) { "What the air wants" } }
    }
}

/// What was mended, and what it calls for now.
pub fn mended(place: &PageFrame<'_>, screen: &Screen, answer: &OutingWritten<'_>) -> String {
    let title = of_bike(place.bike.unwrap_or_default(), "fixed");
    place.page(
        &title,
        &html! { h1 { (title) } (plain(place, &answer.mended_on_a_page(screen))) (ways_on(place)) },
    )
}

/// The run that a form was of that was sent as it stood.
pub fn as_it_was(place: &PageFrame<'_>, screen: &Screen, record: &OutingRecord) -> String {
    let title = of_bike(place.bike.unwrap_or_default(), "nothing to fix");
    let body = html! {
        h1 { (title) }
        p.hands { "Nothing was changed in the form: the run stays as it is logged." }
        p { (kept(&OutingEntry::of(record).line(screen))) }
        (ways_on(place))
    };
    place.page(&title, &body)
}

/// What was taken back.
pub fn taken_back(place: &PageFrame<'_>, screen: &Screen, answer: &OutingRemoved<'_>) -> String {
    let title = of_bike(place.bike.unwrap_or_default(), "taken back");
    place.page(&title, &html! { h1 { (title) } (plain(place, &answer.on_a_page(screen))) (ways_on(place)) })
}
