//! `build`: the measurements and the check list of one assembly of an engine.

mod compare;
mod measure;
mod new;
mod show;
mod steps;

use clap::{Args, Subcommand};

use self::measure::{ask_readings, entered};
use self::show::show;

use super::Desk;
use crate::report::Trouble;

/// Measure an engine as it goes together, and judge it
///
/// Its check list is worked through here too. A build is one assembly of an engine. Begin it with `build new`, which asks
/// for the readings one by one at a terminal; `build steps` works through the check list. An engine whose build has open
/// steps is not ready, and a change or an outing on it says so. Limits are yours, in configs/limits.toml; check lists in
/// configs/checklists.toml.
#[derive(Debug, Args)]
pub(super) struct BuildCommand {
    #[command(subcommand)]
    act: Act,
}

#[derive(Debug, Subcommand)]
enum Act {
    New(new::New),
    Measure(measure::Measure),
    Steps(steps::Steps),
    Tick(steps::TickCommand),
    Show(show::Show),
    List(show::List),
    Compare(compare::Compare),
}

impl BuildCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            Act::New(command) => command.run(desk, &garage),
            Act::Measure(command) => command.run(desk, &garage),
            Act::Steps(command) => command.run(desk, &garage),
            Act::Tick(command) => command.run(desk, &garage),
            Act::Show(command) => command.run(desk, &garage),
            Act::List(command) => command.run(desk, &garage),
            Act::Compare(command) => command.run(desk, &garage),
        }
    }
}
