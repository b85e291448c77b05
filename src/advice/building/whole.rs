//! Everything that is found of a build: its figures, what ring and bearings say beside them, the parts that were in it, how it stands.

use thiserror::Error;

use super::{
    GapCheck, Judgement, Readiness, broken, gap_checks, in_a_line, judged, over_their_limit, parts_in,
    take_over, together_by, warm_seats,
};
use crate::advice::fit::seat::BenchSeats;
use crate::advice::parts::{Overdue, as_written};
use crate::engine::EngineError;
use crate::notebook::When;
use crate::notebook::guidance::Guidance;
use crate::store::{Book, BuildRecord, StoreError};

/// A build with all that is found of it.
#[derive(Debug, Clone)]
pub struct Whole {
    /// The build.
    pub record: BuildRecord,
    /// Its figures.
    pub judgement: Judgement,
    /// The ring's word on the bore beside the gauge's.
    pub gap_checks: Vec<GapCheck>,
    /// The bearings cold and warm, by the names of their seats.
    pub seats: Vec<(String, BenchSeats)>,
    /// The parts that were in it, in words.
    pub parts: Vec<String>,
    /// How it stands.
    pub ready: Readiness,
    /// Parts that are over their limit, in a line; none where none is.
    pub overdue: Option<String>,
    /// Those of them that are to be changed before it runs, a sentence each.
    pub change_first: Vec<String>,
    /// Those that are to be looked at, in a line.
    pub look_first: Option<String>,
    /// What else should be known, that line among it.
    pub remarks: Vec<Guidance>,
}

/// Why a build is not judged.
#[derive(Debug, Error)]
pub enum Unjudged {
    /// The book cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Its readings, or a limit, are out of what the calculation takes.
    #[error(transparent)]
    Readings(#[from] EngineError),
}

/// All of a build, as it stands at a date.
///
/// # Errors
/// Where the book cannot be read, or a reading or a limit is none that can be reckoned with.
pub fn whole(book: &Book<'_>, record: &BuildRecord, now: When) -> Result<Whole, Unjudged> {
    let garage = book.garage();
    let judgement = judged(garage, record)?;
    let limits = garage.limits()?;
    let mut checks = Vec::new();
    for (cylinder, map) in &judgement.bores {
        let build = record.build.for_cylinder(cylinder.as_deref().unwrap_or_default());
        let found = gap_checks(&build, &limits, map)?;
        checks.extend(found.into_iter().map(|check| check.at_cylinder(cylinder.as_deref())));
    }
    let engine = &record.engine;
    let all_over = over_their_limit(book, engine, now)?;
    let in_line =
        |over: &[Overdue]| in_a_line(engine, &over.iter().map(|one| one.words.clone()).collect::<Vec<_>>());
    let over = in_line(&all_over);
    let (change, look): (Vec<Overdue>, Vec<Overdue>) = all_over.into_iter().partition(|over| over.can_break);
    Ok(Whole {
        record: record.clone(),
        gap_checks: checks,
        seats: warm_seats(&record.build, &limits)?,
        parts: parts_in(book, &record.engine, together_by(book, record, now)?)?,
        ready: Readiness::of(record, &judgement),
        remarks: broken(book, &record.engine)?
            .into_iter()
            .chain(over.clone())
            .map(Guidance::from)
            .chain(to_take_over(book, record, now)?)
            .collect(),
        overdue: over,
        change_first: change.iter().map(Overdue::sentence).collect(),
        look_first: in_line(&look),
        judgement,
    })
}

/// What the setup has otherwise, said with the newest build only.
pub fn to_take_over(
    book: &Book<'_>,
    record: &BuildRecord,
    now: When,
) -> Result<Option<Guidance>, StoreError> {
    let now = as_written(now);
    let newest = book.build_at(&record.engine, now)?.is_some_and(|newest| newest.id == record.id);
    if newest { take_over(book, &record.engine, now) } else { Ok(None) }
}
