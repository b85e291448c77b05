//! `show`: a whole setup, to be read at the bike.

use clap::Args;

use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::history::setups::show as report;
use crate::store::{Book, SetupName};

/// A whole setup by section: the bike as it is, or setup 9
#[derive(Debug, Args)]
pub(in crate::commands) struct Show {
    /// The bike; otherwise the last one of the day
    #[arg(default_value = "", hide_default_value = true)]
    bike: String,
    /// The setup: a number, latest, proven or now
    #[arg(default_value = "now")]
    setup: SetupName,
    /// Only this section, like jetting; may be given several times or with commas
    #[arg(long, value_name = "SECTION", value_delimiter = ',')]
    only: Vec<String>,
}

impl Show {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let bike = &desk.bike_meant(&garage, &self.bike)?;
        let book = Book::open(&garage)?;
        let setup = book.resolve(bike, &self.setup)?;
        let mut whole = book.combination(bike, setup.as_ref())?;
        // What is written for all and held by none is on no bike.
        whole.fields = whole.fields.in_use();
        let air = match &setup {
            Some(setup) => book.air_of(bike, setup)?,
            None => None,
        };
        report::check_sections(&self.only)?;
        let shown = report::Shown { bike, setup: setup.as_ref(), whole: &whole, air, only: &self.only };
        let answer = shown.answer();
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
