//! The air that a setup is known in.

use crate::air::SAME_AIR;
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Doubted, Mixture};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::records::{OutingRecord, SetupRecord};

impl Book<'_> {
    /// The air a setup is known in: its proven mark's, else its newest outing's, else the change's. A mark for an air in which it never ran
    /// right, while it did in another, is a promise beside a run: then the run's air counts.
    pub fn air_of(&self, bike: &str, setup: &SetupRecord) -> Result<Option<(AirEntry, String)>, StoreError> {
        let outings = self.outings(bike)?;
        let believed = |record: &&OutingRecord| {
            record.setup == Some(setup.number)
                && record.outing.air.is_some()
                && !record.outing.doubts(Doubted::Air)
        };
        let was_right = |record: &&OutingRecord| {
            record.outing.verdict.as_ref().and_then(|verdict| verdict.full) == Some(Mixture::Right)
        };
        let mark = self.garage().bike(bike)?.proven.get(&setup.id).cloned();
        if let Some((date, air)) = mark.and_then(|mark| Some((mark.date, mark.air?))) {
            let mut right = outings.iter().filter(believed).filter(was_right).peekable();
            let ran = right.peek().is_some();
            if !ran
                || right.any(|record| record.outing.air.as_ref().is_some_and(|ran| is_same_air(ran, &air)))
            {
                return Ok(Some((air, format!("proven on {}", date.day()))));
            }
        }
        // The air that it was right in, where it was.
        let newest = |record: Option<&OutingRecord>, ran: &str| {
            let record = record?;
            let air = record.outing.air.clone()?;
            let place = record
                .outing
                .place
                .as_deref()
                .map(|place| format!(" at {}", visible(place)))
                .unwrap_or_default();
            Some((air, format!("{ran} {}{place}", record.outing.date.day())))
        };
        let right = newest(outings.iter().rev().filter(believed).find(was_right), "right on");
        let any = || newest(outings.iter().rev().find(believed), "outing of");
        Ok(right.or_else(any).or_else(|| {
            setup.air.clone().map(|air| (air, format!("noted with the change of {}", setup.date.day())))
        }))
    }
}

/// Whether two airs ask for the same; what cannot be read is not doubted.
fn is_same_air(one: &AirEntry, other: &AirEntry) -> bool {
    let (Ok(one), Ok(other)) = (one.air(), other.air()) else { return true };
    (one.dry_density() / other.dry_density() - 1.0).abs() < SAME_AIR
}
