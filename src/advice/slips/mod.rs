//! Slips of the pen, questioned when they are typed: what has never been read at this place, what does not fit what was read two
//! hours before, hours that this bike never runs, a jet that is not in the box, a groove that the needle lacks, a session that is logged already. Nothing here
//! is impossible (what is, the checks of the documents refuse), so that each is only asked, and recorded when it is said again.
//!
//! The thresholds are common practice, no source. An outing is held against its neighbours in time, so that a past season can be
//! typed in.

mod clock;
mod disc;
mod far;
mod fuel;
mod gauges;
mod jets;
mod place;
mod readings;
mod runs;
mod slip;
mod twice;
mod weather;

use std::path::PathBuf;

pub use clock::{before_its_setup, dated_ahead, of_clock};
pub use fuel::{alcohol, is_alcohol, no_petrol, oil};
pub use jets::{beyond_the_grooves, of_change};
pub use readings::{of_readings, read};
pub use slip::{Questioned, Slip, TypedOuting};

use super::closing::was_lean;
use crate::notebook::fields::names::{same_name, visible};
use crate::notebook::guidance::{Command, CommandOption, Guidance};
use crate::notebook::{AirEntry, Doubted, Outing, When};
use crate::quantity::{Hours, Units, trimmed};
use crate::store::{Book, OutingRecord, PlaceRecord, StoreError, place_name, places};
use slip::{DAY, TOO_FEW, apart};

/// Hours are questioned beyond so many times the longest of the bike's outings around it, and beyond one hour.
const TIMES_AS_LONG: f64 = 4.0;
/// How many outings around it are looked at, and how few are too few.
const AROUND: usize = 6;
/// Clocks are no further apart than this, s (common practice, no source).
const AHEAD: i64 = 10 * 60;
/// What is dated further ahead than this is refused where it is recorded, s.
const FAR_AHEAD: i64 = 2 * 3_600;

/// What is to be asked of an outing, held against all others of the garage.
pub fn of_outing(book: &Book<'_>, typed: TypedOuting<'_>) -> Result<Vec<Slip>, StoreError> {
    let mut others = of_all_bikes(book)?;
    others.retain(|other| other.bike != typed.record.bike || other.id != typed.record.id);
    of_outing_beside(book, typed, &others)
}

/// The same, beside outings that are in hand.
pub fn of_outing_beside(
    book: &Book<'_>,
    typed: TypedOuting<'_>,
    others: &[OutingRecord],
) -> Result<Vec<Slip>, StoreError> {
    let place = typed.record.outing.place.as_deref();
    let known = place.map(|place| known_place(book, place)).transpose()?.flatten();
    let mut slips = beside_the_place(typed, others, known.as_ref());
    slips.extend(engine_gone(book, typed.record)?);
    slips.extend(gauges::of_the_dash(book, typed.record)?);
    // A place where an air was kept is known before the first run there, and may be meant like any other.
    if known.is_some() {
        slips.retain(|slip| slip.what != Questioned::Place);
    } else if !slips.iter().any(|slip| slip.what == Questioned::Place) {
        let written = places(book.garage())?.0;
        slips.extend(place::of_a_new_one(place, written.iter().map(PlaceRecord::title)));
    }
    Ok(slips)
}

/// A run of a bike whose engine had gone into another one by then: whichever was in it ran those hours.
fn engine_gone(book: &Book<'_>, record: &OutingRecord) -> Result<Option<Slip>, StoreError> {
    let setups = book.setups(&record.bike)?;
    let ran = setups.iter().find(|setup| Some(setup.number) == record.setup);
    let Some(engine) = ran.and_then(|setup| setup.engine.as_deref()) else { return Ok(None) };
    if book.bikes_with_engine(engine)?.iter().all(|bike| *bike == record.bike) {
        return Ok(None);
    }
    let Some((other, number)) = book.engine_holders()?.remove(engine) else { return Ok(None) };
    let went = book.setups(&other)?.into_iter().find(|setup| setup.number == number);
    let gone = other != record.bike && went.as_ref().is_some_and(|went| went.date <= record.outing.date);
    Ok(went.filter(|_| gone).map(|went| Slip {
        what: Questioned::Setup,
        field: "setup".into(),
        question: format!(
            "The engine {} went into {} on {}, with its setup {number}: which engine ran in {}?",
            visible(engine),
            visible(&other),
            went.date.day(),
            visible(&record.bike)
        ),
        instead: Guidance::from("Say it first, with ") + Command::SayEngine(record.bike.clone()) + ".",
    }))
}

