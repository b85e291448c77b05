//! Fuel that is taken for another: a nought too many in the oil, and a new name over the old can's figures.

use super::far::{OIL, is_it_a_slip};
use super::slip::{Questioned, Slip};
use crate::notebook::Fuel;
use crate::notebook::fields::names::same_name;
use crate::notebook::fields::names::visible;
use crate::quantity::{Measure, nearly_equal, trimmed};

/// The question where the oil in the petrol that is asked about is far from what is in the tank.
pub fn oil(tank: Option<&Fuel>, asked: Option<&Fuel>) -> Option<Slip> {
    let oil = |fuel: Option<&Fuel>| Some(fuel?.oil_ratio.as_ref()?.si());
    let (old, new) = (oil(tank)?, oil(asked)?);
    let is_far = (new - old).abs() > OIL * old.abs();
    is_far.then(|| is_it_a_slip("oil_ratio", "petrol to oil", (&trimmed(old, 1), &trimmed(new, 1))))
}

/// The question where the fuel becomes another by its name and not by its ratio of air to fuel: jets would be reckoned from figures of
/// what is not in the tank. A density alone tells no alcohol from petrol.
pub(super) fn figures_of_another(before: Option<&Fuel>, after: Option<&Fuel>) -> Option<Slip> {
    let (before, after) = (before?, after?);
    let (old, new) = (before.name.as_deref()?, after.name.as_deref()?);
    let density = |fuel: &Fuel| fuel.density.as_ref().map(Measure::si);
    let stays = |one: Option<f64>, two: Option<f64>| one.zip(two).map(|(old, new)| nearly_equal(old, new));
    let ratio_stays = stays(ratio(before), ratio(after));
    let density_stays = stays(density(before), density(after));
    let is_known = ratio_stays.is_some() || density_stays.is_some();
    if same_name(old, new) || !is_known || ratio_stays == Some(false) {
        return None;
    }
    let which = if density_stays == Some(false) { "the ratio of air to fuel" } else { "the figures" };
    Some(Slip {
        what: Questioned::Fuel,
        field: "fuel.name".into(),
        question: format!(
            "{} → {} with {which} of {}: are they right for the new fuel? An alcohol wants half as much again and more.",
            visible(old),
            visible(new),
            visible(old)
        ),
        instead: "Add fuel.density and fuel.stoichiometric_ratio of the new one to the same line.".into(),
    })
}

/// The question where a fuel is called an alcohol and burns like petrol. By their formulas ethanol burns with 9.0 of air, methanol with 6.5; the
/// blend of 85 % that is sold lies near 9.8 (all by stoichiometry).
pub fn alcohol(fuel: Option<&Fuel>) -> Option<Slip> {
    let fuel = fuel?;
    let (name, ratio) = (fuel.name.as_deref()?, ratio(fuel)?);
    (is_alcohol(name) && ratio > MOST_OF_AN_ALCOHOL).then(|| Slip {
        what: Questioned::Fuel,
        field: "fuel.stoichiometric_ratio".into(),
        question: format!(
            "{} with a ratio of air to fuel of {}: is it a typing mistake?",
            visible(name),
            trimmed(ratio, 2)
        ),
        instead: "By their formulas ethanol has 9.0 and methanol 6.5; petrol has some 14.7.".into(),
    })
}

/// Whether a fuel is called an alcohol.
pub fn is_alcohol(name: &str) -> bool {
    let bare = name.to_lowercase();
    ["methanol", "ethanol", "alcohol", "e85", "m100"].iter().any(|word| bare.contains(word))
}

/// What petrol weighs at 15 C, kg/m3, and with how much air it burns, by mass: EN 228 allows 720 to 775 kg/m3 at the pump (from memory),
/// what is sold for aircraft and racing goes a little beyond (common practice, no source); ratios lie between those of toluene's blends and
/// of iso-octane, 15.1 by its formula, with some ethanol in it.
const PETROL_KG_M3: std::ops::RangeInclusive<f64> = 690.0..=800.0;
const PETROL_RATIO: std::ops::RangeInclusive<f64> = 14.0..=15.2;

/// The questions about a density, or a ratio of air to fuel, that no petrol has, where it is new: a digit off in one is sizes of jet.
pub fn no_petrol(before: Option<&Fuel>, after: Option<&Fuel>) -> Vec<Slip> {
    let Some(fuel) = after.filter(|fuel| !fuel.name.as_deref().is_some_and(is_alcohol)) else {
        return Vec::new();
    };
    let density = |fuel: &Fuel| fuel.density.as_ref().map(Measure::si);
    let odd = |of: &dyn Fn(&Fuel) -> Option<f64>, usual: &std::ops::RangeInclusive<f64>| {
        let stays = |value: f64| before.and_then(of).is_some_and(|was| nearly_equal(was, value));
        of(fuel).filter(|value| !usual.contains(value) && !stays(*value))
    };
    let slip = |field: &'static str, what: String| {
        Slip {
        what: Questioned::Fuel,
        field: field.into(),
        question: format!("{what}: is it a typing mistake, or no petrol?"),
        instead: "Petrol weighs some 700 to 800 kg/m3 and burns with 14.0 to 15.2 of air; an alcohol is named as one.".into(),
    }
    };
    let heavy = odd(&density, &PETROL_KG_M3)
        .map(|value| slip("fuel.density", format!("A fuel of {} kg/m3", trimmed(value, 1))));
    let ratio = odd(&ratio, &PETROL_RATIO).map(|value| {
        slip("fuel.stoichiometric_ratio", format!("A ratio of air to fuel of {}", trimmed(value, 2)))
    });
    heavy.into_iter().chain(ratio).collect()
}

/// The question where an oil's name is a number: the ratio is most likely meant.
pub(super) fn oil_called_by_a_number(before: Option<&Fuel>, after: Option<&Fuel>) -> Option<Slip> {
    let name = after?.oil.as_deref()?;
    let is_new = before.and_then(|fuel| fuel.oil.as_deref()) != Some(name);
    let number = name.trim().trim_end_matches(":1").trim();
    (is_new && number.parse::<f64>().is_ok()).then(|| Slip {
        what: Questioned::Fuel,
        field: "fuel.oil".into(),
        question: format!("{} is asked for as the name of an oil: is the ratio meant?", visible(name)),
        instead: format!("The ratio is set with oil_ratio={}.", visible(number)).into(),
    })
}

/// Above it there is more petrol than alcohol in a fuel: half of each, by mass, burns with 11.9.
const MOST_OF_AN_ALCOHOL: f64 = 12.0;

fn ratio(fuel: &Fuel) -> Option<f64> {
    fuel.stoichiometric_ratio.as_ref().map(Measure::si)
}
