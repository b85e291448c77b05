//! `guide`: the pages that come with the program.

use clap::Args;

use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::guide::GuideAnswer;

/// Pages to read without a network: a tour, jetting, words
#[derive(Debug, Args)]
pub(in crate::commands) struct Guide {
    /// The page, or its beginning; without one, which there are
    page: Option<String>,
}

impl Guide {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let answer = match &self.page {
            Some(page) => GuideAnswer::page(page)?,
            None => GuideAnswer::list(),
        };
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
