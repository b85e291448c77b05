//! What still holds a bike or a setup, for whoever looks at it or vouches for it.

use super::hold::{Hold, Reference, Tables};
use super::holds::Holds;
use super::said::{capital, was};
use crate::air::Air;
use crate::notebook::{Combination, Mixture, Setup, throttle};
use crate::store::OutingRecord;

/// What a bike's record holds, for a look at it.
#[derive(Debug, Clone, Default)]
pub struct StillLean {
    /// What must be looked into before it runs, in sentences.
    pub stops: Vec<String>,
    /// What must be known, in sentences.
    pub known: Vec<String>,
}

/// The lean run that an answer would name first, where it still holds: what came since did not judge that throttle, or was no richer. `last`
/// is the newest run, which is told of beside it where it calls for something.
pub fn still_lean(
    holds: &Holds,
    stands: (Reference<'_>, &Setup),
    (air, tables): (Option<&Air>, &Tables<'_>),
    last: Option<&OutingRecord>,
) -> StillLean {
    let mut found = StillLean::default();
    found.stops.extend(holds.mended.clone());
    // What is only slightly lean below full throttle calls for nothing by itself.
    let calls = |hold: &&Hold| hold.zone == "full" || hold.seizure || hold.words == "lean";
    let said = last.filter(|said| holds.holds.iter().filter(calls).any(|hold| hold.outing.id == said.id));
    let is_said = |hold: &Hold| said.is_some_and(|said| said.id == hold.outing.id);
    // What is to be run in first says all of a throttle that is not held open.
    let counts = |hold: &Hold| holds.mended.is_none() || hold.zone == "full" || hold.seizure;
    let here = |hold: &Hold| !is_said(hold) && is_its_own(hold) && !hold.mended && counts(hold);
    if let Some(first) = holds.named_first(stands, air, tables, here) {
        let grave = first.seizure || first.zone == "full" && first.is_detonation();
        let words = in_a_sentence(holds, first);
        if grave { found.stops.push(words) } else { found.known.push(words) }
    } else if let Some(seized) =
        holds.not_again.iter().find(|hold| hold.seizure && !hold.mended && !is_said(hold))
    {
        found.stops.push(format!(
            "{}, and no cause is written down: what was right on more since does not clear it yet.",
            capital(&ran_lean(seized))
        ));
    }
    found
}

/// A lean run that still holds a throttle of a setup.
#[derive(Debug, Clone)]
pub struct StillHeld {
    /// The run and its throttles, in a sentence.
    pub sentence: String,
    /// Whether nobody is to vouch for the setup without saying so once more.
    pub is_grave: bool,
    /// The run's bike.
    pub bike: String,
    /// The run.
    pub run: String,
}

impl StillHeld {
    fn of(holds: &Holds, hold: &Hold, is_grave: bool) -> Self {
        let OutingRecord { bike, id, .. } = &hold.outing;
        Self { sentence: in_a_sentence(holds, hold), is_grave, bike: bike.clone(), run: id.clone() }
    }

    /// The same of one of several cylinders.
    #[must_use]
    pub fn at_cylinder(self, name: &str) -> Self {
        Self { sentence: format!("Cylinder {name}: {}", self.sentence), ..self }
    }
}

/// The run that holds full throttle; graver is one on this setup, with this engine in another bike, where the setup never ran and has
/// less than is asked for, or where it has no more than what seized. None where a later run or a cause let it go.
pub fn still_lean_at_full(
    holds: &Holds,
    (setup, whole, ran): (u32, &Combination, bool),
    tables: &Tables<'_>,
) -> Option<StillHeld> {
    let holding = |hold: &&Hold| (hold.zone == "full" || hold.seizure) && !hold.mended && is_its_own(hold);
    let on_it = |hold: &&Hold| hold.was_in_another_bike() || hold.setup() == Some(setup);
    let too_little = |hold: &&Hold| {
        let least = Reference::of(whole).and_then(|reference| hold.least_over(reference, None, tables));
        !ran && least.is_none_or(|least| least > 1.0)
    };
    // A copy of what seized is what seized.
    let repeats = |hold: &&Hold| {
        let repeated = |reference| hold.is_repeated_by(reference, None, tables);
        hold.seizure && Reference::of(whole).is_some_and(repeated)
    };
    let grave = |hold: &&Hold| on_it(hold) || too_little(hold) || repeats(hold);
    let all = || holds.holds.iter().filter(holding);
    let hold = all().find(grave).or_else(|| all().next())?;
    Some(StillHeld::of(holds, hold, grave(&hold)))
}

/// Whether a hold speaks of the combination itself: it ran on it, its engine did in another bike, or it seized in the same carburetor.
pub(super) fn is_its_own(hold: &Hold) -> bool {
    hold.seizure || hold.other_parts().next().is_none()
}

/// ", with another pipe": in what a run's combination was another one.
pub(super) fn with_another(hold: &Hold) -> String {
    let parts: Vec<&str> = hold.other_parts().collect();
    if parts.is_empty() { String::new() } else { format!(", with another {}", parts.join(" and another ")) }
}

/// "the run of 2026-05-15 09:40, setup 1 of heron, was lean ("pinged") at full throttle".
pub(super) fn ran_lean(hold: &Hold) -> String {
    format!(
        "the run of {}{}{} {} at {}",
        hold.outing.outing.date.short(),
        hold.on_setup(),
        with_another(hold),
        was(hold),
        throttle(hold.zone)
    )
}

/// The lean runs that still hold a throttle below full; graver is what was plainly lean: those on this setup, and of
/// plainly lean ones those on another that had as much fuel there as this setup has in `air`. `right_at` says where it was right itself.
pub fn still_lean_below(
    holds: &Holds,
    (setup, whole): (u32, &Combination),
    (air, tables): (Option<&Air>, &Tables<'_>),
    right_at: impl Fn(&str) -> bool,
) -> Vec<StillHeld> {
    let reference = Reference::of(whole);
    let is_plain = |hold: &Hold| hold.words != Mixture::SlightlyLean.words();
    let counts = |hold: &&Hold| {
        let repeated = || reference.is_some_and(|reference| hold.is_repeated_by(reference, air, tables));
        let here = hold.zone != "full" && !hold.seizure && !hold.mended && hold.elsewhere.is_empty();
        here && (hold.setup() == Some(setup) || is_plain(hold) && !right_at(hold.zone) && repeated())
    };
    let mut found: Vec<&Hold> = Vec::new();
    for hold in holds.holds.iter().filter(counts) {
        match found.iter_mut().find(|other| other.outing.id == hold.outing.id) {
            Some(other) if is_plain(hold) && !is_plain(other) => *other = hold,
            Some(_) => {}
            None => found.push(hold),
        }
    }
    found.into_iter().map(|hold| StillHeld::of(holds, hold, is_plain(hold))).collect()
}

fn in_a_sentence(holds: &Holds, hold: &Hold) -> String {
    let of_run = holds.holds.iter().filter(|other| other.outing.id == hold.outing.id);
    let zones: Vec<String> = of_run.map(|hold| throttle(hold.zone)).collect();
    format!(
        "The run of {}{}{} {} at {}, and none since was right there on more: nothing leaner there.",
        hold.outing.outing.date.short(),
        hold.on_setup(),
        with_another(hold),
        was(hold),
        zones.join(" and ")
    )
}
