//! `compare`: two setups side by side.

use clap::Args;

use crate::acts::compare::{ToCompare, compare};
use crate::commands::Desk;
use crate::report::Trouble;
use crate::store::{Book, SetupName};

/// Two setups side by side: only what changed, by how much
///
/// Under the differences stands what follows from them for ports, head, ignition, pipe and intake (see `reedbook package`).
/// Without setups: what is on disk now with the newest recorded one. With one: that one with the newest. Two bikes are
/// compared by naming the other one with --with.
#[derive(Debug, Args)]
pub(in crate::commands) struct Compare {
    /// The bike
    bike: String,
    /// The older side: a number, latest, proven or now
    from: Option<SetupName>,
    /// The newer side: a number, latest, proven or now
    to: Option<SetupName>,
    /// Compare with a setup of another bike: the newer side is that one's
    #[arg(long, value_name = "BIKE")]
    with: Option<String>,
}

impl Compare {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let asked = ToCompare {
            bike: &self.bike,
            from: self.from.as_ref(),
            to: self.to.as_ref(),
            with: self.with.as_deref(),
        };
        compare(&Book::open(&garage)?, asked, desk.moment.now, |answer, _| {
            desk.screen().answer(answer, || answer.text(&desk.screen()))
        })
    }
}
