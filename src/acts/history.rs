//! A bike's setups with their outings.

use std::collections::{BTreeMap, HashMap};

use crate::advice::building::by_setup;
use crate::advice::runs::{FittedIn, RunOnBike};
use crate::advice::standing;
use crate::notebook::compare;
use crate::report::Trouble;
use crate::report::all_worded;
use crate::report::history::outing::OutingList;
use crate::report::history::setups as report;
use crate::store::{Book, Garage, OutingRecord, signatures, who_logged};

/// Setups that a person is shown where no number is asked for.
pub const NEWEST: usize = 6;

/// An order of runs that was asked for.
pub struct InOrder<'o> {
    /// Head of the column that they are put in order by.
    pub column: &'o str,
    /// Puts them in order.
    pub sort: &'o dyn Fn(&mut Vec<RunOnBike<'_>>),
}

/// The history of a bike, given to whoever shows it: the newest setups, so many at most, or all; its runs in an order where one was
/// asked for; with whether git finds them signed where that is wanted.
pub fn history<T>(
    garage: &Garage,
    bike: &str,
    (most, order, signed): (Option<usize>, Option<&InOrder<'_>>, bool),
    show: impl FnOnce(&report::HistoryAnswer<'_>) -> Result<T, Trouble>,
) -> Result<T, Trouble> {
    let document = garage.bike(bike)?;
    let book = Book::open(garage)?;
    let setups = book.setups(bike)?;
    let outings = book.outings(bike)?;
    let happened = by_setup(&book, &setups)?;
    let mut compared = HashMap::new();
    for (place, after) in setups.iter().enumerate().rev().take(most.unwrap_or(usize::MAX)) {
        // Two sides recorded at once: each changed what it had, not what the other wrote a line above.
        let made_from = after.made_from.as_ref().and_then(|id| setups.iter().find(|setup| setup.id == *id));
        let line_above = || place.checked_sub(1).and_then(|above| setups.get(above));
        // What it was made on may be what a clone of the end alone does not hold.
        if garage.repository().begins_with(&after.commit) {
            continue;
        }
        let Some(before) = made_from.or_else(line_above) else { continue };
        let whole = |setup| book.combination(bike, Some(setup));
        let above = line_above().filter(|above| above.id != before.id);
        let made_on = above.map(|_| before.number);
        let (before, now) = (whole(before)?.fields, whole(after)?.fields);
        let same_as = match above {
            Some(above) if whole(above)?.fields.same_as(&now) => Some(above.number),
            _ => None,
        };
        let comparison = compare(&before, &now);
        let number = |id: &String| setups.iter().find(|setup| setup.id == *id).map(|setup| setup.number);
        let mut combined_of: Vec<u32> = after.combined_of.iter().filter_map(number).collect();
        combined_of.sort_unstable();
        let one = report::Compared { comparison, before, after: now, same_as, made_on, combined_of };
        compared.insert(after.number, one);
    }
    // What was on the bike in each run is read only where the runs are listed.
    let fitted = order.map(|_| FittedIn::of(&book, outings.iter())).transpose()?;
    let ordered = fitted.as_ref().zip(order).map(|(fitted, order)| {
        let oldest = setups.iter().rev().take(most.unwrap_or(usize::MAX)).next_back();
        let is_shown = |run: &&OutingRecord| {
            most.is_none() || run.setup.is_some_and(|setup| oldest.is_some_and(|old| setup >= old.number))
        };
        let shown = outings.iter().rev().filter(is_shown);
        let mut runs: Vec<RunOnBike<'_>> =
            shown.map(|record| RunOnBike { record, fitted: fitted.in_run(record) }).collect();
        (order.sort)(&mut runs);
        OutingList::new(bike, &runs, order.column, Vec::new())
    });
    let mut remarks = all_worded(&standing::remarks(&book, bike)?);
    let signatures = signed.then(|| {
        let shown = setups.iter().rev().take(most.unwrap_or(usize::MAX));
        let commits: Vec<&str> = shown.map(|setup| setup.commit.as_str()).collect();
        // The history is told all the same.
        signatures(garage, &commits).unwrap_or_else(|error| {
            remarks.push(format!("Whether they are signed could not be looked at. {error}"));
            BTreeMap::new()
        })
    });
    let oldest = setups.iter().rev().take(most.unwrap_or(usize::MAX)).next_back().map(|setup| setup.number);
    let shown = outings.iter().filter(|run| run.setup >= oldest);
    let logged = who_logged(garage, &shown.map(|run| run.id.as_str()).collect())?;
    let answer = report::HistoryAnswer::of(report::History {
        bike,
        document: &document,
        setups: &setups,
        outings: &outings,
        happened: &happened,
        compared: &compared,
        most,
        signatures: signatures.as_ref(),
        logged,
        remarks,
    })
    .in_order(ordered);
    show(&answer)
}
