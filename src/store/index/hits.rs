//! What is looked for, and what was found.

use crate::air::Air;
use crate::notebook::{AirEntry, Combination, When};
use crate::store::index::condition::Condition;
use crate::store::records::{BuildRecord, OutingRecord, PartRecord, SetupRecord};

/// What is looked for; everything given must hold.
#[derive(Debug, Clone, Default)]
pub struct FindQuery {
    /// Only this bike.
    pub bike: Option<String>,
    /// Conditions on fields.
    pub conditions: Vec<Condition>,
    /// Words in reasons and notes.
    pub words: Option<String>,
    /// A part of the place's name.
    pub place: Option<String>,
    /// Not before.
    pub since: Option<When>,
    /// Not after.
    pub until: Option<When>,
    /// Air that should be like this.
    pub air: Option<Air>,
    /// How far the dry density may be off, percent.
    pub within_percent: f64,
}

/// Something found.
#[derive(Debug, Clone)]
pub enum Found {
    /// A setup.
    Setup(SetupRecord),
    /// An outing.
    Outing(OutingRecord),
    /// An assembly of an engine.
    Build(Box<BuildRecord>),
    /// A part, with the date of what happened to it last.
    Part(Box<PartRecord>, When),
}

/// A find with how far its air is from the air that was asked for, in percent of dry density.
#[derive(Debug, Clone)]
pub struct Hit {
    /// What was found.
    pub found: Found,
    /// Difference of the dry density in percent.
    pub air_off_percent: Option<f64>,
}

impl Hit {
    /// The outing, where it is one.
    pub fn outing(&self) -> Option<&OutingRecord> {
        match &self.found {
            Found::Outing(record) => Some(record),
            _ => None,
        }
    }
}

impl FindQuery {
    /// Whether nothing is asked for.
    pub fn is_empty(&self) -> bool {
        self.conditions.is_empty()
            && self.words.is_none()
            && self.place.is_none()
            && self.since.is_none()
            && self.until.is_none()
            && self.air.is_none()
    }

    /// Only outings have a place and a verdict.
    pub(in crate::store) fn asks_of_outings(&self) -> bool {
        self.place.is_some()
            || self
                .conditions
                .iter()
                .any(|condition| condition.is_of_outing() && Combination::leaf(condition.field()).is_none())
    }

    /// Whether no span of time is asked for.
    pub(super) fn is_timeless(&self) -> bool {
        self.since.is_none() && self.until.is_none()
    }

    pub(super) fn in_time(&self, date: When) -> bool {
        self.since.is_none_or(|since| date >= since) && self.until.is_none_or(|until| date <= until)
    }

    /// Makes a hit of what was found, if its air is near enough.
    pub(in crate::store) fn hit(&self, found: Found, air: Option<&AirEntry>) -> Option<Hit> {
        let Some(wanted) = &self.air else {
            return Some(Hit { found, air_off_percent: None });
        };
        let dry_density = air?.air().ok()?.dry_density();
        let percent = 100.0 * (dry_density / wanted.dry_density() - 1.0);
        (percent.abs() <= self.within_percent).then_some(Hit { found, air_off_percent: Some(percent) })
    }
}
