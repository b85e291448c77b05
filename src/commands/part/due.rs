//! `part due`: what must be changed or looked at, for the whole garage.

use std::collections::BTreeSet;

use clap::Args;

use super::{Counted, hours_typed};
use crate::advice::parts::{State, bores, to_take};
use crate::commands::Desk;
use crate::report::Trouble;
use crate::report::parts::due::PartDueAnswer;
use crate::store::{Garage, owner_of};

/// Parts due, the most urgent first, and what to take along
///
/// How it is reckoned: `reedbook guide figures`.
#[derive(Debug, Args)]
pub(super) struct Due {
    /// Only parts in this bike's engine
    #[arg(long, value_name = "BIKE")]
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
        if let Some(bike) = &self.bike {
            garage.require_bike(bike)?;
        }
        let within_h = self.within.as_deref().map(|typed| hours_typed("within", typed)).transpose()?;
        let counted = Counted::of(garage, desk.moment.now)?;
        let ledger = counted.ledger(within_h);
        let due = ledger.due(&counted.parts, self.bike.as_deref());
        let taking = to_take(&due, &ledger.shelf(&counted.parts), &bores(garage)?);
        let mut remarks = counted.remarks(self.bike.as_deref());
        // Whose bill it is.
        let urgent = due.parts.iter().filter(|part| part.state() >= State::Soon);
        let engines: BTreeSet<&str> = urgent.filter_map(|part| part.engine.as_deref()).collect();
        remarks.extend(engines.into_iter().filter_map(|engine| {
            let owner = owner_of(garage, engine)?;
            Some(format!("{engine} is {owner}'s."))
        }));
        let answer = PartDueAnswer::new(&due, &taking, (self.all, self.next_event), remarks);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
