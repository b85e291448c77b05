//! How well a carburetor meets what is wanted at every throttle zone.
//!
//! The error is taken in ln of fuel over what is aimed at, lean counting twice; what is below the least counts three times as
//! much again, and far more where a lean run stands behind the least. It is a sum of squares, so that no zone's error is worth more for being beside another's: with more fuel wanted
//! everywhere a richer groove can then only gain on a leaner one, and a card goes from groove to groove without turning back.

use crate::advice::rejet::wanted::{EachZone, FULL, WantedFuel};

/// What one groove must be better by to be worth moving the clip, as a part of the fuel over all zones (common practice, no source):
/// less than half of what a groove changes, so that a clip is not moved for less.
pub(in crate::advice::rejet) const WORTH_A_GROOVE: f64 = 0.02;

/// What another needle must be better by to take the carburetor apart for it, as a part of the fuel over all zones (common practice, no
/// source): half of a size.
pub(in crate::advice::rejet) const WORTH_A_NEEDLE: f64 = 0.01;

/// How much worse lean is than rich (common practice, no source).
const LEAN_COUNTS: f64 = 2.0;

/// How much worse it is, besides, to be below the least (common practice, no source).
const TOO_LEAN_COUNTS: f64 = 6.0;

/// The same where a lean run stands behind the least: more than any error elsewhere, so that a groove leaner than that is taken only
/// where nothing at hand is richer (common practice, no source).
const HELD_COUNTS: f64 = 100.0;

/// The present needle stays as long as it leaves no more error than this, and no more than [`TOO_LEAN`] too lean (common
/// practice, no source).
const NEEDLE_CAN_DO: f64 = 0.03;

/// The same where a lean run stands behind a zone: what is there for its sake is no error of the needle's (common practice, no source).
const NEEDLE_CAN_DO_HELD: f64 = 0.08;

/// The part of the fuel that zones together may lack of the least with the present needle (common practice, no source).
const TOO_LEAN: f64 = 0.01;

/// Closer than this is the same.
const SAME: f64 = 1e-9;

/// Whether so much fuel is not leaner than `least`, rounding allowed for.
pub(in crate::advice::rejet) fn not_below(delivered: f64, least: f64) -> bool {
    delivered >= least * (1.0 - SAME)
}

/// What is aimed at: what is right, or what is not too lean, whichever is more.
pub(in crate::advice::rejet) fn aim(wanted: &WantedFuel) -> f64 {
    wanted.factor.max(wanted.least)
}

/// Whether a lean run stands behind any zone below full throttle.
pub(in crate::advice::rejet) fn is_held_below_full(wanted: &EachZone<WantedFuel>) -> bool {
    wanted.iter().take(FULL).any(|zone| zone.held.is_some())
}

/// How a carburetor does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::advice::rejet) struct Marks {
    /// Mean square of the weighed error over the zones: what is chosen by.
    pub(in crate::advice::rejet) cost: f64,
    /// By how much zones are too lean together, in ln of fuel.
    shortfall: f64,
    /// The same where a lean run stands behind the least.
    short_of_held: f64,
    /// Root mean square of the error over the zones, in ln of fuel, lean counted twice.
    error: f64,
    /// Whether a lean run stands behind any zone below full throttle, which groove and needle rule.
    held_below_full: bool,
}

impl Marks {
    /// Of fuel over the baseline's at each zone, where it is known.
    pub(in crate::advice::rejet) fn of(
        delivered: &EachZone<Option<f64>>,
        wanted: &EachZone<WantedFuel>,
    ) -> Self {
        let (mut cost, mut error, mut zones) = (0.0, 0.0, 0.0);
        let (mut shortfall, mut short_of_held) = (0.0, 0.0);
        for (delivered, wanted) in delivered.iter().zip(wanted) {
            let Some(delivered) = delivered else { continue };
            let short = (wanted.least / delivered).ln().max(0.0);
            let off = off(delivered / aim(wanted));
            error += off * off;
            let of_held = wanted.held.map_or(0.0, |held| (held / delivered).ln().max(0.0));
            let counts = if wanted.limit_rules { HELD_COUNTS } else { TOO_LEAN_COUNTS };
            cost += (off + counts * short + HELD_COUNTS * of_held).powi(2);
            shortfall += short;
            short_of_held += of_held;
            zones += 1.0;
        }
        let zones = f64::max(zones, 1.0);
        let held_below_full = is_held_below_full(wanted);
        Self { cost: cost / zones, shortfall, short_of_held, error: (error / zones).sqrt(), held_below_full }
    }

    /// Whether a needle that does so need not come out. Another one takes the carburetor apart at the paddock table, and its diameters
    /// are rarely known as well as those of the one that ran.
    pub(in crate::advice::rejet) fn can_do(&self) -> bool {
        let can_do = if self.held_below_full { NEEDLE_CAN_DO_HELD } else { NEEDLE_CAN_DO };
        self.shortfall <= TOO_LEAN && !self.is_short_of_held() && self.error <= can_do
    }

    /// Whether a zone gets less than a lean run left as the least there.
    pub(in crate::advice::rejet) fn is_short_of_held(&self) -> bool {
        self.short_of_held > SAME
    }
}

/// The size of an error, lean counted twice: fuel delivered over fuel aimed at, to ln of fuel.
pub(in crate::advice::rejet) fn off(delivered_over_aim: f64) -> f64 {
    let off = delivered_over_aim.ln();
    if off < 0.0 { -LEAN_COUNTS * off } else { off }
}
