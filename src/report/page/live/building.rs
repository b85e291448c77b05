//! An engine measured: the readings that are missing, each with a field, and what they come to.

use maud::{Markup, html};

use super::super::shell::text;
use super::sure::{Deed, answered, entered, questions};
use super::{FormFields, PageFrame, kept, of_bike, plain, signed};
use crate::advice::building::ReadingQuestion;
use crate::advice::slips::Slip;
use crate::quantity::Units;
use crate::report::building::measure::{as_asked, asked_unit};
use crate::report::words::layout::count;
use crate::report::words::sizes::UNITS_IN_WORDS;
use crate::report::{BuildAnswer, Screen, Trouble};
use crate::store::BuildRecord;

/// Start of the name of a field that holds a reading.
pub const READING: &str = "r.";

/// Name of the words in an address that say which readings were written down just now.
pub const WRITTEN: &str = "written";

/// Name of the field that says in which units a bare number is asked for.
const ASKED_IN: &str = "asked_in";

/// Name of the field that says what becomes of readings that another wrote down since.
pub const MEANWHILE: &str = "meanwhile";
/// Its value where what was typed is right.
pub const OVER: &str = "over";

/// A reading that another phone, or the laptop, wrote down since the form was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meanwhile {
    /// What was measured, in words.
    pub words: String,
    /// What is written down.
    pub written: String,
    /// What was typed.
    pub typed: String,
}

/// What the form is about.
#[derive(Default)]
pub struct BuildForm<'a> {
    /// The readings that are asked for.
    pub questions: &'a [ReadingQuestion],
    /// The units in which a bare number is asked for.
    pub asked_in: Units,
    /// What was typed.
    pub typed: FormFields,
    /// What looks like a slip.
    pub asked: &'a [Slip],
    /// What another wrote down since.
    pub meanwhile: &'a [Meanwhile],
    /// What was wrong in what was typed.
    pub wrong: Option<&'a Trouble>,
    /// What was written down just now: the question and the value.
    pub written: &'a [(String, String)],
}

impl BuildForm<'_> {
    /// Whether nothing of it is written down yet.
    fn is_open(&self) -> bool {
        self.wrong.is_some() || !self.asked.is_empty() || !self.meanwhile.is_empty()
    }
}

/// The build as it stands, then what is still to be measured of it; what is asked about what was typed comes first.
pub fn build(
    place: &PageFrame<'_>,
    screen: &Screen,
    (record, answer): (&BuildRecord, &BuildAnswer),
    form: &BuildForm<'_>,
) -> String {
    let bike = place.bike.unwrap_or_default();
    // What was read stands in the unit in which it is asked for.
    let said = answer.on_a_page(&screen.in_units(form.asked_in), place.overdue);
    let body = html! {
        h1 { (of_bike(bike, &format!("engine {}", text(&record.engine)))) }
        (place.overdue())
        @if !form.written.is_empty() && !form.is_open() {
            p.hands { "Written down just now:" }
            table.figures { tbody { @for (words, value) in form.written { tr { th scope="row" { (kept(words)) } td { (kept(value)) } } } } }
        }
        @if let Some(wrong) = form.wrong {
            p.hands { "Not written down yet:" }
            (plain(place, &in_words(wrong, form.questions).parts(screen)))
        }
        @if !form.is_open() && place.pen.is_some() && !form.questions.is_empty() {
            p { a.button href="#measure" { "Measure: " (count(form.questions.len(), "reading")) " not written down" } }
        }
        @if !form.is_open() { (plain(place, &said)) (steps(answer)) }
        @match (place.pen, form.questions) {
            (_, []) => p { "Every reading is written down." },
            (None, all) => p { (all.len()) " readings are not written down." },
            (Some(pen), all) => form method="post" action=(place.address("/build")) {
                (signed(pen))
                (entered())
                (answered(&form.typed))
                input type="hidden" name="build" value=(record.id);
                input type="hidden" name=(ASKED_IN) value=(units_word(form.asked_in));
                (looked_over(place, form))
                h2 id="measure" { "Measure: " (all.len()) @if form.is_open() { " readings" } @else { " not written down" } }
                p { "Leave a field empty where nothing was measured." @if all.iter().any(|question| question.stays && question.last.is_some()) { " What stays from build to build, a depth or a gasket, is then written down as it was the last time: its field says so." } }
                @for question in all { (field(question, form)) }
                button.main { "Write them down" }
            },
        }
        @if form.is_open() { (plain(place, &said)) (steps(answer)) }
    };
    place.page(&of_bike(bike, "build"), &body)
}

