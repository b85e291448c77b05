//! Which needle hangs in which groove, and the main jet with it.
//!
//! A groove is weighed with the main jet and the pilot circuit that would go with it exactly, of sizes that need not exist. So what
//! is weighed changes with the air without steps, and the clip moves where the next groove has become better, one groove at a
//! time, whatever sizes the box has. Only then the main jet is taken: the smallest that is not too lean at full throttle.
//!
//! A groove richer may want a smaller main jet. A leaner groove is therefore taken only where it asks for no larger a jet than
//! the groove before it did where they part: with more fuel wanted the main jet never becomes smaller.

use super::asked::Asked;
use super::grooves::{Grooves, Hung};
use super::main_jet::Main;
use super::search::{Marks, WORTH_A_GROOVE, aim, off};
use super::wanted::{EIGHTH, EachZone, FULL, IDLE, WantedFuel};
use crate::engine::carburetor::both_circuits;

/// The most by which more fuel is looked ahead.
const AHEAD: f64 = 1.3;

/// Steps of a search by halves.
const HALVES: u32 = 30;

/// What the pilot circuit is to bring over what it did.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PilotAim {
    /// What comes nearest to what closed throttle and an eighth want.
    pub(super) target: f64,
    /// What neither is too lean with.
    pub(super) least: f64,
}

/// What the pilot circuit is to bring for closed throttle, and for an eighth where `at_eighth` says what the main circuit brings there
/// and how much of the fuel is the pilot's. `reach` is the least and the most that it can.
pub(super) fn pilot_aim(
    wanted: &EachZone<WantedFuel>,
    at_eighth: Option<(f64, f64)>,
    reach: (f64, f64),
) -> PilotAim {
    let (idle, eighth) = (&wanted[IDLE], &wanted[EIGHTH]);
    let cost = |pilot: f64| {
        let beside = at_eighth.map_or(0.0, |(main, share)| off(both_circuits(share, pilot, main) / aim(eighth)));
        off(pilot / aim(idle)).powi(2) + beside * beside
    };
    let (mut low, mut high) = (reach.0.ln(), reach.1.ln());
    for _ in 0..2 * HALVES {
        let third = (high - low) / 3.0;
        if cost((low + third).exp()) <= cost((high - third).exp()) {
            high -= third;
        } else {
            low += third;
        }
    }
    let least_at_eighth = at_eighth
        .filter(|(_, share)| *share > 0.0)
        .map(|(main, share)| 1.0 + (eighth.least - 1.0 - (1.0 - share) * (main - 1.0)) / share);
    let least = least_at_eighth.map_or(idle.least, |least| least.max(idle.least)).clamp(reach.0, reach.1);
    PilotAim { target: f64::midpoint(low, high).exp().max(least), least }
}

/// Everything that is needed to weigh needles and grooves.
pub(super) struct Hanging<'a> {
    pub(super) grooves: &'a Grooves,
    pub(super) main: &'a Main<'a>,
    pub(super) asked: &'a Asked<'a>,
    /// The pilot's share of the fuel at each zone.
    pub(super) shares: &'a EachZone<f64>,
    /// What the pilot circuit can bring at least and at most; none where it is not known.
    pub(super) reach: Option<(f64, f64)>,
}

