//! The session sheet: blank rows for the pen, a page for each bike.

use maud::{Markup, html};

use super::sheet::cautions;
use super::shell::{document, kept, text};
use crate::report::history::outing::sheet::{
    FIRST, OF_A_CYLINDER, READ_FIRST, SECOND, SessionSheetAnswer, SheetPage, TO_DO, UNITS,
};
use crate::report::history::runs::SIGNS;

/// The page, for A4 and Letter, or for A5 where it is to be small.
pub fn session(answer: &SessionSheetAnswer, small: bool) -> String {
    let body = html! {
        main.session { @for page in &answer.bikes { (of_bike(answer, page)) } }
    };
    document("Runs", small, &body)
}

fn of_bike(answer: &SessionSheetAnswer, page: &SheetPage) -> Markup {
    html! {
        section.runs {
            header {
                h1 { (text(&page.bike)) }
                p.fill { "place " @match &answer.place { Some(place) => b { (text(place)) }, None => span.blank {} } }
                p.fill { "date " @match &answer.date { Some(date) => b { (text(date)) }, None => span.blank {} } }
            }
            @let on_it = page.on_it();
            @if !on_it.is_empty() { p { "On it: " (kept(&on_it.join(", "))) } }
            @if !page.to_do.is_empty() {
                p.know { (TO_DO) " " (kept(&page.to_do.join("; "))) "." }
            }
            p { @for (at, sign) in SIGNS.split("  ").enumerate() { @if at > 0 { ", " } span.word { (sign) } } ". " (kept(UNITS)) }
            p.know { (READ_FIRST) }
            // A screen that is narrower than a page moves it under the finger, or with the keys.
            div.across tabindex="0" {
                table.runs {
                    thead { tr { @for (head, _) in FIRST { th scope="col" { (head) } } } }
                    @for _ in 0..answer.lines { (run(page)) }
                }
            }
            footer { (cautions()) }
        }
    }
}

/// The lines of a run: figures and verdicts, what was read, and the same of each of several cylinders.
fn run(page: &SheetPage) -> Markup {
    let across = FIRST.len();
    let first = across / SECOND.len();
    html! {
        tbody {
            tr { @for _ in FIRST { td {} } }
            tr {
                @for (at, (head, _)) in SECOND.iter().enumerate() {
                    td colspan=(if at + 1 < SECOND.len() { first } else { across - at * first }) { span.key { (head) } }
                }
            }
            @for name in &page.cylinders {
                tr {
                    @for (at, (head, _)) in OF_A_CYLINDER.iter().enumerate() {
                        td colspan=(if at + 1 < OF_A_CYLINDER.len() { first } else { across - at * first }) {
                            span.key { (text(name)) ": " (head) }
                        }
                    }
                }
            }
        }
    }
}
