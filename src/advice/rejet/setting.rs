//! What of a rejet is to be set on the bike as it is now: the advice starts from a baseline, and the bike may have moved on.

use super::{ClipAdvice, JetAdvice, Rejet};
use crate::notebook::fields::meaning::{Advised, Hurts, When};
use crate::notebook::{Combination, FieldSet, compare, section_of};
use crate::quantity::{Quantity, nearly_equal, trimmed};

/// The needle's field.
const NEEDLE: &str = "jetting.needle";

/// The pilot jet's field.
const PILOT: &str = "jetting.pilot";

/// The screws beside it.
const SCREWS: [&str; 2] = ["jetting.air_screw", "jetting.fuel_screw"];

/// The power jet's field.
const POWER_JET: &str = "jetting.power_jet";

/// Fields and values that make the bike what the rejet advises; those it has already are left out. A main jet and a clip are for
/// one needle: where the bike has taken another one since the baseline, that goes back too.
pub fn to_set(rejet: &Rejet, baseline: &FieldSet, now: &FieldSet) -> Vec<(String, String)> {
    // Without a main jet it is not to be run: nothing else is turned for it.
    if rejet.lacks_a_main_jet() {
        return Vec::new();
    }
    let mut wanted: Vec<(String, f64, &str)> = Vec::new();
    for jet in &rejet.jets {
        // Much leaner is gone in steps, and the first of them is what is on the bike until the plug was read.
        let next = jet.steps.first().copied().or(jet.advised);
        wanted.extend(next.map(|next| (jet.field.to_owned(), next, "")));
    }
    let clip = match rejet.clip {
        // What is only worth a try is the tuner's to record once it was tried.
        ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. } => None,
        ClipAdvice::Stays { clip, .. } => Some(clip),
        ClipAdvice::Move { to, .. } => Some(to),
    };
    wanted.extend(clip.map(|clip| ("jetting.clip".to_owned(), f64::from(clip), "")));
    wanted.extend(rejet.screw.as_ref().map(|screw| (screw.field.to_owned(), screw.to_turns, " turns")));
    let differs = |field: &str, value: f64| {
        now.quantity(field).is_none_or(|quantity| !nearly_equal(quantity.value(), value))
    };
    let renumbered: Vec<String> = rejet
        .jets
        .iter()
        .filter(|jet| !counts_alike(baseline, now, jet.field))
        .map(|jet| jet.field.to_owned())
        .collect();
    let differs =
        |field: &str, value: f64| renumbered.iter().any(|jet| jet == field) || differs(field, value);
    let mut set: Vec<_> = wanted
        .into_iter()
        .filter(|(field, value, _)| differs(field, *value))
        .map(|(field, value, unit)| (field, format!("{}{unit}", trimmed(value, 4))))
        .collect();
    // A number says nothing without what it counts.
    for jet in &renumbered {
        for field in [numbering_of(jet), format!("{jet}_series")] {
            let value =
                baseline.get(&field).filter(|value| now.get(&field).is_none_or(|now| !now.same_as(value)));
            set.extend(value.map(|value| (field.clone(), value.text())));
        }
    }
    if let Some(advice) = &rejet.injection
        && differs("injection.trim", advice.next_percent())
    {
        set.push(("injection.trim".to_owned(), format!("{} %", trimmed(advice.next_percent(), 4))));
    }
    let others = rejet.assignments.iter().filter(|(field, _)| field.starts_with("fuel."));
    let needle = rejet.needle.as_ref().map(|needle| needle.to.as_str()).or_else(|| baseline.text(NEEDLE));
    set.extend(
        needle
            .filter(|needle| !rejet.jets.is_empty() && now.text(NEEDLE) != Some(*needle))
            .map(|needle| (NEEDLE.to_owned(), needle.to_owned())),
    );
    let rest = baseline.iter().filter(|(field, _)| advised(field) == Advised::FitsBack);
    let clip = baseline
        .get("jetting.clip")
        .filter(|_| matches!(rejet.clip, ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. }));
    let whole =
        rest.map(|(field, entry)| (field, &entry.value)).chain(clip.map(|clip| ("jetting.clip", clip)));
    set.extend(
        whole
            .filter(|(field, value)| now.get(field).is_some_and(|known| !known.same_as(value)))
            .map(|(field, value)| (field.to_owned(), value.text())),
    );
    set.extend(
        others.filter(|(field, value)| now.get(field).is_none_or(|known| known.text() != *value)).cloned(),
    );
    set
}

/// Whether an advice makes the bike run on less fuel, at any throttle, than it does as it stands. `delivered` gives the fuel that the
/// bike as it stands passes at a zone over what the baseline passes, where that can be said.
pub fn takes_fuel_away(
    rejet: &Rejet,
    (now, to_set): (&FieldSet, &[(String, String)]),
    delivered: impl Fn(&str) -> Option<f64>,
) -> bool {
    if let Some(advice) = &rejet.injection {
        let trim = now.quantity("injection.trim").map_or(0.0, |trim| 100.0 * trim.si());
        return advice.to_percent < trim && !nearly_equal(100.0 + advice.to_percent, 100.0 + trim);
    }
    let less = |then: f64, now: f64| then < now && !nearly_equal(then, now);
    if rejet.zones.is_empty() {
        return rejet.takes_fuel_away();
    }
    // Larger jets, a higher needle, a screw to the rich side take nothing away, whatever needle hangs over them.
    // A screw is set anew for a larger pilot jet.
    let set_richer = |(field, value): &(String, String)| is_richer(field, value, now);
    let larger_pilot = || to_set.iter().any(|set| set.0 == PILOT && set_richer(set));
    let only_richer = to_set.iter().all(|set| set_richer(set) || SCREWS.contains(&&*set.0) && larger_pilot());
    // What cannot be set against the baseline otherwise, a needle that nobody measured, may have had more.
    let zones = rejet.zones.iter().filter(|_| !only_richer);
    zones.into_iter().any(|zone| delivered(zone.zone).is_none_or(|now| less(zone.delivered, now)))
}

