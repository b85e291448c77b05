//! What is said of a page that was written.

use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;

use super::shell::text;
use crate::report::Screen;

/// A page that was written.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PageAnswer {
    /// Folder names of the bikes, or of the engine, that it is of.
    pub of: Vec<String>,
    /// The file that was written.
    pub file: String,
    /// Its size, bytes.
    pub bytes: usize,
    /// What is left out of it, or could not be found, in words; empty where nothing is.
    pub without: Vec<String>,
    /// What is to be done with it.
    #[serde(skip)]
    then: &'static str,
    /// The command that goes on from it.
    #[serde(skip)]
    command: Option<String>,
}

/// A file as it is typed.
fn in_quotes(file: &str) -> String {
    let plain = file.chars().all(|letter| letter.is_alphanumeric() || "._-/\\:~".contains(letter));
    if plain { text(file) } else { format!("\"{}\"", text(file)) }
}

impl PageAnswer {
    /// Of a page for print.
    pub fn of(of: Vec<String>, file: &Path, bytes: usize, without: Vec<String>) -> Self {
        let then = "open it in a browser, and print it from there.";
        Self { of, file: file.display().to_string(), bytes, without, then, command: None }
    }

    /// The same of a picture.
    #[must_use]
    pub fn picture(mut self) -> Self {
        self.then = "a picture to show or to send.";
        self
    }

    /// The same of a sheet to be filled in.
    #[must_use]
    pub fn to_fill_in(mut self) -> Self {
        self.then = "fill it in, then log it:";
        self.command = Some(format!("reedbook outing import {}", in_quotes(&self.file)));
        self
    }

    /// The same of one that goes to somebody else.
    #[must_use]
    pub fn for_somebody_else(mut self) -> Self {
        self.then = "open it in a browser and read it through before it goes out.";
        self
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = vec![screen.wrap(&format!("{} is written: {}", text(&self.file), self.then), 2)];
        lines.extend(self.command.iter().map(|command| format!("  {command}")));
        lines.extend(self.without.iter().map(|words| screen.wrap(&format!("Not on it: {}", text(words)), 2)));
        lines.join("\n")
    }
}
