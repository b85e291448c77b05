//! `build show` and `build list`.

use clap::Args;

use crate::acts::build::build;
use crate::advice::building::{Readiness, judged};
use crate::commands::desk::Desk;
use crate::report::building::list::BuildListAnswer;
use crate::report::{Trouble, WrittenOver};
use crate::store::{Book, BuildRecord, Garage};

/// Show a build: the bore map at 20 C, every figure with its doubt and what your limits say of it, the check list
#[derive(Debug, Args)]
pub(super) struct ShowBuild {
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

impl ShowBuild {
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
    let answer = build(&Book::open(garage)?, record, desk.moment.now)?.over(written_over);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
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