/// What another wrote down, and what looks like a slip, with a button for each answer.
fn looked_over(place: &PageFrame<'_>, form: &BuildForm<'_>) -> Markup {
    html! {
        @if !form.meanwhile.is_empty() {
            p.hands { "Somebody else wrote this down since the form was opened. Nothing of yours is written down yet:" }
            @for one in form.meanwhile {
                p.know { (text(&one.words)) ": " b { (text(&one.written)) } " is written down, you typed " b { (text(&one.typed)) } "." }
            }
            button.main name=(MEANWHILE) value="keep" { "Keep what is written down, and add the rest of mine" }
            button.also name=(MEANWHILE) value=(OVER) { "Write mine over it" }
            h2 { "Or fix it" }
        } @else if !form.asked.is_empty() {
            @if let Some(said) = form.typed.said(MEANWHILE) { input type="hidden" name=(MEANWHILE) value=(said); }
            @let asked = form.asked.iter().collect::<Vec<_>>();
            (questions(place, &asked, (&form.typed, &Deed { words: "write it down", may_doubt: false })))
            h2 { "Or fix it" }
        }
    }
}

/// The steps that are open, before it runs and after.
fn steps(answer: &BuildAnswer) -> Markup {
    html! {
        @for (title, steps) in answer.open_steps() {
            details {
                summary { (title) ": " (count(steps.len(), "step")) }
                ul { @for (name, says, caution) in &steps { li { b { (kept(name)) } @if !says.is_empty() { ": " (kept(says)) } @if let Some(caution) = caution { p.know { (kept(caution)) } } } } }
                p.source { "Ticked at the laptop: " code { "reedbook build steps " (text(answer.engine())) } }
            }
        }
    }
}

/// Where no build was begun.
pub fn measure(place: &PageFrame<'_>, engine: Option<&str>) -> String {
    let bike = place.bike.unwrap_or_default();
    let body = html! {
        h1 { (of_bike(bike, "build")) }
        @match engine {
            Some(engine) => p.hands { "No build of " (text(engine)) " is begun. On the laptop: " code { "reedbook build new " (text(engine)) } },
            None => p.hands { "No engine is named in its setup. On the laptop: " code { "reedbook change " (text(bike)) " engine=NAME" } },
        }
    };
    place.page(&of_bike(bike, "build"), &body)
}

/// Units as a field says them.
fn units_word(units: Units) -> &'static str {
    UNITS_IN_WORDS.iter().find(|(known, _)| *known == units).map_or("", |(_, word)| word)
}

/// The units that a form says a bare number is asked for in; none where it says none.
pub fn asked_in(typed: &FormFields) -> Option<Units> {
    UNITS_IN_WORDS.iter().find(|(_, word)| typed.get(ASKED_IN) == *word).map(|(units, _)| *units)
}

fn field(question: &ReadingQuestion, form: &BuildForm<'_>) -> Markup {
    let name = format!("{READING}{}", question.field);
    let unit = asked_unit(&question.field, form.asked_in);
    let last = question.last.as_deref().map(|last| as_asked(&question.field, last, form.asked_in));
    let is_wrong =
        form.wrong.and_then(Trouble::field).is_some_and(|field| field == question.field || field == name);
    html! {
        label {
            (kept(&question.words)) @if let Some(unit) = unit { ", " (unit) }
            @if let Some(last) = &last { ": last " (kept(last)) @if question.stays { ", empty takes that" } }
            input name=(name) inputmode="text" maxlength="60" autocomplete="off" value=(form.typed.get(&name))
                aria-invalid=[is_wrong.then_some("true")];
        }
    }
}

/// What is wrong, with the name of each reading as its label says it.
fn in_words(wrong: &Trouble, questions: &[ReadingQuestion]) -> Trouble {
    let mut wrong = wrong.clone();
    // The longest name first: one may begin with another.
    let mut all: Vec<&ReadingQuestion> = questions.iter().collect();
    all.sort_by_key(|question| std::cmp::Reverse(question.field.len()));
    for question in all {
        wrong = wrong.calling(&question.field, &question.words);
    }
    let field = wrong.field().map(str::to_owned);
    match questions.iter().find(|question| Some(&question.field) == field.as_ref()) {
        Some(question) => wrong.at_field(&question.field, &question.words, None),
        None => wrong,
    }
}
