//! `history`: a bike's setups with their outings.

use std::collections::HashMap;

use clap::Args;

use super::Desk;
use crate::notebook::compare;
use crate::report::Trouble;
use crate::report::history::setups as report;
use crate::store::Book;

/// Setups that a person is shown where no number is asked for.
const NEWEST: usize = 6;

/// Setups, newest first: what was changed, and how it ran
///
/// The newest six; -v has reasons, plugs, parts and builds.
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
        // A person sees the newest few; a script, and who asks for more, all.
        let few = (!desk.screen().json).then_some(NEWEST);
        let most = self.last.or(few);
        let mut compared = HashMap::new();
        for pair in setups.windows(2).rev().take(most.unwrap_or(usize::MAX)) {
            let [before, after] = pair else { continue };
            let whole = |setup| book.combination(&self.bike, Some(setup));
            compared.insert(after.number, compare(&whole(before)?.fields, &whole(after)?.fields));
        }
        let answer = report::HistoryAnswer::of(report::History {
            bike: &self.bike,
            document: &document,
            setups: &setups,
            outings: &outings,
            happened: &happened,
            compared: &compared,
            most,
            remarks: crate::advice::standing::remarks(&book, &self.bike)?,
        });
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
