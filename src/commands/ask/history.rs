//! `history`: a bike's setups with their outings.

use clap::Args;

use crate::acts::history::{InOrder, NEWEST, history};
use crate::commands::desk::Desk;
use crate::commands::options::order::OrderOptions;
use crate::report::Trouble;

/// Setups, newest first: what was changed, and how it ran
///
/// The newest six; -v has reasons, plugs, parts and builds. With --by its runs in that order: --by lap, --by air.
#[derive(Debug, Args)]
pub(in crate::commands) struct History {
    /// The bike; otherwise the last one of the day
    #[arg(default_value = "", hide_default_value = true)]
    bike: String,
    /// The last N setups
    #[arg(long, value_name = "COUNT")]
    last: Option<usize>,
    /// With who recorded each, and whether git finds their commits signed
    #[arg(long)]
    signed: bool,
    #[command(flatten)]
    order: OrderOptions,
}

impl History {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let bike = &desk.bike_meant(&garage, &self.bike)?;
        // A person sees the newest few; a script, and who asks for more, all.
        let few = (!desk.screen().json && !self.order.is_given()).then_some(NEWEST);
        let order =
            InOrder { column: self.order.column(), sort: &|runs| self.order.sort(runs, |run| Some(*run)) };
        let order = self.order.is_given().then_some(&order);
        history(&garage, bike, (self.last.or(few), order, self.signed), |answer| {
            desk.screen().answer(answer, || answer.text(&desk.screen()))
        })
    }
}
