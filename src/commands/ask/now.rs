//! `now`: a bike at a glance.

use clap::Args;

use crate::acts::now::{now, wanted};
use crate::commands::desk::Desk;
use crate::report::Trouble;

/// What is on a bike, how it last ran and what is due
///
/// Without a bike all of them, a line each. This is what `reedbook` without a command shows inside a garage, too.
#[derive(Debug, Default, Args)]
pub(in crate::commands) struct Now {
    /// The bike
    bike: Option<String>,
}

impl Now {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let (at, screen) = (desk.moment.now, desk.screen());
        let wants = self.bike.as_deref().and_then(|bike| wanted(&garage, bike, at, &screen));
        now(&garage, self.bike.as_deref(), at, |answer, _| {
            let answer = answer.wanting(wants);
            desk.screen().answer(&answer, || answer.text(&desk.screen()))
        })
    }
}
