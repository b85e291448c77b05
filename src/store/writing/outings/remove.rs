//! Outings that go: removing one that was logged twice or never happened, and those whose file is missing or cannot be read,
//! without which nothing is answered.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::machine::Moment;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{Code, Outing, Place};
use crate::store::book::{Book, OutingRecord, outing_id, unknown_outing};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::BIKE_TRAILER;
use crate::store::index::outings::path_text;
use crate::store::index::which;
use crate::store::writing::outings::{OUTING_TRAILER, check, take_in};

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

fn recorded_names(garage: &Garage, folder: &Path) -> Result<BTreeSet<String>, StoreError> {
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

/// Fails where an outing is missing or cannot be read that may be newer than this one: then this is not known to be the last.
pub(in crate::store) fn require_the_last(book: &Book<'_>, record: &OutingRecord) -> Result<(), StoreError> {
    let bike = &record.bike;
    let day = |file: &Path| {
        let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        name.get(..DAY_AND_MINUTE).map(str::to_owned).unwrap_or_default()
    };
    let known = day(&record.file);
    let broken = book.broken_outings(bike)?.into_iter().map(|broken| (broken.file, "cannot be read"));
    let gone = missing_outings(book.garage(), bike)?.into_iter().map(|file| (file, "is missing on disk"));
    let Some((file, what)) = broken.chain(gone).find(|(file, _)| day(file) >= known) else { return Ok(()) };
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

/// What stands before the identity in the name of an outing's file, `20260516-1000`.
const DAY_AND_MINUTE: usize = 13;

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
    let findings = check(garage, &broken.file, &bytes).findings;
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

fn ways_out(bike: &str, file: &Path) -> Guidance {
    let file = path_text(file);
    let remove = Command::RemoveOuting { bike: bike.to_owned(), id: outing_id(&file) };
    Command::MendFile(file) + " brings back what was recorded, " + remove + " takes it out for good."
}
