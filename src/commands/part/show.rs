//! `part show`: everything that is known of one part.

use clap::Args;

use crate::advice::parts::{Counted, counts_at_events};
use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::all_worded;
use crate::report::parts::show::PartShowAnswer;
use crate::store::{Book, Garage};

/// A part's hours, its limits and its history
#[derive(Debug, Args)]
pub(super) struct ShowPart {
    /// The part
    part: String,
}

impl ShowPart {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let record = Book::open(garage)?.part(&self.part)?;
        let counted = Counted::of(garage, desk.moment.now)?;
        let kept = counted.kept(&record);
        let events = counts_at_events(&record.part, &counted.runs);
        let answer = PartShowAnswer::new(&kept, &events, all_worded(&counted.remarks(None)));
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
