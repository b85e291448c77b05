//! `ports`: timings, areas and time-areas.

use clap::Args;

use crate::advice::figures::Valve;
use crate::advice::figures::ports::port_figures;
use crate::commands::desk::Desk;
use crate::commands::options::engine::{EngineOptions, speeds, usual_speeds};
use crate::report::Trouble;
use crate::report::engine::ports::PortsAnswer;

/// Port timings, areas and time-areas of a setup
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(in crate::commands) struct PortsCommand {
    #[command(flatten)]
    engine: EngineOptions,
    /// Engine speeds for the time-areas, like 9500,11000; otherwise the pipe's tuned speed and the limiter
    #[arg(long, value_name = "RPM", value_delimiter = ',')]
    rpm: Vec<String>,
    /// Draw the open area against the crank angle
    #[arg(long)]
    plot: bool,
}

impl PortsCommand {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        self.engine.answer(desk, || self.answer(desk), PortsAnswer::text)
    }

    fn answer(&self, desk: &Desk) -> Result<PortsAnswer, Trouble> {
        let (_, seen) = self.engine.seen_on(desk)?;
        let bench = seen.bench();
        let valves: &[Valve] = if bench.has_valve() { &[Valve::Open, Valve::Shut] } else { &[Valve::Open] };
        let windows = valves.iter().flat_map(|valve| bench.windows(*valve));
        let gaps = std::iter::once(bench.crank().err()).chain(windows.map(|one| one.window.err()));
        seen.refuse_wrong(gaps)?;
        let figures: Vec<_> = valves.iter().map(|valve| port_figures(&bench, *valve)).collect();
        seen.refuse_wrong(figures.iter().map(|one| one.intake.clone().err()))?;
        let rpm = if self.rpm.is_empty() { usual_speeds(&bench) } else { speeds(&self.rpm)? };
        Ok(PortsAnswer::new(seen.subject.clone(), &bench, &figures, &rpm, self.plot))
    }
}
