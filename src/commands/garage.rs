//! `garage`: starting one and checking one.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Subcommand};
use serde_json::json;

use super::{Desk, folder};
use crate::advice::check;
use crate::report::Trouble;
use crate::report::history::check as report;
use crate::store::{NewGarage, make_garage};

/// Start a garage, or check one
#[derive(Debug, Args)]
pub(super) struct GarageCommand {
    #[command(subcommand)]
    act: Act,
}

#[derive(Debug, Subcommand)]
enum Act {
    /// Start a garage: a folder that is a git repository of its own
    New(New),
    /// Check every file against its schema, git's objects, and the index
    Check,
}

#[derive(Debug, Args)]
struct New {
    /// The folder; the current one where none is named
    folder: Option<PathBuf>,
    /// Name of the garage or team
    #[arg(long)]
    name: Option<String>,
}

impl GarageCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<ExitCode, Trouble> {
        match &self.act {
            Act::New(new) => new.run(desk).map(|()| ExitCode::SUCCESS),
            Act::Check => check_garage(desk),
        }
    }
}

impl New {
    fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let root = match (&self.folder, &desk.garage) {
            (Some(folder), _) | (None, Some(folder)) => self::folder()?.join(folder),
            (None, None) => folder()?,
        };
        let wanted = NewGarage { name: self.name.clone(), units: desk.screen().units() };
        let garage = make_garage(&root, &wanted, &desk.moment)?;
        let shown = garage.root().display().to_string();
        desk.screen().answer(&json!({ "garage": shown }), || {
            format!(
                "Garage started in {shown}\n\
                 It is an ordinary git repository; configs/ holds your jets and needles.\n\
                 Next: reedbook bike new NAME    (--template injected for an injected bike)"
            )
        })
    }
}

fn check_garage(desk: &Desk) -> Result<ExitCode, Trouble> {
    let garage = desk.garage()?;
    let result = check::garage(&garage)?;
    desk.screen().answer(&report::json(&result), || report::text(&desk.screen(), &result))?;
    Ok(if result.is_sound() { ExitCode::SUCCESS } else { ExitCode::from(1) })
}
