//! Pages of `serve`: the same answers as the commands', for a phone held in a glove. Nothing of them needs a script, and nothing is loaded
//! but the page's own style. The first thing on each is what the hands do; the way to the other pages stands at the thumb.

mod bikes;
mod building;
mod compare;
mod due;
mod history;
mod jets;
mod key;
mod log;
mod parts;
mod sure;
mod typed;

pub use self::bikes::{bike, bikes};
pub use self::building::{BuildForm, MEANWHILE, Meanwhile, OVER, READING, WRITTEN, asked_in, build, measure};
pub use self::compare::{Drawn, DrawnCylinder, compare};
pub use self::due::{LOOKED, LookForm, PART, SEEN, due};
pub use self::history::history;
pub use self::jets::{JetsPage, jets};
pub use self::key::{Carried, THEN, inside, key, not_there, trouble};
pub use self::log::{
    ALL, AS_IT_RAN, AS_IT_WAS, CONFIRM, JustLogged, LogPage, Mends, OF_A_CYLINDER, RAN, REMOVE, RUN, SETUP,
    SHOWN, as_it_was, log, logged, mended, opening, taken_back,
};
pub use self::sure::{DOUBTED, SURE, is_answered};
pub use self::typed::{FormFields, MEANT};

use maud::{DOCTYPE, Markup, html};

pub(super) use self::parts::laid_out;
use self::parts::plain;
use super::shell::{kept, text};
use crate::advice::cautions::STANDING;
use crate::report::words::layout::capital;

/// How the pages look; they ask for it at [`STYLE_PATH`].
pub const STYLE: &str = include_str!("live.css");
/// Where the style is.
pub const STYLE_PATH: &str = "/style.css";
/// Name of the field that says a form is from a page of ours.
pub const TOKEN: &str = "token";
/// Name of the field by which a form that is sent twice is known.
pub const ONCE: &str = "once";

/// The page that is shown, among those of a bike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PageAt {
    /// All bikes.
    Bikes,
    /// The bike as it stands.
    Now,
    /// What the air wants.
    Jets,
    /// Logging a run.
    Log,
    /// Its setups and runs.
    History,
    /// Two setups side by side.
    Compare,
    /// Parts that are due.
    Due,
    /// The engine measured.
    Build,
    /// None of these.
    Aside,
}

/// Pages of one bike: how they are called, and the end of their address.
const OF_A_BIKE: [(PageAt, &str, &str); 7] = [
    (PageAt::Now, "now", ""),
    (PageAt::Jets, "jets", "/jets"),
    (PageAt::Log, "log a run", "/log"),
    (PageAt::History, "history", "/history"),
    (PageAt::Compare, "compare", "/compare"),
    (PageAt::Due, "due", "/due"),
    (PageAt::Build, "build", "/build"),
];

/// What a page can write with.
#[derive(Debug, Clone)]
pub struct Pen {
    /// What says that a form is from a page of ours.
    pub token: String,
    /// What a form is known by when it is sent twice.
    pub once: String,
}

/// What every page stands in.
#[derive(Debug, Clone)]
pub struct PageFrame<'a> {
    /// The bike that it is of, if of one.
    pub bike: Option<&'a str>,
    /// Which page it is.
    pub at: PageAt,
    /// What it writes with; none where it is only to be looked at.
    pub pen: Option<&'a Pen>,
    /// Parts of its engine that are over their limit, a sentence each, where the page says nothing of them by itself.
    pub overdue: &'a [String],
}

/// Pages of a bike that stand at the thumb on every screen; the others stand beside them where there is room.
const AT_THE_THUMB: usize = 3;

impl PageFrame<'_> {
    /// A whole page: `head` is what the hands do.
    fn page(&self, title: &str, body: &Markup) -> String {
        document(title, &html! { (body) (self.cautions()) (self.ways()) })
    }

    /// A page that answers nothing: there is nothing to be careful of in it.
    fn bare_page(&self, title: &str, body: &Markup) -> String {
        document(title, &html! { (body) (self.ways()) })
    }

    /// Address of a page of the bike.
    pub fn address(&self, end: &str) -> String {
        self.bike.map_or_else(|| "/".to_owned(), |bike| format!("/bike/{}{end}", in_address(bike)))
    }

    /// What is to be changed, or looked at, before it runs.
    fn overdue(&self) -> Markup {
        html! { @for words in self.overdue { p.stop { (kept(words)) } } }
    }

    /// All the cautions.
    fn cautions(&self) -> Markup {
        html! {
            footer {
                p { b { "CAUTION " } (STANDING.join(" ")) }
                @if self.pen.is_none() { p { "Only to be looked at: nothing is recorded from here." } }
            }
        }
    }

    /// The way to the other pages.
    fn ways(&self) -> Markup {
        let here = |at: PageAt| (self.at == at).then_some("page");
        let to = |(at, name, end): (PageAt, &str, &str)| {
            html! { a href=(self.address(end)) aria-current=[here(at)] { (name) } }
        };
        let shown = OF_A_BIKE.into_iter().filter(|(at, ..)| self.pen.is_some() || *at != PageAt::Log);
        let (thumb, rest): (Vec<_>, Vec<_>) =
            shown.partition(|way| OF_A_BIKE[..AT_THE_THUMB].iter().any(|(at, ..)| *at == way.0));
        let in_rest = rest.iter().find(|(at, ..)| self.at == *at);
        html! {
            nav aria-label="Pages" {
                a href="/" aria-current=[here(PageAt::Bikes)] { "bikes" }
                @if self.bike.is_none() { a href="/due" aria-current=[here(PageAt::Due)] { "due" } }
                @else {
                    @for way in thumb { (to(way)) }
                    span.rest { @for way in &rest { (to(*way)) } }
                    details.more {
                        summary class=[in_rest.map(|_| "here")] { "more" @if let Some((_, name, _)) = in_rest { ": " (name) } }
                        div { @for way in &rest { (to(*way)) } }
                    }
                }
            }
        }
    }
}

/// The fields that every form that writes has.
fn signed(pen: &Pen) -> Markup {
    html! {
        input type="hidden" name=(TOKEN) value=(pen.token);
        input type="hidden" name=(ONCE) value=(pen.once);
    }
}

/// A document of its own.
fn document(title: &str, body: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                link rel="icon" href="data:,";
                link rel="stylesheet" href=(STYLE_PATH);
            }
            body { (body) }
        }
    }
    .into_string()
}

/// A title of a page of a bike.
fn of_bike(bike: &str, what: &str) -> String {
    format!("{}: {what}", capital(&text(bike)))
}

/// A word as it stands in an address: what is no letter or digit by its number.
pub fn in_address(word: &str) -> String {
    let mut address = String::new();
    for byte in word.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => address.push(char::from(byte)),
            byte => address.push_str(&format!("%{byte:02X}")),
        }
    }
    address
}

#[cfg(test)]
mod tests {
    use super::in_address;

    #[test]
    fn an_address_holds_no_sign_that_means_something() {
        assert_eq!(in_address("moth-2"), "moth-2");
        assert_eq!(in_address("a/b?c#d\"é"), "a%2Fb%3Fc%23d%22%C3%A9");
    }
}
