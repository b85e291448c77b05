//! A part that was written down as fitted, and was not in yet when the bike ran: its event moves behind the run, and is to be done again.

use crate::machine::Moment;
use crate::notebook::{Deed, Entered, Part, When};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::pages::editable;
use crate::store::history::repository::Message;
use crate::store::writing::jobs::{PartGoes, file_of_part};
use crate::store::writing::parts::{PART_TRAILER, PartFile};

/// Moves the newest event of a part before a run, and those of its kind of the same moment (what came out for it), behind the run, and
/// writes down that it was still to be done then. What was done to it since stays where it is. Gives the parts.
pub fn put_off(
    garage: &Garage,
    (part, from, to): (&str, Option<&str>, Option<&str>),
    ran: When,
    moment: &Moment,
) -> Result<Vec<String>, StoreError> {
    let _lock = garage.begin_writing(moment)?;
    let book = Book::open(garage)?;
    let own = book.part(part)?;
    let after = ran.minutes_later(1);
    let by_then = own.part.events.values().map(|event| event.date).filter(|date| *date <= ran);
    let Some(newest) = by_then.max_by_key(When::unix) else {
        return Ok(Vec::new());
    };
    let (mut changes, mut moved, mut came_out) = (Vec::new(), Vec::new(), None);
    // Before the newest event, and since.
    let before = When::from_unix(newest.unix() - 1, newest.offset_minutes()).unwrap_or(newest);
    let places = |part: &Part| -> Vec<(String, Option<String>)> {
        let found = [newest, before].into_iter().filter_map(|date| part.place_at(date));
        found.map(|place| (place.engine.to_owned(), place.cylinder.map(str::to_owned))).collect()
    };
    let own_places = places(&own.part);
    // What was done at another cylinder at that moment is its own work.
    let is_elsewhere = |other: &Part| {
        let (own, others) = (own_places.first(), places(other));
        own.is_some_and(|(_, cylinder)| cylinder.is_some()) && !others.iter().any(|place| Some(place) == own)
    };
    for record in book.parts()?.iter().filter(|record| record.part.kind == own.part.kind) {
        if record.name != part && is_elsewhere(&record.part) {
            continue;
        }
        let then: Vec<_> = record.part.events.iter().filter(|(_, event)| event.date == newest).collect();
        if then.is_empty() {
            continue;
        }
        let page = editable(garage, &record.file)?;
        let mut sheet = PartFile { garage, file: record.file.clone(), page };
        for (name, event) in then {
            sheet.write(&[Entered::new(&format!("events.{name}.date"), Some(&after.to_string()))])?;
            if event.did == Deed::Removed && record.name != part {
                came_out = Some(record.name.clone());
            }
        }
        changes.push(sheet.checked()?);
        moved.push(record.name.clone());
    }
    if let Some((engine, _)) = own_places.first() {
        let (from, to) = (from.map(str::to_owned), to.map(str::to_owned));
        let goes = PartGoes { part, engine, from, to, instead_of: came_out.as_deref() };
        changes.extend(file_of_part(&book, goes, (after, moment))?);
    }
    let why = format!("{} was done after the run", moved.join(", "));
    let trailers = vec![(PART_TRAILER, part.to_owned())];
    garage.repository().record(&changes, &Message { why, trailers }, moment.now, moment.now)?;
    Ok(moved)
}
