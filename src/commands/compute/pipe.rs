//! `pipe`: the pipe's sections and the speed it is tuned to.

use clap::Args;

use crate::advice::figures::pipe::{for_speed, pipe_figures};
use crate::commands::desk::Desk;
use crate::commands::options::engine::{EngineOptions, gap, gas_k, quantity};
use crate::quantity::EngineSpeed;
use crate::report::Trouble;
use crate::report::engine::pipe::PipeAnswer;

/// The speed a pipe is tuned to, and the cut for another one
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(in crate::commands) struct PipeCommand {
    #[command(flatten)]
    engine: EngineOptions,
    /// Mean temperature of the gas in the pipe ("520 C") in place of the assumed one
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    gas_temp: Option<String>,
    /// The speed it should be tuned to: what to cut or to add before the baffle
    #[arg(long, value_name = "RPM", allow_negative_numbers = true)]
    for_rpm: Option<String>,
}

impl PipeCommand {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        self.engine.answer(desk, || self.answer(desk), PipeAnswer::text)
    }

    fn answer(&self, desk: &Desk) -> Result<PipeAnswer, Trouble> {
        let (garage, seen) = self.engine.seen_on(desk)?;
        let gas = gas_k(self.gas_temp.as_deref(), garage.is_imperial())?;
        let wanted = self.wanted()?;
        let bench = seen.bench();
        let figures = pipe_figures(&bench, gas);
        let for_rpm = wanted.map(|rpm| figures.tuned.clone().and_then(|tuned| for_speed(&tuned, rpm)));
        seen.refuse_wrong([
            gap(&figures.pipe),
            gap(&figures.exhaust_deg),
            gap(&figures.reflection_m),
            gap(&figures.stinger_ratio),
            gap(&figures.tuned),
            figures.tuned_shut.as_ref().and_then(gap),
            for_rpm.as_ref().and_then(gap),
        ])?;
        Ok(PipeAnswer::new(seen.subject.clone(), &bench, &figures, gas.is_some(), for_rpm.as_ref()))
    }

    fn wanted(&self) -> Result<Option<f64>, Trouble> {
        let Some(text) = self.for_rpm.as_deref() else { return Ok(None) };
        let rpm = quantity::<EngineSpeed>("--for-rpm", Some(text))?.map_or(0.0, |speed| speed.si());
        if (500.0..=25_000.0).contains(&rpm) {
            return Ok(Some(rpm));
        }
        Err(Trouble::request(
            Some("--for-rpm"),
            format!("--for-rpm is {text}; allowed is 500 to 25000 rpm."),
            "Give an engine speed in revolutions per minute, like --for-rpm 12000.",
        ))
    }
}
