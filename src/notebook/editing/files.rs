//! The files that are edited: opened, put back, and read.

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::toml::page::Page;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::{Combination, SetupFiles};
use crate::notebook::fields::value::FieldSet;

/// The values on file, as far as they can be read.
pub(super) fn readings(files: &SetupFiles) -> FieldSet {
    Combination::read(files, false).fields
}

/// Opens the file that keeps fields of a kind of document.
pub(in crate::notebook) fn open(
    files: &SetupFiles,
    kind: DocumentKind,
    field: &str,
) -> Result<Page, EditError> {
    if kind == DocumentKind::Setup {
        return Page::open(&SetupFiles::setup_path(&files.bike), files.setup.as_deref());
    }
    match (&files.engine_name, &files.engine) {
        (Some(name), Some(bytes)) => Page::open(&SetupFiles::engine_path(name), Some(bytes)),
        _ => Err(EditError::NoEngine { field: field.to_owned() }),
    }
}

/// Puts an edited file back in its place.
pub(in crate::notebook) fn close(files: &mut SetupFiles, kind: DocumentKind, page: &Page) {
    let bytes = Some(page.bytes());
    if kind == DocumentKind::Setup {
        files.setup = bytes;
    } else {
        files.engine = bytes;
    }
}
