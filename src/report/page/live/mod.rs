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
mod sure;
mod typed;

pub use self::bikes::{bike, bikes};
pub use self::building::{BuildForm, MEANWHILE, Meanwhile, OVER, READING, build, measure};
pub use self::compare::{Drawn, compare};
pub use self::due::due;
pub use self::history::history;
pub use self::jets::{JetsPage, jets};
pub use self::key::{Carried, THEN, inside, key, trouble};
pub use self::log::{
    AS_IT_WAS, LogPage, Mends, REMOVE, RUN, SETUP, SHOWN, as_it_was, log, logged, mended, opening, taken_back,
};
pub use self::sure::{SURE, is_answered};
pub use self::typed::FormFields;

use maud::{DOCTYPE, Markup, html};

use super::shell::{part, text};
use crate::advice::cautions::STANDING;
use crate::report::out::frame::FramePart;
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
}

impl PageFrame<'_> {
    /// A whole page: `head` is what the hands do.
    fn page(&self, title: &str, body: &Markup) -> String {
        document(title, &html! { (body) (self.ways()) })
    }

    /// Address of a page of the bike.
    pub fn address(&self, end: &str) -> String {
        self.bike.map_or_else(|| "/".to_owned(), |bike| format!("/bike/{}{end}", in_address(bike)))
    }

    /// The way to the other pages, and all the cautions before it.
    fn ways(&self) -> Markup {
        let here = |at: PageAt| (self.at == at).then_some("page");
        let due_of_all = self.bike.is_none();
        html! {
            footer {
                p { b { "CAUTION " } (STANDING.join(" ")) }
                @if self.pen.is_none() { p { "Only to be looked at: nothing is recorded from here." } }
            }
            nav aria-label="Pages" {
                a href="/" aria-current=[here(PageAt::Bikes)] { "bikes" }
                @if due_of_all { a href="/due" aria-current=[here(PageAt::Due)] { "due" } }
                @else {
                    @for (at, name, end) in OF_A_BIKE {
                        @if self.pen.is_some() || !matches!(at, PageAt::Log) {
                            a href=(self.address(end)) aria-current=[here(at)] { (name) }
                        }
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

/// Words that name options of a command line, for a page that has fields in their place; what is to be typed stays as it is.
fn without_options(words: &str) -> String {
    let plain = |(at, piece): (usize, &str)| {
        if at % 2 == 1 { format!("`{piece}`") } else { without_brackets(piece).replace("--", "") }
    };
    words.split('`').enumerate().map(plain).collect()
}

/// A text without what stands in brackets of a command line alone: " (-v)", " (--all lists them)".
fn without_brackets(words: &str) -> String {
    let mut kept = String::new();
    let mut rest = words;
    while let Some(start) = rest.find(" (-") {
        let (before, bracket) = rest.split_at(start);
        kept.push_str(before);
        rest = match bracket.find(')') {
            Some(end) if bracket[3..].starts_with(['-', 'v']) => &bracket[end + 1..],
            _ => {
                kept.push_str(" (-");
                &bracket[3..]
            }
        };
    }
    kept + rest
}

/// Parts as they stand on a page.
fn plain(all: &[FramePart]) -> Markup {
    let all: Vec<FramePart> = all
        .iter()
        .map(|part| match part {
            FramePart::Know(words) => FramePart::Know(without_options(words)),
            FramePart::Say(words) => FramePart::Say(without_options(words)),
            other => other.clone(),
        })
        .collect();
    html! {
        @for (at, one) in all.iter().enumerate() {
            @match one {
                // No line breaks inside a word of a command.
                FramePart::Command(words) => p { code { @for word in words.split(' ') { span.word { (text(word)) } " " } } },
                other => (part(other, &all[..at])),
            }
        }
    }
}

/// A word as it stands in an address: what is no letter or digit by its number.
pub(in crate::report) fn in_address(word: &str) -> String {
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
    use super::{in_address, without_options};

    #[test]
    fn an_address_holds_no_sign_that_means_something() {
        assert_eq!(in_address("moth-2"), "moth-2");
        assert_eq!(in_address("a/b?c#d\"é"), "a%2Fb%3Fc%23d%22%C3%A9");
    }

    #[test]
    fn options_are_fields_but_commands_stay() {
        assert_eq!(
            without_options("Is it --baro 845? `reedbook air --keep` keeps it."),
            "Is it baro 845? `reedbook air --keep` keeps it."
        );
        assert_eq!(
            without_options("12 steps open (-v). 18 more (--all lists them), 1 (-3 h), 2 (a)."),
            "12 steps open. 18 more, 1 (-3 h), 2 (a)."
        );
    }
}
