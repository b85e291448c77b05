//! A bike between two setups: some of its jobs are ticked, and what stands on it now is leaner than either of them.

use super::held::{Shelf, Step};
use crate::notebook::Combination;
use crate::quantity::fixed;
use crate::store::{BikeJobs, Book, StoreError};

/// Fuel lost at full throttle beside the setup that ran, and beside the one that the jobs lead to, from which it is said: a size (common
/// practice, no source).
const SIZE: f64 = 0.02;

const FULL: &str = "full";

/// What is to be said of a bike whose jobs are done in part, where it has less fuel at full throttle now than the setup that ran and than the
/// one that is to be on it: another fuel that came before its jets, smaller jets that came before their fuel.
pub(super) fn leaner_than_either(book: &Book<'_>, jobs: &BikeJobs) -> Result<Option<String>, StoreError> {
    let (Some((ran, wanted)), Some(on_it)) = (jobs.step(), jobs.on_it()) else { return Ok(None) };
    let is_open = |field: &str| jobs.open().any(|job| job.item.field == field);
    let fuel_is_open = jobs.open().any(|job| job.item.field.starts_with("fuel."));
    let jets_are_open =
        jobs.open().any(|job| ["jetting.", "injection."].iter().any(|of| job.item.field.contains(of)));
    if jobs.jobs.iter().all(|job| job.done.is_none()) || !fuel_is_open && !jets_are_open {
        return Ok(None);
    }
    let whole = |number| book.combination(&jobs.bike, Some(number));
    let (ran, wanted) = (whole(ran)?, whole(wanted)?);
    let (Some(before), Some(after)) = (&ran.setup, &wanted.setup) else { return Ok(None) };
    let mut now = after.clone();
    if fuel_is_open {
        now.fuel.clone_from(&before.fuel);
    }
    if is_open("jetting.main") {
        now.jetting.clone_from(&before.jetting);
    }
    if is_open("injection.trim") || is_open("injection.fuel") {
        now.injection.clone_from(&before.injection);
    }
    let now = Combination { setup: Some(now), fields: on_it.clone(), ..wanted.clone() };
    let shelf = Shelf::of(book, &jobs.bike)?;
    let tables = shelf.tables();
    let fuel = |to: &Combination| Step::between(&ran, to, &tables).fuel_at(FULL);
    let (Some(now), is_to_be) = (fuel(&now), fuel(&wanted).unwrap_or(1.0)) else { return Ok(None) };
    Ok((now < is_to_be.min(1.0) - SIZE).then(|| {
        let percent = fixed(100.0 * (1.0 - now), 1);
        format!(
            "As it stands now it is {percent} % leaner at full throttle than what ran: do the rest before it is started."
        )
    }))
}
