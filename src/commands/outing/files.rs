//! An outing's files: one opened in the editor, and the curve that a dyno wrote.

use std::io::Read as _;
use std::path::Path;

use crate::commands::desk::{Desk, plain_file};
use crate::machine;
use crate::report::Trouble;
use crate::store::{Garage, HandEdit, Mend, OutingRecord, StoreError, mend};

/// Opens an outing in the user's editor and takes in what was changed.
pub(super) fn edit_by_hand(
    garage: &Garage,
    record: &OutingRecord,
    desk: &Desk,
) -> Result<OutingRecord, Trouble> {
    let edit = HandEdit::begin(garage, vec![record.file.clone()])?;
    let places = edit.places(garage)?;
    machine::edit(&places).map_err(|error| Trouble::file("Cannot edit", &record.file, &error))?;
    edit.settle(garage, &desk.moment)?;
    match mend(garage, &record.bike, &record.id, &Mend::default(), &desk.moment) {
        Err(StoreError::NothingChanged { .. }) => Ok(record.clone()),
        other => Ok(other?),
    }
}

/// The largest file that a curve is read from: some ten thousand points.
pub(super) const MOST_OF_A_CURVE: u64 = 1024 * 1024;

pub(super) fn read_text(path: &Path) -> Result<String, Trouble> {
    let cannot = |error: std::io::Error| Trouble::file("Cannot read", path, &error);
    let mut text = String::new();
    plain_file(path)?.take(MOST_OF_A_CURVE + 1).read_to_string(&mut text).map_err(cannot)?;
    if text.len() as u64 > MOST_OF_A_CURVE {
        return Err(Trouble::request(
            Some("dyno"),
            format!("{} is larger than 1 MB, which no curve is.", path.display()),
            "Name the file that the dyno wrote.",
        ));
    }
    Ok(text)
}
