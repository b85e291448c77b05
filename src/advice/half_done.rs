//! A bike between two setups: some of its jobs are ticked, and what stands on it now is leaner than either of them.

use super::held::{Shelf, Step, Tables};
use super::rejet::SIZE;
use crate::notebook::fields::cylinder::at_cylinder;
use crate::notebook::{Combination, FieldSet};
use crate::quantity::fixed;
use crate::store::{BikeJobs, Book, StoreError};

const FULL: &str = "full";

/// What is to be said of a bike whose jobs are done in part, where it has a size less fuel at full throttle now than the setup that ran and
/// than the one that is to be on it: another fuel that came before its jets, smaller jets that came before their fuel. Of several
/// cylinders the first that is so.
pub(super) fn leaner_than_either(book: &Book<'_>, jobs: &BikeJobs) -> Result<Option<String>, StoreError> {
    let (Some((ran, wanted)), Some(on_it)) = (jobs.step(), jobs.on_it()) else { return Ok(None) };
    if jobs.jobs.iter().all(|job| job.done.is_none()) || jobs.open().next().is_none() {
        return Ok(None);
    }
    let whole = |number| book.combination(&jobs.bike, Some(number));
    let (ran, wanted) = (whole(ran)?, whole(wanted)?);
    let shelf = Shelf::of(book, &jobs.bike)?;
    let tables = shelf.tables();
    let names = wanted.fields.cylinders();
    if names.is_empty() {
        return Ok(leaner(jobs, (&ran, &wanted, on_it), None, &tables));
    }
    let of_one = |name: &String| {
        let own = (&ran.for_cylinder(name), &wanted.for_cylinder(name), &on_it.for_cylinder(name));
        Some(at_cylinder(name, &leaner(jobs, own, Some(name), &tables)?))
    };
    Ok(names.iter().find_map(of_one))
}

fn leaner(
    jobs: &BikeJobs,
    (ran, wanted, on_it): (&Combination, &Combination, &FieldSet),
    cylinder: Option<&str>,
    tables: &Tables<'_>,
) -> Option<String> {
    let of_this = |field: &str| {
        let own = cylinder.and_then(|name| field.strip_prefix(name)?.strip_prefix('.'));
        own.unwrap_or(field).to_owned()
    };
    let open: Vec<String> = jobs.open().map(|job| of_this(&job.item.field)).collect();
    let is_open = |wanted: &str| open.iter().any(|field| field == wanted);
    let before = ran.setup.as_ref()?;
    let mut now = wanted.setup.clone()?;
    // More or less oil is another petrol by next to nothing.
    if open.iter().any(|field| field.starts_with("fuel.") && field != "fuel.oil_ratio") {
        now.fuel.clone_from(&before.fuel);
    }
    if is_open("jetting.main") {
        now.jetting.clone_from(&before.jetting);
    }
    if is_open("injection.trim") || is_open("injection.fuel") {
        now.injection.clone_from(&before.injection);
    }
    let now = Combination { setup: Some(now), fields: on_it.clone(), ..wanted.clone() };
    let fuel = |to: &Combination| Step::between(ran, to, tables).fuel_at(FULL);
    let (now, is_to_be) = (fuel(&now)?, fuel(wanted).unwrap_or(1.0));
    (now < is_to_be.min(1.0) - SIZE).then(|| {
        let percent = fixed(100.0 * (1.0 - now), 1);
        format!(
            "As it stands now it is {percent} % leaner at full throttle than what ran: do the rest before it is started."
        )
    })
}
