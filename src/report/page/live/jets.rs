//! What the air wants: the answer first, then the fields that ask for another air.

use maud::{Markup, html};

use super::super::sheet::{Advice, jets_figure};
use super::super::shell::{figure, text};
use super::sure::{Deed, answered, entered, questions};
use super::{FormFields, PageFrame, kept, of_bike, plain};
use crate::advice::drawn::JetOverAir;
use crate::advice::slips::Slip;
use crate::quantity::{Dimension, Units};
use crate::report::out::frame::FramePart;
use crate::report::words::sizes::height_unit;
use crate::report::{Screen, Trouble};

/// What there is to say.
pub struct JetsPage<'a> {
    /// What was typed.
    pub typed: &'a FormFields,
    /// Names of known places.
    pub places: &'a [String],
    /// What is asked before any size is said.
    pub asked: Vec<&'a Slip>,
    /// The answer; none where something is asked.
    pub advice: Option<Result<Advice<'a>, Trouble>>,
    /// The jets of each cylinder over the air.
    pub jets: Vec<(Option<String>, JetOverAir)>,
}

/// The page.
pub fn jets(place: &PageFrame<'_>, screen: &Screen, page: &JetsPage<'_>) -> String {
    let bike = place.bike.unwrap_or_default();
    let wrong = page.advice.as_ref().and_then(|advice| advice.as_ref().err()).and_then(Trouble::field);
    let body = html! {
        h1 { (of_bike(bike, "what the air wants")) }
        (place.overdue())
        (said(place, screen, page))
        form method="get" action=(place.address("/jets")) {
            (entered())
            (answered(page.typed))
            @if !page.asked.is_empty() {
                (questions(place, &page.asked, (page.typed, &Deed { words: "answer", may_doubt: false })))
            }
            h2 { @if matches!(page.advice, Some(Ok(_))) { "Another air" } @else { "The air" } }
            (air_fields((page.typed, wrong), page.places, screen.units()))
            button.also { "What does it want?" }
            @if page.jets.is_empty() && matches!(page.advice, Some(Ok(_))) {
                button.also name="drawn" value="1" { "Draw the judged runs over the air" }
            }
        }
        @for jets in &page.jets { (figure(&jets_figure(Some(jets)))) }
    };
    place.page(&of_bike(bike, "jets"), &body)
}

fn said(place: &PageFrame<'_>, screen: &Screen, page: &JetsPage<'_>) -> Markup {
    match &page.advice {
        Some(Ok(answer)) => {
            let all = answer.parts(screen).into_iter().filter(|part| !matches!(part, FramePart::Source(_)));
            html! { (plain(place, &all.collect::<Vec<_>>())) p.source { "A starting point, not a setting." } }
        }
        Some(Err(trouble)) => plain(place, &trouble.parts(screen)),
        None => html! {},
    }
}

/// A field with its label; `wrong` names the one that is wrong.
pub(super) fn field(
    (name, label): (&str, &str),
    (typed, wrong): (&FormFields, Option<&str>),
    more: &FieldSigns<'_>,
) -> Markup {
    let FieldSigns { mode, most, example, list } = *more;
    html! {
        label { (kept(label)) input name=(name) inputmode=(mode) maxlength=(most) placeholder=[example] list=[list] autocomplete="off"
            aria-invalid=[(wrong == Some(name)).then_some("true")] value=(text(typed.get(name))); }
    }
}

/// What a field takes.
#[derive(Clone, Copy)]
pub(super) struct FieldSigns<'a> {
    /// The keys that a phone shows.
    pub(super) mode: &'a str,
    /// Signs at most.
    pub(super) most: u16,
    /// How it may look.
    pub(super) example: Option<&'a str>,
    /// The list of words to choose from.
    pub(super) list: Option<&'a str>,
}

impl FieldSigns<'_> {
    /// Words.
    pub(super) const WORDS: Self = Self { mode: "text", most: 80, example: None, list: None };
    /// A figure.
    pub(super) const FIGURE: Self = Self { mode: "decimal", most: 20, example: None, list: None };
}

/// The fields in which an air is typed, with what was typed.
pub(super) fn air_fields(
    (typed, wrong): (&FormFields, Option<&str>),
    places: &[String],
    units: Units,
) -> Markup {
    let unit = |dimension: Dimension| dimension.display(units).0;
    let kind = typed.get("kind");
    let of = |name: &str, label: &str, more: &FieldSigns<'_>| field((name, label), (typed, wrong), more);
    let signed = FieldSigns { mode: "text", ..FieldSigns::FIGURE };
    html! {
        (of("place", "Place", &FieldSigns { list: Some("places"), ..FieldSigns::WORDS }))
        datalist id="places" { @for place in places { option value=(text(place)) {} } }
        div.pair {
            (of("temp", &format!("Temperature in the shade, {}", unit(Dimension::Temperature)), &signed))
            (of("humidity", "Humidity, %", &FieldSigns::FIGURE))
            (of("pressure", &format!("Pressure, {}", unit(Dimension::Pressure)), &FieldSigns::FIGURE))
            label { "by" select name="kind" {
                option value="baro" selected[kind != "qnh"] { "barometer" }
                option value="qnh" selected[kind == "qnh"] { "QNH" }
            } }
        }
        (of("elevation", &format!("Elevation of the track with QNH, {}", height_unit(units)), &signed))
    }
}
