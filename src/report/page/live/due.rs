//! Parts that are due, and a part that was looked at.

use maud::{Markup, html};

use super::super::shell::text;
use super::jets::{FieldSigns, field};
use super::sure::entered;
use super::{FormFields, PageFrame, kept, of_bike, plain, signed};
use crate::report::parts::due::PartDueAnswer;
use crate::report::{Screen, Trouble};

/// Name of the field that says which part was looked at.
pub const PART: &str = "part";
/// Name of the field that says what was seen.
pub const SEEN: &str = "seen";
/// Name of the word in an address that says which part's look was written down just now.
pub const LOOKED: &str = "looked";

/// The form for a part that was looked at.
#[derive(Default)]
pub struct LookForm {
    /// The parts in the engine: the name of each, and what is said of it in the list.
    pub parts: Vec<(String, String)>,
    /// What was typed, or what the address says was written down.
    pub typed: FormFields,
    /// What was wrong in what was typed.
    pub wrong: Option<Trouble>,
}

/// The page: of one bike, or of all.
pub fn due(place: &PageFrame<'_>, screen: &Screen, answer: &PartDueAnswer, form: &LookForm) -> String {
    let title = place.bike.map_or_else(|| "Due, all bikes".to_owned(), |bike| of_bike(bike, "due"));
    let looked = form.typed.said(LOOKED).filter(|part| form.parts.iter().any(|(name, _)| name == part));
    let body = html! {
        h1 { (title) }
        @if let Some(wrong) = &form.wrong {
            p.hands { "Not written down yet:" }
            (plain(place, &wrong.parts(screen)))
        }
        @if let Some(part) = looked { p.hands { "Written down: " (kept(part)) " was inspected." } }
        (plain(place, &answer.on_a_sheet(screen)))
        (look(place, form))
        @if place.bike.is_some() { p { a.button href="/due" { "All bikes" } } }
    };
    place.page(&title, &body)
}

/// A part of the list, what was seen of it, and when.
fn look(place: &PageFrame<'_>, form: &LookForm) -> Markup {
    let typed = &form.typed;
    let wrong = form.wrong.as_ref().and_then(Trouble::field);
    let words = FieldSigns { most: 500, ..FieldSigns::WORDS };
    let short = FieldSigns { example: Some("9:40"), most: 40, ..FieldSigns::WORDS };
    html! {
        @if let Some(pen) = place.pen.filter(|_| !form.parts.is_empty()) {
            details open[form.wrong.is_some()] {
                summary { "A part was inspected" }
                p { "The hours to the next inspection count from here. What is not to be run again is taken out at the laptop, before it runs." }
                form method="post" action=(place.address("/due")) {
                    (signed(pen))
                    (entered())
                    label { "Part" select name=(PART) aria-invalid=[(wrong == Some(PART)).then_some("true")] {
                        option value="" { "which one?" }
                        @for (name, words) in &form.parts { option value=(name) selected[typed.get(PART) == name] { (text(words)) } }
                    } }
                    (field((SEEN, "What was seen"), (typed, wrong), &words))
                    (field(("date", "When, if not now"), (typed, wrong), &short))
                    button.main { "Write it down" }
                }
            }
        }
    }
}
