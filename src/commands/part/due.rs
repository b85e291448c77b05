//! `part due`: what must be changed or looked at, for the whole garage.

use clap::Args;

use crate::acts::due::{WhichParts, due};
use crate::commands::desk::Desk;
use crate::commands::part::typed::hours_typed;
use crate::report::Trouble;
use crate::store::Garage;

/// Parts due, the most urgent first, and what to take along
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(super) struct Due {
    /// Only parts in this bike's engine
    #[arg(value_name = "BIKE")]
    of: Option<String>,
    /// The same
    #[arg(long, value_name = "BIKE", conflicts_with = "of", hide = true)]
    bike: Option<String>,
    /// Call a part due soon when it has so many hours left ("4 h")
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true)]
    within: Option<String>,
    /// Only what comes due within the next event
    #[arg(long)]
    next_event: bool,
    /// Parts with enough left one by one, too
    #[arg(long, conflicts_with = "next_event")]
    all: bool,
}

impl Due {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let within_h = self.within.as_deref().map(|typed| hours_typed("within", typed)).transpose()?;
        let which = WhichParts {
            bike: self.of.as_deref().or(self.bike.as_deref()),
            within_h,
            all: self.all,
            next_event: self.next_event,
        };
        let answer = due(garage, which, desk.moment.now)?;
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
