//! `build show` and `build list`.

use clap::Args;

use crate::advice::building::{
    Readiness, broken, gap_checks, in_a_line, judged, overdue, parts_in, take_over, together_by, warm_seats,
};
use crate::advice::parts::as_written;
use crate::commands::Desk;
use crate::notebook::Place;
use crate::report::building::list::BuildListAnswer;
use crate::report::{BuildAnswer, BuildJudged, Trouble, WrittenOver};
use crate::store::{Book, BuildRecord, Garage};

/// Show a build: the bore map at 20 C, every figure with its doubt and what your limits say of it, the check list
#[derive(Debug, Args)]
pub(super) struct Show {
    /// The engine
    engine: String,
    /// The build: its id or the id's beginning
    #[arg(default_value = "last")]
    build: String,
}

/// List an engine's builds, newest first
#[derive(Debug, Args)]
pub(super) struct List {
    /// The engine
    engine: String,
}

impl Show {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let record = Book::open(garage)?.build(&self.engine, Some(&self.build))?;
        show(desk, garage, &record, Vec::new())
    }
}

/// Shows a build as it stands, with the readings that were written over just now.
pub(super) fn show(
    desk: &Desk,
    garage: &Garage,
    record: &BuildRecord,
    written_over: Vec<WrittenOver>,
) -> Result<(), Trouble> {
    let judgement = judged(garage, record)?;
    let limits = garage.limits()?;
    let mut checks = Vec::new();
    for (cylinder, map) in &judgement.bores {
        let build = record.build.for_cylinder(cylinder.as_deref().unwrap_or_default());
        let found = gap_checks(&build, &limits, map)
            .map_err(|error| Trouble::calculation(Place::default(), &error))?;
        checks.extend(found.into_iter().map(|check| check.at_cylinder(cylinder.as_deref())));
    }
    let seats =
        warm_seats(&record.build, &limits).map_err(|error| Trouble::calculation(Place::default(), &error))?;
    let book = Book::open(garage)?;
    let ready = Readiness::of(record, &judgement);
    let answer = BuildAnswer::from(BuildJudged {
        record,
        judgement,
        gap_checks: &checks,
        seats: &seats,
        parts: parts_in(&book, &record.engine, together_by(&book, record, desk.moment.now)?)?,
        ready,
        remarks: broken(&book, &record.engine)?
            .into_iter()
            .chain(in_a_line(&record.engine, &overdue(&book, &record.engine, desk.moment.now)?))
            .chain(to_take_over(&book, record, desk)?)
            .collect(),
        written_over,
    });
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

/// What the setup has otherwise, said with the newest build only.
pub(super) fn to_take_over(
    book: &Book<'_>,
    record: &BuildRecord,
    desk: &Desk,
) -> Result<Option<String>, Trouble> {
    let now = as_written(desk.moment.now);
    let newest = book.build_at(&record.engine, now)?.is_some_and(|newest| newest.id == record.id);
    Ok(if newest { take_over(book, &record.engine, now)? } else { None })
}

impl List {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        garage.require_engine(&self.engine)?;
        let book = Book::open(garage)?;
        let mut builds = Vec::new();
        for record in book.builds(&self.engine)? {
            builds.push(Readiness::of(&record, &judged(garage, &record)?));
        }
        let unreadable = book.broken_builds(&self.engine)?.into_iter().map(|file| file.findings).collect();
        let answer = BuildListAnswer::new(&self.engine, &builds, unreadable);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
