//! Fuel that is taken for another: a nought too many in the oil, and a new name over the old can's figures.

use super::far::{OIL, is_it_a_slip};
use super::{Questioned, Slip, same_name};
use crate::notebook::Fuel;
use crate::notebook::fields::names::visible;
use crate::quantity::{Measure, nearly_equal, trimmed};

/// The question where the oil in the petrol that is asked about is far from what is in the tank.
pub fn oil(tank: Option<&Fuel>, asked: Option<&Fuel>) -> Option<Slip> {
    let ratio = |fuel: Option<&Fuel>| Some(fuel?.oil_ratio.as_ref()?.si());
    let (old, new) = (ratio(tank)?, ratio(asked)?);
    let is_far = (new - old).abs() > OIL * old.abs();
    is_far.then(|| is_it_a_slip("oil_ratio", "petrol to oil", (&trimmed(old, 1), &trimmed(new, 1))))
}

/// The question where only the name of the fuel becomes another: jets would be reckoned from figures of what is not in the tank.
pub(super) fn figures_of_another(before: Option<&Fuel>, after: Option<&Fuel>) -> Option<Slip> {
    let (before, after) = (before?, after?);
    let (old, new) = (before.name.as_deref()?, after.name.as_deref()?);
    let density = |fuel: &Fuel| fuel.density.as_ref().map(Measure::si);
    let air = |fuel: &Fuel| fuel.stoichiometric_ratio.as_ref().map(Measure::si);
    let stays = |figure: &dyn Fn(&Fuel) -> Option<f64>| {
        figure(before).zip(figure(after)).map(|(old, new)| nearly_equal(old, new))
    };
    let figures = [stays(&density), stays(&air)];
    let all_stay = figures.iter().flatten().count() > 0 && figures.iter().flatten().all(|stays| *stays);
    (!same_name(old, new) && all_stay).then(|| Slip {
        what: Questioned::Fuel,
        field: "fuel.name".into(),
        question: format!(
            "{} → {} with the figures of {}: are they right for the new fuel? An alcohol wants half as much again and more.",
            visible(old),
            visible(new),
            visible(old)
        ),
        instead: "Add fuel.density and fuel.stoichiometric_ratio of the new one to the same line.".into(),
    })
}
