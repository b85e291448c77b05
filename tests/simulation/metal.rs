//! The carburetor as metal: what a jet of the box really passes, and what reedbook's theory holds it for.

use std::f64::consts::FRAC_PI_4;

use super::chance::Chance;

/// What the number on a jet counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Numbering {
    /// The bore, in hundredths of a millimetre.
    Bore,
    /// What runs through it.
    Flow,
}

/// The one jet numbered by flow whose bore was measured, mm.
pub(crate) const KNOWN_FLOW_JET: (f64, f64) = (160.0, 1.70);

/// The box: from the smallest number to the largest.
const BOX: (f64, f64) = (140.0, 200.0);

/// A main jet and the ring that the needle leaves open with the slide fully up, in series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Carburetor {
    /// What its jets' numbers count.
    pub(crate) numbering: Numbering,
    /// From one jet of the box to the next.
    pub(crate) step: f64,
    /// Bore of the needle jet, mm.
    pub(crate) needle_jet_mm: f64,
    /// Diameter of the needle where it stands in the needle jet at full lift, mm.
    pub(crate) needle_mm: f64,
}

impl Carburetor {
    /// One out of many, with its box.
    pub(crate) fn drawn(chance: &mut Chance) -> Self {
        let (numbering, step) =
            [(Numbering::Bore, 2.5), (Numbering::Bore, 2.0), (Numbering::Flow, 2.5)][chance.below(3)];
        let hundredths = |mm: f64| (100.0 * mm).round() / 100.0;
        Self {
            numbering,
            step,
            needle_jet_mm: hundredths(chance.between(2.60, 2.70)),
            needle_mm: hundredths(chance.between(1.50, 1.70)),
        }
    }

    /// The numbers in the box, the smallest first.
    pub(crate) fn numbers(&self) -> Vec<f64> {
        let (smallest, largest) = BOX;
        let mut numbers = vec![smallest];
        while let Some(next) = numbers.last().map(|last| last + self.step).filter(|next| *next <= largest) {
            numbers.push(next);
        }
        numbers
    }

    /// Area of a jet's hole, mm2.
    fn jet_mm2(&self, number: f64) -> f64 {
        match self.numbering {
            Numbering::Bore => FRAC_PI_4 * (number / 100.0).powi(2),
            Numbering::Flow => FRAC_PI_4 * KNOWN_FLOW_JET.1.powi(2) * number / KNOWN_FLOW_JET.0,
        }
    }

    /// Area of one hole that would pass what jet and ring pass in series, mm2 of the jet's kind. `annulus_discharge` is how
    /// well the ring passes fuel beside a jet of its area: reedbook holds it for 1.
    pub(crate) fn effective_mm2(&self, number: f64, annulus_discharge: f64) -> f64 {
        let annulus = FRAC_PI_4 * (self.needle_jet_mm.powi(2) - self.needle_mm.powi(2)) * annulus_discharge;
        let jet = self.jet_mm2(number);
        1.0 / (1.0 / jet.powi(2) + 1.0 / annulus.powi(2)).sqrt()
    }
}
