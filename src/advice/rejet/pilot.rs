//! The pilot circuit: pilot jet and screw together.
//!
//! The pilot jet is alone in its circuit. Only sizes near the one that is in it are looked at: what asks for more than that is
//! another fault.

use super::asked::Asked;
use super::error::RejetError;
use super::jets::{JetInBike, Jets, Percents, Rule};
use super::screw::ScrewInBike;
use super::wanted::IDLE;
use super::{JetAdvice, Method, ScrewAdvice};
use crate::engine::FACTOR;
use crate::engine::jets::Choice;
use crate::notebook::{Circuit, Jetting};
use crate::quantity::nearly_equal;

/// Sizes on either side of the pilot jet in the bike that are looked at.
const SIZES_AWAY: usize = 3;

/// The pilot circuit as the setup has it.
pub(super) struct PilotCircuit<'a> {
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
pub(super) struct PilotSetting {
    /// The jet's number; none where the jet is not known.
    pub(super) jet: Option<f64>,
    /// Turns of the screw toward rich; none where the screw is not known.
    richer_turns: Option<f64>,
    /// Fuel of the jet alone over what it was.
    of_the_jet: f64,
    /// Fuel of both together over what it was.
    pub(super) factor: f64,
    /// Whether the jet is another.
    pub(super) other_jet: bool,
    /// Whether the screw is turned.
    pub(super) screw_turned: bool,
}

impl<'a> PilotCircuit<'a> {
    /// As far as the setup has it.
    pub(super) fn read(
        jetting: &'a Jetting,
        asked: &Asked<'a>,
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
    pub(super) fn is_known(&self) -> bool {
        self.jet.is_some() || self.screw.is_some()
    }

    /// The jet and the screw as they are.
    pub(super) fn as_it_is(&self) -> PilotSetting {
        PilotSetting {
            jet: self.jet.as_ref().map(|jet| jet.jet.number),
            richer_turns: self.screw.map(|_| 0.0),
            of_the_jet: 1.0,
            factor: 1.0,
            other_jet: false,
            screw_turned: false,
        }
    }

    /// Every jet with every place of the screw, the present ones among them.
    pub(super) fn settings(&self) -> Vec<PilotSetting> {
        let jets: Vec<(Option<f64>, f64)> = match &self.jet {
            Some(jet) => jet.near().into_iter().map(|(size, fuel)| (Some(size), fuel)).collect(),
            None => vec![(None, 1.0)],
        };
        let turns: Vec<(Option<f64>, f64)> = match &self.screw {
            Some(screw) => screw.choices().into_iter().map(|(turns, fuel)| (Some(turns), fuel)).collect(),
            None => vec![(None, 1.0)],
        };
        let now = self.as_it_is().jet;
        let setting = |(jet, of_the_jet): (Option<f64>, f64), (richer_turns, of_the_screw)| PilotSetting {
            jet,
            richer_turns,
            of_the_jet,
            factor: of_the_jet * of_the_screw,
            other_jet: jet.zip(now).is_some_and(|(jet, now)| !nearly_equal(jet, now)),
            screw_turned: richer_turns.is_some_and(|turns: f64| turns.abs() > 0.0),
        };
        let all = jets.iter().flat_map(|jet| turns.iter().map(|turns| setting(*jet, *turns)));
        all.filter(|setting| FACTOR.check(setting.factor).is_ok()).collect()
    }

    /// The advice for the jet.
    pub(super) fn jet_advice(
        &self,
        asked: &Asked<'_>,
        chosen: &PilotSetting,
        warnings: &mut Vec<String>,
    ) -> Option<JetAdvice> {
        let pilot = self.jet.as_ref()?;
        let percent = |fuel: f64| 100.0 * (fuel / asked.wanted[IDLE].factor - 1.0);
        let percents = Percents { unchanged: percent(1.0), advised: Some(percent(chosen.of_the_jet)) };
        let advice = pilot.jets.advice(Some(pilot.exact.exact), Method::Alone, chosen.jet, percents);
        if !asked.by_record {
            pilot.jets.warn_of_place(&pilot.exact, Rule::Nearest, warnings);
        }
        pilot.jets.warn_of_steps(&advice, warnings);
        Some(advice)
    }

    /// The advice for the screw.
    pub(super) fn screw_advice(
        &self,
        asked: &Asked<'_>,
        chosen: &PilotSetting,
        warnings: &mut Vec<String>,
    ) -> Option<ScrewAdvice> {
        let (screw, turns) = (self.screw.as_ref()?, chosen.richer_turns?);
        let idle = asked.wanted[IDLE].factor;
        // Where pilot jets are at hand, the search has weighed another one.
        if !self.jet.as_ref().is_some_and(|pilot| pilot.jets.are_listed()) {
            screw.warn(idle / chosen.of_the_jet, warnings);
        }
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
