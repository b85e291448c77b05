//! Which needle hangs in which groove, and the main jet with it.
//!
//! A groove is weighed with the main jet and the pilot circuit that would go with it exactly, of sizes that need not exist. So what
//! is weighed changes with the air without steps, and the clip moves where the next groove has become better, one groove at a
//! time, whatever sizes the box has. Only then the main jet is taken: the smallest that is not too lean at full throttle.
//!
//! A groove richer may want a smaller main jet. A leaner groove is therefore taken only where it asks for no larger a jet than
//! the groove before it did where they part: with more fuel wanted the main jet never becomes smaller.

use std::ops::RangeInclusive;

use super::grooves::{Grooves, Hung};
use super::search::{Marks, WORTH_A_GROOVE, WORTH_A_NEEDLE, aim, is_held_below_full, off};
use crate::advice::rejet::SIZES_LEANER_IN_ONE_STEP;
use crate::advice::rejet::asked::JetsAsked;
use crate::advice::rejet::jet::main_jet::Main;
use crate::advice::rejet::wanted::{EIGHTH, EachZone, FULL, IDLE, QUARTER, THREE_QUARTERS, WantedFuel};
use crate::engine::carburetor::both_circuits;

/// The most by which more fuel is looked ahead.
const AHEAD: f64 = 1.3;

/// So many sizes of the main jet may make up for what no groove brings where a lean run holds (common practice, no source).
const SIZES_FOR_A_HELD_THROTTLE: usize = 2;

/// Steps of a search by halves: to some millionths.
const HALVES: u32 = 16;

/// Steps of a search by thirds: to some millionths.
const THIRDS: u32 = 36;

/// Places between two grooves, as parts of the way.
const PARTS: [f64; 4] = [0.0, 0.25, 0.5, 0.75];

/// What the pilot circuit is to bring over what it did.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::advice::rejet) struct PilotAim {
    /// What comes nearest to what closed throttle and an eighth want.
    pub(in crate::advice::rejet) target: f64,
    /// What neither is too lean with.
    pub(in crate::advice::rejet) least: f64,
}

impl PilotAim {
    /// The same where a lean run holds throttles that the pilot feeds too: what it `needed` there it keeps, and no more than it has is asked of
    /// it.
    pub(in crate::advice::rejet) fn feeding(self, needed: impl Iterator<Item = f64>) -> Self {
        let needed = needed.fold(f64::NEG_INFINITY, f64::max).min(1.0);
        Self { target: self.target.max(needed), least: self.least.max(needed) }
    }
}

