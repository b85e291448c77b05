//! `ports`: timings, areas and time-areas.

use clap::Args;

use super::Desk;
use super::engine_options::{EngineOptions, speeds, usual_speeds};
use crate::advice::figures::Valve;
use crate::advice::figures::ports::port_figures;
use crate::report::Trouble;
use crate::report::engine::ports::PortsAnswer;

/// Port timings, areas and time-areas of a setup
///
/// Angles count from true top dead centre, found from stroke, rod and pin offset (slider-crank; Heywood, Internal Combustion
/// Engine Fundamentals, 1988, section 2.2, from memory). A window's area is its face: width straight across less the bridge, corners
/// and the part below the crown taken off. Angle-area is the integral of the open area over the crank angle; specific
/// time-area = angle-area / (6 N × swept volume), in s/m; 0.01 s/m is 1e-4 s cm2/cm3 (method after G. Jennings, Two-Stroke
/// Tuner's Handbook, 1973, second-hand). Where there is a power valve, both positions are shown. A rotary valve's opening
/// counts in degrees after bottom dead centre (140 before top is 40), its closing after top.
#[derive(Debug, Args)]
pub(super) struct PortsCommand {
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
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let (_, seen) = self.engine.seen_on(desk)?;
        let bench = seen.bench();
        let valves: &[Valve] = if bench.has_valve() { &[Valve::Open, Valve::Shut] } else { &[Valve::Open] };
        let windows = valves.iter().flat_map(|valve| bench.windows(*valve));
        let gaps = std::iter::once(bench.crank().err()).chain(windows.map(|one| one.window.err()));
        seen.refuse_wrong(gaps)?;
        let figures: Vec<_> = valves.iter().map(|valve| port_figures(&bench, *valve)).collect();
        seen.refuse_wrong(figures.iter().map(|one| one.intake.clone().err()))?;
        let rpm = if self.rpm.is_empty() { usual_speeds(&bench) } else { speeds(&self.rpm)? };
        let answer = PortsAnswer::new(seen.subject.clone(), &bench, &figures, &rpm, self.plot);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