/// Whether an advice makes the bike run on less fuel, at any throttle, than the advice before it did that is fitted by then: both of
/// one setup and one fuel.
pub fn takes_fuel_away_after(before: &Rejet, rejet: &Rejet) -> bool {
    let less = |then: f64, now: f64| then < now && !nearly_equal(then, now);
    if let (Some(now), Some(then)) = (&before.injection, &rejet.injection) {
        return less(100.0 + then.to_percent, 100.0 + now.to_percent);
    }
    let fewer = |jet: &JetAdvice| {
        let had = before.jets.iter().find(|had| had.circuit == jet.circuit).and_then(|had| had.advised);
        jet.advised.zip(had).is_some_and(|(then, now)| less(then, now))
    };
    let had = |zone: &str| before.zones.iter().find(|had| had.zone == zone).map(|had| had.delivered);
    rejet.zones.iter().any(|zone| had(zone.zone).is_none_or(|now| less(zone.delivered, now)))
        || (rejet.zones.is_empty() && rejet.jets.iter().any(fewer))
}

/// Whether anything of what meters the fuel is set to the lean side of what is on the bike, or to where that cannot be said.
pub fn any_leaner(to_set: &[(String, String)], now: &FieldSet) -> bool {
    let meters = |field: &str| ["jetting", "injection"].contains(&section_of(field));
    to_set.iter().any(|(field, value)| meters(field) && !is_richer(field, value, now))
}

/// Whether a field that is set gives more fuel than what is on the bike, wherever it feeds.
fn is_richer(field: &str, value: &str, now: &FieldSet) -> bool {
    let Some(Hurts::Leaner { when, .. }) = Combination::meaning(field).map(|meaning| &meaning.hurts) else {
        return false;
    };
    let then = value.split_whitespace().next().and_then(|number| number.parse::<f64>().ok());
    let both = then.zip(now.quantity(field).map(Quantity::value));
    both.is_some_and(|(then, now)| match when {
        When::Less => then >= now,
        When::More => then <= now,
    })
}

/// The main jet's number, or the trim in percent, of the bike as it stands: steps to a leaner one count from it.
pub fn metered_now(now: &FieldSet) -> Option<f64> {
    let main = now.quantity("jetting.main").map(Quantity::si);
    main.or_else(|| now.quantity("injection.trim").map(|trim| 100.0 * trim.si()))
}

/// Whether the number of a jet counts the same in two setups: by its bore or by its flow. Where one of them does not say so it is taken to.
pub fn counts_alike(one: &FieldSet, other: &FieldSet, jet: &str) -> bool {
    let counted = |fields: &FieldSet| fields.get(&numbering_of(jet)).cloned();
    counted(one).zip(counted(other)).is_none_or(|(one, other)| one.same_as(&other))
}

/// The field that says what a jet's number counts.
fn numbering_of(jet: &str) -> String {
    format!("{jet}_numbered_by")
}

/// The same of another setup of the bike, where its number means the same as what is on the bike.
pub fn metered_like(other: &FieldSet, now: &FieldSet) -> Option<f64> {
    let alike = |field: &str| match (other.get(field), now.get(field)) {
        (Some(other), Some(now)) => other.same_as(now),
        (None, None) => true,
        _ => false,
    };
    metered_now(other).filter(|_| scale_of_the_main_jet().all(alike))
}

/// The fields that have to be the same for a main jet's number to stand for the same fuel, needle and jets aside, which are reckoned with.
pub(in crate::advice) fn scale_of_the_main_jet() -> impl Iterator<Item = &'static str> {
    let scales = Combination::meanings().iter().filter(|(_, meaning)| meaning.makes.scales_the_main_jet());
    scales.map(|(field, _)| field.as_str())
}

/// What an advice does with a field; what was not foreseen it spares.
fn advised(field: &str) -> Advised {
    Combination::meaning(field).map_or(Advised::Spares, |meaning| meaning.advice)
}

/// Whether a field can be fitted again as the setup had it that an advice stands on, or is set by the advice: the advice is for it. Not so
/// another carburetor, nor what the jets' numbers count.
pub fn is_fitted(field: &str) -> bool {
    matches!(advised(field), Advised::Sets | Advised::FitsBack)
}

/// Fields that the mixture depends on, that the advice does not set, and in which the bike as it is now differs from the
/// baseline: the advice is for another combination.
pub fn moved_on(baseline: &FieldSet, now: &FieldSet) -> Vec<String> {
    let changed = compare(baseline, now).changes.into_iter().map(|change| change.field);
    // No advice sets a power jet where the setup that it stands on had none.
    let is_added = |field: &str| field == POWER_JET && baseline.get(field).is_none();
    let counts =
        |field: &String| is_added(field) || matches!(advised(field), Advised::FitsBack | Advised::StandsOn);
    changed.filter(counts).collect()
}