/// The document of a place, by its name or by what it is called.
fn known_place(book: &Book<'_>, place: &str) -> Result<Option<PlaceRecord>, StoreError> {
    let name = place_name(place).unwrap_or_default();
    let is_it = |known: &PlaceRecord| known.name == name || same_name(known.title(), place);
    Ok(places(book.garage())?.0.into_iter().find(is_it))
}

/// What is to be asked beside others and beside what is written down of the place: the airs kept there, its usual pressures, its elevation.
fn beside_the_place(
    typed: TypedOuting<'_>,
    others: &[OutingRecord],
    known: Option<&PlaceRecord>,
) -> Vec<Slip> {
    let Some(known) = known else { return beside(typed, others) };
    let own = typed.record.outing.air.as_ref().map(AirEntry::line);
    // What was kept there has been read there; itself it does not bear out.
    let kept = known.airs().filter(|kept| !kept.doubted && Some(kept.air.line()) != own);
    let (bike, place) = (&typed.record.bike, &typed.record.outing.place);
    let read = kept.map(|kept| as_read(bike, (kept.date, kept.air), place.clone()));
    let all: Vec<OutingRecord> = others.iter().cloned().chain(read).collect();
    let of_air = beside(typed, &all).into_iter().filter(|slip| slip.what == Questioned::Air);
    let others = beside(typed, others).into_iter().filter(|slip| slip.what != Questioned::Air);
    let mut slips: Vec<Slip> = of_air.chain(others).collect();
    // What is written down for the place goes before what was typed there.
    if let Some(written) = &known.place.elevation {
        let unlike = weather::elevation_unlike(typed, written, &all);
        slips.retain(|slip| !(slip.field == slip::ELEVATION || unlike.is_some() && slip.is_of_height()));
        slips.extend(unlike);
    }
    let asked = slips.iter().any(Slip::is_of_height);
    slips.extend(weather::unusual(typed, &known.place).filter(|_| !asked));
    slips
}

/// Longer ago than this a run that went wrong is hardly logged for the first time, s (common practice, no source).
const LONG_AGO: i64 = 61 * DAY;

/// A lean run that is dated months back: in the wrong year it forbids nothing today.
pub fn long_ago(outing: &Outing, now: When) -> Option<Slip> {
    let old = now.unix() - outing.date.unix() > LONG_AGO;
    (old && was_lean(outing) && !outing.is_closed()).then(|| Slip {
        what: Questioned::Setup,
        field: "date".into(),
        question: format!("It ran lean, and is dated {}, months ago: is the date right?", outing.date.day()),
        instead: Guidance::from("Give the day it was, like ")
            + CommandOption::DateLike
            + "; without it the run is of now.",
    })
}

/// What is to be asked of an outing whose hour is still to come; one that is dated by its day alone stands at noon.
pub fn ahead(outing: &Outing, now: When) -> Option<Slip> {
    let by = outing.date.unix() - now.unix();
    let is_ahead = by > AHEAD && by <= FAR_AHEAD && !outing.date.is_noon();
    is_ahead.then(|| Slip {
        what: Questioned::Date,
        field: "date".into(),
        question: format!("{} is still to come: it is {} now.", outing.date.short(), now.short()),
        instead: Guidance::from("Give the time at which it ran, like ")
            + CommandOption::TimeLike
            + "; without one the run is of now.",
    })
}

