//! `intake`: carburetor, reeds, case and tract.

use clap::Args;

use crate::advice::figures::Gap;
use crate::advice::figures::intake::{Tables, intake_figures};
use crate::commands::desk::Desk;
use crate::commands::options::engine::{EngineOptions, gap, speeds};
use crate::report::Trouble;
use crate::report::engine::intake::{IntakeAnswer, PistonAt};

/// Needle and main jet by lift, reeds, case, piston speed
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(in crate::commands) struct Intake {
    #[command(flatten)]
    engine: EngineOptions,
    /// The speed for the piston's; otherwise the limiter's
    #[arg(long, value_name = "RPM", allow_negative_numbers = true)]
    rpm: Option<String>,
}

impl Intake {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        self.engine.answer(desk, || self.answer(desk), IntakeAnswer::text)
    }

    fn answer(&self, desk: &Desk) -> Result<IntakeAnswer, Trouble> {
        let (garage, seen) = self.engine.seen_on(desk)?;
        let given = speeds(self.rpm.as_slice())?.first().copied();
        let (jets, needles, shares) = (garage.jets()?, garage.needles()?, garage.shares()?);
        let bench = seen.bench();
        let limiter = || {
            let limiter = bench.fields.quantity("ignition.limiter").map(crate::quantity::Quantity::si);
            limiter.ok_or_else(|| Gap::Needs(vec!["ignition.limiter (or --rpm)".into()]))
        };
        let rpm = given.map_or_else(limiter, Ok);
        let setup = seen.whole.setup.as_ref();
        let tables = Tables { jets: &jets, needles: &needles, shares: &shares };
        let jetting = setup.and_then(|setup| setup.jetting.as_ref());
        let figures = intake_figures(&bench, jetting, tables, rpm.clone());
        seen.refuse_wrong([
            figures.needle.as_ref().and_then(gap),
            gap(&figures.bore_m2),
            gap(&figures.reeds_m2),
            gap(&figures.crankcase_ratio),
            gap(&figures.swing),
            gap(&figures.mean_piston_m_s),
            gap(&figures.peak_piston),
        ])?;
        let injected = setup.is_some_and(|setup| setup.injection.is_some());
        let at = PistonAt { rpm: rpm.ok(), at_the_limiter: given.is_none() };
        Ok(IntakeAnswer::new(seen.subject.clone(), &bench, &figures, injected, at))
    }
}
