//! `head`: volumes, compression ratios and squish.

use clap::Args;

use crate::advice::figures::Known;
use crate::advice::figures::head::{Wanted, clear_of_the_head, cut_for, head_figures};
use crate::advice::held::LeastSquish;
use crate::commands::desk::Desk;
use crate::commands::options::engine::{EngineOptions, length, quantity, speeds, usual_speeds};
use crate::engine::head::CutAt;
use crate::quantity::{Number, Velocity};
use crate::report::Trouble;
use crate::report::engine::head::HeadAnswer;

/// Compression and squish, and how much to cut for more
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(in crate::commands) struct HeadCommand {
    #[command(flatten)]
    engine: EngineOptions,
    /// Engine speeds for the squish velocity; otherwise the pipe's tuned speed and the limiter
    #[arg(long, value_name = "RPM", value_delimiter = ',')]
    rpm: Vec<String>,
    /// The cut for this full-stroke compression ratio
    #[arg(long, value_name = "RATIO")]
    for_ratio: Option<String>,
    /// The cut for this trapped compression ratio, at head and at the cylinder base
    #[arg(long, value_name = "RATIO")]
    for_trapped: Option<String>,
    /// The cut for this squish clearance
    #[arg(long, value_name = "LENGTH")]
    for_squish: Option<String>,
    /// The cut for this squish velocity at the first of the speeds ("28 m/s")
    #[arg(long, value_name = "VELOCITY")]
    for_velocity: Option<String>,
    /// Draw the squish velocity before top dead centre
    #[arg(long)]
    plot: bool,
}

impl HeadCommand {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        self.engine.answer(desk, || self.answer(desk), HeadAnswer::text)
    }

    fn answer(&self, desk: &Desk) -> Result<HeadAnswer, Trouble> {
        let (garage, seen) = self.engine.seen_on(desk)?;
        let bench = seen.bench();
        let figures = head_figures(&bench);
        seen.refuse_wrong([bench.crank().err(), bench.chamber().err(), figures.squish.clone().err()])?;
        let shut = figures.trapped_ratio_shut.clone();
        let ratios = [Some(figures.full_ratio.clone()), Some(figures.trapped_ratio.clone()), shut];
        seen.refuse_wrong(ratios.into_iter().flatten().map(Result::err))?;
        let rpm = if self.rpm.is_empty() { usual_speeds(&bench) } else { speeds(&self.rpm)? };
        let least = LeastSquish::of(&garage.limits()?, &seen.whole);
        let wishes: Vec<(String, Known<f64>)> = self
            .wanted(garage.is_imperial(), rpm.first().copied())?
            .into_iter()
            .map(|(words, wanted)| {
                (words, clear_of_the_head(&bench, cut_for(&bench, wanted), least.as_ref()))
            })
            .collect();
        seen.refuse_wrong(wishes.iter().map(|(_, cut_m)| cut_m.clone().err()))?;
        let band = seen.assumptions.squish.as_ref().map(crate::notebook::VelocityBand::si);
        Ok(HeadAnswer::new(seen.subject.clone(), &figures, band, &rpm, wishes, self.plot))
    }

    /// What is wanted, with its words.
    fn wanted(&self, imperial: bool, rpm: Option<f64>) -> Result<Vec<(String, Wanted)>, Trouble> {
        let mut wanted = Vec::new();
        let ratio = |name: &str, text: &Option<String>| -> Result<Option<f64>, Trouble> {
            let number: Option<Number> = quantity(name, text.as_deref())?;
            Ok(number.map(|number| number.si()))
        };
        if let Some(full) = ratio("--for-ratio", &self.for_ratio)? {
            wanted.push((format!("full-stroke ratio {full}"), Wanted::FullRatio(full)));
        }
        if let Some(trapped) = ratio("--for-trapped", &self.for_trapped)? {
            wanted.push((
                format!("trapped ratio {trapped}, at the head"),
                Wanted::TrappedRatio(trapped, CutAt::Top),
            ));
            wanted.push((
                format!("trapped ratio {trapped}, at the cylinder base"),
                Wanted::TrappedRatio(trapped, CutAt::Base),
            ));
        }
        if let Some(clearance) = length("--for-squish", self.for_squish.as_deref(), imperial)? {
            let text = self.for_squish.clone().unwrap_or_default();
            wanted.push((format!("squish clearance {text}"), Wanted::Clearance(clearance)));
        }
        let velocity: Option<Velocity> = quantity("--for-velocity", self.for_velocity.as_deref())?;
        if let Some(velocity) = velocity {
            let rpm = rpm.ok_or_else(|| {
                Trouble::request(
                    Some("--for-velocity"),
                    "The squish velocity depends on the engine speed, and none is known.",
                    "Give it with --rpm.",
                )
            })?;
            let words = format!("squish velocity {} at {rpm} rpm", velocity.quantity().with_unit());
            wanted.push((words, Wanted::Velocity(velocity.si(), rpm)));
        }
        Ok(wanted)
    }
}
