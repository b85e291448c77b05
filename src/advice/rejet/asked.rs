//! What is asked of the jets, and what there is to choose from.

use super::error::RejetError;
use super::request::RejetRequest;
use super::wanted::{EachZone, FULL, WantedFuel, each_zone};
use crate::notebook::{JetBox, NeedleBox, OwnBox, Shares, ZONES};
use crate::quantity::nearly_equal;

/// What is asked of the jets, and what there is to choose from.
#[derive(Clone, Copy)]
pub(super) struct JetsAsked<'a> {
    /// The factor on the fuel by theory.
    pub(super) factor: f64,
    /// What is wanted at each zone.
    pub(super) wanted: EachZone<WantedFuel>,
    /// Of which zones what is wanted was given, and is not theory's.
    pub(super) given: EachZone<bool>,
    /// Whether full throttle is one of them.
    pub(super) by_record: bool,
    /// The smallest main jet allowed.
    main_at_least: Option<f64>,
    /// The main jet that is on the bike, where it is another one than the setup's.
    pub(super) main_on_the_bike: Option<f64>,
    /// The main jet that ran last, where the one on the bike has not.
    pub(super) main_that_ran: Option<f64>,
    /// The pilot jet and the power jet that are on the bike.
    pub(super) pilot_on_the_bike: Option<f64>,
    pub(super) power_on_the_bike: Option<f64>,
    /// A zone that the clip rules, lean in a run since which nothing richer ran there.
    pub(super) still_lean_at: Option<&'static str>,
    /// Whether no groove is to be taken back without needle data.
    pub(super) no_groove_back: bool,
    /// The groove that the needle hangs in on the bike: after a lean run the leanest allowed.
    pub(super) hangs_in: Option<u8>,
    pub(super) jets: &'a JetBox,
    pub(super) needles: &'a NeedleBox,
    pub(super) shares: &'a Shares,
    own_box: Option<&'a OwnBox>,
}

impl<'a> JetsAsked<'a> {
    pub(super) fn new(request: &RejetRequest<'a>, factor: f64) -> Result<Self, RejetError> {
        let given = |zone: &str| request.wanted.is_some_and(|wanted| wanted.iter().any(|by| by.zone == zone));
        let given = ZONES.map(|(zone, _, _)| given(zone));
        Ok(Self {
            given,
            factor,
            wanted: each_zone(factor, request.wanted)?,
            by_record: given[FULL],
            main_at_least: request.main_at_least,
            main_on_the_bike: request.main_on_the_bike,
            main_that_ran: request.main_that_ran,
            pilot_on_the_bike: request.pilot_on_the_bike,
            power_on_the_bike: request.power_on_the_bike,
            still_lean_at: request.still_lean_at,
            no_groove_back: request.no_groove_back,
            hangs_in: request.hangs_in,
            jets: request.jets,
            needles: request.needles,
            shares: request.shares,
            own_box: request.own_box,
        })
    }

    /// Main jets of the bike's own box; empty where it lists none.
    pub(super) fn own_mains(&self) -> &'a [f64] {
        self.own_box.map_or(&[], |own| own.main.as_slice())
    }

    /// Pilot jets of the bike's own box; empty where it lists none.
    pub(super) fn own_pilots(&self) -> &'a [f64] {
        self.own_box.map_or(&[], |own| own.pilot.as_slice())
    }

    /// Needles of the bike's own box by their codes; empty where it lists none.
    pub(super) fn own_needles(&self) -> &'a [String] {
        self.own_box.map_or(&[], |own| own.needles.as_slice())
    }

    /// Whether a main jet is not smaller than the smallest allowed.
    pub(super) fn may_be(&self, main: f64) -> bool {
        self.main_at_least.is_none_or(|least| main >= least || nearly_equal(main, least))
    }
}
