//! The whole carburetor: needle, groove and main jet together ([`super::needle::hang`]), pilot jet and screw together
//! ([`super::jet::pilot`]).
//!
//! Each part answers for the zones it rules (common practice, no source): the main jet for full throttle, the clip for what lies
//! between, pilot jet and screw for closed throttle and an eighth. What is chosen by is free of steps, so that a little other air
//! never turns one part far one way to turn another back.
//!
//! Where the needle is not known, or no main jet is rich enough, pilot jet and screw alone are chosen, for closed throttle and an
//! eighth. There the needle's ring decides what the main circuit brings, and it is taken as left alone.

use super::asked::JetsAsked;
use super::error::RejetError;
use super::jet::main_jet::{FullThrottle, Main, PowerBeside};
use super::jet::pilot::{PilotCircuit, PilotSetting};
use super::jet::simple_rule;
use super::needle::clip::{self, AtHalf};
use super::needle::clip_by_thumb;
use super::needle::grooves::{Grooves, Hung};
use super::needle::hang::{self, Hanging, PilotAim};
use super::needle::search;
use super::wanted::{EIGHTH, EachZone, FULL, HALF, IDLE, QUARTER, THREE_QUARTERS};
use super::{ClipAdvice, MainSize, NeedleAdvice, ZoneAdvice};
use crate::engine::carburetor::both_circuits;
use crate::engine::carburetor::circuits::pilot_share;
use crate::notebook::{Jetting, Shares, ZONES};
use crate::quantity::trimmed;

/// What to fit.
pub(super) struct Whole {
    /// The main jet; none where it is not known or none is rich enough.
    pub(super) main: Option<f64>,
    /// Fuel at full throttle over the baseline's with it, or with the present one where none is to be fitted.
    pub(super) at_full: f64,
    /// Pilot jet and screw.
    pub(super) pilot: PilotSetting,
    pub(super) clip: ClipAdvice,
    pub(super) needle: Option<NeedleAdvice>,
    pub(super) zones: Vec<ZoneAdvice>,
    pub(super) mains: Vec<MainSize>,
}

/// The pilot's share of the fuel at each zone; its table may be one that cannot be.
pub(super) fn pilot_shares(shares: &Shares) -> Result<EachZone<f64>, String> {
    let table = pilot_table(shares);
    let mut each = [0.0; ZONES.len()];
    for (share, (_, _, lift)) in each.iter_mut().zip(ZONES) {
        *share =
            pilot_share(lift, &table).map_err(|error| error.to_string().trim_end_matches('.').to_owned())?;
    }
    // With the slide shut the pilot is alone; with it fully up it is left out.
    (each[IDLE], each[FULL]) = (1.0, 0.0);
    Ok(each)
}

/// The table of the pilot's shares, in parts of full lift and of the fuel.
pub(super) fn pilot_table(shares: &Shares) -> Vec<(f64, f64)> {
    shares.pilot.iter().map(|[lift, share]| (lift / 100.0, share / 100.0)).collect()
}

/// Below the least by so much is no word worth: the least is itself no better known, and the search bears as much (common practice, no
/// source).
const HARDLY_SHORT: f64 = 0.01;

/// The zones of [`ZONES`] in words.
const IN_WORDS: EachZone<&str> = [
    "closed throttle",
    "an eighth of the slide lift",
    "a quarter",
    "half",
    "three quarters",
    "full throttle",
];

/// Chooses the carburetor to fit.
pub(super) fn choose(
    jetting: &Jetting,
    (full, pilot): (&FullThrottle<'_>, &PilotCircuit<'_>),
    asked: &JetsAsked<'_>,
    warnings: &mut Vec<String>,
) -> Result<Whole, RejetError> {
    let search = Search { jetting, shares: pilot_shares(asked.shares), pilot, asked };
    let (main, path) = match (&full.main, &full.path) {
        (Some(main), Ok(path)) => (main, path),
        (main, Err(why)) => return search.without_needle(main.as_ref(), why, full.power_beside, warnings),
        (None, Ok(_)) => {
            return search.without_needle(None, "the main jet is not known", PowerBeside::NONE, warnings);
        }
    };
    let grooves = Grooves::at_hand(path, (main.jet.number, full.power_beside), asked, warnings)
        .map_err(RejetError::calculation(main.jet.field))?;
    Ok(search.with_needle(main, &grooves, warnings))
}

struct Search<'a> {
    jetting: &'a Jetting,
    shares: Result<EachZone<f64>, String>,
    pilot: &'a PilotCircuit<'a>,
    asked: &'a JetsAsked<'a>,
}

