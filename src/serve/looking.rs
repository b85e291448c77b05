//! A part of a bike's engine that was looked at: written down from the page of what is due, as `part inspect` does it.

use super::asked::Reply;
use super::said;
use crate::acts::due::{WhichParts, due};
use crate::acts::typed::when;
use crate::advice::building::parts_at;
use crate::notebook::{Deed, part_at};
use crate::report::Trouble;
use crate::report::page::live::{self, FormFields, LOOKED, LookForm, PART, PageAt, SEEN};
use crate::serve::standing::{Visit, Written};
use crate::store::{Book, PartDeed, PartRecord, act_on_part};

/// What is due of a bike, and the form for a look at one of the parts in its engine.
pub(super) fn page(
    visit: &Visit,
    bike: &str,
    typed: &FormFields,
    wrong: Option<Trouble>,
) -> Result<String, Trouble> {
    let now = visit.moment.now;
    let answer = due(&visit.garage, WhichParts { bike: Some(bike), ..WhichParts::default() }, now)?;
    let parts = in_its_engine(visit, bike)?;
    let named = |record: &PartRecord| {
        let cylinder = record.part.place_at(now).and_then(|place| place.cylinder.map(str::to_owned));
        let words = part_at(&record.name, cylinder.as_deref());
        (record.name.clone(), format!("{words} ({})", record.part.kind))
    };
    let form = LookForm { parts: parts.iter().map(named).collect(), typed: typed.clone(), wrong };
    Ok(live::due(&visit.place(Some(bike), PageAt::Due), &visit.screen, &answer, &form))
}

/// Writes it down; what is wrong is said with the form as it was typed.
pub(super) fn write(visit: &Visit, bike: &str, typed: &FormFields) -> Result<Written, Trouble> {
    match looked_at(visit, bike, typed) {
        Ok(part) => {
            let page = format!("/due?{LOOKED}={}", live::in_address(&part));
            Ok(Written::Recorded(Reply::go(visit.place(Some(bike), PageAt::Due).address(&page))))
        }
        Err(wrong) => {
            let body = page(visit, bike, typed, Some(said::of_form(wrong)))?;
            Ok(Written::Asked(Reply { status: 400, ..Reply::page(body) }))
        }
    }
}

fn looked_at(visit: &Visit, bike: &str, typed: &FormFields) -> Result<String, Trouble> {
    let Some(part) = typed.said(PART) else {
        return Err(Trouble::request(
            Some(PART),
            "No part was chosen.",
            "Choose the one that was inspected.",
        ));
    };
    if !in_its_engine(visit, bike)?.iter().any(|record| record.name == part) {
        return Err(Trouble::request(
            Some(PART),
            format!("{part} is not in the engine of {bike} now: nothing was written down."),
            "Choose one of those that are, or write it down at the laptop.",
        ));
    }
    let date = typed.said("date").map(|typed| when(typed, visit.moment.now)).transpose()?;
    let said = typed.said(SEEN).map(|seen| ("note", seen.to_owned())).into_iter().collect();
    let did = Deed::Inspected;
    let deed = PartDeed { part: part.to_owned(), did, date, fitting: None, moved: false, said };
    Ok(act_on_part(&visit.garage, &deed, &visit.moment)?.name)
}

/// The parts in a bike's engine.
fn in_its_engine(visit: &Visit, bike: &str) -> Result<Vec<PartRecord>, Trouble> {
    let book = Book::open(&visit.garage)?;
    let whole = book.combination(bike, None)?;
    let Some(engine) = whole.fields.text("engine") else { return Ok(Vec::new()) };
    Ok(parts_at(&book, engine, visit.moment.now)?)
}
