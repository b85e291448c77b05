//! What a bike ran on: the setup of each run, what may have been on it instead, and the last one that a step is counted from.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use super::combination::{INCOMPARABLE, METERING, other_combination};
use super::proposal::Proposal;
use super::really::may_have_run;
use super::sign::{was_judged, was_judged_full, was_judged_open};
use crate::advice::closing::was_lean;
use crate::notebook::editing::assign::apply;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::meaning::Hurts;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::{Assignment, Combination, EditOptions, Mixture, Value, compare, differing, section_of};
use crate::store::{Book, OutingRecord, SetupRecord, StoreError};

/// Setups that ran, each read once and only when it is asked for.
pub(super) struct Setups<'b, 'g> {
    book: &'b Book<'g>,
    bike: &'b str,
    pub(super) records: Vec<SetupRecord>,
    read: RefCell<HashMap<u32, Rc<Combination>>>,
}

impl<'b, 'g> Setups<'b, 'g> {
    pub(super) fn of(book: &'b Book<'g>, bike: &'b str) -> Result<Self, StoreError> {
        Ok(Self { book, bike, records: book.setups(bike)?, read: RefCell::default() })
    }

    /// What may have been on the bike instead of what a run is recorded with.
    pub(super) fn instead(
        &self,
        run: &OutingRecord,
        runs: &[OutingRecord],
    ) -> Result<MayHaveRun, StoreError> {
        let mut found = Vec::new();
        for record in may_have_run(&self.records, runs, run) {
            let whole = self.book.combination(self.bike, Some(&self.records[record]))?;
            found.push((self.records[record].number, Rc::new(whole)));
        }
        Ok(found)
    }

    pub(super) fn that_ran(&self, run: &OutingRecord) -> Result<Option<Rc<Combination>>, StoreError> {
        let Some(record) = self.records.iter().find(|record| Some(record.number) == run.setup) else {
            return Ok(None);
        };
        if let Some(known) = self.read.borrow().get(&record.number) {
            return Ok(Some(Rc::clone(known)));
        }
        let whole = Rc::new(self.book.combination(self.bike, Some(record))?);
        self.read.borrow_mut().insert(record.number, Rc::clone(&whole));
        Ok(Some(whole))
    }
}

/// Setups by their numbers.
pub(super) type MayHaveRun = Vec<(u32, Rc<Combination>)>;

/// The setup that the engine and carburetor of a combination ran last, with its number; none where that is the newest setup, or where
/// they never ran.
pub fn last_ran(
    book: &Book<'_>,
    bike: &str,
    combination: &Combination,
) -> Result<Option<(u32, Combination)>, StoreError> {
    let comparable = |others: &[&str]| !others.iter().any(|part| INCOMPARABLE.contains(part));
    Ok(newest_run(book, bike, combination, (&comparable, &|_| true))?
        .filter(|(_, _, newest)| !newest)
        .map(counted))
}

/// The setup of the last run of the same engine and carburetor that was judged at full or three-quarter throttle, with its number: main
/// jet and spark count from it, for a verdict at idle shows no plug. None where that is the newest setup, or where none was.
pub fn judged_open(
    book: &Book<'_>,
    bike: &str,
    combination: &Combination,
) -> Result<Option<(u32, Combination)>, StoreError> {
    let its_own = |others: &[&str]| !others.iter().any(|part| INCOMPARABLE.contains(part));
    let judged = |run: &OutingRecord| was_judged_open(&run.outing);
    let found = newest_run(book, bike, combination, (&its_own, &judged))?;
    Ok(found.filter(|(_, _, newest)| !newest).map(counted))
}

