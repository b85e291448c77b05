//! Outings that go: removing one that was logged twice or never happened, and those whose file is missing or cannot be read,
//! without which nothing is answered.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::machine::Moment;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::notebook::{Code, Outing, Place};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::{BIKE_TRAILER, OUTING_TRAILER};
use crate::store::index::rows::path_text;
use crate::store::index::which;
use crate::store::missing::{missing, missing_outings, recorded_names, ways_out};
use crate::store::records::{OutingRecord, outing_id, unknown_outing};
use crate::store::shortened::shortened;
use crate::store::writing::outings::take_in;

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
            "Fix the file, or delete it yourself.",
        ));
    };
    let setup = Book::open(garage)?.outing(bike, &id).ok().and_then(|record| record.setup);
    let outing = checks::outing(garage, &file, &bytes).document;
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
    let record = outing.map(|outing| {
        let (bike, id) = (bike.to_owned(), id.clone());
        OutingRecord { bike, id, file, outing, setup, cylinders: Vec::new() }
    });
    Ok(Removed { id, files, record })
}

/// The file of the one outing that is meant, on disk or recorded.
fn file_of(garage: &Garage, bike: &str, wanted: &str) -> Result<PathBuf, StoreError> {
    let book = Book::open(garage)?;
    if wanted == "last" {
        return Ok(book.outing_to_write(bike, wanted)?.file);
    }
    let folder = Garage::bike_folder(bike).join("outings");
    let mut names: BTreeSet<String> = recorded_names(garage, &folder)?;
    names.extend(garage.file_names(&folder)?);
    let names: Vec<String> = names.into_iter().filter(|name| name.ends_with(".toml")).collect();
    let known = book.outings(bike)?;
    let words = |name: &String| {
        let id = outing_id(name);
        let record = known.iter().find(|record| record.id == id);
        record.map_or_else(|| (id.clone(), format!("not to be read: {name}")), OutingRecord::id_and_words)
    };
    let all: Vec<_> = names.iter().map(words).collect();
    let unknown = || unknown_outing(bike, wanted, &known);
    which::meant(wanted, &all)?.and_then(|place| Some(folder.join(names.get(place)?))).ok_or_else(unknown)
}

/// The dyno curve beside an outing's file.
pub(in crate::store::writing) fn curve_of(file: &Path, outing: &Outing) -> Option<PathBuf> {
    let name = outing.dyno.as_ref().filter(|name| !name.contains(['/', '\\']) && name.ends_with(".csv"))?;
    Some(file.parent()?.join(name))
}

/// Fails where an outing of a bike is missing or cannot be read: it may be the one that forbids what is asked for.
pub fn require_every_outing(book: &Book<'_>, bike: &str) -> Result<(), StoreError> {
    let garage = book.garage();
    if let Some(file) = missing_outings(garage, bike)?.first() {
        return Err(missing(bike, file));
    }
    let Some(broken) = book.broken_outings(bike)?.into_iter().next() else {
        return Ok(());
    };
    let bytes = garage.read(&broken.file)?.unwrap_or_default();
    let mut findings = checks::outing(garage, &broken.file, &bytes).findings;
    if findings.is_empty() {
        findings.extend(shortened(garage, &broken.file, &bytes)?);
    }
    let (line, what) =
        findings.first().map_or((None, ""), |first| (first.place.line, first.message.as_str()));
    let message = format!("An outing of {bike} cannot be read, and it may have been a lean one: {what}");
    // What a newer version wrote is neither mended nor taken out.
    let help = match findings.first() {
        Some(first) if first.code == Code::UnknownField => first.help.clone(),
        _ => Guidance::from("Fix the file; ") + ways_out(bike, &broken.file),
    };
    Err(StoreError::OutingUnread { message, help, place: Place { line, ..Place::file(&broken.file) } })
}
