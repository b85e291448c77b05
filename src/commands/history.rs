//! `history`: a bike's setups with their outings.

use clap::Args;

use super::Desk;
use crate::report::Trouble;
use crate::report::history::setups as report;
use crate::store::Book;

/// A bike's setups, newest first, each with its outings
///
/// With their reasons, air and verdicts.
#[derive(Debug, Args)]
pub(super) struct History {
    /// The bike
    bike: String,
    /// Only the newest so many setups
    #[arg(long, value_name = "COUNT")]
    last: Option<usize>,
}

impl History {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let document = garage.bike(&self.bike)?;
        let book = Book::open(&garage)?;
        let setups = book.setups(&self.bike)?;
        let outings = book.outings(&self.bike)?;
        let happened = crate::advice::building::by_setup(&book, &setups)?;
        let answer = report::HistoryAnswer::of(report::History {
            bike: &self.bike,
            document: &document,
            setups: &setups,
            outings: &outings,
            happened: &happened,
            most: self.last,
            remarks: crate::advice::standing::remarks(&book, &self.bike)?,
        });
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
