//! The clip: what the main jet leaves over at half throttle.
//!
//! At half lift needle and annulus decide more than the main jet, so a main jet that is right at full throttle can leave an
//! error there. "A half size is left over" means: with the advised main jet and the clip where it is, the fuel at half
//! lift is off by more than half of what the next groove toward the right mixture would change. Only then is
//! the clip moved, to the groove that is nearest without being lean (common practice, no source).
//! So a lean error of half a step and more is corrected, a rich one only when a whole step fits into it.
//!
//! On a tapered needle the clip moves full throttle too: a groove that would make it lean with the advised main jet is not
//! taken, and one that makes it richer leaves it so. The main jet is not chosen anew for the groove: it is the exact one for
//! the needle as it hangs now.

use super::ClipAdvice;
use super::main_jet::{FullThrottle, leanest};
use super::needle_path::NeedlePath;
use crate::engine::EngineError;
use crate::engine::circuits::{ClipEffect, ClipSearch, choose_clip, main_circuit_factor, pilot_share};
use crate::engine::needle::NeedleSetting;
use crate::notebook::Shares;
use crate::quantity::trimmed;

/// Lift at which the clip is judged, as a fraction of full.
const HALF: f64 = 0.5;

/// Errors closer than this are the same.
const SAME_ERROR: f64 = 1e-9;

/// Advises the clip for the advised main jet. `pilot_factor` is by how much pilot jet and screw together were moved.
pub(super) fn advise(full: &FullThrottle, shares: &Shares, factor: f64, pilot_factor: f64) -> ClipAdvice {
    let path = match &full.path {
        Ok(path) => path,
        Err(why) => return ClipAdvice::NotComputed { why: why.clone() },
    };
    let Some((current, advised)) = full.main.as_ref().and_then(|main| Some((main.current, main.advised?)))
    else {
        return ClipAdvice::NotComputed { why: "no main jet is advised".into() };
    };
    let clip = Clip { path, shares, current, advised, factor, power_share: full.power_share };
    clip.advise(pilot_factor).unwrap_or_else(|error| ClipAdvice::NotComputed {
        why: error.to_string().trim_end_matches('.').to_owned(),
    })
}

struct Clip<'a> {
    path: &'a NeedlePath,
    shares: &'a Shares,
    /// Main jet now and main jet advised, by number.
    current: f64,
    advised: f64,
    factor: f64,
    power_share: f64,
}

impl Clip<'_> {
    fn advise(&self, pilot_factor: f64) -> Result<ClipAdvice, EngineError> {
        let from = self.path.full_lift.clip;
        let (each, not_leaner) = self.grooves(pilot_factor)?;
        let at = |clip: u8| each.iter().find(|effect| effect.clip == clip).copied();
        let Some(now) = at(from) else {
            return Ok(ClipAdvice::NotComputed { why: format!("the needle has no groove {from}") });
        };
        let stays = |why: String| ClipAdvice::Stays { clip: from, half_throttle_percent: percent(now), why };
        let toward = if now.delivered_over_needed > 1.0 { from.checked_sub(1) } else { from.checked_add(1) };
        let Some(beside) = toward.and_then(at) else {
            return Ok(stays("there is no groove beyond it".into()));
        };
        let step = (beside.delivered_over_needed / now.delivered_over_needed).ln().abs();
        if error(now) <= step / 2.0 + SAME_ERROR {
            return Ok(stays("less than half a step is left over".into()));
        }
        let richest = each
            .iter()
            .copied()
            .reduce(|a, b| if b.delivered_over_needed > a.delivered_over_needed { b } else { a });
        let Some(best) = not_leaner.or(richest) else {
            return Ok(stays("the needle has no other groove".into()));
        };
        if best.clip == from || error(best) >= error(now) - SAME_ERROR {
            return Ok(stays("no other groove is nearer without being lean".into()));
        }
        let full = self.full_throttle(best.clip)?;
        if full < 1.0 - SAME_ERROR {
            return Ok(stays(format!(
                "groove {} would leave full throttle {} % lean with the advised main jet",
                best.clip,
                trimmed(100.0 * (1.0 - full), 1)
            )));
        }
        Ok(ClipAdvice::Move {
            from,
            to: best.clip,
            before_percent: percent(now),
            after_percent: percent(best),
            full_throttle_percent: 100.0 * (full - 1.0),
        })
    }

    /// What each groove delivers at half lift with the advised main jet, and the nearest that is not lean.
    fn grooves(&self, pilot_factor: f64) -> Result<(Vec<ClipEffect>, Option<ClipEffect>), EngineError> {
        let table: Vec<_> = self
            .shares
            .pilot
            .iter()
            .map(|[lift_percent, share_percent]| (lift_percent / 100.0, share_percent / 100.0))
            .collect();
        let share = pilot_share(HALF, &table)?;
        let setting = NeedleSetting { lift_m: HALF * self.path.full_lift.lift_m, ..self.path.full_lift };
        let choice = choose_clip(&ClipSearch {
            needle: &self.path.needle,
            setting,
            main_area_m2: self.path.main_area_m2(self.current)?,
            new_main_area_m2: self.path.main_area_m2(self.advised)?,
            new_shim_m: setting.shim_m,
            annulus_over_main: self.path.annulus_over_main,
            factor: main_circuit_factor(self.factor, share, pilot_factor)?,
        })?;
        Ok((choice.each, choice.not_leaner))
    }

    /// Fuel delivered over fuel needed at full throttle with the advised main jet and the clip in another groove.
    fn full_throttle(&self, clip: u8) -> Result<f64, EngineError> {
        let moved = NeedleSetting { clip, ..self.path.full_lift };
        let now = self.path.at_full_lift(self.current)?.series_area_m2();
        let then = self.path.at(moved, self.advised)?.series_area_m2();
        Ok(leanest(then / now, self.power_share, self.factor))
    }
}

fn error(effect: ClipEffect) -> f64 {
    effect.delivered_over_needed.ln().abs()
}

/// By how many percent it is off; above 0 rich.
fn percent(effect: ClipEffect) -> f64 {
    100.0 * (effect.delivered_over_needed - 1.0)
}
