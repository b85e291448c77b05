//! `package`: every part on one axis of engine speed.

use clap::Args;

use crate::advice::package::{Package, package, stands_apart};
use crate::commands::desk::Desk;
use crate::commands::options::cylinder::Answers;
use crate::commands::options::engine::{EngineOptions, ReadSetup, gas_k};
use crate::report::Trouble;
use crate::report::engine::package::PackageAnswer;
use crate::report::engine::packages::PackagesAnswer;

/// Pipe, ports, intake and spark on one axis of engine speed
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(in crate::commands) struct PackageCommand {
    #[command(flatten)]
    engine: EngineOptions,
    /// Mean temperature of the gas in the pipe, where you measured it ("520 C")
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    gas_temp: Option<String>,
}

impl PackageCommand {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let each = match self.engine.answers(desk, || self.package(desk))? {
            Answers::Each(each) => each,
            Answers::One((seen, package)) => {
                let answer = PackageAnswer::new(seen.subject, &package);
                return desk.screen().answer(&answer, || answer.text(&desk.screen()));
            }
        };
        let packages: Vec<Package> = each.iter().map(|(_, (_, package))| package.clone()).collect();
        let answers = each
            .into_iter()
            .map(|(name, (seen, package))| (name, PackageAnswer::new(seen.subject, &package)))
            .collect();
        let answer = PackagesAnswer::new(answers, stands_apart(&packages));
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    fn package(&self, desk: &Desk) -> Result<(ReadSetup, Package), Trouble> {
        let (garage, seen) = self.engine.seen_on(desk)?;
        let gas = gas_k(self.gas_temp.as_deref(), garage.is_imperial())?;
        let package = package(&seen.bench(), gas);
        seen.refuse_wrong(package.rows.iter().map(|row| row.asks.clone().err()))?;
        Ok((seen, package))
    }
}
