//! Which setup a lean run really had, where what was recorded before it was never ticked: of those that may have been on the bike the
//! richest is taken to have run lean, until somebody says which it was. Nothing is safe that is leaner than that.

use std::rc::Rc;

use super::combination::{INCOMPARABLE, other_combination};
use super::hold::{Tables, least_delivered};
use super::proposal::Shelf;
use crate::advice::closing::was_lean;
use crate::notebook::{Combination, Doubted, Outing, When, ZONES, section_of};
use crate::quantity::Quantity;
use crate::store::{Book, OutingRecord, SetupRecord, StoreError};

/// Sections of a setup that its fuel hangs on.
const OF_FUEL: [&str; 3] = ["jetting", "injection", "fuel"];

/// Whether a run's fuel hangs on a field.
pub fn is_of_fuel(field: &str) -> bool {
    OF_FUEL.contains(&section_of(field))
}

/// Whether what a run says hangs on a field: its fuel, or which engine it was.
pub fn is_of_the_run(field: &str) -> bool {
    is_of_fuel(field) || field == "engine"
}

/// Whether nobody knows which setup a run at a date has on the bike: jobs that what it says hangs on are open.
pub fn is_setup_doubted(book: &Book<'_>, bike: &str, date: When) -> Result<bool, StoreError> {
    Ok(book.jobs_at(bike, date)?.open().any(|job| is_of_the_run(&job.item.field)))
}

/// Whether it is not known which setup a run had that was lean: nobody ticked what was recorded before it, and no cause is written down.
pub fn is_setup_open(outing: &Outing) -> bool {
    outing.doubts(Doubted::Setup) && was_lean(outing) && !outing.is_closed()
}

/// Whether a lean run on the setup that stands on the bike would forbid more than one on the newest setup, which is still to be fitted: another
/// engine or carburetor, or more fuel at any throttle of any cylinder. Then nobody's silence may say which it was.
pub fn would_forbid_more(
    book: &Book<'_>,
    (stands, newest): (&SetupRecord, &SetupRecord),
) -> Result<bool, StoreError> {
    let shelf = Shelf::of(book, &newest.bike)?;
    let tables = shelf.tables();
    let whole = |setup: &SetupRecord| book.combination(&newest.bike, Some(setup));
    let (stands, newest) = (whole(stands)?, whole(newest)?);
    if !other_combination(&newest.fields, &stands.fields).is_empty() {
        return Ok(true);
    }
    let more = |newest: &Combination, stands: &Combination| {
        ZONES.iter().any(|(zone, ..)| is_richer(newest, stands, zone, &tables))
    };
    let names = newest.fields.cylinders();
    let at_one = names.iter().any(|name| more(&newest.for_cylinder(name), &stands.for_cylinder(name)));
    Ok(at_one || names.is_empty() && more(&newest, &stands))
}

/// Numbers of the setups that may have been on the bike in a run, the one it is recorded with left out.
pub fn may_have_run_instead(book: &Book<'_>, run: &OutingRecord) -> Result<Vec<u32>, StoreError> {
    let setups = book.setups(&run.bike)?;
    let places = may_have_run(&setups, &book.outings(&run.bike)?, run);
    Ok(places.into_iter().filter_map(|place| setups.get(place)).map(|setup| setup.number).collect())
}

/// Places of the setups that may have been on the bike in a run, the one it is recorded with left out: those since the setup that ran before
/// it. `setups` and `runs` stand oldest first.
pub(super) fn may_have_run(setups: &[SetupRecord], runs: &[OutingRecord], run: &OutingRecord) -> Vec<usize> {
    let place_of = |number: Option<u32>| setups.iter().position(|setup| Some(setup.number) == number);
    let Some(recorded) = place_of(run.setup) else { return Vec::new() };
    let earlier = runs.iter().rev().filter(|one| one.outing.date < run.outing.date);
    let other = earlier.filter_map(|one| place_of(one.setup)).find(|place| *place != recorded);
    (other.unwrap_or(0)..recorded).collect()
}

/// The richest at a zone of what may have been on the bike instead of `recorded`; none where that is the one.
pub(super) fn richest(
    recorded: &Rc<Combination>,
    instead: &[(u32, Rc<Combination>)],
    zone: &str,
    tables: &Tables<'_>,
) -> Option<(u32, Rc<Combination>)> {
    let comparable = |other: &&(u32, Rc<Combination>)| {
        let others = other_combination(&recorded.fields, &other.1.fields);
        !others.iter().any(|part| INCOMPARABLE.contains(part))
    };
    let mut most: Option<&(u32, Rc<Combination>)> = None;
    for other in instead.iter().filter(comparable) {
        if is_richer(most.map_or(recorded, |(_, whole)| whole), &other.1, zone, tables) {
            most = Some(other);
        }
    }
    most.cloned()
}

/// Whether one setup has more fuel at a zone than another; by main jet and clip where it cannot be reckoned.
fn is_richer(than: &Combination, one: &Combination, zone: &str, tables: &Tables<'_>) -> bool {
    if let Some(fuel) = least_delivered(than, one, zone, tables) {
        return fuel > 1.0 + 1e-9;
    }
    let number = |whole: &Combination, field: &str| whole.fields.quantity(field).map(Quantity::value);
    let more = |field: &str| {
        let both = number(than, field).zip(number(one, field));
        both.map_or(std::cmp::Ordering::Equal, |(than, one)| one.total_cmp(&than))
    };
    match zone {
        "full" => more("jetting.main").is_gt(),
        _ => more("jetting.clip").then(more("jetting.main")).then(more("jetting.pilot")).is_gt(),
    }
}
