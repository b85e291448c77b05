//! `cautions`: what a careful tuner says, all of it.

use clap::Args;

use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::jetting::cautions::CautionsAnswer;

/// All the cautions that go with an advice, in full
#[derive(Debug, Args)]
pub(in crate::commands) struct Cautions {}

impl Cautions {
    #[allow(clippy::unused_self, reason = "every command is run the same way")]
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let answer = CautionsAnswer::new();
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