/// The setup that full throttle was last judged on, with its number, where only three-quarter throttle was judged since; of a bike on which
/// full throttle never was, the first that was judged at three quarters. None where the newest such run was judged at full throttle.
pub(super) fn judged_at_full_before(
    book: &Book<'_>,
    bike: &str,
    combination: &Combination,
) -> Result<Option<(u32, Combination)>, StoreError> {
    let setups = Setups::of(book, bike)?;
    let mut earliest = None;
    for run in book.outings(bike)?.iter().rev().filter(|run| was_judged_open(&run.outing)) {
        let Some((ran, number)) = setups.that_ran(run)?.zip(run.setup) else { continue };
        let others = other_combination(&combination.fields, &ran.fields);
        if others.iter().any(|part| INCOMPARABLE.contains(part)) {
            continue;
        }
        let at_full = was_judged_full(&run.outing);
        if at_full && earliest.is_none() {
            return Ok(None);
        }
        earliest = Some((number, Combination::clone(&ran)));
        if at_full {
            break;
        }
    }
    Ok(earliest)
}

/// From what a step is counted: the setup of the last run with a verdict on the same engine and carburetor, of the first run where none
/// was judged, for nobody has said that what came since was any good; of any engine where this one never ran. None where that is the
/// newest setup. With whether the engine itself ran.
pub(super) fn to_count_from(
    book: &Book<'_>,
    bike: &str,
    combination: &Combination,
) -> Result<(Option<(u32, Combination)>, bool), StoreError> {
    let judged = |run: &OutingRecord| was_judged(&run.outing);
    let its_own = |others: &[&str]| !others.iter().any(|part| INCOMPARABLE.contains(part));
    let of_any = |others: &[&str]| !others.iter().any(|part| METERING.contains(part));
    let of = |parts, runs| newest_run(book, bike, combination, (parts, runs));
    let first = book.outings(bike)?.into_iter().find(|run| run.setup.is_some()).map(|run| run.id);
    let is_first = |run: &OutingRecord| Some(&run.id) == first.as_ref();
    let any_run = |_: &OutingRecord| true;
    let own = match of(&its_own, &judged)? {
        Some(found) => Some(found),
        None => match of(&its_own, &is_first)? {
            Some(found) => Some(found),
            None => of(&its_own, &any_run)?,
        },
    };
    let ran = own.is_some();
    let found = match own {
        Some(found) => Some(found),
        None => of(&of_any, &judged)?,
    };
    Ok((found.filter(|(_, _, newest)| !newest).map(counted), ran))
}

fn counted((number, whole, _): (u32, Combination, bool)) -> (u32, Combination) {
    (number, whole)
}

/// The parts in which a run's combination may be another one, and the runs that count.
type AsAsked<'a> = (&'a dyn Fn(&[&str]) -> bool, &'a dyn Fn(&OutingRecord) -> bool);

/// The newest run of a bike that is as asked, by the parts in which its combination is another one and by itself: its setup's number, what
/// that was, and whether it is the newest setup.
fn newest_run(
    book: &Book<'_>,
    bike: &str,
    combination: &Combination,
    (parts, runs): AsAsked<'_>,
) -> Result<Option<(u32, Combination, bool)>, StoreError> {
    let Some(newest) = book.latest(bike)? else { return Ok(None) };
    let setups = Setups::of(book, bike)?;
    for run in book.outings(bike)?.iter().rev().filter(|run| runs(run)) {
        let Some(ran) = setups.that_ran(run)? else { continue };
        if parts(&other_combination(&combination.fields, &ran.fields)) {
            let number = run.setup.unwrap_or(newest.number);
            return Ok(Some((number, Combination::clone(&ran), number == newest.number)));
        }
    }
    Ok(None)
}

