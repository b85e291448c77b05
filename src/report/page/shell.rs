//! The page around a sheet: head, style, and the parts of an answer as markup.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::out::frame::{FramePart, FrameTable};
use crate::report::out::glue::{GLUE, glued, unglued};

/// How the pages look.
const STYLE: &str = include_str!("sheet.css");

/// Nothing is loaded and nothing is run, whatever stands in a note.
const POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'";

/// A drawing that was made as SVG, with what stands under it.
pub(super) struct DrawnFigure {
    pub(super) title: String,
    /// Markup of our own drawing.
    pub(super) svg: Option<String>,
    pub(super) caption: String,
    /// Whether it runs across the sheet.
    pub(super) wide: bool,
}

/// A whole document with the letters of its style.
pub(super) fn document(title: &str, small: bool, body: &Markup) -> String {
    whole(title, small, "", body)
}

/// The same with letters of so many points in print.
pub(super) fn document_in(title: &str, (small, letters_pt): (bool, f64), body: &Markup) -> String {
    let letters = format!("@media print {{ body main {{ font-size: {}pt; }} }}", fixed(letters_pt, 1));
    whole(title, small, &letters, body)
}

fn whole(title: &str, small: bool, letters: &str, body: &Markup) -> String {
    let page = if small { "@page { size: A5; margin: 6mm; }" } else { "" };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="generator" content=(GENERATOR);
                title { (title) }
                style { (PreEscaped(STYLE)) (PreEscaped(page)) (PreEscaped(letters)) }
            }
            body class=[small.then_some("small")] { (body) }
        }
    }
    .into_string()
}

/// By this a file is known as a sheet that may be written anew.
pub(super) const GENERATOR: &str = "reedbook sheet";

/// Text of a person or of a file, nothing in it taken as markup and nothing invisible.
pub(super) fn text(words: &str) -> String {
    visible(&unglued(words))
}

/// What options of a command line are called where there are fields in their place.
const IN_A_FORM: [(&str, &str); 13] = [
    ("--temp \"55 F\", --temp \"13 C\"", "55 F, 13 C"),
    ("--qnh or --sea-level, and --elevation of", "QNH, and the elevation of"),
    ("with --elevation of", "with the elevation of"),
    ("like --date ", "like "),
    ("like --at ", "like "),
    ("once --fixed says what", "once it is said what"),
    ("once --cause says what", "once it is said what"),
    ("--cause and --fixed close it", "its cause, and what was done, close it"),
    ("--cause \"…\" --fixed \"…\"", "the cause, and what was done"),
    ("--fixed \"new seal fitted\"", "\"new seal fitted\""),
    (" (--remove cause)", ""),
    ("goes into --note", "goes into the note"),
    ("--lap ", ""),
];

/// Words that name options of a command line, for a page that has fields in their place.
pub(super) fn in_a_form(words: &str) -> String {
    let plain =
        IN_A_FORM.iter().fold(words.to_owned(), |words, (option, field)| words.replace(option, field));
    plain.replace("--", "")
}

/// A word with a hyphen is kept whole up to so many letters: names of parts, and dates.
const NAME: usize = 28;

/// Text of a person or of a file in which no number loses its unit, and no name is broken.
pub(super) fn kept(words: &str) -> Markup {
    let whole = glued(&text(words), usize::MAX);
    let is_name = |word: &str| {
        let inner = |(at, _): (usize, &str)| {
            let after = word.get(at + 1..).unwrap_or_default();
            at > 0 && after.starts_with(char::is_alphanumeric)
        };
        word.chars().count() <= NAME && word.match_indices('-').any(inner)
    };
    html! {
        @for (at, word) in whole.split(' ').enumerate() {
            @if at > 0 { " " }
            @if word.contains(GLUE) || is_name(word) { span.word { (word.replace(GLUE, " ")) } } @else { (word) }
        }
    }
}

/// An answer's parts.
pub(super) fn parts(parts: &[FramePart]) -> Markup {
    html! { @for (at, one) in parts.iter().enumerate() { (part(one, &parts[..at])) } }
}

