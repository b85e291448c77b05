//! `now`: a bike at a glance.

use clap::Args;

use super::Desk;
use super::air_options::AirOptions;
use crate::advice::now::glance;
use crate::advice::parts::Counted;
use crate::report::Trouble;
use crate::report::history::now::NowAnswer;
use crate::store::Book;

/// What is on a bike, how it last ran and what is due
///
/// Without a bike all of them, a line each. This is what `reedbook` without a command shows inside a garage, too.
#[derive(Debug, Default, Args)]
pub(super) struct Now {
    /// The bike
    bike: Option<String>,
}

impl Now {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let book = Book::open(&garage)?;
        let counted = Counted::of(&garage, desk.moment.now)?;
        let ledger = counted.ledger(None);
        let bikes = match &self.bike {
            Some(bike) => {
                garage.require_bike(bike)?;
                vec![bike.clone()]
            }
            None => counted.in_use(&garage),
        };
        let jobs = book.open_jobs()?;
        let look = |bike: &String| glance(&book, bike, (&ledger, &counted.parts, &jobs), desk.moment.now);
        let glances = bikes.iter().map(look).collect::<Result<Vec<_>, _>>()?;
        let served = AirOptions::default().served(&book, None, desk.moment.now)?;
        let answer = NowAnswer::of(&glances, self.bike.is_some(), &served);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
