//! An answer's parts on a page: a table is one, a number keeps its unit, and what is typed at the laptop is a way to the page that does the
//! same, where there is one.

use maud::{Markup, html};

use super::super::shell::{in_a_form, kept, tabled, text, with_arrows};
use super::{PageFrame, in_address};
use crate::report::out::frame::FramePart;
use crate::report::out::glue::{Piece, apart};

/// Parts as they stand on a page of `serve`.
pub(super) fn plain(place: &PageFrame<'_>, all: &[FramePart]) -> Markup {
    laid_out(Some(place), all)
}

/// Parts as they stand on any page; without a place there is no way from it to another.
pub(in crate::report::page) fn laid_out(place: Option<&PageFrame<'_>>, all: &[FramePart]) -> Markup {
    html! {
        @for (at, one) in all.iter().enumerate() {
            @let is_held = all[..at].iter().any(|part| matches!(part, FramePart::Stop(_)));
            @match one {
                FramePart::Hands(words) if is_held => p.hands.then { (coded(place, words)) },
                FramePart::Hands(words) => p.hands { (coded(place, words)) },
                FramePart::Stop(words) => p.stop { (coded(place, &with_arrows(words))) },
                FramePart::Know(words) => p.know { (coded(place, words)) },
                FramePart::Say(words) => p { (coded(place, words)) },
                // What is moved under the finger can be moved with the keys, too.
                FramePart::Block(words) => pre tabindex="0" { (words.lines().map(text).collect::<Vec<_>>().join("\n")) },
                FramePart::Table(table) => (tabled(table)),
                FramePart::Boxes(jobs) => ul.boxes {
                    @for (done, job) in jobs { li class=[done.then_some("done")] { (kept(job)) } }
                },
                FramePart::Command(command) => p { (typed(place, command)) },
                FramePart::Source(words) => p.source { (coded(place, words)) },
                FramePart::Gap => {},
            }
        }
    }
}

/// Words with what is to be typed at the laptop, or a way to the page that does the same.
fn coded(place: Option<&PageFrame<'_>>, words: &str) -> Markup {
    // What stands on a line of its own at a terminal runs on here.
    let words = words.lines().map(str::trim).collect::<Vec<_>>().join(" ");
    html! {
        @for piece in apart(&words) {
            @match piece {
                Piece::Words(words) => (quoted(&without_options(words))),
                Piece::Command(command) => { " " (typed(place, command)) " " },
            }
        }
    }
}

/// Words that name a command in passing.
fn quoted(words: &str) -> Markup {
    html! {
        @for (number, piece) in words.split('`').enumerate() {
            @if number % 2 == 1 { code { (text(piece)) } } @else { (kept(piece)) }
        }
    }
}

/// What would be typed: a way to the page that does it, else said to be for the laptop.
fn typed(place: Option<&PageFrame<'_>>, command: &str) -> Markup {
    html! {
        @match place.and_then(|place| way(place, command)) {
            Some((label, address)) => a.button href=(address) { (label) },
            // No line breaks inside a word of a command.
            None => span.laptop { "At the laptop: " code { @for (at, word) in command.split(' ').enumerate() { @if at > 0 { " " } @if word.contains('-') { span.word { (text(word)) } } @else { (text(word)) } } } },
        }
    }
}

/// The page that does what a command does, and what it is called there; none where there is none.
fn way(place: &PageFrame<'_>, command: &str) -> Option<(&'static str, String)> {
    let words: Vec<&str> = command.split_whitespace().collect();
    let of = |bike: &str, end: &str| format!("/bike/{}{end}", in_address(bike));
    let says =
        |option: &str| words.iter().any(|word| *word == option || word.starts_with(&format!("{option}=")));
    match words.as_slice() {
        ["reedbook", "outing", "edit", bike, run, ..] if place.pen.is_some() => {
            let label = match () {
                () if says("--cause") || says("cause") => "Write the cause down",
                () if says("--confirm") => "Look it over, and confirm it",
                () if says("--setup") || says("--without") => "Say what was on it",
                () if says("--temp") || says("--baro") => "Add its air",
                () if says("hours") || says("--hours") => "Add its running time",
                () => "Fix the run",
            };
            Some((label, of(bike, &format!("/last?run={}", in_address(run)))))
        }
        ["reedbook", "outing", "add", bike, ..] if place.pen.is_some() => {
            Some(("Log a run", of(bike, "/log")))
        }
        ["reedbook", "rejet", bike, rest @ ..] if !rest.contains(&"--record") => {
            Some(("What the air wants", of(bike, "/jets")))
        }
        ["reedbook", "history", bike, ..] => Some(("Its history", of(bike, "/history?all=1"))),
        ["reedbook", "now", bike] => Some(("To the bike", of(bike, ""))),
        ["reedbook", "compare", bike, from, to] => {
            let end = format!("/compare?from={}&to={}", in_address(from), in_address(to));
            Some(("Compare them", of(bike, &end)))
        }
        ["reedbook", "part", "inspect", _] if place.pen.is_some() => {
            place.bike.map(|bike| ("Write down what was seen", of(bike, "/due")))
        }
        ["reedbook", "part", "due", ..] => Some(("What is due", "/due".to_owned())),
        ["reedbook", "build", "show" | "measure" | "steps", ..] => {
            place.bike.map(|bike| ("The build", of(bike, "/build")))
        }
        _ => None,
    }
}

/// Words that name options of a command line, for a page that has fields in their place; what is to be typed stays as it is.
fn without_options(words: &str) -> String {
    let plain = |(at, piece): (usize, &str)| {
        if at % 2 == 1 { format!("`{piece}`") } else { in_a_form(&without_brackets(piece)) }
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

#[cfg(test)]
mod tests {
    use super::super::{PageAt, PageFrame, Pen};
    use super::{way, without_options};

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

    #[test]
    fn what_is_told_names_fields() {
        for (told, said) in [
            (
                "Write the scale with it: --temp \"55 F\", --temp \"13 C\".",
                "Write the scale with it: 55 F, 13 C.",
            ),
            (
                "Another height is said with --elevation of the track.",
                "Another height is said with the elevation of the track.",
            ),
        ] {
            assert_eq!(without_options(told), said);
        }
    }

    #[test]
    fn what_a_page_does_is_a_way_to_it() {
        let pen = Pen { token: String::new(), once: String::new() };
        let with = PageFrame { bike: Some("moth"), at: PageAt::Now, pen: Some(&pen), overdue: &[] };
        let look = PageFrame { pen: None, ..with.clone() };
        let to = |place: &PageFrame<'_>, command| way(place, command).map(|(_, address)| address);
        let mend = "reedbook outing edit moth last --cause \"not the engine\"";
        assert_eq!(to(&with, mend).as_deref(), Some("/bike/moth/last?run=last"));
        assert_eq!(to(&look, mend), None);
        assert_eq!(to(&look, "reedbook history moth").as_deref(), Some("/bike/moth/history?all=1"));
        assert_eq!(to(&with, "reedbook rejet moth --record"), None);
        assert_eq!(to(&with, "reedbook part inspect x --hours …"), None);
    }
}
