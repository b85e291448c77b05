//! An engine measured: the readings that are missing, each with a field, and what they come to.

use maud::{Markup, html};

use super::super::shell::text;
use super::{FormFields, PageFrame, of_bike, plain, signed};
use crate::advice::building::ReadingQuestion;
use crate::report::building::measure::asked_unit;
use crate::report::{BuildAnswer, Screen, Trouble};
use crate::store::BuildRecord;

/// Start of the name of a field that holds a reading.
pub const READING: &str = "r.";

/// The build as it stands, then what is still to be measured of it.
pub fn build(
    place: &PageFrame<'_>,
    screen: &Screen,
    (record, answer): (&BuildRecord, &BuildAnswer),
    (questions, typed): (&[ReadingQuestion], &FormFields),
    wrong: Option<&Trouble>,
) -> String {
    let bike = place.bike.unwrap_or_default();
    let body = html! {
        h1 { (of_bike(bike, &format!("engine {}", text(&record.engine)))) }
        @if let Some(wrong) = wrong {
            p.hands { "Not written down yet:" }
            (plain(&wrong.parts(screen)))
        } @else { (plain(&answer.on_a_page(screen))) }
        @match (place.pen, questions) {
            (_, []) => p { "Every reading is written down." },
            (None, _) => p { (questions.len()) " readings are not written down." },
            (Some(pen), _) => form method="post" action=(place.address("/build")) {
                (signed(pen))
                input type="hidden" name="build" value=(record.id);
                h2 { "Measure: " (questions.len()) " not written down" }
                p { "Leave empty what was not measured. Of what stays, nothing is taken as last time." }
                @for question in questions { (field(question, typed, screen)) }
                button.main { "Write them down" }
            },
        }
        @if wrong.is_some() { (plain(&answer.on_a_page(screen))) }
    };
    place.page(&of_bike(bike, "build"), &body)
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

fn field(question: &ReadingQuestion, typed: &FormFields, screen: &Screen) -> Markup {
    let name = format!("{READING}{}", question.field);
    let unit = asked_unit(&question.field, screen.units());
    html! {
        label {
            (text(&question.words)) @if let Some(unit) = unit { ", " (unit) }
            input name=(name) inputmode="text" maxlength="60" autocomplete="off" value=(typed.get(&name))
                placeholder=[question.last.as_ref().map(|last| format!("{} {}", if question.stays { "empty: as last," } else { "last" }, text(last)))];
        }
    }
}