impl Hanging<'_> {
    /// The needle and groove to hang it in, with the main jet.
    pub(super) fn choose(&self) -> Option<Hung> {
        let own = self.present_groove(1.0);
        if own.is_some_and(|(_, marks)| marks.can_do()) {
            return own.and_then(|(clip, _)| self.with_main(clip));
        }
        let others = self.grooves.others_that_reach(self.asked).into_iter().filter_map(|(needle, clip)| {
            Some((needle, clip, self.marks(needle, clip, 1.0)?.cost))
        });
        let other = others.min_by(|a, b| a.2.total_cmp(&b.2));
        let better = other.filter(|other| own.is_none_or(|(_, marks)| other.2 < marks.cost));
        let least = self.asked.wanted[FULL].least;
        let hung = better.and_then(|(needle, clip, _)| {
            self.grooves.with_least_main(needle, clip, self.main, (self.asked, least))
        });
        hung.or_else(|| self.with_main(own?.0))
    }

    /// What the pilot circuit is to bring with a needle.
    pub(super) fn pilot_aim(&self, needle: usize, ratio: f64) -> PilotAim {
        let wanted = self.wanted(ratio);
        let Some(reach) = self.reach else {
            return PilotAim { target: 1.0, least: 1.0 };
        };
        let clip = self.grooves.present_clip();
        let hung = self.exactly(needle, clip, ratio).or_else(|| self.grooves.hung(needle, clip, self.main.jet.number));
        let at_eighth = hung.and_then(|hung| Some((hung.over[EIGHTH]?, self.shares[EIGHTH])));
        pilot_aim(&wanted, at_eighth, reach)
    }

    /// What is wanted, with so many times as much of it everywhere.
    fn wanted(&self, ratio: f64) -> EachZone<WantedFuel> {
        self.asked.wanted.map(|zone| WantedFuel {
            factor: zone.factor * ratio,
            least: zone.least * ratio,
            ..zone
        })
    }

    /// A groove of a needle with the main jet that it wants exactly, within the sizes at hand.
    fn exactly(&self, needle: usize, clip: u8, ratio: f64) -> Option<Hung> {
        let least = self.asked.wanted[FULL].least * ratio;
        self.grooves.with_exact_main(needle, clip, self.main, (self.asked, least))
    }

    /// How a groove of a needle does with so many times as much fuel wanted everywhere; none where no main jet at hand is enough.
    fn marks(&self, needle: usize, clip: u8, ratio: f64) -> Option<Marks> {
        let hung = self.exactly(needle, clip, ratio)?;
        let wanted = self.wanted(ratio);
        let pilot = self.reach.map(|_| self.pilot_aim(needle, ratio).target);
        let mut delivered = hung.over;
        for (delivered, share) in delivered.iter_mut().zip(self.shares) {
            *delivered = delivered.map(|main| both_circuits(*share, pilot.unwrap_or(1.0), main));
        }
        (delivered[IDLE], delivered[FULL]) = (pilot, Some(hung.at_full));
        Some(Marks::of(&delivered, &wanted))
    }

    /// The groove of the present needle: from the one it hangs in on as long as the next is better by what moving it is worth.
    fn present_groove(&self, ratio: f64) -> Option<(u8, Marks)> {
        let grooves = self.grooves.needle(0)?.grooves();
        let worth = WORTH_A_GROOVE * WORTH_A_GROOVE;
        let mut here = (self.grooves.present_clip(), self.marks(0, self.grooves.present_clip(), ratio));
        let cost = |marks: Option<Marks>| marks.map_or(f64::INFINITY, |marks| marks.cost);
        for richer in [true, false] {
            loop {
                let next = if richer { here.0.saturating_add(1) } else { here.0.saturating_sub(1) };
                if !(1..=grooves).contains(&next) {
                    break;
                }
                let marks = self.marks(0, next, ratio);
                // Where no main jet is enough, a richer groove may still do with one.
                let nowhere = here.1.is_none() && marks.is_none() && richer;
                if cost(marks) + worth >= cost(here.1) && !nowhere {
                    break;
                }
                here = (next, marks);
            }
            if here.0 != self.grooves.present_clip() {
                break;
            }
        }
        here.1.map(|marks| (here.0, marks))
    }

    /// The present needle in a groove, or in the next richer one where that saves a main jet that would become smaller again with
    /// more fuel wanted.
    fn with_main(&self, clip: u8) -> Option<Hung> {
        let with = |clip: u8, ratio: f64| {
            let least = self.asked.wanted[FULL].least * ratio;
            self.grooves.with_least_main(0, clip, self.main, (self.asked, least))
        };
        let here = with(clip, 1.0)?;
        let stays = clip == self.grooves.present_clip() && here.main <= self.main.jet.number;
        let next = clip.saturating_add(1);
        if stays || next > self.grooves.needle(0)?.grooves() {
            return Some(here);
        }
        let Some(parting) = self.parting(clip) else {
            return Some(here);
        };
        match (with(next, parting), with(next, 1.0)) {
            (Some(beyond), Some(richer)) if here.main > beyond.main => Some(richer),
            _ => Some(here),
        }
    }

    /// How many times as much fuel must be wanted for the next richer groove to be better; none where none is.
    fn parting(&self, clip: u8) -> Option<f64> {
        let richer = |ratio: f64| self.present_groove(ratio).is_some_and(|(groove, _)| groove > clip);
        let (mut stays, mut goes) = (1.0, AHEAD);
        if !richer(goes) {
            return None;
        }
        for _ in 0..HALVES {
            let between = f64::midpoint(stays, goes);
            if richer(between) { goes = between } else { stays = between }
        }
        Some(goes)
    }
}
