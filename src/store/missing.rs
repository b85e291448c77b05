//! Outings and parts that are recorded and whose files are not there: without such an outing nothing is answered.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::notebook::Place;
use crate::notebook::guidance::{Command, Guidance};
use crate::store::checks::JOBS;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::index::rows::path_text;
use crate::store::records::outing_id;

pub(in crate::store) fn recorded_names(
    garage: &Garage,
    folder: &Path,
) -> Result<BTreeSet<String>, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else {
        return Ok(BTreeSet::new());
    };
    Ok(repository.names_in(&repository.tree(head)?, folder).into_iter().map(|(name, _)| name).collect())
}

/// The recorded outings of a bike whose files are not there, by path: what they say is not known until they are back or removed.
/// One that is there under another name is not missing.
pub fn missing_outings(garage: &Garage, bike: &str) -> Result<Vec<PathBuf>, StoreError> {
    let folder = Garage::bike_folder(bike).join("outings");
    let there: BTreeSet<String> = match garage.entries(&folder) {
        // A folder that is not opened is named among what cannot be read.
        Err(StoreError::Barred(_)) => return Ok(Vec::new()),
        entries => entries?.iter().map(|(name, _)| outing_id(&name.to_string_lossy())).collect(),
    };
    let recorded = recorded_names(garage, &folder)?.into_iter();
    let missing = recorded.filter(|name| name.ends_with(".toml") && !there.contains(&outing_id(name)));
    Ok(missing.map(|name| folder.join(name)).collect())
}

/// The recorded parts whose files are not there, by path.
pub fn missing_parts(garage: &Garage) -> Result<Vec<PathBuf>, StoreError> {
    missing_in(garage, Path::new("parts"))
}

/// What there is to say where recorded jobs have no file any more: what is still to be done is not all known.
pub fn missing_jobs(garage: &Garage) -> Result<Option<Guidance>, StoreError> {
    let missing = missing_in(garage, Path::new(JOBS))?;
    let Some(first) = missing.first() else { return Ok(None) };
    let file = path_text(first);
    let others = match missing.len() {
        1 => String::new(),
        number => format!(" (and {} more)", number - 1),
    };
    let gone =
        format!("{file}{others} is recorded and missing on disk: jobs may be open that are not listed. ");
    Ok(Some(Guidance::from(gone) + Command::MendFile(file) + " brings it back."))
}

fn missing_in(garage: &Garage, folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let there: BTreeSet<String> = match garage.entries(folder) {
        Err(StoreError::Barred(_)) => return Ok(Vec::new()),
        entries => entries?.iter().map(|(name, _)| name.to_string_lossy().into_owned()).collect(),
    };
    let missing = recorded_names(garage, folder)?.into_iter();
    let missing = missing.filter(|name| name.ends_with(".toml") && !there.contains(name));
    Ok(missing.map(|name| folder.join(name)).collect())
}

/// Names the recorded outings of a bike whose files are missing.
pub fn missing_remark(garage: &Garage, bike: &str) -> Result<Option<Guidance>, StoreError> {
    let missing = missing_outings(garage, bike)?;
    let Some(first) = missing.first() else { return Ok(None) };
    let file = path_text(first);
    let others = match missing.len() {
        1 => String::new(),
        number => format!(" (and {} more)", number - 1),
    };
    let remove = Command::RemoveOuting { bike: bike.to_owned(), id: outing_id(&file) };
    let missing = Guidance::from(format!("{file}{others} is recorded and missing on disk: "));
    let back = Command::MendFile(file);
    Ok(Some(missing + Guidance::from(back) + " brings it back, " + remove + " removes it for good."))
}

/// What there is to say of an outing that is recorded and has no file.
pub(in crate::store) fn missing(bike: &str, file: &Path) -> StoreError {
    StoreError::OutingUnread {
        message: format!(
            "An outing of {bike} is recorded and its file is missing, and it may have been a lean one."
        ),
        help: ways_out(bike, file),
        place: Place::file(file),
    }
}

pub(in crate::store) fn ways_out(bike: &str, file: &Path) -> Guidance {
    let file = path_text(file);
    let remove = Command::RemoveOuting { bike: bike.to_owned(), id: outing_id(&file) };
    Command::MendFile(file) + " brings back what was recorded, " + remove + " takes it out for good."
}
