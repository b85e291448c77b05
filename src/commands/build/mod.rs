//! `build`: the measurements and the check list of one assembly of an engine.

mod compare;
mod measure;
mod new;
mod show;
mod steps;

use clap::{Args, Subcommand};

use self::measure::{ask_readings, entered};
use self::show::show;

use crate::commands::desk::Desk;
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
    act: BuildAct,
}

#[derive(Debug, Subcommand)]
enum BuildAct {
    New(new::StartBuild),
    Measure(measure::Measure),
    Steps(steps::Steps),
    Tick(steps::TickCommand),
    Show(show::ShowBuild),
    List(show::List),
    Compare(compare::Compare),
}

impl BuildCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            BuildAct::New(command) => command.run(desk, &garage),
            BuildAct::Measure(command) => command.run(desk, &garage),
            BuildAct::Steps(command) => command.run(desk, &garage),
            BuildAct::Tick(command) => command.run(desk, &garage),
            BuildAct::Show(command) => command.run(desk, &garage),
            BuildAct::List(command) => command.run(desk, &garage),
            BuildAct::Compare(command) => command.run(desk, &garage),
        }
    }
}
