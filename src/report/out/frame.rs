//! The frame of every answer: what the hands do, what can hurt in this step, the facts, and where to read more. Two signs stand in the
//! first column, so that they can be found without colour: `!!` do not run it, or do this first; `!` know this. A sheet lays out the
//! same parts its own way.

pub(in crate::report) mod room;

use std::collections::VecDeque;

use super::screen::Screen;
use super::width;
use crate::notebook::fields::cylinder::at_cylinder;

/// A table: its lines for a terminal, its cells for a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::report) struct FrameTable {
    /// What it is of, where a page says that above it.
    pub(in crate::report) caption: String,
    /// Heads of the columns.
    pub(in crate::report) head: Vec<String>,
    /// Its rows; one of a single cell stands over those behind it.
    pub(in crate::report) rows: Vec<Vec<String>>,
    /// Columns that hold figures.
    pub(in crate::report) right: Vec<usize>,
    /// The row that the eye is to find first.
    pub(in crate::report) marked: Option<usize>,
    /// As it stands at a terminal.
    pub(in crate::report) text: String,
}

/// A part of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::report) enum FramePart {
    /// What the hands do.
    Hands(String),
    /// What must not be done, or be done first.
    Stop(String),
    /// What is to be known before it runs.
    Know(String),
    /// A fact.
    Say(String),
    /// Lines that stand as they are.
    Block(String),
    /// A table.
    Table(FrameTable),
    /// What is to be done at the bike, each with a box for the pencil, ticked or not.
    Boxes(Vec<(bool, String)>),
    /// A command to be typed.
    Command(String),
    /// Where it is from, and where to read more.
    Source(String),
    /// A blank line.
    Gap,
}

/// An answer in the making, part by part.
#[derive(Debug)]
pub(in crate::report) struct Frame<'s> {
    screen: &'s Screen,
    parts: Vec<FramePart>,
}

impl<'s> Frame<'s> {
    pub(in crate::report) fn new(screen: &'s Screen) -> Self {
        Self { screen, parts: Vec::new() }
    }

    /// Parts of another answer.
    pub(in crate::report) fn parts_of(&mut self, parts: impl IntoIterator<Item = FramePart>) {
        self.parts.extend(parts);
    }

    /// What the hands do.
    pub(in crate::report) fn hands(&mut self, text: &str) {
        self.parts.push(FramePart::Hands(text.to_owned()));
    }

    /// What must not be done, or be done first.
    pub(in crate::report) fn stop(&mut self, text: &str) {
        self.parts.push(FramePart::Stop(text.to_owned()));
    }

    /// What is to be known before it runs.
    pub(in crate::report) fn know(&mut self, text: &str) {
        self.parts.push(FramePart::Know(text.to_owned()));
    }

    /// A fact.
    pub(in crate::report) fn say(&mut self, text: &str) {
        self.parts.push(FramePart::Say(text.to_owned()));
    }

    /// Lines that stand as they are.
    pub(in crate::report) fn block(&mut self, text: String) {
        self.parts.push(FramePart::Block(text));
    }

    /// A table.
    pub(in crate::report) fn table(&mut self, table: FrameTable) {
        self.parts.push(FramePart::Table(table));
    }

    /// What is to be done at the bike, each with a box for the pencil, ticked or not; two stand beside each other where both have room.
    pub(in crate::report) fn boxes(&mut self, jobs: &[(bool, String)]) {
        self.parts.push(FramePart::Boxes(jobs.to_vec()));
    }

    /// A command to be typed, alone on its line.
    pub(in crate::report) fn command(&mut self, text: &str) {
        self.parts.push(FramePart::Command(text.to_owned()));
    }

    /// Where it is from, and where to read more.
    pub(in crate::report) fn source(&mut self, text: &str) {
        self.parts.push(FramePart::Source(text.to_owned()));
    }

