//! The frame of every answer: what the hands do, what can hurt in this step, the facts, and where to read more. Two signs stand in the
//! first column, so that they can be found without colour: `!!` do not run it, or do this first; `!` know this.

use super::screen::Screen;
use super::width;

/// An answer in the making, line by line.
#[derive(Debug)]
pub(in crate::report) struct Frame<'s> {
    screen: &'s Screen,
    lines: Vec<String>,
}

impl<'s> Frame<'s> {
    pub(in crate::report) fn new(screen: &'s Screen) -> Self {
        Self { screen, lines: Vec::new() }
    }

    /// What the hands do.
    pub(in crate::report) fn hands(&mut self, text: &str) {
        self.lines.push(self.screen.strong(&self.screen.wrap(text, 2)));
    }

    /// What must not be done, or be done first.
    pub(in crate::report) fn stop(&mut self, text: &str) {
        self.lines.push(self.screen.alarm(&self.screen.wrap(&format!("!! {text}"), 3)));
    }

    /// What is to be known before it runs.
    pub(in crate::report) fn know(&mut self, text: &str) {
        self.lines.push(self.screen.known(text));
    }

    /// A fact.
    pub(in crate::report) fn say(&mut self, text: &str) {
        self.lines.push(self.screen.wrap(text, 2));
    }

    /// Lines that stand as they are: a table.
    pub(in crate::report) fn block(&mut self, text: String) {
        self.lines.push(text);
    }

    /// What is to be done at the bike, each with a box for the pencil, ticked or not; two stand beside each other where both have room.
    pub(in crate::report) fn boxes(&mut self, jobs: &[(bool, String)]) {
        let half = self.screen.width() / 2;
        let sign = |done: bool| if done { 'x' } else { ' ' };
        let boxes: Vec<String> =
            jobs.iter().map(|(done, job)| format!("  [{}] {job}", sign(*done))).collect();
        let mut rest = boxes.as_slice();
        loop {
            rest = match rest {
                [] => break,
                [one, other, after @ ..] if width::of(one) + 2 <= half && width::of(other) <= half => {
                    self.lines.push(format!("{}{other}", width::padded(one, half)));
                    after
                }
                [one, after @ ..] => {
                    self.lines.push(self.screen.wrap(one, 6));
                    after
                }
            };
        }
    }

    /// A command to be typed, alone on its line.
    pub(in crate::report) fn command(&mut self, text: &str) {
        self.lines.push(format!("  {text}"));
    }

    /// Where it is from, and where to read more.
    pub(in crate::report) fn source(&mut self, text: &str) {
        self.lines.push(self.screen.dim(&self.screen.wrap(text, 2)));
    }

    /// A blank line, where something stands before it.
    pub(in crate::report) fn gap(&mut self) {
        if self.lines.last().is_some_and(|line| !line.is_empty()) {
            self.lines.push(String::new());
        }
    }

    /// The whole answer.
    pub(in crate::report) fn text(mut self) -> String {
        while self.lines.last().is_some_and(String::is_empty) {
            self.lines.pop();
        }
        self.lines.join("\n")
    }
}
