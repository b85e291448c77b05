//! Where everything goes that a person or a script sees: text for people, one JSON document for scripts.

#![allow(clippy::print_stdout, clippy::print_stderr)] // the report floor is the one that prints

use std::io::{self, IsTerminal, Write};

use serde::Serialize;

use crate::machine;
use crate::quantity::Units;
use crate::report::out::glue::{Piece, apart, glued, unglued};
use crate::report::out::shown::{shown, shown_json};
use crate::report::out::trouble::Trouble;

/// How the user wants to be told.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wanted {
    /// One JSON document instead of text.
    pub json: bool,
    /// All that is known, with the cautions in full.
    pub verbose: bool,
    /// Colour whatever the machine says, or none; by the machine where nothing is said.
    pub colour: Option<bool>,
    /// Units of computed values, where the user named them.
    pub units: Option<Units>,
    /// A long answer goes straight to the terminal, past the pager.
    pub unpaged: bool,
}

/// What an answer is shown on, as the user wants to be told.
#[derive(Debug, Clone, Copy)]
#[allow(clippy::struct_excessive_bools)] // each is a wish of its own
pub struct Screen {
    /// One JSON document instead of text.
    pub json: bool,
    verbose: bool,
    /// Whether it is a sheet or a page: nothing is recorded from there.
    is_a_page: bool,
    /// Units of computed values, where the user named them.
    asked_units: Option<Units>,
    units: Units,
    width: usize,
    /// Lines that fit at a terminal, where a longer answer is shown by the pager.
    pages: Option<usize>,
    colour: bool,
}

/// Widest line even on a wide terminal: beyond it a line is hard to follow.
const WIDEST: usize = 100;
/// Narrowest screen that is written for; a narrower one breaks the lines itself.
const NARROWEST: usize = 30;
/// Columns that a line goes in by where a wider column has no room.
const NARROW_INDENT: usize = 4;
/// Columns of a table on a sheet.
const ON_PAPER: usize = 62;
/// Columns of a table on a phone.
const ON_A_PHONE: usize = 44;
/// Words of what goes towards a seizure.
const OF_A_SEIZURE: [&str; 9] =
    ["lean", "Lean", "eiz", "earlier", "tighter", "pinged", "detonat", "plug and piston", "nipped"];

/// Width where there is no terminal to ask.
const USUAL: usize = 80;

/// The one ink for what goes towards a seizure.
pub(in crate::report) const WARNING_INK: anstyle::AnsiColor = anstyle::AnsiColor::Yellow;

impl Screen {
    /// The machine's standard output.
    pub fn new(wanted: Wanted) -> Self {
        let terminal = io::stdout().is_terminal();
        let size = terminal_size::terminal_size().filter(|_| terminal);
        let height = size.map(|(_, height)| usize::from(height.0)).filter(|lines| *lines > 0);
        // Who sets COLUMNS wants that width (POSIX, chapter 8); else the terminal says it.
        let named = machine::variable("COLUMNS")
            .and_then(|columns| columns.trim().parse().ok())
            .filter(|columns| *columns > 0);
        let asked = named.or_else(|| size.map(|(width, _)| usize::from(width.0)));
        // An empty NO_COLOR is none (no-color.org).
        let plain = machine::variable("NO_COLOR").is_some()
            || machine::variable("TERM").is_some_and(|value| value == "dumb");
        Self {
            json: wanted.json,
            verbose: wanted.verbose,
            is_a_page: false,
            asked_units: wanted.units,
            units: wanted.units.unwrap_or_default(),
            width: asked.unwrap_or(USUAL).clamp(NARROWEST, WIDEST),
            pages: height.filter(|_| !wanted.unpaged),
            colour: wanted.colour.unwrap_or(terminal && !plain),
        }
    }

    /// Whether it is a sheet or a page, where an answer records nothing.
    pub(in crate::report) fn is_a_page(&self) -> bool {
        self.is_a_page
    }

    /// Columns that may be used.
    pub fn width(&self) -> usize {
        self.width
    }

    /// The same screen for a garage: its units hold where the user named none.
    #[must_use]
    pub fn in_garage(mut self, garage: Units) -> Self {
        self.units = self.asked_units.unwrap_or(garage);
        self
    }

    /// The same for paper: no colour, the short answers, and as many columns as stand in one column of a sheet.
    #[must_use]
    pub fn on_paper(mut self) -> Self {
        self.colour = false;
        self.verbose = false;
        self.is_a_page = true;
        self.json = false;
        self.width = ON_PAPER;
        self
    }

    /// The same for a phone: as on paper, and as many columns as a hand's width shows.
    #[must_use]
    pub fn on_a_phone(self) -> Self {
        Self { width: ON_A_PHONE, ..self.on_paper() }
    }

    /// The same as it is where there is no terminal: as many columns as are usual, no colour.
    #[must_use]
    pub(in crate::report) fn as_usual(self) -> Self {
        Self { width: USUAL, colour: false, ..self }
    }

    /// The same in other units.
    #[must_use]
    pub fn in_units(mut self, units: Units) -> Self {
        self.units = units;
        self
    }

    /// The units to show computed values in.
    pub fn units(&self) -> Units {
        self.units
    }

    /// Whether colours may be used.
    pub fn coloured(&self) -> bool {
        self.colour
    }

