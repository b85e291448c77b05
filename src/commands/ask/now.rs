//! `now`: a bike at a glance.

use clap::Args;

use crate::acts::now::now;
use crate::commands::Desk;
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
        now(&garage, self.bike.as_deref(), desk.moment.now, |answer, _| {
            desk.screen().answer(answer, || answer.text(&desk.screen()))
        })
    }
}
