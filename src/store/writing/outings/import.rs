//! Many outings recorded at once, each with an identity of its own: what is there already is not recorded again.

use std::path::Path;

use crate::machine::{self, Moment};
use crate::notebook::guidance::Guidance;
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::{BIKE_TRAILER, OUTING_TRAILER};
use crate::store::index::rows::path_text;
use crate::store::records::{OutingRecord, SetupName, outing_id};
use crate::store::writing::change::cylinders;
use crate::store::writing::guards::{check_air, check_date_of_run, identity_remark};
use crate::store::writing::outings::{NewOuting, outing_text, setup_of, take_in};

/// An outing to be recorded under an identity that follows from what it is.
#[derive(Debug, Clone)]
pub struct Incoming {
    /// The outing.
    pub new: NewOuting,
    /// Its identity.
    pub id: String,
}

/// The identity that follows from a text.
pub fn identity(text: &str) -> String {
    machine::id_of(text)
}

/// Whether an outing of a bike bears an identity, be its file broken or not.
pub fn is_there(book: &Book<'_>, bike: &str, id: &str) -> Result<bool, StoreError> {
    Ok(book.outings(bike)?.iter().any(|record| record.id == id)
        || book.broken_outings(bike)?.iter().any(|broken| outing_id(&path_text(&broken.file)) == id))
}

/// The outing as it would be recorded, with the setup it would run. Nothing is written.
pub fn weigh(book: &Book<'_>, incoming: &Incoming, moment: &Moment) -> Result<OutingRecord, StoreError> {
    let (new, garage) = (&incoming.new, book.garage());
    garage.require_bike(&new.bike)?;
    check_air(new.outing.air.as_ref())?;
    check_date_of_run(new.outing.date, moment)?;
    let setup = setup_of(book, new, &mut Vec::new())?;
    let mut outing = new.outing.clone();
    let names = cylinders::require_of_run(book, &new.bike, &outing, Some(setup.number))?;
    outing.name_the_lean(&names);
    outing.setup = Some(setup.id);
    let stem = format!("{}-{}", outing.date.for_file_name(), incoming.id);
    let file = Garage::bike_folder(&new.bike).join("outings").join(format!("{stem}.toml"));
    no_findings(checks::outing(garage, &file, outing_text(&outing)?.as_bytes()).findings)?;
    let (bike, id) = (new.bike.clone(), incoming.id.clone());
    Ok(OutingRecord { bike, id, file, outing, setup: Some(setup.number), cylinders: names })
}

/// Records outings in one commit; those that are there by now are left out. `of_what` and `from` say what they are read from.
pub fn import(
    garage: &Garage,
    incoming: &[Incoming],
    (of_what, from): (&str, &Path),
    moment: &Moment,
) -> Result<(Vec<OutingRecord>, Vec<Guidance>), StoreError> {
    let _lock = garage.begin_writing(moment)?;
    let mut bikes: Vec<&str> = incoming.iter().map(|one| one.new.bike.as_str()).collect();
    bikes.sort_unstable();
    bikes.dedup();
    for bike in &bikes {
        garage.require_bike(bike)?;
        take_in(garage, bike, moment)?;
    }
    let book = Book::open(garage)?;
    let mut records = Vec::new();
    let mut changes: Vec<FileChange> = Vec::new();
    for one in incoming {
        if is_there(&book, &one.new.bike, &one.id)? {
            continue;
        }
        let record = weigh(&book, one, moment)?;
        changes.push((record.file.clone(), Some(outing_text(&record.outing)?.into_bytes())));
        records.push(record);
    }
    if records.is_empty() {
        return Ok((records, Vec::new()));
    }
    let name = from.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let of = if name.is_empty() || name == "-" { String::new() } else { format!(" {name}") };
    let mut trailers: Vec<(&'static str, String)> =
        bikes.iter().map(|bike| (BIKE_TRAILER, (*bike).to_owned())).collect();
    trailers.extend(records.iter().map(|record| (OUTING_TRAILER, record.id.clone())));
    let outings =
        if records.len() == 1 { "1 outing".to_owned() } else { format!("{} outings", records.len()) };
    let message = Message { why: format!("{outings} of the {of_what}{of}"), trailers };
    garage.repository().record(&changes, &message, moment.now, moment.now)?;
    Ok((records, identity_remark(garage)))
}

/// The name of a setup as typed in a sheet.
pub fn setup_name(text: &str) -> Option<SetupName> {
    text.parse().ok().filter(|name| *name != SetupName::Now)
}
