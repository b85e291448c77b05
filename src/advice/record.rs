//! What of a rejet is to be set on the bike as it is now: the advice starts from a baseline, and the bike may have moved on.

use super::rejet::{ClipAdvice, Rejet};
use crate::notebook::FieldSet;
use crate::quantity::{nearly_equal, trimmed};

/// Fields and values that make the bike what the rejet advises; those it has already are left out.
pub fn to_set(rejet: &Rejet, now: &FieldSet) -> Vec<(String, String)> {
    let mut wanted: Vec<(String, f64, &str)> = Vec::new();
    for jet in &rejet.jets {
        wanted.extend(jet.advised.map(|advised| (jet.field.to_owned(), advised, "")));
    }
    let clip = match rejet.clip {
        ClipAdvice::NotComputed { .. } => None,
        ClipAdvice::Stays { clip, .. } => Some(clip),
        ClipAdvice::Move { to, .. } => Some(to),
    };
    wanted.extend(clip.map(|clip| ("jetting.clip".to_owned(), f64::from(clip), "")));
    wanted.extend(rejet.screw.as_ref().map(|screw| (screw.field.to_owned(), screw.to_turns, " turns")));
    let differs = |field: &str, value: f64| {
        now.quantity(field).is_none_or(|quantity| !nearly_equal(quantity.value(), value))
    };
    let mut set: Vec<_> = wanted
        .into_iter()
        .filter(|(field, value, _)| differs(field, *value))
        .map(|(field, value, unit)| (field, format!("{}{unit}", trimmed(value, 4))))
        .collect();
    if let Some(advice) = &rejet.injection
        && differs("injection.trim", advice.to_percent)
    {
        set.push(("injection.trim".to_owned(), format!("{} %", trimmed(advice.to_percent, 1))));
    }
    let others =
        rejet.assignments.iter().filter(|(field, _)| field.starts_with("fuel.") || field == "jetting.needle");
    set.extend(
        others.filter(|(field, value)| now.get(field).is_none_or(|known| known.text() != *value)).cloned(),
    );
    set
}

/// Fields of the jetting in which the bike as it is now differs from the baseline: the advice overrides them.
pub fn moved_on(baseline: &FieldSet, now: &FieldSet) -> Vec<String> {
    let comparison = crate::notebook::compare(baseline, now);
    comparison
        .changes
        .into_iter()
        .map(|change| change.field)
        .filter(|field| !field.starts_with("notes"))
        .collect()
}
