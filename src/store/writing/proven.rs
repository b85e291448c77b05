//! Marks on setups that the tuner vouches for, kept in bike.toml.

use std::collections::BTreeSet;

use crate::machine::Moment;
use crate::notebook::guidance::{Command, GitCommand, Guidance};
use crate::notebook::{AirEntry, BikeDocument, DocumentKind, Page, When, read};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::pages::{editable, write_and_record};
use crate::store::history::scan::{AIR_TRAILER, BIKE_TRAILER};
use crate::store::index::rows::path_text;
use crate::store::records::{SetupName, SetupRecord};
use crate::store::writing::guards::check_air;

/// A mark to be set.
#[derive(Debug, Clone)]
pub struct ProvenRequest {
    /// The bike.
    pub bike: String,
    /// The setup.
    pub setup: SetupName,
    /// Why it is vouched for.
    pub why: Option<String>,
    /// The air it was proven in; its last outing's when none is given.
    pub air: Option<AirEntry>,
    /// When, if not now.
    pub date: Option<When>,
}

/// Marks a setup as proven and returns it with the air it was proven in and where that is from.
pub fn mark(
    garage: &Garage,
    request: &ProvenRequest,
    moment: &Moment,
) -> Result<(SetupRecord, Option<(AirEntry, String)>), StoreError> {
    check_air(request.air.as_ref())?;
    garage.require_bike(&request.bike)?;
    let _lock = garage.begin_writing(moment)?;
    require_marks(garage, &request.bike)?;
    let book = Book::open(garage)?;
    let setup = book.recorded(&request.bike, &request.setup)?;
    let air = match &request.air {
        Some(air) => Some((air.clone(), "given with the mark".to_owned())),
        None => book.air_of(&request.bike, &setup)?,
    };
    let path = Garage::bike_folder(&request.bike).join("bike.toml");
    let mut page = editable(garage, &path)?;
    write_mark(&mut page, &setup.id, request, air.as_ref().map(|(air, _)| air), moment)?;
    let why = format!("Setup {} of {} is proven", setup.number, request.bike);
    let mut trailers = vec![(BIKE_TRAILER, request.bike.clone())];
    trailers.extend(air.as_ref().map(|(air, _)| (AIR_TRAILER, air.line())));
    let changes = vec![(path, Some(page.bytes()))];
    write_and_record(garage, &changes, &why, trailers, moment)?;
    Ok((setup, air))
}

/// Writes the mark anew, in the place of the one that the setup may have.
fn write_mark(
    page: &mut Page,
    setup: &str,
    request: &ProvenRequest,
    air: Option<&AirEntry>,
    moment: &Moment,
) -> Result<(), StoreError> {
    let mark = format!("proven.{setup}");
    page.take_out(&mark);
    let mut write = |name: &str, text: &str| {
        page.write(&format!("{mark}.{name}"), text.into(), DocumentKind::Bike.catalogue())
    };
    write("date", &request.date.unwrap_or(moment.now).to_string())?;
    if let Some(why) = &request.why {
        write("why", why)?;
    }
    for (name, text) in air.map(AirEntry::parts).unwrap_or_default() {
        write(&format!("air.{name}"), &text)?;
    }
    Ok(())
}

/// Fails where marks that are recorded are not on disk any more: a file that a power cut emptied is not what a tuner meant by taking
/// them back.
pub(super) fn require_marks(garage: &Garage, bike: &str) -> Result<(), StoreError> {
    let path = Garage::bike_folder(bike).join("bike.toml");
    let repository = garage.repository();
    let Some(head) = repository.head()? else { return Ok(()) };
    let Some(recorded) = repository.file(&repository.tree(head)?, &path)? else { return Ok(()) };
    let marks = |bytes: &[u8]| {
        let read = read::<BikeDocument>(DocumentKind::Bike, &path, bytes, garage.read_options());
        read.document.map(|bike| bike.proven.into_keys().collect::<BTreeSet<_>>())
    };
    let (Some(recorded), Some(on_disk)) = (marks(&recorded), marks(&garage.read(&path)?.unwrap_or_default()))
    else {
        return Ok(());
    };
    let gone = recorded.difference(&on_disk).count();
    if gone == 0 {
        return Ok(());
    }
    let (marks, are) = if gone == 1 { ("proven mark", "is") } else { ("proven marks", "are") };
    Err(StoreError::request(
        Some("proven"),
        format!("{gone} {marks} of {bike} {are} recorded and gone from {} on disk.", path_text(&path)),
        Guidance::from("Nothing was recorded. ")
            + GitCommand::BringBack(path_text(&path))
            + " brings the file back as it was recorded; one mark is taken back with "
            + Command::WithdrawMark(bike.to_owned())
            + ".",
    ))
}

/// Takes a mark back.
pub fn withdraw(
    garage: &Garage,
    bike: &str,
    setup: &SetupName,
    moment: &Moment,
) -> Result<SetupRecord, StoreError> {
    garage.require_bike(bike)?;
    let _lock = garage.begin_writing(moment)?;
    require_marks(garage, bike)?;
    let setup = Book::open(garage)?.recorded(bike, setup)?;
    let path = Garage::bike_folder(bike).join("bike.toml");
    let mut page = editable(garage, &path)?;
    if !page.take_out(&format!("proven.{}", setup.id)) {
        return Err(StoreError::NothingChanged {
            message: format!("Setup {} of {bike} is not marked proven.", setup.number),
            help: Command::History(Some(bike.to_owned())) + " shows the marks.",
        });
    }
    let changes = vec![(path, Some(page.bytes()))];
    let why = format!("Setup {} of {bike} is no longer vouched for", setup.number);
    write_and_record(garage, &changes, &why, vec![(BIKE_TRAILER, bike.to_owned())], moment)?;
    Ok(setup)
}
