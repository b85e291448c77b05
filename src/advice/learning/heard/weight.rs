//! How alike an outing's bike is to the bike as it stands: which parts of the combination ran, by number.

use crate::advice::learning::model::kinship::{Spreads, likeness};
use crate::advice::learning::model::verdicts::{KINDS, Spoken};
use crate::notebook::fields::meaning::Recorded;
use crate::notebook::{Combination, FieldSet, differing};
use crate::quantity::trimmed;

/// The kinds of parts that make a combination, in the order of [`Spoken::ran`].
pub const KIND_NAMES: [&str; KINDS] =
    ["engine", "inside of the engine", "ignition", "pipe", "carburetor", "fuel not comparable"];

/// Place of the fuel among the kinds.
pub(in crate::advice::learning) const FUEL: usize = 5;

/// How much an outing has in common with the bike as it stands, and why not all.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// How alike it is, 0 to 1, in whole percent.
    pub total: f64,
    /// The parts that were others.
    pub other_parts: Vec<&'static str>,
    /// Days before the newest outing.
    pub days: f64,
}

impl Weight {
    /// Of a run, under a doubt of the bike's centre and the spreads between parts.
    pub(in crate::advice::learning) fn of(centre: f64, spreads: &Spreads, run: &Spoken) -> Self {
        let others = KIND_NAMES.iter().zip(run.ran).filter(|(_, ran)| *ran != 0).map(|(name, _)| *name);
        let cylinder = (run.cylinder != 0).then_some("cylinder");
        Self {
            total: whole_percent(likeness(centre, spreads, run)),
            other_parts: cylinder.into_iter().chain(others).collect(),
            days: run.days,
        }
    }

    /// Whether it is the combination on the bike, and the cylinder that is asked about, whatever its age.
    pub fn is_own(&self) -> bool {
        self.other_parts.is_empty()
    }

    /// Why it is not the bike as it stands, "other engine, pipe; 230 days before".
    pub fn words(&self) -> String {
        let mut words = Vec::new();
        if !self.is_own() {
            words.push(format!("other {}", self.other_parts.join(", ")));
        }
        if self.days >= 30.0 {
            words.push(format!("{} days before", trimmed(self.days, 0)));
        }
        words.join("; ")
    }
}

fn whole_percent(share: f64) -> f64 {
    (100.0 * share).round() / 100.0
}

/// The kinds of parts, fuel and followed jetting left out, in which two setups differ and that the mixture depends on.
pub(in crate::advice::learning) fn other_kinds(one: &FieldSet, other: &FieldSet) -> [bool; KINDS] {
    let mut kinds = [false; KINDS];
    for kind in differing(one, other).filter_map(kind_of) {
        kinds[kind] = true;
    }
    kinds
}

/// The parts in which two setups are other combinations, jets, needle and fuel aside, which are reckoned with.
pub fn other_parts(one: &FieldSet, other: &FieldSet) -> Vec<&'static str> {
    let differs = other_kinds(one, other);
    KIND_NAMES.iter().zip(differs).filter(|(_, differs)| *differs).map(|(name, _)| *name).collect()
}

/// The parts of the combination that ran in each setup, numbered; 0 is the one on the bike as it stands.
#[derive(Debug)]
pub(in crate::advice::learning) struct Numbered<'a> {
    /// Setups that brought a part of their own, the bike as it stands first.
    known: Vec<(&'a FieldSet, [u16; KINDS])>,
    next: u16,
}

impl<'a> Numbered<'a> {
    pub(in crate::advice::learning) fn from(now: &'a FieldSet) -> Self {
        Self { known: vec![(now, [0; KINDS])], next: 1 }
    }

    /// The numbers of a setup's parts.
    pub(in crate::advice::learning) fn of(&mut self, fields: &'a FieldSet) -> [u16; KINDS] {
        let mut ran: [Option<u16>; KINDS] = [None; KINDS];
        for (other, numbers) in &self.known {
            let differs = other_kinds(other, fields);
            for (place, known) in ran.iter_mut().enumerate() {
                *known = known.or((!differs[place]).then_some(numbers[place]));
            }
            if ran.iter().all(Option::is_some) {
                break;
            }
        }
        let is_new = ran.iter().any(Option::is_none);
        let ran = ran.map(|known| known.unwrap_or(self.next));
        if is_new {
            self.next += 1;
            self.known.push((fields, ran));
        }
        ran
    }
}

/// The kind of part that was another one where a field was; none where the mixture does not depend on it, or the calculation follows it.
fn kind_of(field: &str) -> Option<usize> {
    match Combination::meaning(field)?.record {
        Recorded::OtherEngine => Some(0),
        Recorded::OtherInside => Some(1),
        Recorded::OtherIgnition => Some(2),
        Recorded::OtherPipe => Some(3),
        Recorded::OtherCarburetor => Some(4),
        Recorded::Followed | Recorded::Alike => None,
    }
}