    /// Whether all that is known is wanted.
    pub fn verbose(&self) -> bool {
        self.verbose
    }

    /// Text made to stand out, where the terminal can.
    pub fn strong(&self, text: &str) -> String {
        self.styled(anstyle::Style::new().bold(), text)
    }

    /// What must not be done: nothing on the screen stands out more.
    pub fn alarm(&self, text: &str) -> String {
        self.styled(anstyle::Style::new().bold().invert(), text)
    }

    /// What goes towards a seizure: the one warning ink.
    pub fn warn(&self, text: &str) -> String {
        self.styled(WARNING_INK.on_default().bold(), text)
    }

    /// What is to be known, with its sign.
    pub fn known(&self, text: impl AsRef<str>) -> String {
        let text = text.as_ref();
        let shown = self.wrap(&format!("! {text}"), 2);
        // The ink is kept for what goes towards a seizure.
        if OF_A_SEIZURE.iter().any(|word| text.contains(word)) {
            self.warn(&shown)
        } else {
            self.strong(&shown)
        }
    }

    /// Where something is from.
    pub fn dim(&self, text: &str) -> String {
        self.styled(anstyle::Style::new().dimmed(), text)
    }

    pub(in crate::report) fn styled(&self, style: anstyle::Style, text: &str) -> String {
        if self.colour { format!("{style}{text}{style:#}") } else { text.to_owned() }
    }

    /// Prints text for people.
    pub fn say(&self, text: &str) -> Result<(), Trouble> {
        write_out(&mut io::stdout().lock(), &shown(text, self.colour))
    }

    /// Prints the answer: the JSON document where it was asked for, else the text.
    pub fn answer(&self, json: &impl Serialize, text: impl FnOnce() -> String) -> Result<(), Trouble> {
        if self.json {
            let document = serde_json::to_string_pretty(json).unwrap_or_default();
            write_out(&mut io::stdout().lock(), &shown_json(&document))
        } else {
            let text = text();
            let long = self.pages.is_some_and(|height| text.lines().count() >= height);
            if long && machine::page(&format!("{}\n", shown(text.trim_end_matches('\n'), self.colour))) {
                return Ok(());
            }
            self.say(&text)
        }
    }

    /// Text broken into lines that fit, later lines indented by `indent` columns; a command to be typed stands alone on its line.
    pub fn wrap(&self, text: &str, indent: usize) -> String {
        if indent * 2 > self.width {
            // A column of that width leaves no room beside it: what stands in it runs on behind its name.
            return self.wrap(&run_on(text), NARROW_INDENT);
        }
        let spaces = " ".repeat(indent);
        let options = textwrap::Options::new(self.width)
            .subsequent_indent(&spaces)
            .break_words(false)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        let room = self.width.saturating_sub(indent);
        let fitted = |line: &str| {
            if ["reedbook ", "git config --global user.name"]
                .iter()
                .any(|begun| line.trim_start().starts_with(begun))
            {
                return line.to_owned();
            }
            let mut lines = Vec::new();
            let pieces = apart(line);
            for (at, piece) in pieces.iter().enumerate() {
                let leads = matches!(pieces.get(at + 1), Some(Piece::Command(_)));
                match piece {
                    Piece::Command(command) => lines.push(format!("{}{command}", " ".repeat(indent.max(2)))),
                    Piece::Words(words) => {
                        // What leads to a command does not pause before it.
                        let words = match words.strip_suffix([';', ',']).filter(|_| leads) {
                            Some(words) => format!("{words}:"),
                            None => (*words).to_owned(),
                        };
                        let options = options.clone().initial_indent(if at == 0 { "" } else { &spaces });
                        lines.push(textwrap::fill(&glued(&words, room), options));
                    }
                }
            }
            lines.join("\n")
        };
        unglued(&text.lines().map(fitted).collect::<Vec<_>>().join("\n"))
    }

    /// Says beside the answer, on standard error, what a person should know; a script asks for it.
    pub fn note(&self, text: &str) {
        if !self.json {
            let _ = writeln!(io::stderr().lock(), "{}", shown(&self.wrap(&format!("! {text}"), 2), false));
        }
    }

    /// Prints what went wrong on standard error.
    pub fn complain(&self, trouble: &Trouble) {
        let text = if self.json {
            shown_json(&trouble.json()).into_owned()
        } else {
            shown(&trouble.words(self), false).into_owned()
        };
        // Nothing is left to tell anybody when standard error is gone.
        let _ = writeln!(io::stderr().lock(), "{text}");
    }
}

/// A text whose names stand in a column of their own, without that column: "  base setting     15 deg" as "  base setting: 15 deg".
fn run_on(text: &str) -> String {
    let line = |line: &str| {
        let start = line.len() - line.trim_start().len();
        let (before, rest) = line.split_at(start);
        match rest.split_once("  ") {
            Some((name, value)) => format!("{before}{name}: {}", value.trim_start()),
            None => line.to_owned(),
        }
    };
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}

/// A reader that has seen enough and closed the pipe is not an error.
fn write_out(out: &mut impl Write, text: &str) -> Result<(), Trouble> {
    let written = writeln!(out, "{}", text.trim_end_matches('\n')).and_then(|()| out.flush());
    match written {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(Trouble::output(&error)),
        _ => Ok(()),
    }
}