/// One of them; what the hands do behind what must not be done, or be done first, is not what the eye finds first.
pub(super) fn part(part: &FramePart, before: &[FramePart]) -> Markup {
    let is_held = before.iter().any(|part| matches!(part, FramePart::Stop(_)));
    html! {
            @match part {
                FramePart::Hands(words) if is_held => p.hands.then { (coded(words)) },
                FramePart::Hands(words) => p.hands { (coded(words)) },
                FramePart::Stop(words) => p.stop { (coded(&with_arrows(words))) },
                FramePart::Know(words) => p.know { (coded(words)) },
                FramePart::Say(words) => p { (coded(words)) },
                // What is moved under the finger can be moved with the keys, too.
                FramePart::Block(words) => pre tabindex="0" { (lines(words)) },
                FramePart::Table(table) => (tabled(table)),
                FramePart::Boxes(jobs) => ul.boxes {
                    @for (done, job) in jobs { li class=[done.then_some("done")] { (kept(job)) } }
                },
                FramePart::Command(words) => p { code { (text(words)) } },
                FramePart::Source(words) => p.source { (coded(words)) },
                FramePart::Gap => {},
            }
    }
}

/// Words with the arrow that stands everywhere else on a page for the one that is made of two signs.
pub(super) fn with_arrows(words: &str) -> String {
    words.replace(" -> ", " → ")
}

/// Columns that have room on a phone in full size.
const MANY: usize = 4;

/// A table.
pub(super) fn tabled(table: &FrameTable) -> Markup {
    let figure = |column: usize| table.right.contains(&column).then_some("n");
    let over =
        |row: &[String]| row.last().is_some_and(|last| last.contains("over the limit")).then_some("over");
    html! {
        table.figures.many[table.head.len() > MANY] {
            @if !table.caption.is_empty() { caption { (kept(&table.caption)) } }
            thead { tr { @for (column, head) in table.head.iter().enumerate() { th scope="col" class=[figure(column)] { (kept(head)) } } } }
            tbody {
                @for (at, row) in table.rows.iter().enumerate() {
                    @match row.as_slice() {
                        [alone] => tr.group { th colspan=(table.head.len()) scope="rowgroup" { (kept(alone)) } },
                        [first, rest @ ..] => tr class=[(table.marked == Some(at)).then_some("marked").or_else(|| over(row))] {
                            th scope="row" class=[figure(0)] {
                                @match first.split_once('\n') {
                                    Some((name, least)) => { (kept(name)) " " span.least { (kept(least)) } },
                                    None => (kept(first.trim())),
                                }
                            }
                            @for (column, cell) in rest.iter().enumerate() { td class=[figure(column + 1)] { (kept(cell)) } }
                        },
                        [] => {},
                    }
                }
            }
        }
    }
}

/// Words in which what stands between backticks is to be typed.
fn coded(words: &str) -> Markup {
    // What stands on a line of its own at a terminal runs on here.
    let words = text(&words.lines().map(str::trim).collect::<Vec<_>>().join(" "));
    html! {
        @for (number, piece) in words.split('`').enumerate() {
            @if number % 2 == 1 { code { (piece) } } @else { (kept(piece)) }
        }
    }
}

/// Lines that stand as they are.
fn lines(words: &str) -> String {
    words.lines().map(text).collect::<Vec<_>>().join("\n")
}

/// Pixels down up to which a drawing is low, or tall: a taller one needs more room for letters that can be read.
const LOW: usize = 190;
const TALL: usize = 214;

impl DrawnFigure {
    /// How high its drawing is, pixels.
    pub(super) fn pixels_down(&self) -> usize {
        let svg = self.svg.as_deref().and_then(|svg| svg.split_once(" height=\""));
        let high = svg.and_then(|(_, rest)| rest.split_once('"'));
        high.and_then(|(high, _)| high.parse().ok()).unwrap_or(0)
    }

    fn height(&self) -> &'static str {
        let down = self.pixels_down();
        if down > TALL {
            " taller"
        } else if down > LOW {
            " tall"
        } else {
            ""
        }
    }
}

/// A drawing with its title and caption.
pub(super) fn figure(figure: &DrawnFigure) -> Markup {
    html! {
        figure class={ (if figure.wide { "wide" } else { "half" }) (figure.height()) } tabindex=[figure.wide.then_some("0")] {
            h2 { (text(&figure.title)) }
            @if let Some(svg) = &figure.svg { (PreEscaped(svg)) }
            @if !figure.caption.is_empty() { figcaption { (kept(&figure.caption)) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::kept;

    #[test]
    fn a_number_keeps_its_unit_and_a_name_its_hyphen() {
        assert_eq!(kept("in 92.2 % air").into_string(), "in <span class=\"word\">92.2 % air</span>");
        assert_eq!(
            kept("fit small-end-3 <b>").into_string(),
            "fit <span class=\"word\">small-end-3</span> &lt;b&gt;"
        );
        assert_eq!(kept("a - b, -3 and x-").into_string(), "a - b, -3 and x-");
    }
}
