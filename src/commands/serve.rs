//! `serve`: the same answers as pages, for the phones around the laptop.

use clap::Args;

use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::serving::ServedAnswer;
use crate::serve::{Order, serve};

/// Pages for the phones around the laptop: log, tick, jets
///
/// Runs until Ctrl-C. Without an option only this laptop sees them. They are sent in the clear: who is on the network can read along,
/// so use a network of your own, a phone's hotspot or the team's router.
#[derive(Debug, Args)]
pub(super) struct Serve {
    /// The port; 0 takes any that is free
    #[arg(long, value_name = "NUMBER", default_value_t = 8377)]
    port: u16,
    /// Let phones on the same network in, with a pass key that is made anew each time
    #[arg(long)]
    open_to_network: bool,
    /// Only to be looked at: nothing can be recorded
    #[arg(long)]
    look: bool,
}

impl Serve {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let order = Order {
            root: garage.root().to_path_buf(),
            port: self.port,
            open: self.open_to_network,
            look: self.look,
            screen: desk.screen(),
        };
        drop(garage);
        serve(order, |served| {
            let answer = ServedAnswer {
                here: &served.here,
                there: &served.there,
                key: served.key.as_deref(),
                in_one: served.in_one(),
                look: self.look,
            };
            desk.screen().say(&answer.text(&desk.screen()))
        })?;
        desk.screen().say("Ended.")
    }
}
