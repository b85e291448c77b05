//! `package`: every part on one axis of engine speed.

use clap::Args;

use super::Desk;
use super::engine_options::{EngineOptions, gas_k};
use crate::advice::package::package;
use crate::report::Trouble;
use crate::report::engine::package::PackageAnswer;

/// Pipe, ports, intake, ignition, limiter and squish on one axis of engine speed: where they agree
///
/// Each part names the speed it suits, and stands beside the speed the pipe is tuned to: N = E a / (12 Lt), with the exhaust
/// duration E in degrees, the wave's speed a = √(γ R T) and the length Lt to where the wave turns back (after G. Jennings,
/// Two-Stroke Tuner's Handbook, 1973, second-hand; gas as ideal, γ 1.40). Ports suit the speeds at which their specific time-area
/// lies in its band; the intake tract the speed of its swing on the case; the squish the speeds between two velocities. Bands and
/// temperatures are yours to set in configs/assumptions.toml; what is not written down is not known, never guessed.
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
        let (garage, seen) = self.engine.seen_on(desk)?;
        let gas = gas_k(self.gas_temp.as_deref(), garage.is_imperial())?;
        let package = package(&seen.bench(), gas);
        seen.refuse_wrong(package.rows.iter().map(|row| row.asks.clone().err()))?;
        let answer = PackageAnswer::new(seen.subject.clone(), &package);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
