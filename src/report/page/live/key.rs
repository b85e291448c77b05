//! The door: where the pass key is typed; and what is said where a page cannot be shown.

use maud::html;

use super::{PageFrame, document, plain};
use crate::report::{Screen, Trouble};

/// Where the pass key is typed; `wrong` says what was wrong with the last one.
pub fn key(wrong: Option<&str>) -> String {
    document(
        "Pass key",
        &html! {
            h1 { "Type the pass key that the laptop shows" }
            @if let Some(wrong) = wrong { p.stop { (wrong) } }
            form method="post" action="/key" {
                label { "Pass key" input name="key" maxlength="40" autocomplete="off" autocapitalize="none" spellcheck="false" autofocus; }
                button.main { "Go in" }
            }
        },
    )
}

/// What follows the right key in an address: on to the bikes.
pub fn inside() -> String {
    document(
        "Bikes",
        &html! {
            meta http-equiv="refresh" content="0; url=/";
            h1 { "You are in" }
            p { a.button href="/" { "To the bikes" } }
        },
    )
}

/// What went wrong, and the way out; `title` says what became of it.
pub fn trouble(place: &PageFrame<'_>, screen: &Screen, title: &str, trouble: &Trouble) -> String {
    let body = html! {
        h1 { (title) }
        (plain(&trouble.parts(screen)))
    };
    place.page(title, &body)
}