/// What the pilot circuit is to bring for closed throttle, and for an eighth where `at_eighth` says what the main circuit brings there
/// and how much of the fuel is the pilot's. `reach` is the least and the most that it can.
pub(in crate::advice::rejet) fn pilot_aim(
    wanted: &EachZone<WantedFuel>,
    at_eighth: Option<(f64, f64)>,
    reach: (f64, f64),
) -> PilotAim {
    let (idle, eighth) = (&wanted[IDLE], &wanted[EIGHTH]);
    let cost = |pilot: f64| {
        let beside =
            at_eighth.map_or(0.0, |(main, share)| off(both_circuits(share, pilot, main) / aim(eighth)));
        off(pilot / aim(idle)).powi(2) + beside * beside
    };
    let (mut low, mut high) = (reach.0.ln(), reach.1.ln());
    for _ in 0..THIRDS {
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
pub(in crate::advice::rejet) struct Hanging<'a> {
    pub(in crate::advice::rejet) grooves: &'a Grooves,
    pub(in crate::advice::rejet) main: &'a Main<'a>,
    pub(in crate::advice::rejet) asked: &'a JetsAsked<'a>,
    /// The pilot's share of the fuel at each zone.
    pub(in crate::advice::rejet) shares: &'a EachZone<f64>,
    /// What the pilot circuit can bring at least and at most; none where it is not known.
    pub(in crate::advice::rejet) reach: Option<(f64, f64)>,
}

impl Hanging<'_> {
    /// The needle and groove to hang it in, with the main jet.
    pub(in crate::advice::rejet) fn choose(&self) -> Option<Hung> {
        self.best().map(|hung| self.no_leaner_than_it_hangs(self.not_short_of_held(hung)))
    }

    /// After a lean run where the needle feeds it hangs as on the bike at least: a larger main jet would make up for a leaner
    /// groove, and then four things are moved at once where one is to be found out. Else no more grooves leaner at once than sizes of a jet.
    fn no_leaner_than_it_hangs(&self, hung: Hung) -> Hung {
        let Some(hangs) = self.asked.hangs_in else { return hung };
        let ruled = |zone: &str| matches!(zone, "quarter" | "half" | "three_quarters" | "full");
        let is_held = self.asked.wanted.iter().any(|wanted| wanted.held.is_some() && ruled(wanted.zone));
        let at_once = u8::try_from(SIZES_LEANER_IN_ONE_STEP).unwrap_or(u8::MAX);
        let least = if is_held { hangs } else { hangs.saturating_sub(at_once).max(1) };
        let is_other = hung.needle != 0;
        if is_other && !is_held || !is_other && hung.clip >= least {
            return hung;
        }
        let full = self.asked.wanted[FULL].least;
        let aim = self.pilot_aim(0, 1.0);
        let last = self.grooves.needle(0).map_or(least, |needle| needle.grooves().max(least));
        let richer = (least..=last).filter_map(|clip| {
            let kept = self.grooves.with_least_main(0, clip, self.main, (self.asked, full))?;
            let kept = self.not_short_of_held(kept);
            Some((kept, self.marks_of(&kept, aim, 1.0).cost))
        });
        richer.min_by(|one, two| one.1.total_cmp(&two.1)).map_or(hung, |(kept, _)| kept)
    }

    /// With the next larger main jet that brings what a lean run left as the least at a throttle, where no groove does; as it was
    /// where none up to a few sizes above that and the bike's brings it: at half throttle the needle feeds, and a far larger main jet only drowns it at full.
    fn not_short_of_held(&self, hung: Hung) -> Hung {
        let aim = self.pilot_aim(hung.needle, 1.0);
        let sizes = self.main.jets.sizes();
        // What is recorded and never ran is no reason to go further.
        let now = self.asked.main_that_ran.or(self.asked.main_on_the_bike);
        let fitted = now.map_or(self.main.jet.number, |now| now.max(self.main.jet.number));
        let most = sizes.partition_point(|size| *size <= fitted.max(hung.main)) + SIZES_FOR_A_HELD_THROTTLE;
        let larger = sizes.iter().copied().take(most).filter(|size| *size > hung.main);
        let larger = larger.filter_map(|size| self.grooves.hung(hung.needle, hung.clip, size));
        let mut all = std::iter::once(hung).chain(larger);
        all.find(|hung| !self.marks_of(hung, aim, 1.0).is_short_of_held()).unwrap_or(hung)
    }

    /// The best needle and groove, with the smallest main jet that is not too lean at full throttle.
    fn best(&self) -> Option<Hung> {
        let own = self.anywhere(0, 1..=self.grooves.needle(0)?.grooves());
        let grooves = self.grooves.needle(0)?.grooves();
        let hung = || self.with_main(0, grooves, |ratio| self.present_groove(ratio));
        if own.is_some_and(|marks| marks.can_do()) {
            return hung();
        }
        // After a lean run one thing at a time: the clip, and a size of the main jet with it, before the carburetor comes apart.
        let richest = self.grooves.hung(0, grooves, self.main.jet.number);
        let with_a_larger_main = richest.map(|hung| self.not_short_of_held(hung));
        // The main jet that ran lean is not enough, whatever groove it hangs under.
        let does = |hung: &Hung| {
            self.asked.may_be(hung.main) && self.marks_of(hung, self.pilot_aim(0, 1.0), 1.0).can_do()
        };
        if let Some(hung) =
            with_a_larger_main.filter(|hung| is_held_below_full(&self.asked.wanted) && does(hung))
        {
            return Some(hung);
        }
        let reach = self.grooves.others_that_reach(self.asked);
        let others = reach.into_iter().filter_map(|(needle, grooves)| {
            Some((needle, grooves.clone(), self.anywhere(needle, grooves)?.cost))
        });
        let best = others.min_by(|a, b| a.2.total_cmp(&b.2));
        let worth = |best: f64, own: f64| best.sqrt() < own.sqrt() - WORTH_A_NEEDLE;
        let better = best.filter(|best| own.is_none_or(|marks| worth(best.2, marks.cost)));
        let other = better.and_then(|(needle, grooves, _)| {
            let last = *grooves.end();
            self.with_main(needle, last, |ratio| self.other_groove(needle, grooves.clone(), ratio))
        });
        other.or_else(hung)
    }

    /// How a needle does hung where it is best, between two grooves as well: so that it does not matter for the needle where its
    /// grooves happen to lie.
    fn anywhere(&self, needle: usize, grooves: RangeInclusive<u8>) -> Option<Marks> {
        let aim = self.pilot_aim(needle, 1.0);
        let last = *grooves.end();
        let places = grooves.flat_map(|clip| PARTS.map(|part| (clip, part)));
        let marks = places
            .filter(|(clip, part)| *clip < last || *part <= 0.0)
            .filter_map(|place| self.marks(needle, place, (1.0, aim)));
        marks.min_by(|a, b| a.cost.total_cmp(&b.cost))
    }

    /// The best groove of another needle; none where no main jet at hand is enough in any.
    fn other_groove(&self, needle: usize, grooves: RangeInclusive<u8>, ratio: f64) -> Option<u8> {
        let aim = self.pilot_aim(needle, ratio);
        let marks = grooves.filter_map(|clip| Some((clip, self.marks(needle, (clip, 0.0), (ratio, aim))?)));
        Some(marks.min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))?.0)
    }

    /// What the pilot circuit is to bring with a needle where so many times as much fuel is wanted everywhere.
    pub(in crate::advice::rejet) fn pilot_aim(&self, needle: usize, ratio: f64) -> PilotAim {
        let Some(reach) = self.reach else {
            return PilotAim { target: 1.0, least: 1.0 };
        };
        let clip = self.grooves.present_clip();
        let hung = self.exactly(needle, (clip, 0.0), ratio);
        let hung = hung.or_else(|| self.grooves.hung(needle, clip, self.main.jet.number));
        let at_eighth = hung.and_then(|hung| Some((hung.over[EIGHTH]?, self.shares[EIGHTH])));
        pilot_aim(&self.wanted(ratio), at_eighth, reach)
    }

    /// The same where a lean run stands behind a throttle that the needle rules: the pilot circuit is not made leaner than it was at the
    /// cost of what is left as the least there.
    pub(in crate::advice::rejet) fn feeding_the_held(
        &self,
        aim: PilotAim,
        hung: &Hung,
        ratio: f64,
    ) -> PilotAim {
        let between = QUARTER..=THREE_QUARTERS;
        let needed = between.filter_map(|zone| {
            let (held, main, share) = (self.asked.wanted[zone].held?, hung.over[zone]?, self.shares[zone]);
            (share > 0.0).then(|| 1.0 + (held * ratio - 1.0 - (1.0 - share) * (main - 1.0)) / share)
        });
        aim.feeding(needed)
    }

    /// What is wanted, with so many times as much of it everywhere.
    fn wanted(&self, ratio: f64) -> EachZone<WantedFuel> {
        self.asked.wanted.map(|zone| WantedFuel {
            factor: zone.factor * ratio,
            least: zone.least * ratio,
            held: zone.held.map(|held| held * ratio),
            ..zone
        })
    }

    /// A needle at a place with the main jet that it wants exactly, within the sizes at hand.
    fn exactly(&self, needle: usize, place: (u8, f64), ratio: f64) -> Option<Hung> {
        let least = self.asked.wanted[FULL].least * ratio;
        self.grooves.with_exact_main(needle, place, self.main, (self.asked, least))
    }

    /// How a needle at a place does with so many times as much fuel wanted everywhere; none where no main jet at hand is enough.
    fn marks(&self, needle: usize, place: (u8, f64), (ratio, aim): (f64, PilotAim)) -> Option<Marks> {
        let hung = self.exactly(needle, place, ratio)?;
        Some(self.marks_of(&hung, aim, ratio))
    }

    /// How a needle with its main jet does.
    fn marks_of(&self, hung: &Hung, aim: PilotAim, ratio: f64) -> Marks {
        let aim = self.feeding_the_held(aim, hung, ratio);
        let mut delivered = hung.over;
        for (delivered, share) in delivered.iter_mut().zip(self.shares) {
            *delivered = delivered.map(|main| both_circuits(*share, aim.target, main));
        }
        (delivered[IDLE], delivered[FULL]) = (self.reach.map(|_| aim.target), Some(hung.at_full));
        Marks::of(&delivered, &self.wanted(ratio))
    }

    /// The groove of the present needle: from the one it hangs in on as long as the next is better by what moving it is worth. None where
    /// no main jet at hand is enough in any.
    fn present_groove(&self, ratio: f64) -> Option<u8> {
        let (grooves, from) = (self.grooves.needle(0)?.grooves(), self.grooves.present_clip());
        let aim = self.pilot_aim(0, ratio);
        let cost =
            |clip: u8| self.marks(0, (clip, 0.0), (ratio, aim)).map_or(f64::INFINITY, |marks| marks.cost);
        let worth = WORTH_A_GROOVE * WORTH_A_GROOVE;
        // From groove to groove one way; where no main jet is enough, a richer groove may still do with one.
        let onward = |step: i8| {
            let (mut here, mut so_far) = (from, cost(from));
            while let Some(next) = here.checked_add_signed(step).filter(|next| (1..=grooves).contains(next)) {
                let there = cost(next);
                let nowhere = so_far.is_infinite() && there.is_infinite() && step > 0;
                if there + worth >= so_far && !nowhere {
                    break;
                }
                (here, so_far) = (next, there);
            }
            (here, so_far)
        };
        let richer = onward(1);
        let (clip, cost) = if richer.0 == from { onward(-1) } else { richer };
        cost.is_finite().then_some(clip)
    }

    /// A needle in the groove that `groove` says of so many times as much fuel wanted, or in the next richer one where that saves a main
    /// jet that would become smaller again with more fuel wanted.
    fn with_main(&self, needle: usize, last: u8, groove: impl Fn(f64) -> Option<u8>) -> Option<Hung> {
        let clip = groove(1.0)?;
        let with = |clip: u8, ratio: f64| {
            let least = self.asked.wanted[FULL].least * ratio;
            self.grooves.with_least_main(needle, clip, self.main, (self.asked, least))
        };
        let here = with(clip, 1.0)?;
        let is_present = (needle, clip) == (0, self.grooves.present_clip());
        let stays = is_present && here.main <= self.main.jet.number;
        let next = clip.saturating_add(1);
        if stays || next > last {
            return Some(here);
        }
        // Where no groove has a main jet that is enough, all are left behind.
        let parting = parting(|ratio| groove(ratio).is_none_or(|groove| groove > clip));
        match parting.and_then(|ratio| with(next, ratio)) {
            // The jet that it has where they part: enough here too, and none smaller comes between.
            Some(beyond) if here.main > beyond.main => self.grooves.hung(needle, next, beyond.main),
            _ => Some(here),
        }
    }
}

/// How many times as much fuel must be wanted for a groove to be left for a richer one; none where it is not.
fn parting(is_left: impl Fn(f64) -> bool) -> Option<f64> {
    let (mut stays, mut goes) = (1.0, AHEAD);
    if !is_left(goes) {
        return None;
    }
    for _ in 0..HALVES {
        let between = f64::midpoint(stays, goes);
        if is_left(between) { goes = between } else { stays = between }
    }
    Some(goes)
}