impl Search<'_> {
    /// The whole search.
    fn with_needle(&self, main: &Main<'_>, grooves: &Grooves, warnings: &mut Vec<String>) -> Whole {
        let reach = self.pilot.is_known().then(|| self.pilot.reach());
        let chosen = match &self.shares {
            _ if !main.jets.are_listed() => None,
            Ok(shares) => {
                let hanging = Hanging { grooves, main, asked: self.asked, shares, reach };
                hanging.choose().map(|hung| {
                    let aim = hanging.pilot_aim(hung.needle, 1.0);
                    let aim = hanging.feeding_the_held(aim, &hung, 1.0);
                    (hung, aim)
                })
            }
            // Without the pilot's shares only full throttle can be judged, and the clip is left alone.
            Err(_) => grooves.as_it_hangs(main, self.asked).map(|hung| (hung, self.aim(None))),
        };
        let from = grooves.present_clip();
        let Some((fitted, aim)) = chosen else {
            let as_it_is = grooves.hung(0, from, main.jet.number);
            return self.no_main(main, grooves, as_it_is.as_ref());
        };
        let pilot = self.nearest_pilot(aim);
        let delivered = self.delivered(&pilot, Some(&fitted));
        warnings.extend(self.too_lean(&delivered));
        if (fitted.needle, fitted.clip) != (0, from) {
            warnings.extend(not_measured(grooves, &fitted));
        }
        Whole {
            main: Some(fitted.main),
            at_full: fitted.at_full,
            pilot,
            clip: self.clip(grooves, from, &fitted, &pilot),
            needle: other_needle(grooves, &fitted),
            zones: self.zones(&delivered),
            mains: main.sizes(Some(fitted.main), |size| grooves.at_full(fitted.needle, fitted.clip, size)),
        }
    }

    /// No main jet at hand is rich enough, or none is listed: the main jet stays, and with it needle and clip.
    fn no_main(&self, main: &Main<'_>, grooves: &Grooves, as_it_is: Option<&Hung>) -> Whole {
        // The pilot is right for closed throttle alone: elsewhere it would only try to bring what the main jet lacks.
        let pilot = self.nearest_pilot(self.aim(None));
        let clip = grooves.present_clip();
        Whole {
            main: None,
            at_full: 1.0,
            pilot,
            clip: ClipAdvice::NotComputed { why: "no main jet is advised".into() },
            needle: None,
            zones: self.zones(&self.delivered(&pilot, as_it_is)),
            mains: main.sizes(main.largest(), |size| grooves.at_full(0, clip, size)),
        }
    }

    /// The main jet by the simple rule, pilot jet and screw for closed throttle and an eighth.
    fn without_needle(
        &self,
        main: Option<&Main<'_>>,
        why: &str,
        power: PowerBeside,
        warnings: &mut Vec<String>,
    ) -> Result<Whole, RejetError> {
        let chosen = match main {
            Some(main) => simple_rule::choose(main, self.asked, power, warnings)?,
            None => None,
        };
        let delivers = |size| main.and_then(|main| simple_rule::delivered(main, size, power));
        let at_full = chosen.and_then(delivers).unwrap_or(1.0);
        let at_eighth = self.shares.as_ref().ok().map(|shares| (1.0, shares[EIGHTH]));
        let pilot = self.nearest_pilot(self.aim(at_eighth).feeding(self.held_without_needle()));
        let mut delivered = self.delivered(&pilot, None);
        warnings.extend(self.too_lean(&delivered));
        delivered[FULL] = main.map(|_| at_full);
        Ok(Whole {
            main: chosen,
            at_full,
            pilot,
            clip: if main.is_none() || chosen.is_some() {
                clip_by_thumb::advice(self.jetting, why, at_full, self.asked)
            } else {
                ClipAdvice::NotComputed { why: why.to_owned() }
            },
            needle: None,
            zones: self.zones(&delivered),
            mains: main
                .map(|main| main.sizes(chosen.or_else(|| main.largest()), delivers))
                .unwrap_or_default(),
        })
    }

    /// What the pilot circuit is to bring for closed throttle, and for an eighth where that can be reckoned.
    fn aim(&self, at_eighth: Option<(f64, f64)>) -> PilotAim {
        hang::pilot_aim(&self.asked.wanted, at_eighth, self.pilot.reach())
    }

    /// What the pilot circuit has to bring of what it brings now where a lean run holds a throttle between, and nothing says what the needle
    /// gives there: it is taken as left alone.
    fn held_without_needle(&self) -> impl Iterator<Item = f64> {
        let shares = self.shares.as_ref().ok();
        (QUARTER..=THREE_QUARTERS).filter_map(move |zone| {
            let (held, share) = (self.asked.wanted[zone].held?, shares?[zone]);
            (share > 0.0).then(|| 1.0 + (held - 1.0) / share)
        })
    }

    fn nearest_pilot(&self, aim: PilotAim) -> PilotSetting {
        if !self.pilot.is_known() {
            return self.pilot.as_it_is();
        }
        self.pilot.nearest(aim.target, aim.least)
    }

    /// Fuel over the baseline's at each zone where it is known.
    fn delivered(&self, setting: &PilotSetting, hung: Option<&Hung>) -> EachZone<Option<f64>> {
        let mut delivered = [None; ZONES.len()];
        if let Ok(shares) = &self.shares {
            for (place, (delivered, share)) in delivered.iter_mut().zip(shares).enumerate() {
                let main = match hung {
                    Some(hung) => hung.over.get(place).copied().flatten(),
                    None => (place == EIGHTH && self.pilot.is_known()).then_some(1.0),
                };
                *delivered = main.map(|main| both_circuits(*share, setting.factor, main));
            }
        }
        delivered[IDLE] = self.pilot.is_known().then_some(setting.factor);
        delivered[FULL] = hung.map(|hung| hung.at_full);
        delivered
    }

    /// What to say where the box holds nothing that is rich enough everywhere.
    fn too_lean(&self, delivered: &EachZone<Option<f64>>) -> Option<String> {
        let zones = IN_WORDS.iter().zip(delivered).zip(&self.asked.wanted);
        let short: Vec<String> = zones
            .filter_map(|((zone, delivered), wanted)| {
                let enough = (wanted.least * (1.0 - HARDLY_SHORT)).max(wanted.held.unwrap_or(0.0));
                let short = delivered.filter(|delivered| !search::not_below(*delivered, enough))?;
                Some(format!("{zone} by {} %", trimmed(100.0 * (1.0 - short / wanted.least), 1)))
            })
            .collect();
        (!short.is_empty()).then(|| {
            format!(
                "Not every slide lift gets enough with what is at hand. With this advice less than the least that is wanted: {}.",
                short.join(", ")
            )
        })
    }

    fn zones(&self, delivered: &EachZone<Option<f64>>) -> Vec<ZoneAdvice> {
        let known = delivered.iter().zip(&self.asked.wanted);
        known
            .filter_map(|(delivered, wanted)| {
                let delivered = (*delivered)?;
                Some(ZoneAdvice {
                    zone: wanted.zone,
                    lift: wanted.lift,
                    left_percent: 100.0 * (1.0 / wanted.factor - 1.0),
                    fitted_percent: 100.0 * (delivered / wanted.factor - 1.0),
                    delivered,
                })
            })
            .collect()
    }

    fn clip(&self, grooves: &Grooves, from: u8, fitted: &Hung, pilot: &PilotSetting) -> ClipAdvice {
        let shares = match &self.shares {
            Ok(shares) => shares,
            Err(why) => return ClipAdvice::NotComputed { why: why.clone() },
        };
        let half = |hung: &Hung| {
            let delivered = both_circuits(shares[HALF], pilot.factor, hung.over[HALF]?);
            Some(delivered / self.asked.wanted[HALF].factor)
        };
        let beside = |clip: Option<u8>| grooves.hung(0, clip?, fitted.main).as_ref().and_then(half);
        let (Some(left), Some(now)) = (beside(Some(from)), half(fitted)) else {
            return ClipAdvice::NotComputed { why: "half throttle cannot be reckoned".into() };
        };
        let at_half = AtHalf {
            left,
            groove_up: beside(from.checked_sub(1)),
            groove_down: beside(from.checked_add(1)),
            fitted: now,
        };
        let at_full = fitted.at_full / self.asked.wanted[FULL].factor;
        clip::advice(from, fitted.clip, &at_half, at_full, fitted.needle != 0)
    }
}

fn other_needle(grooves: &Grooves, fitted: &Hung) -> Option<NeedleAdvice> {
    let code = |place| grooves.needle(place).map(|path| path.code().to_owned());
    (fitted.needle != 0).then_some(())?;
    Some(NeedleAdvice { from: code(0)?, to: code(fitted.needle)? })
}

/// What to say where the needle, moved as advised, is not measured as far as full lift needs; once for one needle.
fn not_measured(grooves: &Grooves, fitted: &Hung) -> Option<String> {
    let said = fitted.needle == 0 && grooves.needle(0)?.not_measured().is_some();
    grooves.needle(fitted.needle)?.clone().in_groove(fitted.clip).not_measured().filter(|_| !said)
}
