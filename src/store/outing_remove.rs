//! Outings that go: removing one that was logged twice or never happened, and naming those whose file is missing.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::book::{Book, OutingRecord, outing_id};
use super::error::StoreError;
use super::garage::{Garage, file_names};
use super::index_outings::path_text;
use super::outings::{OUTING_TRAILER, check, take_in};
use super::repository::{FileChange, Message};
use super::scan::BIKE_TRAILER;
use crate::machine::Moment;
use crate::notebook::Outing;
use crate::notebook::names::visible;

/// An outing that was removed.
#[derive(Debug, Clone)]
pub struct Removed {
    /// Its identity.
    pub id: String,
    /// Its file, and its dyno curve's where it had one.
    pub files: Vec<PathBuf>,
    /// What it was; none where its file could not be read.
    pub record: Option<OutingRecord>,
}

/// Removes an outing and its dyno curve as a commit of its own: git keeps what it was. It may be one whose file is missing.
pub fn remove(
    garage: &Garage,
    bike: &str,
    wanted: &str,
    why: Option<&str>,
    moment: &Moment,
) -> Result<Removed, StoreError> {
    garage.require_bike(bike)?;
    let _lock = garage.begin_writing(moment)?;
    take_in(garage, bike, moment)?;
    let file = file_of(garage, bike, wanted)?;
    let id = outing_id(&path_text(&file));
    let Some(bytes) = garage.recorded(&file)? else {
        return Err(StoreError::request(
            None,
            format!("{} has errors and was never recorded: git would not keep it.", path_text(&file)),
            "Mend the file, or delete it yourself.",
        ));
    };
    let setup = Book::open(garage)?.outing(bike, &id).ok().and_then(|record| record.setup);
    let outing = check(garage, &file, &bytes).document;
    let mut files = vec![file.clone()];
    files.extend(outing.as_ref().and_then(|outing| curve_of(&file, outing)));
    let changes: Vec<FileChange> = files.iter().map(|file| (file.clone(), None)).collect();
    let day = outing.as_ref().map(|outing| format!(" on {}", outing.date.day())).unwrap_or_default();
    let why = why.map(|why| format!(": {}", visible(why.trim()))).unwrap_or_default();
    let message = Message {
        why: format!("Remove the outing of {bike}{day}{why}"),
        trailers: vec![(BIKE_TRAILER, bike.to_owned()), (OUTING_TRAILER, id.clone())],
    };
    garage.repository().record(&changes, &message, moment.now, moment.now)?;
    let record =
        outing.map(|outing| OutingRecord { bike: bike.to_owned(), id: id.clone(), file, outing, setup });
    Ok(Removed { id, files, record })
}

/// The file of the one outing that is meant, on disk or recorded.
fn file_of(garage: &Garage, bike: &str, wanted: &str) -> Result<PathBuf, StoreError> {
    if wanted == "last" {
        return Ok(Book::open(garage)?.outing(bike, wanted)?.file);
    }
    let folder = Garage::bike_folder(bike).join("outings");
    let mut names: BTreeSet<String> = recorded_names(garage, &folder)?;
    names.extend(file_names(&garage.root().join(&folder))?);
    let mut fitting = names
        .into_iter()
        .filter(|name| name.ends_with(".toml") && wanted.len() >= 3 && outing_id(name).starts_with(wanted));
    match (fitting.next(), fitting.next()) {
        (Some(only), None) => Ok(folder.join(only)),
        _ => Err(StoreError::UnknownOuting { bike: bike.to_owned(), wanted: visible(wanted) }),
    }
}

/// The dyno curve beside an outing's file.
fn curve_of(file: &Path, outing: &Outing) -> Option<PathBuf> {
    let name = outing.dyno.as_ref().filter(|name| !name.contains(['/', '\\']) && name.ends_with(".csv"))?;
    Some(file.parent()?.join(name))
}

fn recorded_names(garage: &Garage, folder: &Path) -> Result<BTreeSet<String>, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else {
        return Ok(BTreeSet::new());
    };
    Ok(repository.names_in(&repository.tree(head)?, folder).into_iter().map(|(name, _)| name).collect())
}

/// Names the recorded outings of a bike whose files are missing.
pub(super) fn missing_remark(garage: &Garage, bike: &str) -> Result<Option<String>, StoreError> {
    let folder = Garage::bike_folder(bike).join("outings");
    let recorded = recorded_names(garage, &folder)?.into_iter();
    let missing: Vec<String> = recorded
        .filter(|name| name.ends_with(".toml"))
        .filter(|name| garage.root().join(&folder).join(name).symlink_metadata().is_err())
        .collect();
    let Some(first) = missing.first() else { return Ok(None) };
    let file = path_text(&folder.join(first));
    let others = match missing.len() {
        1 => String::new(),
        number => format!(" (and {} more)", number - 1),
    };
    Ok(Some(format!(
        "{file}{others} is recorded and missing on disk: `git restore {file}` brings it back, `reedbook outing remove {bike} {}` removes it for good.",
        outing_id(first)
    )))
}
