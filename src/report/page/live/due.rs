//! Parts that are due.

use maud::html;

use super::{PageFrame, of_bike, plain};
use crate::report::Screen;
use crate::report::parts::due::PartDueAnswer;

/// The page: of one bike, or of all.
pub fn due(place: &PageFrame<'_>, screen: &Screen, answer: &PartDueAnswer) -> String {
    let title = place.bike.map_or_else(|| "Due, all bikes".to_owned(), |bike| of_bike(bike, "due"));
    let body = html! {
        h1 { (title) }
        (plain(place, &answer.on_a_sheet(screen)))
        @if place.bike.is_some() { p { a.button href="/due" { "All bikes" } } }
    };
    place.page(&title, &body)
}
