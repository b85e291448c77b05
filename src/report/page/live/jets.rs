//! What the air wants: the answer first, then the fields that ask for another air.

use maud::{Markup, html};

use super::super::sheet::{Advice, jets_figure};
use super::super::shell::{figure, text};
use super::sure::{SURE, answered, answers, entered};
use super::{FormFields, PageFrame, of_bike, plain};
use crate::advice::drawn::JetOverAir;
use crate::advice::slips::Slip;
use crate::quantity::{Dimension, Units};
use crate::report::out::frame::FramePart;
use crate::report::out::ways;
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
    let body = html! {
        h1 { (of_bike(bike, "what the air wants")) }
        (said(screen, page))
        form method="get" action=(place.address("/jets")) {
            (entered())
            (answered(page.typed))
            @if !page.asked.is_empty() {
                button.main name=(SURE) value=(answers(&page.asked)) { "Yes, that is right: answer" }
            }
            h2 { "Another air" }
            (air_fields(page.typed, page.places, screen.units()))
            button.also { "What does it want?" }
            @if page.jets.is_empty() && matches!(page.advice, Some(Ok(_))) {
                button.also name="drawn" value="1" { "Draw the judged runs over the air" }
            }
        }
        @if !page.jets.is_empty() { (figure(&jets_figure(&page.jets))) }
    };
    place.page(&of_bike(bike, "jets"), &body)
}

fn said(screen: &Screen, page: &JetsPage<'_>) -> Markup {
    match &page.advice {
        _ if !page.asked.is_empty() => questions(&page.asked),
        Some(Ok(answer)) => {
            let all = answer.parts(screen).into_iter().filter(|part| !matches!(part, FramePart::Source(_)));
            html! { (plain(&all.collect::<Vec<_>>())) p.source { "A starting point, not a setting." } }
        }
        Some(Err(trouble)) => plain(&trouble.parts(screen)),
        None => html! {},
    }
}

/// What looks like a slip, as questions.
pub(super) fn questions(asked: &[&Slip]) -> Markup {
    let all: Vec<FramePart> = asked
        .iter()
        .flat_map(|slip| {
            [FramePart::Know(slip.question.clone()), FramePart::Say(ways::worded(&slip.instead))]
        })
        .collect();
    html! { p.hands { "Look again:" } (plain(&all)) }
}

/// The fields in which an air is typed, with what was typed.
pub(super) fn air_fields(typed: &FormFields, places: &[String], units: Units) -> Markup {
    let unit = |dimension: Dimension| dimension.display(units).0;
    let kind = typed.get("kind");
    html! {
        label { "Place" input name="place" list="places" maxlength="80" value=(text(typed.get("place"))) autocomplete="off"; }
        datalist id="places" { @for place in places { option value=(text(place)) {} } }
        div.pair {
            label { "Temperature in the shade, " (unit(Dimension::Temperature))
                input name="temp" inputmode="text" maxlength="20" autocomplete="off" value=(typed.get("temp")); }
            label { "Humidity, %" input name="humidity" inputmode="decimal" maxlength="20" autocomplete="off" value=(typed.get("humidity")); }
            label { "Pressure, " (unit(Dimension::Pressure))
                input name="pressure" inputmode="decimal" maxlength="20" autocomplete="off" value=(typed.get("pressure")); }
            label { "by" select name="kind" {
                option value="baro" selected[kind != "qnh"] { "barometer" }
                option value="qnh" selected[kind == "qnh"] { "QNH" }
            } }
        }
        label { "Elevation of the track with QNH, " (height_unit(units))
            input name="elevation" inputmode="text" maxlength="20" autocomplete="off" value=(typed.get("elevation")); }
    }
}
