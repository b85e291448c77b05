//! Builds and parts of engines with several cylinders, as a check of the garage sees them: at cylinders that are not there, two at one
//! place, or nowhere said.

use std::path::Path;

use crate::advice::parts;
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::guidance::{Command, CommandOption, Guidance};
use crate::notebook::{Build, Code, Finding, Part, PartPlace, PerEngine, Place, When};
use crate::store::{Book, Garage, PartRecord, StoreError, cylinders_of};

/// Cylinders that a build names and its engine does not have.
pub(in crate::advice) fn of_build(
    garage: &Garage,
    engine: &str,
    file: &Path,
    build: &Build,
) -> Result<Option<Finding>, StoreError> {
    let names = cylinders_of(garage, engine)?;
    let stranger = build.cylinder.keys().find(|name| !names.contains(name));
    Ok(stranger.map(|name| strange(file, &format!("cylinder.{name}"), (engine, name), &names)))
}

/// Cylinders that a part was put to and that its engine does not have.
pub(in crate::advice) fn of_part(
    garage: &Garage,
    file: &Path,
    part: &Part,
) -> Result<Vec<Finding>, StoreError> {
    let mut found = Vec::new();
    for (event, said) in &part.events {
        let Some((engine, cylinder)) = said.engine.as_deref().zip(said.cylinder.as_deref()) else { continue };
        let names = cylinders_of(garage, engine)?;
        if garage.engines().iter().any(|known| known == engine) && !names.iter().any(|name| name == cylinder)
        {
            found.push(strange(file, &format!("events.{event}.cylinder"), (engine, cylinder), &names));
        }
    }
    Ok(found)
}

fn strange(file: &Path, field: &str, (engine, cylinder): (&str, &str), names: &[String]) -> Finding {
    let help = match names {
        [] => "It has one cylinder: take the name out.".to_owned(),
        names => format!("Its cylinders are {}.", names.join(", ")),
    };
    let message = format!("{} has no cylinder \"{}\".", visible(engine), visible(cylinder));
    finding(Code::Dangling, file, field, &message, &help)
}

fn finding(code: Code, file: &Path, field: &str, message: &str, help: impl Into<Guidance>) -> Finding {
    let place = Place { file: file.to_owned(), line: None, field: Some(field.to_owned()) };
    Finding { code, place, message: message.to_owned(), help: help.into() }
}

/// Two parts at one place, as a finding; and as a remark those of which it is not said at which cylinder they sit.
pub(in crate::advice) fn of_places(book: &Book<'_>) -> Result<(Vec<Finding>, Vec<Guidance>), StoreError> {
    let parts = book.parts()?;
    let sit: Vec<(&PartRecord, PartPlace<'_>)> =
        parts.iter().filter_map(|record| Some((record, newest_place(&record.part)?))).collect();
    let (mut findings, mut remarks) = (Vec::new(), Vec::new());
    for (index, (record, place)) in sit.iter().enumerate() {
        let kind = &record.part.kind;
        let Some(cylinder) = place.cylinder else {
            let names = cylinders_of(book.garage(), place.engine)?;
            if let Some(first) = names.first().filter(|_| PerEngine::of(kind) == PerEngine::EachCylinder) {
                let not_said =
                    format!("It is not said at which cylinder of {} {} sits: ", place.engine, record.name);
                let (part, engine) = (record.name.clone(), place.engine.to_owned());
                let says = Command::MovePart { part, engine, at: Some(first.clone()) };
                remarks.push(Guidance::from(not_said) + says + " says it.");
            }
            continue;
        };
        let is_there = |(other, at): &&(&PartRecord, PartPlace<'_>)| {
            other.part.kind == *kind && (at.engine, at.cylinder) == (place.engine, place.cylinder)
        };
        let before = sit[..index].iter().find(is_there);
        if let Some((other, _)) = before.filter(|_| PerEngine::is_only_one(kind)) {
            let message = format!(
                "{} and {} both sit at {} in {}.",
                other.name,
                record.name,
                in_words(cylinder),
                place.engine
            );
            let help = Guidance::from("Say which came out: ")
                + Command::RemovePart(None)
                + ", with "
                + CommandOption::Date
                + " where it was earlier.";
            findings.push(finding(Code::Contradiction, &record.file, "events", &message, help));
        }
    }
    Ok((findings, remarks))
}

/// Engines that ran on after a part came out of them for which by the book nothing went in: its hours stand still, and so does what is due.
pub(in crate::advice) fn of_what_is_lacking(book: &Book<'_>) -> Result<Vec<Guidance>, StoreError> {
    let runs = parts::runs(book)?;
    let parts = book.parts()?;
    let mut said: Vec<(String, String)> = Vec::new();
    let mut remarks = Vec::new();
    for record in &parts {
        let kind = &record.part.kind;
        let out = record.part.events.values().filter(|event| event.did.takes_out());
        let Some(out) = out.max_by_key(|event| event.date) else { continue };
        let Some(was) = record.part.place_at(out.date.minutes_later(-1)) else { continue };
        let is_in_it = |other: &PartRecord| {
            other.part.kind == *kind
                && newest_place(&other.part)
                    .is_some_and(|at| (at.engine, at.cylinder) == (was.engine, was.cylinder))
        };
        let since = runs.iter().filter(|run| run.engine == was.engine && run.date > out.date).count();
        let of = (was.engine.to_owned(), kind.clone());
        if since == 0 || parts.iter().any(is_in_it) || said.contains(&of) {
            continue;
        }
        let lacking = format!(
            "{} has no {} by the book since {} and ran on ({}): {} came out, and what went in is not there. If it is in again: ",
            visible(was.engine),
            visible(kind).replace('-', " "),
            out.date.day(),
            if since == 1 { "1 outing".to_owned() } else { format!("{since} outings") },
            visible(&record.name),
        );
        said.push(of);
        remarks.push(
            Guidance::from(lacking)
                + Command::FitPart(record.name.clone())
                + ", with "
                + CommandOption::Date
                + " for when. A file that was deleted comes back from git.",
        );
    }
    Ok(remarks)
}

/// Where a part sits after all that is written of it.
fn newest_place(part: &Part) -> Option<PartPlace<'_>> {
    let newest: When = part.events.values().map(|event| event.date).max()?;
    part.place_at(newest)
}