/// Whether a bike ran on fuel, spark and carburetor like these.
pub(super) fn ran_like(book: &Book<'_>, bike: &str, combination: &Combination) -> Result<bool, StoreError> {
    let setups = Setups::of(book, bike)?;
    let counts = |field: &str| matches!(section_of(field), "jetting" | "injection" | "ignition" | "fuel");
    for run in book.outings(bike)?.iter().rev() {
        let Some(ran) = setups.that_ran(run)? else { continue };
        if !differing(&combination.fields, &ran.fields).any(counts) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// What is on a bike that never ran, with what is only written down now: that is no change. None where it ran, or has no setup yet.
pub(super) fn filled_in(book: &Book<'_>, proposal: &Proposal<'_>) -> Result<Option<Combination>, StoreError> {
    let Some(before) = proposal.before.filter(|_| !proposal.back) else { return Ok(None) };
    let both = (&before.fields, &proposal.after.fields);
    let fields = book.with_what_is_first_written(proposal.bike, both)?;
    Ok(fields.map(|fields| Combination { fields, ..before.clone() }))
}

/// Fails when a lean run that no later one was right after names a setup that the book does not have: what it forbids is not known.
pub fn require_lean_runs_placed(book: &Book<'_>, bike: &str) -> Result<(), StoreError> {
    // In a clone without the beginning of its history the setup is only not here.
    if book.garage().cut_off().is_some() {
        return Ok(());
    }
    let setups = book.setups(bike)?;
    let is_known = |id: &String| setups.iter().any(|setup| setup.id == *id);
    for run in book.outings(bike)?.into_iter().rev() {
        let outing = &run.outing;
        if run.setup.is_some() && outing.at_full_throttle() >= Some(Mixture::Right) && !was_lean(outing) {
            return Ok(());
        }
        let stranger = outing.setup.as_ref().filter(|id| run.setup.is_none() && !is_known(id));
        if let Some(id) = stranger.filter(|_| was_lean(outing) && !outing.is_closed()) {
            return Err(StoreError::request(
                Some("setup"),
                format!(
                    "The run of {} was lean, and no setup of {} is known as \"{}\": on which jets it was is not known.",
                    outing.date.short(),
                    visible(bike),
                    visible(id)
                ),
                Guidance::from("Say which setup it ran: ")
                    + Command::MendOuting(bike.to_owned(), run.id.clone(), OutingChange::Setup)
                    + ".",
            ));
        }
    }
    Ok(())
}

/// How many setups are looked through for a value that was taken out.
const LOOKED_THROUGH: usize = 50;

/// What is on a bike, with the last value of each field that was taken out and is written anew: in between nothing was done to it. None
/// where nothing is written anew that can hurt.
pub(super) fn with_what_was_taken_out(
    book: &Book<'_>,
    proposal: &Proposal<'_>,
) -> Result<Option<Combination>, StoreError> {
    let Some(before) = proposal.before.filter(|_| !proposal.back) else { return Ok(None) };
    let hurts = |field: &str| {
        let field = own_of(field).map_or(field, |(_, field)| field);
        Combination::meaning(field).is_some_and(|meaning| meaning.hurts != Hurts::Harmless)
    };
    let changes = compare(&before.fields, &proposal.after.fields).changes;
    let mut anew: Vec<String> = changes
        .into_iter()
        .filter(|change| change.old.is_none() && change.new.is_some() && change.map.is_none())
        .map(|change| change.field)
        .filter(|field| hurts(field))
        .collect();
    if anew.is_empty() {
        return Ok(None);
    }
    let setups = book.setups(proposal.bike)?;
    let Some((latest, earlier)) = setups.split_last() else { return Ok(None) };
    let mut last = Vec::new();
    for setup in earlier.iter().rev().take(LOOKED_THROUGH) {
        let whole = book.combination(proposal.bike, Some(setup))?;
        let others = other_combination(&proposal.after.fields, &whole.fields);
        if anew.is_empty() || others.iter().any(|part| INCOMPARABLE.contains(part)) {
            break;
        }
        anew.retain(|field| {
            let known = whole.fields.get(field).map(Value::text);
            let value = known.clone();
            last.extend(value.map(|value| Assignment { field: field.clone(), at: None, value: Some(value) }));
            known.is_none()
        });
    }
    if last.is_empty() {
        return Ok(None);
    }
    let options = EditOptions { insert: false, refuse_bare_lengths: false };
    let files = apply(&book.files(proposal.bike, Some(latest))?, &last, options).ok();
    Ok(files.map(|files| book.garage().combination(&files)))
}
