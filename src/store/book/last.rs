//! Whether an outing is known to be the last one.

use std::path::Path;

use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::index::rows::path_text;
use crate::store::missing::missing_outings;
use crate::store::records::OutingRecord;

/// What stands before the identity in the name of an outing's file, `20260516-1000`.
const DAY_AND_MINUTE: usize = 13;

impl Book<'_> {
    /// Fails where an outing is missing or cannot be read that may be newer than this one: then this is not known to be the last.
    pub(in crate::store) fn require_the_last(&self, record: &OutingRecord) -> Result<(), StoreError> {
        let bike = &record.bike;
        let day = |file: &Path| {
            let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            name.get(..DAY_AND_MINUTE).map(str::to_owned).unwrap_or_default()
        };
        let known = day(&record.file);
        let broken = self.broken_outings(bike)?.into_iter().map(|broken| (broken.file, "cannot be read"));
        let gone = missing_outings(self.garage(), bike)?.into_iter().map(|file| (file, "is missing on disk"));
        let Some((file, what)) = broken.chain(gone).find(|(file, _)| day(file) >= known) else {
            return Ok(());
        };
        Err(StoreError::request(
            None,
            format!(
                "{} {what}, and it may be newer than {}: which outing is the last of {bike} is not known.",
                visible(&path_text(&file)),
                record.id_and_words().1
            ),
            Guidance::from(format!("Name the one that is meant by its id: {}. ", record.id))
                + Command::CheckGarage
                + " says what is wrong.",
        ))
    }
}
