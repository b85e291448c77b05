//! The door: where the pass key is typed; and what is said where a page cannot be shown.

use maud::html;

use super::super::shell::text;
use super::{FormFields, PageFrame, document, plain};
use crate::report::{Screen, Trouble};

/// Name of the field that says to which page a form goes once the key is right.
pub const THEN: &str = "then";

/// A form that was sent without the key: it goes on with it.
#[derive(Debug)]
pub struct Carried {
    /// The address that it was sent to, without its first slash.
    pub to: String,
    /// What was typed.
    pub typed: FormFields,
    /// Whether nothing is recorded from these pages any more.
    pub is_lost: bool,
}

/// Where the pass key is typed; `wrong` says what was wrong with the last one, `carried` is what is not to be lost by it.
pub fn key(wrong: Option<&str>, carried: Option<&Carried>) -> String {
    document(
        "Pass key",
        &html! {
            h1 { "Type the pass key that the laptop shows" }
            @if let Some(wrong) = wrong { p.stop { (wrong) } }
            @match carried {
                Some(Carried { is_lost: false, .. }) => p.know { "The laptop was started anew, with another key. Nothing is recorded yet: what you typed comes back once the key is right." },
                Some(_) => p.know { "The laptop was started anew, and only to be looked at: what you typed is not recorded, and does not come back. Write it down at the laptop." },
                None => {}
            }
            form method="post" action="/key" {
                @if let Some(carried) = carried.filter(|carried| !carried.is_lost) {
                    input type="hidden" name=(THEN) value=(carried.to);
                    @for (name, said) in carried.typed.fields() { input type="hidden" name=(name) value=(said); }
                }
                label { "Pass key: three groups of four, with or without the hyphens" input name="key" maxlength="40" autocomplete="off" autocapitalize="none" spellcheck="false" autofocus; }
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
        (plain(place, &trouble.parts(screen)))
    };
    place.bare_page(title, &body)
}

/// The same of an address at which nothing is, with the way to each of the bikes that there are.
pub fn not_there(place: &PageFrame<'_>, screen: &Screen, trouble: &Trouble, bikes: &[String]) -> String {
    let title = "This cannot be shown";
    let body = html! {
        h1 { (title) }
        (plain(place, &trouble.parts(screen)))
        p { @for bike in bikes { a.button href=(PageFrame { bike: Some(bike), ..place.clone() }.address("")) { (text(bike)) } " " } }
    };
    place.bare_page(title, &body)
}
