//! The pilot circuit: pilot jet and screw together.
//!
//! The pilot jet is alone in its circuit. The screw makes up what the jets at hand leave, to the nearest quarter of a turn, between
//! two places (`screw_least` and `screw_most` of configs/shares.toml): what would turn it beyond them wants the next pilot jet,
//! where the box has it. So with more fuel wanted jet and screw together only ever go richer, a quarter of a turn at a time or a size at
//! a time, whatever the step. Only sizes near the jet that is in it are looked at: what asks for more than that is another fault.

use super::in_bike::JetInBike;
use super::jets::{Jets, Percents, Rule};
use super::screw::ScrewInBike;
use crate::advice::rejet::asked::JetsAsked;
use crate::advice::rejet::error::RejetError;
use crate::advice::rejet::needle::search::off;
use crate::advice::rejet::wanted::IDLE;
use crate::advice::rejet::{JetAdvice, Method, ScrewAdvice};
use crate::engine::FACTOR;
use crate::engine::carburetor::jets::Choice;
use crate::notebook::{Circuit, Jetting};
use crate::quantity::nearly_equal;

/// Sizes on either side of the pilot jet in the bike that are looked at.
const SIZES_AWAY: usize = 5;

/// The pilot circuit as the setup has it.
pub(in crate::advice::rejet) struct PilotCircuit<'a> {
    jet: Option<PilotJet<'a>>,
    screw: Option<ScrewInBike>,
}

struct PilotJet<'a> {
    jet: JetInBike<'a>,
    jets: Jets<'a>,
    /// The exact number by theory among the sizes at hand.
    exact: Choice,
}

/// A pilot jet with its screw somewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::advice::rejet) struct PilotSetting {
    /// The jet's number; none where the jet is not known.
    pub(in crate::advice::rejet) jet: Option<f64>,
    /// Turns of the screw toward rich; none where the screw is not known.
    richer_turns: Option<f64>,
    /// Fuel of the jet alone over what it was.
    of_the_jet: f64,
    /// Fuel of both together over what it was.
    pub(in crate::advice::rejet) factor: f64,
}

impl<'a> PilotCircuit<'a> {
    /// As far as the setup has it.
    pub(in crate::advice::rejet) fn read(
        jetting: &'a Jetting,
        asked: &JetsAsked<'a>,
        warnings: &mut Vec<String>,
    ) -> Result<Self, RejetError> {
        let jet = JetInBike::read(
            Circuit::Pilot,
            jetting.pilot.as_ref(),
            jetting.pilot_numbered_by,
            jetting.pilot_series.as_ref(),
        )?;
        let jet = if let Some(jet) = jet {
            let jets = Jets::at_hand(jet, asked.jets, asked.own_pilots(), warnings)?;
            let exact = jet.numbering().number_for(jet.number, asked.factor);
            let exact = jets.choice(exact.map_err(RejetError::calculation(jet.field))?)?;
            Some(PilotJet { jet, jets, exact })
        } else {
            warnings.push("Pilot jet: not known; needs jetting.pilot.".into());
            None
        };
        Ok(Self { jet, screw: ScrewInBike::read(jetting, asked.shares, warnings) })
    }

    /// Whether anything of it is known.
    pub(in crate::advice::rejet) fn is_known(&self) -> bool {
        self.jet.is_some() || self.screw.is_some()
    }

    /// The jet and the screw as they are.
    pub(in crate::advice::rejet) fn as_it_is(&self) -> PilotSetting {
        PilotSetting {
            jet: self.jet.as_ref().map(|jet| jet.jet.number),
            richer_turns: self.screw.map(|_| 0.0),
            of_the_jet: 1.0,
            factor: 1.0,
        }
    }

    /// The least and the most fuel over what it was that jets and screw can bring.
    pub(in crate::advice::rejet) fn reach(&self) -> (f64, f64) {
        let jets = self.jets();
        let screw = self.screw.map_or((1.0, 1.0), |screw| {
            let (leanest, richest) = screw.turns_at_most();
            (screw.brings(leanest), screw.brings(richest))
        });
        let least = jets.iter().map(|(_, fuel)| *fuel).fold(1.0, f64::min) * screw.0;
        let most = jets.iter().map(|(_, fuel)| *fuel).fold(1.0, f64::max) * screw.1;
        (least.max(FACTOR.low), most.min(FACTOR.high))
    }

