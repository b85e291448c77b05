//! A build as it stands, and what is still to be measured of it.

use crate::advice::building::{ReadingQuestion, questions, whole};
use crate::notebook::fields::cylinder::common;
use crate::notebook::{Entered, FieldSet, When};
use crate::quantity::Units;
use crate::report::building::measure::with_its_unit;
use crate::report::{BuildAnswer, Trouble};
use crate::store::{Book, BuildRecord, Garage, check_build, cylinders_of};

/// A build as it stands at a moment.
pub fn build(garage: &Garage, record: &BuildRecord, at: When) -> Result<BuildAnswer, Trouble> {
    Ok(BuildAnswer::from(whole(&Book::open(garage)?, record, at)?))
}

/// The readings that a build leaves open, with what each was the last time.
pub fn still_to_measure(garage: &Garage, record: &BuildRecord) -> Result<Vec<ReadingQuestion>, Trouble> {
    let builds = Book::open(garage)?.builds(&record.engine)?;
    let mut last = FieldSet::default();
    // What was never measured again is shown as it was the last time that it was.
    for before in builds.iter().filter(|before| before.build.date < record.build.date) {
        last.extend(fields(garage, before)?);
    }
    let cylinders = cylinders_of(garage, &record.engine)?;
    Ok(questions(record.build.scope, (&fields(garage, record)?, &last), &cylinders))
}

/// What is written down of a build.
pub fn fields(garage: &Garage, record: &BuildRecord) -> Result<FieldSet, Trouble> {
    let bytes = garage.read(&record.file)?.unwrap_or_default();
    Ok(check_build(garage, &record.file, &bytes).fields)
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
