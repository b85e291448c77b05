//! `cautions`: what a careful tuner says, all of it.

use clap::Args;

use super::Desk;
use crate::report::Trouble;
use crate::report::jetting::cautions::CautionsAnswer;

/// All the cautions that go with an advice, in full
#[derive(Debug, Args)]
pub(super) struct Cautions {}

impl Cautions {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let answer = CautionsAnswer::new();
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
