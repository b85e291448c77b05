//! Where everything goes that a person or a script sees: text for people, one JSON document for scripts.

#![allow(clippy::print_stdout, clippy::print_stderr)] // the report floor is the one that prints

use std::io::{self, IsTerminal, Write};

use serde::Serialize;

use crate::machine;
use crate::quantity::Units;
use crate::report::out::glue::{glued, unglued};
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
pub struct Screen {
    /// One JSON document instead of text.
    pub json: bool,
    verbose: bool,
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
/// Columns of a table on a sheet.
const ON_PAPER: usize = 62;
/// Width where there is no terminal to ask.
const USUAL: usize = 80;

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
            asked_units: wanted.units,
            units: wanted.units.unwrap_or_default(),
            width: asked.unwrap_or(USUAL).clamp(NARROWEST, WIDEST),
            pages: height.filter(|_| !wanted.unpaged),
            colour: wanted.colour.unwrap_or(terminal && !plain),
        }
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
        self.json = false;
        self.width = ON_PAPER;
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
        self.styled(anstyle::AnsiColor::Yellow.on_default().bold(), text)
    }

    /// What is to be known, with its sign.
    pub fn known(&self, text: impl AsRef<str>) -> String {
        self.warn(&self.wrap(&format!("! {}", text.as_ref()), 2))
    }

    /// Where something is from.
    pub fn dim(&self, text: &str) -> String {
        self.styled(anstyle::Style::new().dimmed(), text)
    }

    fn styled(&self, style: anstyle::Style, text: &str) -> String {
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

    /// Text broken into lines that fit, later lines indented by `indent` columns.
    pub fn wrap(&self, text: &str, indent: usize) -> String {
        let spaces = " ".repeat(indent);
        let options = textwrap::Options::new(self.width)
            .subsequent_indent(&spaces)
            .break_words(false)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        let fitted = |line: &str| textwrap::fill(&glued(line, self.width - indent), &options);
        unglued(&text.lines().map(fitted).collect::<Vec<_>>().join("\n"))
    }

    /// Prints what went wrong on standard error.
    pub fn complain(&self, trouble: &Trouble) {
        let text = if self.json {
            shown_json(&trouble.json()).into_owned()
        } else {
            shown(&trouble.words(), false).into_owned()
        };
        // Nothing is left to tell anybody when standard error is gone.
        let _ = writeln!(io::stderr().lock(), "{text}");
    }

    /// Prints a line of progress on standard error, so that standard output stays clean.
    pub fn progress(&self, text: &str) {
        if !self.json {
            let _ = writeln!(io::stderr().lock(), "{}", shown(text, false));
        }
    }
}

/// A reader that has seen enough and closed the pipe is not an error.
fn write_out(out: &mut impl Write, text: &str) -> Result<(), Trouble> {
    let written = writeln!(out, "{}", text.trim_end_matches('\n')).and_then(|()| out.flush());
    match written {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(Trouble::output(&error)),
        _ => Ok(()),
    }
}
