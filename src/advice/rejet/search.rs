//! The rule by which one carburetor is chosen out of all that the box can make.
//!
//! Every needle, groove, pilot jet and place of the screw is tried, each with the smallest main jet that is not too lean at full
//! throttle. What leaves the fewest other lifts too lean goes first, by the least. Among those, all that come as near to the
//! fuel wanted as the best one, to a percent, are as good: the error is the root mean square over the lifts, in percent
//! of fuel, lean counted twice. Another needle is only looked at where the present one cannot do: it takes the carburetor apart
//! at the paddock table, and its diameters are rarely known as well as those of the one that ran. Of these the one is taken that is done in the least time, then with the fewest parts, then with
//! the smallest error.

use super::wanted::{EachZone, WantedFuel};

/// Errors that differ by less than this part of the fuel are as good (common practice, no source): less than half of what one
/// groove of the clip changes, so that a clip is not moved for less.
pub(super) const AS_GOOD: f64 = 0.01;

/// How much worse lean is than rich (common practice, no source).
const LEAN_COUNTS: f64 = 2.0;

/// The present needle stays as long as it leaves no more error than this, and no more than [`AS_GOOD`] too lean (common
/// practice, no source).
const NEEDLE_CAN_DO: f64 = 0.03;

/// Closer than this is the same.
const SAME: f64 = 1e-9;

/// A part that may be changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    Screw,
    Main,
    Clip,
    Pilot,
    Needle,
}

impl Part {
    /// What the change costs in time, in multiples of the screw's (common practice, no source).
    fn cost(self) -> u32 {
        match self {
            Self::Screw => 1,
            Self::Main => 2,
            Self::Clip => 3,
            Self::Pilot => 5,
            Self::Needle => 8,
        }
    }
}

/// How much is changed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Changes {
    cost: u32,
    parts: u32,
    other_needle: bool,
}

impl Changes {
    /// With one part more, if it is changed.
    pub(super) fn and(self, part: Part, changed: bool) -> Self {
        if !changed {
            return self;
        }
        Self {
            cost: self.cost + part.cost(),
            parts: self.parts + 1,
            other_needle: self.other_needle || part == Part::Needle,
        }
    }
}

/// One carburetor that the box can make.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    /// Place of its needle, groove and main jet among those that were tried.
    pub(super) hung: usize,
    /// Place of its pilot jet and screw among those that were tried.
    pub(super) pilot: usize,
    /// Fuel over the baseline's at each zone, where it is known.
    pub(super) delivered: EachZone<Option<f64>>,
    /// What is changed for it.
    pub(super) changes: Changes,
}

/// Whether so much fuel is not leaner than `least`, rounding allowed for.
pub(super) fn not_below(delivered: f64, least: f64) -> bool {
    delivered >= least * (1.0 - SAME)
}

/// How a candidate does.
struct Rated {
    candidate: Candidate,
    /// Zones that are too lean, and by how much together, in ln of fuel.
    too_lean: u32,
    shortfall: f64,
    /// Root mean square of the error over the zones, in ln of fuel, lean counted twice.
    error: f64,
    /// Mean of ln of fuel delivered over wanted.
    richness: f64,
}

impl Rated {
    fn new(candidate: Candidate, wanted: &EachZone<WantedFuel>) -> Self {
        let mut rated = Self { candidate, too_lean: 0, shortfall: 0.0, error: 0.0, richness: 0.0 };
        let mut zones = 0.0;
        for (delivered, wanted) in candidate.delivered.iter().zip(wanted) {
            let Some(delivered) = delivered else { continue };
            let off = (delivered / wanted.factor).ln();
            let weighed = if off < 0.0 { LEAN_COUNTS * off } else { off };
            rated.error += weighed * weighed;
            rated.richness += off;
            zones += 1.0;
            if !not_below(*delivered, wanted.least) {
                rated.too_lean += 1;
                rated.shortfall += (wanted.least / delivered).ln();
            }
        }
        if zones > 0.0 {
            rated.error = (rated.error / zones).sqrt();
            rated.richness /= zones;
        }
        rated
    }
}

/// The carburetor to fit.
pub(super) fn choose(
    candidates: impl Iterator<Item = Candidate>,
    wanted: &EachZone<WantedFuel>,
) -> Option<Candidate> {
    let mut left: Vec<Rated> = candidates.map(|candidate| Rated::new(candidate, wanted)).collect();
    let can_do = |rated: &Rated| {
        !rated.candidate.changes.other_needle && rated.shortfall <= AS_GOOD && rated.error <= NEEDLE_CAN_DO
    };
    if left.iter().any(can_do) {
        left.retain(|rated| !rated.candidate.changes.other_needle);
    }
    keep(&mut left, 0.0, |rated| f64::from(rated.too_lean));
    keep(&mut left, AS_GOOD, |rated| rated.shortfall);
    keep(&mut left, AS_GOOD, |rated| rated.error);
    keep(&mut left, 0.0, |rated| f64::from(rated.candidate.changes.cost));
    keep(&mut left, 0.0, |rated| f64::from(rated.candidate.changes.parts));
    keep(&mut left, SAME, |rated| rated.error);
    left.into_iter().max_by(|a, b| a.richness.total_cmp(&b.richness)).map(|rated| rated.candidate)
}

/// Keeps those whose mark is no more than `slack` above the lowest.
fn keep(left: &mut Vec<Rated>, slack: f64, mark: impl Fn(&Rated) -> f64) {
    let lowest = left.iter().map(&mark).fold(f64::INFINITY, f64::min);
    left.retain(|rated| mark(rated) <= lowest + slack);
}
