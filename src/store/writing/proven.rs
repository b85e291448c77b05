//! Marks on setups that the tuner vouches for, kept in bike.toml.

use crate::machine::Moment;
use crate::notebook::guidance::Command;
use crate::notebook::{AirEntry, DocumentKind, Page, When};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::pages::{editable, write_and_record};
use crate::store::history::scan::{AIR_TRAILER, BIKE_TRAILER};
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
    let book = Book::open(garage)?;
    let setup = book.recorded(&request.bike, &request.setup)?;
    book.require_settled(&request.bike, &request.setup)?;
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

/// Takes a mark back.
pub fn withdraw(
    garage: &Garage,
    bike: &str,
    setup: &SetupName,
    moment: &Moment,
) -> Result<SetupRecord, StoreError> {
    garage.require_bike(bike)?;
    let _lock = garage.begin_writing(moment)?;
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
