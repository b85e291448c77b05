//! `garage`: starting one and checking one.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Subcommand};

use super::{Desk, folder};
use crate::advice::check;
use crate::report::Trouble;
use crate::report::history::check::CheckAnswer;
use crate::report::history::garages::GarageMade;
use crate::store::{NewGarage, make_garage};

/// Start a garage, or check one
#[derive(Debug, Args)]
pub(super) struct GarageCommand {
    #[command(subcommand)]
    act: GarageAct,
}

#[derive(Debug, Subcommand)]
enum GarageAct {
    /// Start a garage: a folder that is a git repository of its own
    New(StartGarage),
    /// Check every file against its schema, git's objects, and the index
    Check,
}

#[derive(Debug, Args)]
struct StartGarage {
    /// The folder; the current one where none is named
    folder: Option<PathBuf>,
    /// Name of the garage or team
    #[arg(long)]
    name: Option<String>,
}

impl GarageCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<ExitCode, Trouble> {
        match &self.act {
            GarageAct::New(new) => new.run(desk).map(|()| ExitCode::SUCCESS),
            GarageAct::Check => check_garage(desk),
        }
    }
}

impl StartGarage {
    fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let root = match (&self.folder, &desk.garage) {
            (Some(folder), _) | (None, Some(folder)) => self::folder()?.join(folder),
            (None, None) => folder()?,
        };
        let wanted = NewGarage { name: self.name.clone(), units: desk.screen().units() };
        let garage = make_garage(&root, &wanted, &desk.moment)?;
        let answer = GarageMade { garage: garage.root().display().to_string() };
        desk.screen().answer(&answer, || answer.text())
    }
}

fn check_garage(desk: &Desk) -> Result<ExitCode, Trouble> {
    let garage = desk.garage()?;
    let result = check::garage(&garage)?;
    let answer = CheckAnswer::of(&result);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))?;
    Ok(if answer.sound { ExitCode::SUCCESS } else { ExitCode::from(1) })
}
