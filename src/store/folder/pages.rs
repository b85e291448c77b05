//! A file of the garage opened to be edited, and files put on disk and recorded as one.

use std::path::Path;

use crate::machine::Moment;
use crate::notebook::Page;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::repository::{FileChange, Message};

/// A document of the garage, to be edited; one that is not there is empty.
pub(in crate::store) fn editable(garage: &Garage, path: &Path) -> Result<Page, StoreError> {
    Ok(Page::open(path, garage.read(path)?.as_deref())?)
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
