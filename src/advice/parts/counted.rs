//! All parts of a garage with the outings and limits that they are counted by, read at once.

use std::collections::{BTreeMap, BTreeSet};

use super::{EngineRun, Ledger, runs};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::{Limits, When};
use crate::store::{Book, Garage, PartRecord, StoreError, missing_outings, missing_parts};

/// What parts are counted by.
#[derive(Debug)]
pub struct Counted {
    /// The parts.
    pub parts: Vec<PartRecord>,
    /// The runs of every engine.
    pub runs: Vec<EngineRun>,
    /// The limits, configs/limits.toml.
    pub limits: Limits,
    /// Which bike each engine is in, with the number of its setup.
    pub holders: BTreeMap<String, (String, u32)>,
    /// Bikes that are retired.
    pub retired: BTreeSet<String>,
    /// Until when is counted.
    pub now: When,
    /// Outings of a bike, and parts, that count for nothing, and why.
    left_out: Vec<(Option<String>, Guidance)>,
}

impl Counted {
    /// Reads them.
    pub fn of(garage: &Garage, now: When) -> Result<Self, StoreError> {
        Self::in_book(&Book::open(garage)?, now)
    }

    /// The same, in a book that is open.
    pub fn in_book(book: &Book<'_>, now: When) -> Result<Self, StoreError> {
        let garage = book.garage();
        let mut retired = BTreeSet::new();
        for bike in garage.bikes() {
            // A bike whose file cannot be read is taken to be in use.
            if garage.bike(&bike).is_ok_and(|document| document.retired.is_some()) {
                retired.insert(bike);
            }
        }
        Ok(Self {
            parts: book.parts()?,
            runs: runs(book)?,
            limits: garage.limits()?,
            holders: book.engine_holders()?,
            retired,
            now,
            left_out: left_out(garage, book)?,
        })
    }

    /// Bikes that are not retired.
    pub fn in_use(&self, garage: &Garage) -> Vec<String> {
        garage.bikes().into_iter().filter(|bike| !self.retired.contains(bike)).collect()
    }

    /// The ledger; `within_h` is what counts as due soon, hours.
    pub fn ledger(&self, within_h: Option<f64>) -> Ledger<'_> {
        Ledger {
            runs: &self.runs,
            limits: &self.limits,
            now: self.now,
            holders: &self.holders,
            retired: &self.retired,
            within_h,
        }
    }

    /// What is left out of the count, of one bike or of all.
    pub fn remarks(&self, bike: Option<&str>) -> Vec<Guidance> {
        let of = |of: &Option<String>| bike.is_none() || of.is_none() || of.as_deref() == bike;
        self.left_out.iter().filter(|(bike, _)| of(bike)).map(|(_, text)| text.clone()).collect()
    }
}

/// What is in the book and cannot be counted.
fn left_out(garage: &Garage, book: &Book<'_>) -> Result<Vec<(Option<String>, Guidance)>, StoreError> {
    let mut remarks = Vec::new();
    let several =
        |number: usize, one: &str| if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") };
    for bike in garage.bikes() {
        let mut say = |text: Guidance| remarks.push((Some(bike.clone()), text));
        let broken = book.broken_outings(&bike)?.len() + missing_outings(garage, &bike)?.len();
        if broken > 0 {
            let files = several(broken, "outing file");
            let unread = format!("{files} of {bike} cannot be read, and no part is charged for it: ");
            say(Guidance::from(unread) + Command::CheckGarage + " says why.");
        }
        let setups = book.setups(&bike)?;
        let engine_of = |number| setups.iter().find(|setup| setup.number == number)?.engine.as_ref();
        let outings = book.outings(&bike)?;
        let homeless = outings.iter().filter(|outing| outing.setup.and_then(engine_of).is_none()).count();
        if homeless > 0
            && let Some(cut_off) = garage.cut_off()
        {
            let outings = several(homeless, "outing");
            say(Guidance::from(format!(
                "{outings} of {bike} on setups from before: no part is charged for them, and all have more hours than it says. "
            )) + cut_off);
        } else if homeless > 0 {
            let outings = several(homeless, "outing");
            let without = format!(
                "{outings} of {bike} without a known setup and engine: no part is charged for it. Say it with "
            );
            let mend = Command::MendOuting(bike.clone(), "OUTING".to_owned(), OutingChange::Setup);
            say(Guidance::from(without) + mend + ".");
        }
    }
    for broken in book.broken_parts()? {
        remarks.extend(broken.findings.lines().map(|finding| (None, format!("Left out: {finding}").into())));
    }
    for file in missing_parts(garage)? {
        let file = visible(&file.to_string_lossy().replace('\\', "/"));
        let gone = format!(
            "{file} is recorded and missing on disk: whether the part is over its limit is not known. "
        );
        remarks.push((None, Guidance::from(gone) + Command::MendFile(file) + " brings it back."));
    }
    Ok(remarks)
}