/// What is to be asked of an air that advice is wanted for: as it would be of an outing logged now, where the bike last ran if that
/// was within a day.
pub fn of_air(
    book: &Book<'_>,
    bike: &str,
    air: &AirEntry,
    now: (When, Units),
) -> Result<Vec<Slip>, StoreError> {
    Ok(AirBeside::where_it_runs(book, bike, now)?.ask(air))
}

/// What is to be asked of an air that is kept at a place.
pub fn of_air_at(
    book: &Book<'_>,
    place: &str,
    air: &AirEntry,
    now: (When, Units),
) -> Result<Vec<Slip>, StoreError> {
    let there = AirBeside::at(book, place, now)?;
    let mut slips = there.ask(air);
    let titles = places(book.garage())?.0;
    let all = titles.iter().map(PlaceRecord::title);
    let ran = place::misspelt(Some(place), there.others.iter().filter_map(place_of));
    let new = ran.or_else(|| place::of_a_new_one(Some(place), all));
    slips.extend(new.filter(|_| there.known.is_none()));
    Ok(slips)
}

/// All that an air is held against before it is answered for.
#[derive(Debug)]
pub struct AirBeside {
    bike: String,
    place: Option<String>,
    others: Vec<OutingRecord>,
    /// Airs that were kept, at any place: what was read without a run.
    kept: Vec<OutingRecord>,
    /// The place's document, where an air is asked about there.
    known: Option<PlaceRecord>,
    now: (When, Units),
}

impl AirBeside {
    /// Where a bike last ran, if that was within a day; else where an air was kept within one.
    pub fn where_it_runs(book: &Book<'_>, bike: &str, now: (When, Units)) -> Result<Self, StoreError> {
        let near = |record: &&OutingRecord| (record.outing.date.unix() - now.0.unix()).abs() <= DAY;
        let ran = book.outings(bike)?.last().filter(near).and_then(|record| record.outing.place.clone());
        let kept = kept_airs(book, bike)?;
        let newest = || kept.iter().filter(near).max_by_key(|kept| kept.outing.date.unix());
        let place = ran.or_else(|| newest()?.outing.place.clone());
        let known = place.as_deref().map(|place| known_place(book, place)).transpose()?.flatten();
        Ok(Self { bike: bike.to_owned(), place, others: of_all_bikes(book)?, kept, known, now })
    }

    /// At a place.
    pub fn at(book: &Book<'_>, place: &str, now: (When, Units)) -> Result<Self, StoreError> {
        let known = known_place(book, place)?;
        let (bike, place) = (String::new(), Some(place.to_owned()));
        let kept = kept_airs(book, "")?;
        Ok(Self { bike, place, others: of_all_bikes(book)?, kept, known, now })
    }

    /// What is to be asked of an air that is foretold for a session to come: what is read now says nothing of how warm it will be.
    pub fn ask_of_a_forecast(&self, air: &AirEntry) -> Vec<Slip> {
        // Noon stands for a day whose hour is not known.
        let now = self.now.0;
        self.ask_on(When::parse(&now.day(), now.offset()).unwrap_or(now), air)
    }

    /// What is to be asked of an air.
    pub fn ask(&self, air: &AirEntry) -> Vec<Slip> {
        self.ask_on(self.now.0, air)
    }

    fn ask_on(&self, date: When, air: &AirEntry) -> Vec<Slip> {
        let units = self.now.1;
        let record = as_read(&self.bike, (date, air.clone()), self.place.clone());
        let typed = TypedOuting { record: &record, dated_by_clock: true, units };
        // Those of its own place are taken from its document.
        let title = self.known.as_ref().map(PlaceRecord::title);
        let kept = self.kept.iter().filter(|kept| {
            let line = kept.outing.air.as_ref().map(AirEntry::line);
            line.as_deref() != Some(&air.line()) && kept.outing.place.as_deref() != title
        });
        let others: Vec<OutingRecord> = self.others.iter().chain(kept).cloned().collect();
        let asked = beside_the_place(typed, &others, self.known.as_ref());
        asked.into_iter().filter(|slip| slip.what == Questioned::Air).collect()
    }
}

