//! `engine`: spare engines and customers' engines: where each is, and whose.

use clap::{Args, Subcommand};

use super::options::cylinder::named_cylinders;
use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::history::bikes::{EngineList, EngineMade, EngineOwned};
use crate::store::{Book, make_engine, own_engine, owner_of};

/// Make or list engines: one can move to another bike
#[derive(Debug, Args)]
pub(super) struct EngineCommand {
    #[command(subcommand)]
    act: EngineAct,
}

#[derive(Debug, Subcommand)]
enum EngineAct {
    /// Make an engine; `reedbook change BIKE engine=NAME` puts it into a bike
    New {
        /// Name of its folder: lower-case letters, digits, '-' or '_'
        #[arg(allow_hyphen_values = true)]
        name: String,
        /// Its cylinders where it has several, by their names or how many: left,right or 2
        #[arg(long, value_name = "NAMES", value_delimiter = ',')]
        cylinders: Vec<String>,
        /// Whose it is, where it is a customer's
        #[arg(long, value_name = "NAME")]
        owner: Option<String>,
    },
    /// Say whose an engine is: a customer's by name, or the garage's own
    Owner {
        /// The engine
        engine: String,
        /// The owner
        #[arg(required_unless_present = "none")]
        owner: Option<String>,
        /// It is the garage's own
        #[arg(long, conflicts_with = "owner")]
        none: bool,
    },
    /// List the engines, the bikes they are in, and whose they are
    List,
}

impl EngineCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            EngineAct::New { name, cylinders, owner } => {
                let cylinders = named_cylinders(cylinders)?;
                let file = make_engine(&garage, name, (&cylinders, owner.as_deref()), &desk.moment)?;
                let answer = EngineMade { engine: name, file: &file, owner: owner.as_deref() };
                desk.screen().answer(&answer, || answer.text())
            }
            EngineAct::Owner { engine, owner, .. } => {
                own_engine(&garage, engine, owner.as_deref(), &desk.moment)?;
                let answer = EngineOwned { engine, owner: owner.as_deref() };
                desk.screen().answer(&answer, || answer.text())
            }
            EngineAct::List => {
                let engines: Vec<(String, Option<String>)> = garage
                    .engines()
                    .into_iter()
                    .map(|engine| (engine.clone(), owner_of(&garage, &engine)))
                    .collect();
                let holders = Book::open(&garage)?.engine_holders()?;
                let answer = EngineList::new(&engines, &holders);
                desk.screen().answer(&answer, || answer.text(&desk.screen()))
            }
        }
    }
}
