//! A whole map that takes another's place: written only where what it was made from still stands.

use crate::notebook::fields::cylinder::common;
use crate::notebook::{Combination, FieldSet, MapTable, compare};
use crate::store::book::Book;
use crate::store::error::StoreError;

/// A map that takes another's place.
#[derive(Debug, Clone)]
pub struct MapEdit {
    /// Its field.
    pub field: String,
    /// The map it was made from: if that is on disk no more, nothing is written.
    pub from: Option<MapTable>,
    /// The map to write.
    pub to: MapTable,
}

impl MapEdit {
    /// Fails when the map was changed since this one was made from it.
    pub(super) fn refuse_stale(&self, bike: &str, now: &FieldSet) -> Result<(), StoreError> {
        // A cylinder without a map of its own has the one that is written for all.
        let held = now.map(&self.field).or_else(|| now.map(common(&self.field)));
        let same = match (held, &self.from) {
            (Some(now), Some(from)) => now.same_as(from),
            (now, from) => now.is_none() && from.is_none(),
        };
        if same {
            return Ok(());
        }
        Err(StoreError::request(
            Some(&self.field),
            format!(
                "{} of {bike} was changed by someone else in the meantime; nothing was recorded.",
                self.field
            ),
            "Look at it as it is now, and do it again.",
        ))
    }
}

/// Fails when the files on disk hold edits that were never recorded.
pub(super) fn refuse_unrecorded(book: &Book<'_>, bike: &str, now: &Combination) -> Result<(), StoreError> {
    let Some(latest) = book.latest(bike)? else { return Ok(()) };
    let recorded = book.combination(bike, Some(&latest))?;
    let changes = compare(&recorded.fields, &now.fields).changes;
    if changes.is_empty() {
        return Ok(());
    }
    let fields: Vec<_> = changes.into_iter().map(|change| change.field).collect();
    Err(StoreError::UnrecordedEdits { bike: bike.to_owned(), fields: fields.join(", "), can_discard: false })
}
