//! `outing import`: the runs of a session sheet.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use clap::Args;

use crate::advice::building;
use crate::advice::held::is_setup_doubted;
use crate::advice::runs::FittedIn;
use crate::advice::session_sheet::{Look, look_over};
use crate::commands::Desk;
use crate::commands::air_options::list_of_at_most;
use crate::notebook::{Doubted, When};
use crate::report::Trouble;
use crate::report::history::imported::{ImportAnswer, settle_sheet, still_open};
use crate::store::{Book, Garage, Incoming, NewOuting, import_outings};

/// Lines that a sheet has at most.
const MOST: usize = 1_000;

/// Log the runs of a session sheet typed as CSV; all of them or none
///
/// The first line names the columns, as `reedbook sheet session --csv` writes them; every other line is a run. A line that is logged
/// already is left out, so a sheet can be imported again when it has grown. Semicolons, decimal commas and 16.05.2026 are read
/// as they are meant.
#[derive(Debug, Args)]
pub(super) struct Import {
    /// The CSV file, or - for standard input
    file: PathBuf,
    /// The bike of lines that name none
    #[arg(long)]
    bike: Option<String>,
    /// Record what is questioned: it is right
    #[arg(long)]
    sure: bool,
}

impl Import {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let Some(bytes) = list_of_at_most(&self.file, MOST)? else {
            return Err(Trouble::request(
                Some("file"),
                format!("{} has more than {MOST} lines.", self.file.display()),
                "Import it in parts.",
            ));
        };
        let book = Book::open(garage)?;
        let look = Look { bike: self.bike.as_deref(), units: desk.screen().units(), moment: &desk.moment };
        let mut sheet = look_over(&book, (&self.file, &bytes), look)?;
        settle_sheet(&mut sheet, &self.file, self.sure)?;
        let mut incoming: Vec<Incoming> = sheet.new.iter().map(|run| run.incoming.clone()).collect();
        for one in incoming.iter_mut().filter(|one| one.new.setup.is_none()) {
            let NewOuting { bike, outing, .. } = &mut one.new;
            if is_setup_doubted(&book, bike, outing.date)? {
                outing.doubted.push(Doubted::Setup);
            }
        }
        // Before: a run takes what is open as done.
        let open = open_jobs(&book, &incoming)?;
        let (records, mut remarks) = import_outings(garage, &incoming, &self.file, &desk.moment)?;
        let book = Book::open(garage)?;
        let fitted = FittedIn::of(&book, records.iter())?;
        let mut engines = BTreeSet::new();
        for record in records.iter().rev() {
            let Some(engine) = fitted.in_run(record).text("engine") else { continue };
            if engines.insert(engine.clone()) {
                remarks.extend(building::remarks_after_outing(&book, &engine, record.outing.date)?);
            }
        }
        remarks.extend(open);
        let answer = ImportAnswer::of(&self.file, &sheet, (&records, &fitted), &remarks);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

/// What is still open at the bikes, where the newest run of one names no setup.
fn open_jobs(book: &Book<'_>, incoming: &[Incoming]) -> Result<Vec<String>, Trouble> {
    let mut newest: BTreeMap<&str, When> = BTreeMap::new();
    for one in incoming.iter().filter(|one| one.new.setup.is_none()) {
        let date = newest.entry(&one.new.bike).or_insert(one.new.outing.date);
        *date = (*date).max(one.new.outing.date);
    }
    let mut remarks = Vec::new();
    for (bike, date) in newest {
        let jobs = book.jobs_at(bike, date)?;
        if jobs.open().next().is_some() {
            let on_it = book.really_on(&jobs)?.map(|setup| setup.number);
            remarks.push(still_open(&jobs, on_it.filter(|number| Some(*number) != jobs.setup)));
        }
    }
    Ok(remarks)
}
