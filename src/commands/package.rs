//! `package`: every part on one axis of engine speed.

use clap::Args;

use super::Desk;
use super::engine_options::{EngineOptions, gas_k};
use crate::advice::package::package;
use crate::report::Trouble;
use crate::report::engine::package::PackageAnswer;

/// Pipe, ports, intake and spark on one axis of engine speed
///
/// How it is reckoned: `reedbook guide figures`.
#[derive(Debug, Args)]
pub(super) struct PackageCommand {
    #[command(flatten)]
    engine: EngineOptions,
    /// Mean temperature of the gas in the pipe, where you measured it ("520 C")
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    gas_temp: Option<String>,
}

impl PackageCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        self.engine.at_each(desk, || self.answer(desk))
    }

    fn answer(&self, desk: &Desk) -> Result<(), Trouble> {
        let (garage, seen) = self.engine.seen_on(desk)?;
        let gas = gas_k(self.gas_temp.as_deref(), garage.is_imperial())?;
        let package = package(&seen.bench(), gas);
        seen.refuse_wrong(package.rows.iter().map(|row| row.asks.clone().err()))?;
        let answer = PackageAnswer::new(seen.subject.clone(), &package);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
