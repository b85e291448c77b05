//! What need not be typed twice on one day: the bike, the place, the session.

use std::collections::BTreeSet;

use crate::notebook::When;
use crate::store::{Book, OutingRecord, PlaceRecord, StoreError, places};

/// A clock may be off by so much before something is said to lie ahead, s.
pub(super) const CLOCKS_APART: i64 = 60;
/// What runs in one session is logged within so long, s (common practice, no source).
const ONE_SESSION: i64 = 3_600;

/// The outings of one day, of all bikes, oldest first.
fn of_the_day(book: &Book<'_>, date: When) -> Result<Vec<OutingRecord>, StoreError> {
    let mut all = Vec::new();
    for bike in book.garage().bikes() {
        let of_day = book.outings(&bike)?.into_iter().filter(|record| record.outing.date.day() == date.day());
        all.extend(of_day);
    }
    all.sort_by_key(|record| record.outing.date.unix());
    Ok(all)
}

/// The bike that is meant where none is named.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meant {
    /// The one that was logged last on the day, or before any run the only one that was worked on.
    LastLogged(String),
    /// The only one in use.
    OnlyOne(String),
}

impl Meant {
    /// Its folder name.
    pub fn bike(self) -> String {
        match self {
            Self::LastLogged(bike) | Self::OnlyOne(bike) => bike,
        }
    }
}

/// The bike that was logged last on the day, or else the only one in use.
pub fn bike_of_the_day(book: &Book<'_>, date: When) -> Result<Option<Meant>, StoreError> {
    if let Some(last) = of_the_day(book, date)?.pop() {
        return Ok(Some(Meant::LastLogged(last.bike)));
    }
    let garage = book.garage();
    let worked_on = worked_on(book, date)?;
    let is_in_use = |bike: &String| garage.bike(bike).is_ok_and(|document| document.retired.is_none());
    let mut in_use = garage.bikes().into_iter().filter(is_in_use);
    let only = in_use.next().filter(|_| in_use.next().is_none()).map(Meant::OnlyOne);
    Ok(only.or(worked_on.map(Meant::LastLogged)))
}

/// The one bike for which something was recorded or ticked on the day; none where it were several.
fn worked_on(book: &Book<'_>, date: When) -> Result<Option<String>, StoreError> {
    let of_day = |when: When| when.day() == date.day();
    let mut bikes: BTreeSet<String> = BTreeSet::new();
    for bike in book.garage().bikes() {
        if book.setups(&bike)?.iter().any(|setup| of_day(setup.date)) {
            bikes.insert(bike);
        }
    }
    let jobs = book.jobs()?.into_iter().filter(|record| of_day(record.job.date));
    bikes.extend(jobs.map(|record| record.job.bike));
    bikes.retain(|bike| book.garage().has_bike(bike));
    Ok(bikes.pop_first().filter(|_| bikes.is_empty()))
}

/// Where the day is spent: where an air was kept last, or a bike was logged last, whichever is later.
pub fn place_of_the_day(book: &Book<'_>, date: When) -> Result<Option<String>, StoreError> {
    let placed = |record: OutingRecord| Some((record.outing.date, record.outing.place?));
    let outings = of_the_day(book, date)?.into_iter().filter_map(placed);
    let (known, _) = places(book.garage())?;
    let airs = known.iter().flat_map(PlaceRecord::airs);
    let of_day =
        airs.filter(|kept| kept.date.day() == date.day() && kept.date.unix() <= date.unix() + CLOCKS_APART);
    let outings = outings.map(|(date, place)| ((date.unix(), date.unix()), place));
    let last = outings.chain(of_day.map(|kept| (kept.age_order(), kept.place)));
    Ok(last.max_by_key(|(order, _)| *order).map(|(_, place)| place))
}

/// The session that was logged last at the place within the hour, of whichever bike.
pub fn session_of_the_day(book: &Book<'_>, place: &str, date: When) -> Result<Option<String>, StoreError> {
    let all = of_the_day(book, date)?;
    let here = |record: &&OutingRecord| {
        let since = date.unix() - record.outing.date.unix();
        (0..=ONE_SESSION).contains(&since) && record.outing.place.as_deref() == Some(place)
    };
    Ok(all.iter().rev().find(here).and_then(|record| record.outing.session.clone()))
}
