//! Ticks of jobs that were noted away from the garage: each is written with its own date and identity, so that nothing comes twice and a
//! tick that was taken back here since stays taken back.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::machine::Moment;
use crate::notebook::{Job, JobItem, When};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::BIKE_TRAILER;
use crate::store::index::documents::Paper;
use crate::store::index::papers::take_in;
use crate::store::writing::guards::check_date;
use crate::store::writing::jobs::{path_of, text_of};

/// A tick that was noted elsewhere.
#[derive(Debug, Clone)]
pub struct NotedTick {
    /// Its identity.
    pub id: String,
    /// The bike.
    pub bike: String,
    /// The field, or the part, that the job is for.
    pub field: Option<String>,
    /// The part.
    pub part: Option<String>,
    /// What was to be done, as it was read there.
    pub what: String,
    /// Whether it was done, or is not done after all.
    pub done: bool,
    /// When.
    pub date: When,
}

/// What became of a tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Came {
    /// It is to be written.
    New,
    /// It is written already, or the job stands so without it.
    Already,
    /// There is no such job any more: the bike ran since, or something else is to be done.
    Gone,
}

/// What would become of each tick, in their order by date. Nothing is written.
pub fn weigh_ticks(book: &Book<'_>, ticks: &[NotedTick], moment: &Moment) -> Result<Vec<Came>, StoreError> {
    Ok(changes(book, ticks, moment)?.0)
}

/// Records ticks in one commit.
pub fn tick_noted(
    garage: &Garage,
    ticks: &[NotedTick],
    from: &str,
    moment: &Moment,
) -> Result<Vec<Came>, StoreError> {
    let _lock = garage.begin_writing(moment)?;
    take_in(garage, Paper::Job, None, moment)?;
    let book = Book::open(garage)?;
    let (came, changes) = changes(&book, ticks, moment)?;
    if changes.is_empty() {
        return Ok(came);
    }
    let new: Vec<&NotedTick> =
        ticks.iter().zip(&came).filter(|(_, came)| **came == Came::New).map(|(tick, _)| tick).collect();
    let what: Vec<String> = new
        .iter()
        .map(|tick| format!("{}{}", if tick.done { "" } else { "not done: " }, tick.what))
        .collect();
    let mut bikes: Vec<&str> = new.iter().map(|tick| tick.bike.as_str()).collect();
    bikes.sort_unstable();
    bikes.dedup();
    let message = Message {
        why: format!("Ticked at {}, noted on a phone ({from}): {}", bikes.join(" and "), what.join(", ")),
        trailers: bikes.iter().map(|bike| (BIKE_TRAILER, (*bike).to_owned())).collect(),
    };
    garage.repository().record(&changes, &message, moment.now, moment.now)?;
    Ok(came)
}

/// What becomes of each tick, and the files that are written for it.
fn changes(
    book: &Book<'_>,
    ticks: &[NotedTick],
    moment: &Moment,
) -> Result<(Vec<Came>, Vec<FileChange>), StoreError> {
    let garage = book.garage();
    let written: Vec<PathBuf> = book.jobs()?.into_iter().map(|record| record.file).collect();
    let open = book.open_jobs()?;
    let mut stands: BTreeMap<(String, String), bool> = BTreeMap::new();
    let (mut came, mut changes) = (Vec::new(), Vec::new());
    for tick in ticks {
        garage.require_bike(&tick.bike)?;
        check_date(tick.date, moment)?;
        if written.iter().any(|file| is_named(file, &tick.id)) {
            came.push(Came::Already);
            continue;
        }
        let jobs = open.iter().filter(|jobs| jobs.bike == tick.bike).flat_map(|jobs| &jobs.jobs);
        let is_it = |item: &JobItem| match (&tick.part, &tick.field) {
            (Some(part), _) => item.part.as_ref() == Some(part),
            (None, Some(field)) => item.part.is_none() && item.field == *field,
            (None, None) => false,
        };
        let job = jobs.filter(|job| is_it(&job.item)).find(|job| job.item.what == tick.what);
        let (Some(job), Some(setup)) = (job, book.latest(&tick.bike)?) else {
            came.push(Came::Gone);
            continue;
        };
        let key = (tick.bike.clone(), job.number.to_string());
        if stands.get(&key).copied().unwrap_or(job.done.is_some()) == tick.done {
            came.push(Came::Already);
            continue;
        }
        let (done, undone) = if tick.done { (Some(tick.date), None) } else { (None, Some(tick.date)) };
        let item = JobItem { done, undone, ..job.item.clone() };
        let items = BTreeMap::from([(key.1.clone(), item)]);
        let paper = Job { bike: tick.bike.clone(), setup: setup.id, date: tick.date, items };
        let (file, text) = (path_of(tick.date, &tick.id), text_of(&paper)?.into_bytes());
        no_findings(checks::job(garage, &file, &text).findings)?;
        changes.push((file, Some(text)));
        stands.insert(key, tick.done);
        came.push(Came::New);
    }
    Ok((came, changes))
}

/// Whether a file is the one of an identity.
fn is_named(file: &Path, id: &str) -> bool {
    file.file_stem().is_some_and(|stem| stem.to_string_lossy().ends_with(&format!("-{id}")))
}
