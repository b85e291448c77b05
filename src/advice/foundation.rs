//! What an advice stands on: the setup that was right, for the combination that is on the bike.
//!
//! An engine, a pipe or an ignition of its own makes another combination; what ran right on another one is only a guess for this.

use super::learning::{other_parts, sign_of_lean};
use super::rejet::setting::moved_on;
use crate::notebook::{AirEntry, Combination, Doubted, Mixture, differing, section_of};
use crate::store::{Book, OutingRecord, SetupRecord, StoreError};

/// How near a setup's combination is to the one on the bike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Nearness {
    /// Another engine, pipe or carburetor.
    Another,
    /// The same but for the ignition, the fuel, or what was changed inside the engine.
    Near,
    /// The same.
    Same,
}

/// Why a setup is stood on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// It was named.
    Named,
    /// It is marked proven.
    Proven(Nearness),
    /// It ran right at full throttle.
    RanRight(Nearness),
}

impl Ground {
    /// How near its combination is to the one on the bike.
    pub fn nearness(self) -> Nearness {
        match self {
            Self::Named => Nearness::Same,
            Self::Proven(nearness) | Self::RanRight(nearness) => nearness,
        }
    }
}

/// A setup, the air it was right in, where that is from, and why it is stood on.
#[derive(Debug, Clone)]
pub struct Foundation {
    /// The setup.
    pub setup: SetupRecord,
    /// Its air, and where that is from; none where it is not known.
    pub air: Option<(AirEntry, String)>,
    /// Why.
    pub ground: Ground,
}

/// Finds what advice for a bike as it stands rests on: the nearest combination that was right; as near as each other, a proven setup that
/// ran right before one that only ran right at full throttle, and that before a mark without a run, which is a promise; the newest of
/// each. None where nothing was ever right.
pub fn find(book: &Book<'_>, bike: &str, now: &Combination) -> Result<Option<Foundation>, StoreError> {
    let setups = book.setups(bike)?;
    let outings = book.outings(bike)?;
    let marks = book.garage().bike(bike)?.proven;
    let mut proven: Vec<(&SetupRecord, _)> =
        setups.iter().filter_map(|setup| Some((setup, marks.get(&setup.id)?.date))).collect();
    proven.sort_by_key(|(setup, date)| std::cmp::Reverse((*date, setup.number)));
    let ran: Vec<(&SetupRecord, &OutingRecord)> = outings
        .iter()
        .rev()
        .filter(|record| ran_right(record))
        .filter_map(|record| Some((setups.iter().find(|setup| Some(setup.number) == record.setup)?, record)))
        .collect();
    let mut seen = SetupsRead { book, now, known: Vec::new() };
    let same = Stood { nearness: Nearness::Same, alike: true };
    let unlike = |nearness| Stood { nearness, alike: false };
    for wanted in [same, unlike(Nearness::Same), unlike(Nearness::Near), unlike(Nearness::Another)] {
        let has_run = |setup: &SetupRecord| ran.iter().any(|(other, _)| other.number == setup.number);
        for (setup, _) in proven.iter().filter(|(setup, _)| has_run(setup)) {
            if seen.stood(setup)? >= wanted {
                return found(book, setup, Ground::Proven(wanted.nearness), None);
            }
        }
        for (setup, record) in &ran {
            if seen.stood(setup)? >= wanted {
                return found(book, setup, Ground::RanRight(wanted.nearness), Some(record));
            }
        }
        for (setup, _) in proven.iter().filter(|(setup, _)| !has_run(setup)) {
            if seen.stood(setup)? >= wanted {
                return found(book, setup, Ground::Proven(wanted.nearness), None);
            }
        }
    }
    Ok(None)
}

fn found(
    book: &Book<'_>,
    setup: &SetupRecord,
    ground: Ground,
    ran: Option<&OutingRecord>,
) -> Result<Option<Foundation>, StoreError> {
    let of_run = ran.and_then(|record| {
        Some((record.outing.air.clone()?, format!("right on {}", record.outing.date.day())))
    });
    let air = match of_run {
        Some(air) => Some(air),
        None => book.air_of(&setup.bike, setup)?,
    };
    Ok(Some(Foundation { setup: setup.clone(), air, ground }))
}

/// Whether an outing was right at full throttle in an air that is known.
fn ran_right(record: &OutingRecord) -> bool {
    let outing = &record.outing;
    outing.at_full_throttle() == Some(Mixture::Right)
        && sign_of_lean(outing).is_none()
        && !outing.doubts(Doubted::Air)
        && outing.air.as_ref().is_some_and(|air| air.air().is_ok())
}

/// How a setup stands to the bike as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Stood {
    nearness: Nearness,
    /// Whether it is the same in all that the mixture depends on and that an advice does not set, such as a shim or the slide.
    alike: bool,
}

/// Setups that were looked at, each read once.
struct SetupsRead<'a> {
    book: &'a Book<'a>,
    now: &'a Combination,
    known: Vec<(u32, Stood)>,
}

impl SetupsRead<'_> {
    fn stood(&mut self, setup: &SetupRecord) -> Result<Stood, StoreError> {
        if let Some((_, stood)) = self.known.iter().find(|(number, _)| *number == setup.number) {
            return Ok(*stood);
        }
        let whole = self.book.combination(&setup.bike, Some(setup))?;
        let mut others = other_parts(&self.now.fields, &whole.fields);
        let is_fuel = |field: &str| section_of(field) == "fuel" && !field.ends_with("temperature");
        if differing(&self.now.fields, &whole.fields).any(is_fuel) {
            others.push("fuel");
        }
        let near = |part: &&str| ["ignition", "inside of the engine", "fuel"].contains(part);
        let nearness = match others.as_slice() {
            _ if !whole.findings.is_empty() => Nearness::Another,
            [] => Nearness::Same,
            others if others.iter().all(near) => Nearness::Near,
            _ => Nearness::Another,
        };
        let alike = nearness == Nearness::Same && moved_on(&whole.fields, &self.now.fields).is_empty();
        let stood = Stood { nearness, alike };
        self.known.push((setup.number, stood));
        Ok(stood)
    }
}

/// Whether a setup ran right at full throttle at all: a mark without a run is a promise.
pub fn has_run_right(book: &Book<'_>, setup: &SetupRecord) -> Result<bool, StoreError> {
    let outings = book.outings(&setup.bike)?;
    Ok(outings.iter().any(|record| record.setup == Some(setup.number) && ran_right(record)))
}
