//! `engine`: spare engines and where each is.

use clap::{Args, Subcommand};

use super::Desk;
use super::cylinder_options::named_cylinders;
use crate::report::Trouble;
use crate::report::history::bikes::{EngineList, EngineMade};
use crate::store::{Book, make_engine};

/// Make or list engines: one can move to another bike
#[derive(Debug, Args)]
pub(super) struct EngineCommand {
    #[command(subcommand)]
    act: Act,
}

#[derive(Debug, Subcommand)]
enum Act {
    /// Make an engine; `reedbook change BIKE engine=NAME` puts it into a bike
    New {
        /// Name of its folder: lower-case letters, digits, '-' or '_'
        #[arg(allow_hyphen_values = true)]
        name: String,
        /// Its cylinders where it has several, by their names or how many: left,right or 2
        #[arg(long, value_name = "NAMES", value_delimiter = ',')]
        cylinders: Vec<String>,
    },
    /// List the engines and the bikes they are in
    List,
}

impl EngineCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            Act::New { name, cylinders } => {
                let file = make_engine(&garage, name, &named_cylinders(cylinders)?, &desk.moment)?;
                let answer = EngineMade { engine: name, file: &file };
                desk.screen().answer(&answer, || answer.text())
            }
            Act::List => {
                let engines = garage.engines();
                let holders = Book::open(&garage)?.engine_holders()?;
                let answer = EngineList::new(&engines, &holders);
                desk.screen().answer(&answer, || answer.text(&desk.screen()))
            }
        }
    }
}
