//! What is asked of a rejet.

use super::wanted::WantedFuel;
use crate::air::{Air, Uncertainty};
use crate::notebook::{Fuel, JetBox, NeedleBox, OwnBox, Setup, Shares};

/// What is to be rejetted, and what there is to choose from.
#[derive(Debug, Clone, Copy)]
pub struct RejetRequest<'a> {
    /// The setup that is right in `baseline_air`.
    pub setup: &'a Setup,
    /// The air the setup is right in.
    pub baseline_air: Air,
    /// How far that air may be off, where it is known.
    pub baseline_doubt: Option<&'a Uncertainty>,
    /// The air it is to be right in.
    pub air: Air,
    /// How far that air may be off, where it is known.
    pub doubt: Option<&'a Uncertainty>,
    /// What changes about the fuel: only the fields that do. None keeps the fuel.
    pub fuel: Option<&'a Fuel>,
    /// The fuel that is written down for the bike, where it has moved on from the setup: what differs from it is set as well.
    pub fuel_written: Option<&'a Fuel>,
    /// Lambda wanted over the lambda of the baseline, 0.4 to 2: 1 keeps the mixture, below 1 is richer.
    pub lambda_ratio: f64,
    /// The jets in the box, configs/jets.toml.
    pub jets: &'a JetBox,
    /// The needles, configs/needles.toml.
    pub needles: &'a NeedleBox,
    /// The rules of the trade, configs/shares.toml.
    pub shares: &'a Shares,
    /// The jets and needles at hand for this bike, where its bike.toml lists any.
    pub own_box: Option<&'a OwnBox>,
    /// How much fuel is wanted at each throttle zone, where the bike's own record knows better than theory. None, and a zone that
    /// is left out, is theory's ([`WantedFuel::by_theory`]). For fuel injection full throttle decides.
    pub wanted: Option<&'a [WantedFuel]>,
    /// The smallest main jet that may be advised, by its number; for fuel injection the least trim, percent.
    pub main_at_least: Option<f64>,
    /// The main jet that is on the bike, where it has moved on from the setup, or its trim, percent: steps to a much leaner one count
    /// from it.
    pub main_on_the_bike: Option<f64>,
    /// The main jet that was judged last, or its trim, percent, where what is on the bike was not yet: steps count from it if it is
    /// larger, for nobody has seen the plug of the one in between.
    pub main_that_ran: Option<f64>,
    /// The pilot jet that is on the bike, where it has moved on from the setup: steps to a much leaner one count from it.
    pub pilot_on_the_bike: Option<f64>,
    /// The power jet that is on the bike, likewise.
    pub power_on_the_bike: Option<f64>,
    /// Whether no run on the combination that is on the bike was right yet: then what is in it has no claim to stay.
    pub unproven: bool,
    /// A zone that the clip rules and that was lean in a run, where no richer groove ran since: without needle data a groove is to be tried.
    pub still_lean_at: Option<&'static str>,
    /// Whether a run was lean and is not answered yet: then, without needle data, no groove is tried leaner, whatever the record says.
    pub no_groove_back: bool,
    /// The groove that the setup's needle hangs in on the bike: where a run was lean between a quarter and full throttle, no advice hangs
    /// it leaner nor takes another needle, whatever the main jet would make up for.
    pub hangs_in: Option<u8>,
}

impl<'a> RejetRequest<'a> {
    /// A request that keeps fuel and lambda, with the doubts of the air not known.
    pub fn new(
        setup: &'a Setup,
        baseline_air: Air,
        air: Air,
        jets: &'a JetBox,
        needles: &'a NeedleBox,
        shares: &'a Shares,
    ) -> Self {
        Self {
            setup,
            baseline_air,
            baseline_doubt: None,
            air,
            doubt: None,
            fuel: None,
            fuel_written: None,
            lambda_ratio: 1.0,
            jets,
            needles,
            shares,
            own_box: None,
            wanted: None,
            main_at_least: None,
            main_on_the_bike: None,
            main_that_ran: None,
            pilot_on_the_bike: None,
            power_on_the_bike: None,
            unproven: false,
            still_lean_at: None,
            no_groove_back: false,
            hangs_in: None,
        }
    }
}
