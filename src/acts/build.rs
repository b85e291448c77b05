//! A build as it stands, and what is still to be measured of it.

use std::cmp::Ordering;

use crate::advice::building::{ReadingQuestion, questions, whole};
use crate::advice::slips::{Slip, of_readings, read};
use crate::notebook::fields::cylinder::common;
use crate::notebook::{Entered, FieldSet, When};
use crate::quantity::{Quantity, Units};
use crate::report::building::measure::with_its_unit;
use crate::report::page::live::Meanwhile;
use crate::report::{BuildAnswer, Trouble};
use crate::store::{Book, BuildRecord, Garage, check_build, cylinders_of};

/// A build as it stands at a moment.
pub fn build(book: &Book<'_>, record: &BuildRecord, at: When) -> Result<BuildAnswer, Trouble> {
    Ok(BuildAnswer::from(whole(book, record, at)?))
}

/// The readings that a build leaves open, with what each was the last time.
pub fn still_to_measure(garage: &Garage, record: &BuildRecord) -> Result<Vec<ReadingQuestion>, Trouble> {
    asked_of(&Book::open(garage)?, record, &|_| false)
}

/// The same as if readings that are `anew` were not written down.
pub fn asked_of(
    book: &Book<'_>,
    record: &BuildRecord,
    anew: &dyn Fn(&str) -> bool,
) -> Result<Vec<ReadingQuestion>, Trouble> {
    let (garage, builds) = (book.garage(), book.builds(&record.engine)?);
    let mut last = FieldSet::default();
    // What was never measured again is shown as it was the last time that it was.
    for before in builds.iter().filter(|before| before.build.date < record.build.date) {
        last.extend(fields(garage, before)?);
    }
    let mut cylinders = cylinders_of(garage, &record.engine)?;
    // Where only some were apart the others are not asked about.
    let has_steps = |name: &String| record.build.cylinder.get(name).is_some_and(|own| !own.steps.is_empty());
    if cylinders.iter().any(has_steps) {
        cylinders.retain(has_steps);
    }
    let mut now = fields(garage, record)?;
    let typed: Vec<String> =
        now.iter().map(|(field, _)| field.to_owned()).filter(|field| anew(field)).collect();
    for field in &typed {
        now.take_out(field);
    }
    Ok(questions(record.build.scope, (&now, &last), &cylinders))
}

/// Readings that were typed into a form which may be older than the build.
#[derive(Debug, Default)]
pub struct Readings {
    /// What is to be written down.
    pub entered: Vec<Entered>,
    /// What looks like a slip.
    pub slips: Vec<Slip>,
    /// What another wrote down otherwise.
    pub meanwhile: Vec<Meanwhile>,
}

/// Looks readings over that were typed; `said` gives what was typed for a field, empty for nothing. What another wrote down since is
/// kept where `over` does not say that what was typed is right.
pub fn look_over<'t>(
    book: &Book<'_>,
    record: &BuildRecord,
    said: impl Fn(&str) -> &'t str,
    (over, units): (bool, Units),
) -> Result<Readings, Trouble> {
    let now = fields(book.garage(), record)?;
    let questions = asked_of(book, record, &|field| !said(field).is_empty())?;
    let mut found = Readings { entered: measured(&questions, &said, units), ..Readings::default() };
    // What is taken as last time is not what anybody typed.
    found.entered.retain(|one| now.get(&one.field).is_none() || !said(&one.field).is_empty());
    let is_written = |one: &Entered| -> Option<String> {
        let (written, typed) = (now.get(&one.field)?, one.value.as_deref()?);
        let same = match (written.quantity(), read(&one.field, typed)) {
            (Some(written), Some(typed)) => written.same_as(&typed),
            _ => written.text() == typed,
        };
        (!same).then(|| written.text())
    };
    for one in &found.entered {
        if let Some(written) = is_written(one) {
            let words = questions.iter().find(|question| question.field == one.field);
            found.meanwhile.push(Meanwhile {
                words: words.map_or_else(|| one.field.clone(), |question| question.words.clone()),
                written,
                typed: one.value.as_deref().map(|typed| as_written(&one.field, typed)).unwrap_or_default(),
            });
        }
    }
    found.entered.retain(|one| now.get(&one.field).is_none() || (over && is_written(one).is_some()));
    found.slips = of_readings(&questions, &found.entered, &now);
    Ok(found)
}

/// The units in which a bare number is asked for: those in which most lengths of these and earlier builds of the engine were typed, else
/// the garage's.
pub fn units_typed(book: &Book<'_>, record: &BuildRecord, garage: Units) -> Result<Units, Trouble> {
    let (mut inches, mut millimetres) = (0, 0);
    for build in book.builds(&record.engine)? {
        for (_, entry) in fields(book.garage(), &build)?.iter() {
            match entry.value.quantity().map(Quantity::unit) {
                Some("in") => inches += 1,
                Some("mm") => millimetres += 1,
                _ => {}
            }
        }
    }
    Ok(match inches.cmp(&millimetres) {
        Ordering::Greater => Units::Imperial,
        Ordering::Less => Units::Metric,
        Ordering::Equal => garage,
    })
}

/// What is written down of a build.
pub fn fields(garage: &Garage, record: &BuildRecord) -> Result<FieldSet, Trouble> {
    let bytes = garage.read(&record.file)?.unwrap_or_default();
    Ok(check_build(garage, &record.file, &bytes).fields)
}

/// What was typed, with its unit where it is a quantity.
fn as_written(field: &str, typed: &str) -> String {
    read(field, typed).map_or_else(|| typed.to_owned(), |quantity| quantity.with_unit())
}

/// What was measured, of the questions that were asked: `said` gives what was typed for a field, empty for nothing. A bare number is meant
/// as its question says; what stays from build to build is taken as last time where something was measured beside it.
pub fn measured<'t>(
    questions: &[ReadingQuestion],
    said: impl Fn(&str) -> &'t str,
    units: Units,
) -> Vec<Entered> {
    let is_beside = |one: &ReadingQuestion, other: &ReadingQuestion| match (&one.group, &other.group) {
        (Some(one), Some(other)) => one == other,
        (None, None) => table_of(&one.field) == table_of(&other.field),
        _ => false,
    };
    let is_said = |question: &ReadingQuestion| !said(&question.field).is_empty();
    let is_wanted = |question: &ReadingQuestion| {
        question.stays
            && questions.iter().any(|other| !other.stays && is_said(other) && is_beside(question, other))
    };
    let entered = questions.iter().filter_map(|question| {
        let typed = said(&question.field);
        let value = match &question.last {
            _ if !typed.is_empty() => with_its_unit(&question.field, typed, units),
            Some(last) if is_wanted(question) => last.clone(),
            _ => return None,
        };
        Some(Entered::new(&question.field, Some(&value)))
    });
    entered.collect()
}

/// "squish" of squish.front, of whichever cylinder.
fn table_of(field: &str) -> &str {
    common(field).split('.').next().unwrap_or_default()
}
