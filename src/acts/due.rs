//! What must be changed or looked at.

use std::collections::BTreeSet;

use crate::advice::building;
use crate::advice::parts::{Counted, Overdue, State, bores, to_take};
use crate::notebook::When;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::report::Trouble;
use crate::report::parts::due::PartDueAnswer;
use crate::report::{all_worded, worded};
use crate::store::{Book, Garage, OutingRecord, owner_of};

/// Which parts are asked about.
#[derive(Debug, Clone, Copy, Default)]
pub struct WhichParts<'a> {
    /// Only those in this bike's engine.
    pub bike: Option<&'a str>,
    /// A part is due soon when it has so many hours left, h; by its limit where none is said.
    pub within_h: Option<f64>,
    /// Parts with enough left one by one, too.
    pub all: bool,
    /// Only what comes due within the next event.
    pub next_event: bool,
}

/// Parts due at a moment, the most urgent first, and what to take along.
pub fn due(garage: &Garage, which: WhichParts<'_>, at: When) -> Result<PartDueAnswer, Trouble> {
    if let Some(bike) = which.bike {
        garage.require_bike(bike)?;
    }
    let book = Book::open(garage)?;
    let counted = Counted::in_book(&book, at)?;
    let ledger = counted.ledger(which.within_h);
    let due = ledger.due(&counted.parts, which.bike);
    let taking = to_take(&due, &ledger.shelf(&counted.parts), &bores(garage)?);
    let mut remarks = all_worded(&counted.remarks(which.bike));
    // Whose bill it is.
    let urgent = due.parts.iter().filter(|part| part.state() >= State::Soon);
    let engines: BTreeSet<&str> = urgent.filter_map(|part| part.engine.as_deref()).collect();
    remarks.extend(engines.into_iter().filter_map(|engine| {
        let owner = owner_of(garage, engine)?;
        Some(format!("{engine} is {owner}'s."))
    }));
    // What nobody knows of a bike may be what a run lacks.
    let not_known = due.parts.iter().filter(|part| part.state() == State::NotKnown);
    let bikes: BTreeSet<&str> = not_known.filter_map(|part| part.bike.as_deref()).collect();
    for bike in bikes {
        let outings = book.outings(bike)?;
        let without = |record: &&OutingRecord| record.outing.hours.is_none() && record.outing.meter.is_none();
        if let Some(last) = outings.iter().rev().find(without) {
            let date = last.outing.date.short();
            let without = format!("The run of {date} on {bike} has no running time: ");
            let mend = Command::MendOuting(bike.to_owned(), last.id.clone(), OutingChange::Hours);
            remarks.push(worded(&(Guidance::from(without) + mend + ".")));
        }
    }
    let seized = counted.seized(&book, which.bike)?;
    Ok(PartDueAnswer::new(&due, &taking, (which.all, which.next_event), remarks).with_seized(&seized))
}

/// The parts of a bike's engine that are over their limit at a moment, a sentence each.
pub fn overdue(garage: &Garage, bike: &str, at: When) -> Result<Vec<String>, Trouble> {
    let book = Book::open(garage)?;
    let whole = book.combination(bike, None)?;
    let Some(engine) = whole.fields.text("engine") else { return Ok(Vec::new()) };
    let over = building::over_their_limit(&book, engine, at)?;
    let said: Vec<String> = over.iter().map(Overdue::sentence).collect();
    // What is not known is said where nothing else is.
    Ok(if said.is_empty() { building::not_counted(&book)?.into_iter().collect() } else { said })
}