    /// Warnings that forbid to run the engine, and nothing else of `parts`; the rest is given back, for behind what the hands do.
    pub(in crate::report) fn only_what_forbids(&mut self, parts: Vec<FramePart>) -> Vec<FramePart> {
        let (first, rest) = parts.into_iter().partition(FramePart::forbids_to_run);
        let first: Vec<FramePart> = first;
        self.parts_of(first);
        rest
    }

    /// A blank line, where something stands before it.
    pub(in crate::report) fn gap(&mut self) {
        if self.parts.last().is_some_and(|part| *part != FramePart::Gap) {
            self.parts.push(FramePart::Gap);
        }
    }

    /// The answer part by part, without a blank line at its end.
    pub(in crate::report) fn parts(mut self) -> Vec<FramePart> {
        while self.parts.last().is_some_and(FramePart::is_blank) {
            self.parts.pop();
        }
        self.parts
    }

    /// The whole answer as text.
    pub(in crate::report) fn text(self) -> String {
        let screen = self.screen;
        let lines: Vec<String> = self.parts().iter().flat_map(|part| part.lines(screen)).collect();
        lines.join("\n")
    }
}

/// What forbids to run an engine at all: it is said even before what the hands do.
pub(in crate::report) fn forbids_to_run(text: &str) -> bool {
    ["o not run it", "before it is started", "do not run one"].iter().any(|words| text.contains(words))
}

impl FramePart {
    /// Whether it forbids to run the engine at all.
    pub(in crate::report) fn forbids_to_run(&self) -> bool {
        matches!(self, Self::Stop(text) if forbids_to_run(text))
    }

    fn is_blank(&self) -> bool {
        match self {
            Self::Gap => true,
            Self::Block(text) => text.is_empty(),
            Self::Table(table) => table.text.is_empty(),
            _ => false,
        }
    }

    /// The same said of one cylinder; what is no sentence stays as it is.
    pub(in crate::report) fn of_cylinder(&self, name: &str) -> Self {
        let at = |text: &str| at_cylinder(name, text);
        match self {
            Self::Hands(text) => Self::Hands(at(text)),
            Self::Stop(text) => Self::Stop(at(text)),
            Self::Know(text) => Self::Know(at(text)),
            Self::Say(text) => Self::Say(at(text)),
            Self::Source(text) => Self::Source(at(text)),
            Self::Block(_) | Self::Table(_) | Self::Boxes(_) | Self::Command(_) | Self::Gap => self.clone(),
        }
    }

    /// As it stands on a screen.
    fn lines(&self, screen: &Screen) -> Vec<String> {
        let one = match self {
            Self::Hands(text) => screen.strong(&screen.wrap(text, 2)),
            Self::Stop(text) => screen.alarm(&screen.wrap(&format!("!! {text}"), 3)),
            Self::Know(text) => screen.known(text),
            Self::Say(text) => screen.wrap(text, 2),
            Self::Block(text) => text.clone(),
            Self::Table(table) => table.text.clone(),
            Self::Boxes(jobs) => return boxes(jobs, screen),
            Self::Command(text) => format!("  {text}"),
            Self::Source(text) => screen.dim(&screen.wrap(text, 2)),
            Self::Gap => String::new(),
        };
        vec![one]
    }
}

/// Boxes for the pencil; two stand beside each other where both have room.
fn boxes(jobs: &[(bool, String)], screen: &Screen) -> Vec<String> {
    let half = screen.width() / 2;
    let sign = |done: bool| if done { 'x' } else { ' ' };
    let boxes: Vec<String> = jobs.iter().map(|(done, job)| format!("  [{}] {job}", sign(*done))).collect();
    let mut lines = Vec::new();
    let mut rest: VecDeque<&String> = boxes.iter().collect();
    while let Some(one) = rest.pop_front() {
        // Beside a short one stands the next that has room there.
        let beside = rest.iter().position(|other| width::of(other) <= half);
        match beside.filter(|_| width::of(one) + 2 <= half).and_then(|at| rest.remove(at)) {
            Some(other) => lines.push(format!("{}{other}", width::padded(one, half))),
            None => lines.push(screen.wrap(one, 6)),
        }
    }
    lines
}
