//! A bike's setups, newest first, and how each ran.

use maud::html;

use super::super::shell::text;
use super::{PageFrame, in_address, kept, of_bike, plain};
use crate::report::Screen;
use crate::report::history::setups::HistoryAnswer;
use crate::report::history::setups::brief::HEADS;

/// The page; `all` where every setup is shown.
pub fn history(place: &PageFrame<'_>, screen: &Screen, answer: &HistoryAnswer<'_>, all: bool) -> String {
    let bike = place.bike.unwrap_or_default();
    let (before, rows) = answer.on_a_page(screen);
    let body = html! {
        h1 { (of_bike(bike, "setups and runs")) }
        (plain(place, &before))
        @if place.pen.is_some() && !rows.is_empty() { p { a.button href=(place.address("/last")) { "Fix the last run, or take it back" } } }
        @for row in &rows {
            @match row.as_slice() {
                [number, day, changed, rest @ ..] if rest.iter().all(String::is_empty) => {
                    @if number == "*" { p.run { (kept(day)) " the engine was opened" @if changed.trim_end().ends_with(':') { "." } @else { ", " (kept(changed)) } } }
                    @else {
                        p.setup {
                            @let bare = number.trim_end_matches('!');
                            a href=(place.address(&format!("/compare?from={}", in_address(bare)))) { "setup " (bare) }
                            " " (kept(day)) @if bare != number { ", proven" }
                        }
                        p { (kept(changed)) }
                    }
                }
                [_, day, where_it_was, figures @ ..] => p.run {
                    @let read: Vec<_> = HEADS[3..].iter().zip(figures).filter(|(_, figure)| !figure.is_empty()).collect();
                    (kept(day)) " " (kept(where_it_was.trim())) @if !read.is_empty() { "," }
                    // A comma stays on the line of what it ends.
                    @for (at, (head, figure)) in read.iter().enumerate() {
                        " " span.word {
                            @if **head == "air %" { (text(figure)) " % air" } @else { (if **head == "idle" { "closed" } else { head }) " " b { (text(figure)) } }
                            @if at + 1 < read.len() { "," }
                        }
                    }
                },
                _ => {}
            }
        }
        @if !all { p { a.button href=(place.address("/history?all=1")) { "All of them" } } }
    };
    place.page(&of_bike(bike, "history"), &body)
}
