//! The parts that are in an engine at a build, and those that came and went between two of them.

use super::super::parts::{Count, IN_THE_BORE, count, runs};
use crate::notebook::{When, part_at};
use crate::quantity::fixed;
use crate::store::{BikeJobs, Book, BuildRecord, PartRecord, StoreError};

/// Parts that are in an engine at a date, by kind and name.
pub fn parts_at(book: &Book<'_>, engine: &str, date: When) -> Result<Vec<PartRecord>, StoreError> {
    let mut parts = book.parts()?;
    parts.retain(|record| record.part.engine_at(date).is_some_and(|(place, _)| place == engine));
    parts.sort_by(|a, b| (&a.part.kind, &a.name).cmp(&(&b.part.kind, &b.name)));
    Ok(parts)
}

/// The cylinder that a part is at, of an engine with several.
fn cylinder_at(record: &PartRecord, date: When) -> Option<&str> {
    record.part.place_at(date)?.cylinder
}

/// What there is to say of a piston, ring or cylinder that went into an engine since it ran last: it is run in rich (common practice, no
/// source). None where the engine itself never ran.
pub fn not_run_in(book: &Book<'_>, engine: &str, date: When) -> Result<Option<String>, StoreError> {
    let last = runs(book)?.into_iter().rev().find(|run| run.engine == engine && run.date <= date);
    let Some(last) = last else { return Ok(None) };
    let jobs = book.open_jobs()?;
    let open: Vec<&str> =
        jobs.iter().flat_map(BikeJobs::open).filter_map(|job| job.item.part.as_deref()).collect();
    let came_since = |record: &PartRecord| {
        // One that its job says is still to be fitted is not in it.
        !open.contains(&record.name.as_str())
            && IN_THE_BORE.contains(&record.part.kind.as_str())
            && record.part.engine_at(date).is_some_and(|(_, since)| since > last.date)
    };
    let parts = parts_at(book, engine, date)?;
    let names: Vec<&str> =
        parts.iter().filter(|record| came_since(record)).map(|record| record.name.as_str()).collect();
    let Some((last, others)) = names.split_last() else { return Ok(None) };
    let all =
        if others.is_empty() { (*last).to_owned() } else { format!("{} and {last}", others.join(", ")) };
    let (has, it) = if others.is_empty() { ("has", "it") } else { ("have", "them") };
    Ok(Some(format!(
        "{all} {has} not run in {engine} yet: run {it} in, a size richer, and hold nothing open before plug and piston were read."
    )))
}

fn is_in(parts: &[PartRecord], name: &str) -> bool {
    parts.iter().any(|record| record.name == name)
}

/// Until when parts that are fitted belong to a build: they go in while it is put together, so until the engine runs
/// again, is built again, or now.
pub fn together_by(book: &Book<'_>, build: &BuildRecord, now: When) -> Result<When, StoreError> {
    let began = build.build.date;
    let run = runs(book)?.into_iter().find(|run| run.engine == build.engine && run.date > began);
    let next = book.builds(&build.engine)?.into_iter().find(|other| other.build.date > began);
    let ends = [run.map(|run| run.date), next.map(|next| next.build.date)];
    let earliest = ends.into_iter().flatten().min();
    let before = earliest.and_then(|end| When::from_unix(end.unix() - 1, end.offset_minutes()));
    Ok(before.unwrap_or(now).max(began))
}

/// Hours as far as they are known: "4.2 h", "at least 12.5 h", "hours not known".
pub fn hours_words(count: &Count) -> String {
    let hours = format!("{} h", fixed(count.hours_h, 1));
    match (count.hours_at_least, count.hours_h > 0.0) {
        (false, _) => hours,
        (true, true) => format!("at least {hours}"),
        (true, false) => "hours not known".to_owned(),
    }
}

/// The parts in an engine at a date with what each has run, in words.
pub fn parts_in(book: &Book<'_>, engine: &str, date: When) -> Result<Vec<String>, StoreError> {
    let runs = runs(book)?;
    let parts = parts_at(book, engine, date)?;
    Ok(parts
        .iter()
        .map(|record| {
            let hours = hours_words(&count(&record.part, &runs, date));
            format!("{} ({}), {hours}", part_at(&record.name, cylinder_at(record, date)), record.part.kind)
        })
        .collect())
}

/// Parts that came into an engine and went out of it between two dates, in words.
pub fn parts_between(
    book: &Book<'_>,
    engine: &str,
    (from, to): (When, When),
) -> Result<Vec<String>, StoreError> {
    let runs = runs(book)?;
    let (then, now) = (parts_at(book, engine, from)?, parts_at(book, engine, to)?);
    // A part that went to another cylinder came out of the one and into the other.
    let was_at = |record: &PartRecord, date: When| cylinder_at(record, date).map(str::to_owned);
    let stayed = |record: &&PartRecord| {
        is_in(&then, &record.name) && is_in(&now, &record.name) && was_at(record, from) == was_at(record, to)
    };
    let of_kind = |record: &PartRecord, date: When| part_at(&record.part.kind, cylinder_at(record, date));
    let mut words = Vec::new();
    for record in now.iter().filter(|record| !stayed(record)) {
        let since = record.part.engine_at(to).map(|(_, since)| since);
        let fitted = since.map(|since| count(&record.part, &runs, since));
        let had = fitted.as_ref().map(hours_words).unwrap_or_default();
        let out = then.iter().find(|old| !stayed(old) && of_kind(old, from) == of_kind(record, to));
        let instead = out.map(|old| {
            // One that is at another cylinder now had what it had run when it went there.
            let until =
                old.part.engine_at(to).filter(|_| is_in(&now, &old.name)).map_or(to, |(_, since)| since);
            let ran = hours_words(&count(&old.part, &runs, until));
            format!(", was {} ({ran})", old.name)
        });
        words.push(format!(
            "{}: now {} (fitted on {}, {had} then){}",
            of_kind(record, to),
            record.name,
            since.map(|since| since.day()).unwrap_or_default(),
            instead.unwrap_or_default()
        ));
    }
    for record in then.iter().filter(|record| !stayed(record)) {
        if !now.iter().any(|new| !stayed(&new) && of_kind(new, to) == of_kind(record, from)) {
            let ran = hours_words(&count(&record.part, &runs, to));
            words.push(format!("{}: {} came out ({ran})", of_kind(record, from), record.name));
        }
    }
    for record in now.iter().filter(|record| is_in(&then, &record.name)) {
        let renewed = record.part.events_in_order().into_iter().rev().find(|(_, event)| {
            event.did == crate::notebook::Deed::Renewed && event.date > from && event.date <= to
        });
        if let Some((_, event)) = renewed {
            words.push(format!("{}: {} was rebuilt on {}", record.part.kind, record.name, event.date.day()));
        }
    }
    Ok(words)
}

/// Whether one ring was in an engine at two dates, at one cylinder where there are several; false where the book does not say it.
pub fn same_ring(
    book: &Book<'_>,
    (engine, cylinder): (&str, Option<&str>),
    (from, to): (When, When),
) -> Result<bool, StoreError> {
    let rings = |date| -> Result<Vec<String>, StoreError> {
        let parts = parts_at(book, engine, date)?.into_iter();
        let of_it = |record: &PartRecord| record.part.kind == "ring" && cylinder_at(record, date) == cylinder;
        Ok(parts.filter(of_it).map(|record| record.name).collect())
    };
    let (then, now) = (rings(from)?, rings(to)?);
    Ok(!then.is_empty() && then == now)
}
