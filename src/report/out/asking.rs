//! Asking at a terminal, one line a question. Nobody is asked who is not there: without a terminal there are no questions.

#![allow(clippy::print_stdout)] // the report floor is the one that prints

use std::io::{self, BufRead, IsTerminal, Write};

use crate::report::out::screen::Screen;
use crate::report::out::shown::shown;
use crate::report::out::trouble::Trouble;

/// What came back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// Something was typed.
    Said(String),
    /// Only Enter: leave it.
    Nothing,
    /// A point alone, or the end of the input: enough for now.
    Enough,
}

impl Screen {
    /// Whether somebody sits there who can be asked.
    pub fn can_ask(&self) -> bool {
        !self.json && io::stdin().is_terminal() && io::stdout().is_terminal()
    }

    /// Prints the beginning of a line.
    pub fn begin(&self, text: &str) -> Result<(), Trouble> {
        let mut out = io::stdout().lock();
        let text = shown(text, self.coloured());
        write!(out, "{text} ").and_then(|()| out.flush()).map_err(|error| Trouble::output(&error))
    }

    /// Ends a line that nothing more comes on.
    pub(super) fn end_line() -> Result<(), Trouble> {
        writeln!(io::stdout().lock()).map_err(|error| Trouble::output(&error))
    }

    /// Asks one question and waits for a line.
    pub fn ask(&self, question: &str) -> Result<Answer, Trouble> {
        self.begin(question)?;
        let mut line = String::new();
        let read = io::stdin().lock().read_line(&mut line).map_err(|error| {
            Trouble::request(
                None,
                format!("The answer cannot be read: {error}."),
                "Run it again: what was answered is kept.",
            )
        })?;
        Ok(answer(&line, read))
    }
}

fn answer(line: &str, read: usize) -> Answer {
    match line.trim() {
        _ if read == 0 => Answer::Enough,
        "." => Answer::Enough,
        "" => Answer::Nothing,
        said => Answer::Said(said.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::{Answer, answer};

    #[test]
    fn a_line_is_an_answer_and_a_point_or_the_end_is_enough() {
        assert_eq!(answer("54.012\n", 7), Answer::Said("54.012".into()));
        assert_eq!(answer("\n", 1), Answer::Nothing);
        assert_eq!(answer(".\n", 2), Answer::Enough);
        assert_eq!(answer("", 0), Answer::Enough);
    }
}
