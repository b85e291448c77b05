//! A file of the garage opened to be edited, and files put on disk and recorded as one.

use std::path::Path;

use crate::machine::Moment;
use crate::notebook::Page;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::repository::{FileChange, Message};
use crate::store::shortened::shortened;

/// A document of the garage, to be edited; one that is not there is empty.
pub(in crate::store) fn editable(garage: &Garage, path: &Path) -> Result<Page, StoreError> {
    let bytes = garage.read(path)?;
    // What was recorded behind it would be gone for good.
    if let Some(bytes) = &bytes
        && let Some(finding) = shortened(garage, path, bytes)?
    {
        return Err(StoreError::Findings(vec![finding]));
    }
    Ok(Page::open(path, bytes.as_deref())?)
}

/// Writes files to disk and records them as one commit dated now.
pub(in crate::store) fn write_and_record(
    garage: &Garage,
    changes: &[FileChange],
    why: &str,
    trailers: Vec<(&'static str, String)>,
    moment: &Moment,
) -> Result<(), StoreError> {
    let message = Message { why: why.to_owned(), trailers };
    garage.repository().record(changes, &message, moment.now, moment.now).map(|_| ())
}
