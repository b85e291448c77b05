//! A run mended: what looks like a slip is found first, what follows from it is said afterwards.

use crate::advice::closing;
use crate::advice::learning::OwnNames;
use crate::advice::slips::{Slip, TypedOuting, ahead, before_its_setup, of_outing};
use crate::machine::Moment;
use crate::notebook::{Doubted, When};
use crate::quantity::Units;
use crate::report::Trouble;
use crate::report::all_worded;
use crate::report::history::outing::OutingWritten;
use crate::store::{Book, Garage, Mend, OutingRecord, StoreError, mend, preview_outing};

use super::{OpenThen, Without};

/// What is to be asked of what is said now of a run, and what of it is doubted already.
pub fn slips_of_mend(
    book: &Book<'_>,
    known: &OutingRecord,
    wanted: &Mend,
    (now, units): (When, Units),
) -> Result<(Vec<Slip>, Vec<Doubted>), Trouble> {
    let then = preview_outing(book, known, wanted)?;
    let typed = TypedOuting { record: &then, dated_by_clock: false, units };
    let mut found = of_outing(book, typed)?;
    found.extend(ahead(&then.outing, now));
    found.extend(before_its_setup(book, &then)?);
    found.retain(|slip| slip.fields().iter().any(|field| wanted.sets(field)));
    Ok((found, then.outing.doubted))
}

/// A run that was mended.
pub struct Mended {
    record: OutingRecord,
    remarks: Vec<String>,
    taken_back: bool,
    own: OwnNames,
}

impl Mended {
    /// The answer.
    pub fn answer(&self) -> OutingWritten<'_> {
        OutingWritten::new(&self.record.bike, &self.record, &self.remarks)
            .among(self.own.clone())
            .taken_back(self.taken_back)
    }
}

/// The jobs that a logged run was without, by the numbers that they had when it ran.
pub fn ran_without(book: &Book<'_>, known: &OutingRecord, numbers: &[u32]) -> Result<Without, Trouble> {
    if numbers.is_empty() {
        return Ok(Without::default());
    }
    let jobs = book.jobs_at(&known.bike, known.outing.date.minutes_later(-1))?;
    let open = OpenThen { on_it: book.really_on(&jobs)?, cautions: Vec::new(), jobs };
    Without::of(book, &open.jobs, (&known.bike, Some(&open)), numbers)
}

/// Mends a run, and takes back what it was without.
pub fn mended(
    garage: &Garage,
    known: &OutingRecord,
    (wanted, without): (&Mend, &Without),
    moment: &Moment,
) -> Result<Mended, Trouble> {
    let mut wanted = wanted.clone();
    wanted.confirm.extend(closing::corrected(&known.outing, &wanted));
    let nothing_else = !without.is_none() && without.is_of_parts();
    let record = match mend(garage, &known.bike, &known.id, &wanted, moment) {
        Err(StoreError::NothingChanged { .. }) if nothing_else => known.clone(),
        mended => mended?,
    };
    let mut remarks = without.take_back(garage, record.outing.date, moment)?;
    remarks.extend(all_worded(&closing::remarks(&known.outing, &record.outing)));
    Ok(Mended {
        remarks,
        taken_back: closing::taken_back(&known.outing, Some(&record.outing)).is_some(),
        record,
        own: OwnNames::of_garage(garage),
    })
}