    /// The jet and the place of the screw that come nearest to so much fuel over what it was, and bring no less than `least`.
    pub(in crate::advice::rejet) fn nearest(&self, target: f64, least: f64) -> PilotSetting {
        let jets = self.jets();
        let present = jets.iter().position(|(_, fuel)| nearly_equal(*fuel, 1.0)).unwrap_or(0);
        let chosen = match &self.screw {
            Some(screw) => with_screw(&jets, present, screw, (target, least)),
            None => alone(&jets, present, target).map(|jet| (jet, None)),
        };
        let Some(((jet, of_the_jet), richer_turns)) = chosen else {
            return self.as_it_is();
        };
        let of_the_screw = match (&self.screw, richer_turns) {
            (Some(screw), Some(turns)) => screw.brings(turns),
            _ => 1.0,
        };
        PilotSetting {
            jet,
            richer_turns: richer_turns.or_else(|| self.screw.map(|_| 0.0)),
            of_the_jet,
            factor: of_the_jet * of_the_screw,
        }
    }

    /// The jets that are looked at, ascending, with the fuel of each over that of the present one.
    fn jets(&self) -> Vec<(Option<f64>, f64)> {
        match &self.jet {
            Some(jet) => jet.near().into_iter().map(|(size, fuel)| (Some(size), fuel)).collect(),
            None => vec![(None, 1.0)],
        }
    }

    /// The advice for the jet.
    pub(in crate::advice::rejet) fn jet_advice(
        &self,
        asked: &JetsAsked<'_>,
        chosen: &PilotSetting,
        warnings: &mut Vec<String>,
    ) -> Option<JetAdvice> {
        let pilot = self.jet.as_ref()?;
        let percent = |fuel: f64| 100.0 * (fuel / asked.wanted[IDLE].factor - 1.0);
        let percents = Percents { unchanged: percent(1.0), advised: Some(percent(chosen.of_the_jet)) };
        let advice = pilot.jets.advice(Some(pilot.exact.exact), Method::Alone, chosen.jet, percents);
        let advice = pilot.jets.counted_from(asked.pilot_on_the_bike, advice);
        if !asked.by_record {
            pilot.jets.warn_of_place(&pilot.exact, Rule::Nearest, warnings);
        }
        pilot.jets.warn_of_steps(&advice, warnings);
        Some(advice)
    }

    /// The advice for the screw.
    pub(in crate::advice::rejet) fn screw_advice(
        &self,
        asked: &JetsAsked<'_>,
        chosen: &PilotSetting,
        warnings: &mut Vec<String>,
    ) -> Option<ScrewAdvice> {
        let (screw, turns) = (self.screw.as_ref()?, chosen.richer_turns?);
        let idle = asked.wanted[IDLE].factor;
        screw.warn(turns, idle / chosen.of_the_jet, warnings);
        Some(screw.advice(turns, chosen.factor / idle))
    }
}

impl PilotJet<'_> {
    /// The sizes that are looked at, with the fuel of each over that of the present one.
    fn near(&self) -> Vec<(f64, f64)> {
        let numbering = self.jet.numbering();
        let sizes = self.jets.around(&[self.jet.number], SIZES_AWAY).iter();
        sizes.filter_map(|size| Some((*size, numbering.area_factor(self.jet.number, *size).ok()?))).collect()
    }
}

/// A jet with its fuel over the present one's.
type Sized = (Option<f64>, f64);

/// The jet nearest to so much fuel where no screw makes up the rest; the present one, then the richer one of two as near.
fn alone(jets: &[Sized], present: usize, target: f64) -> Option<Sized> {
    let off = |(_, fuel): &Sized| off(fuel / target);
    let now = jets.get(present)?;
    let nearest = jets.iter().rev().min_by(|a, b| off(a).total_cmp(&off(b)))?;
    Some(if off(now) <= off(nearest) { *now } else { *nearest })
}

/// The jet nearest to the present one with which the screw stays between its places, and the turns of the screw toward rich with it.
/// Where there is none, the one that leaves it least far beyond them.
fn with_screw(
    jets: &[Sized],
    present: usize,
    screw: &ScrewInBike,
    (target, least): (f64, f64),
) -> Option<(Sized, Option<f64>)> {
    let turns = |(_, fuel): &Sized| screw.turns_for(target / fuel, least / fuel);
    let beyond = |jet: &Sized| screw.beyond(turns(jet));
    let now = jets.get(present)?;
    let richer = beyond(now) > 0.0;
    let onward: Vec<&Sized> = match beyond(now) {
        stays if stays.abs() <= 0.0 => vec![now],
        _ if richer => jets.iter().skip(present).collect(),
        _ => jets.iter().take(present + 1).rev().collect(),
    };
    // The first of those that do as well: as few sizes from the present one as may be.
    let chosen = onward.into_iter().min_by(|a, b| beyond(a).abs().total_cmp(&beyond(b).abs()))?;
    Some((*chosen, Some(screw.on_its_thread(turns(chosen)))))
}