/// The airs that were kept, each as a run of a bike that was nowhere else; a doubted one says nothing.
fn kept_airs(book: &Book<'_>, bike: &str) -> Result<Vec<OutingRecord>, StoreError> {
    let known = places(book.garage())?.0;
    let kept = known.iter().flat_map(PlaceRecord::airs).filter(|kept| !kept.doubted);
    Ok(kept.map(|kept| as_read(bike, (kept.date, kept.air), Some(kept.place))).collect())
}

/// An air as an outing that has nothing else.
fn as_read(bike: &str, (date, air): (When, AirEntry), place: Option<String>) -> OutingRecord {
    OutingRecord {
        bike: bike.to_owned(),
        id: String::new(),
        file: PathBuf::new(),
        outing: Outing { date, air: Some(air), place, ..Outing::default() },
        setup: None,
        cylinders: Vec::new(),
    }
}

fn of_all_bikes(book: &Book<'_>) -> Result<Vec<OutingRecord>, StoreError> {
    let mut all = Vec::new();
    for bike in book.garage().bikes() {
        all.extend(book.outings(&bike)?);
    }
    Ok(all)
}

/// What is to be asked of an outing beside others, whatever places are known.
pub fn beside(typed: TypedOuting<'_>, others: &[OutingRecord]) -> Vec<Slip> {
    let slips = [
        weather::pressure(typed, others),
        weather::temperature(typed, others),
        weather::dryness(typed),
        weather::old_metar(typed),
        hours(typed.record, others),
        runs::lap(typed.record, others),
        place::misspelt(typed.record.outing.place.as_deref(), others.iter().filter_map(place_of)),
        twice::twice(typed, others),
    ];
    slips.into_iter().flatten().collect()
}

fn place_of(record: &OutingRecord) -> Option<&str> {
    record.outing.place.as_deref()
}

/// What is to be asked of a running time alone, as of an outing of a bike at a date.
pub fn of_hours(
    book: &Book<'_>,
    (bike, date): (&str, When),
    hours: &Hours,
) -> Result<Option<Slip>, StoreError> {
    let outing = Outing { date, hours: Some(hours.clone()), ..Outing::default() };
    let (id, file) = (String::new(), PathBuf::new());
    let record = OutingRecord { bike: bike.to_owned(), id, file, outing, setup: None, cylinders: Vec::new() };
    Ok(self::hours(&record, &of_all_bikes(book)?))
}

fn hours(record: &OutingRecord, others: &[OutingRecord]) -> Option<Slip> {
    let hours = |outing: &Outing| outing.hours.as_ref().map(|hours| hours.si() / 3_600.0);
    let found = hours(&record.outing)?;
    let of_bike = others.iter().filter(|other| other.bike == record.bike);
    let mut around: Vec<(i64, f64)> = of_bike
        .filter(|other| !other.outing.doubts(Doubted::Hours))
        .filter_map(|other| Some((apart(record, other), hours(&other.outing)?)))
        .collect();
    around.sort_by_key(|(apart, _)| *apart);
    around.truncate(AROUND);
    let longest = around.iter().map(|(_, hours)| *hours).fold(0.0, f64::max);
    if around.len() < TOO_FEW || found <= 1.0 || found <= TIMES_AS_LONG * longest {
        return None;
    }
    Some(Slip {
        what: Questioned::Hours,
        field: "hours".into(),
        question: format!(
            "{} h of running, where the longest of the {} outings around it is {} h: is it a typing mistake?",
            trimmed(found, 2),
            around.len(),
            trimmed(longest, 2)
        ),
        instead: "Minutes are written like \"18 min\".".into(),
    })
}
