//! Jobs: what is to be done at a bike for a setup that was recorded, written with it, and ticks, each a file of its own.

pub(in crate::store) mod phone_ticks;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::machine::Moment;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::restoring::on_the_bike::is_done_by_hand;
use crate::notebook::{Job, JobItem, OF_PART, RestorePlan, SAID_TO_BE_ON, When, section_of};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::BIKE_TRAILER;
use crate::store::index::documents::Paper;
use crate::store::index::papers::take_in;
use crate::store::open_jobs::OpenJob;
use crate::store::records::{BrokenOuting, JobRecord};

/// What is to be recorded of some jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// They are done.
    Done,
    /// They are not done after all.
    Undone,
}

/// The jobs that are meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WhichJobs {
    /// Those of these numbers.
    Numbers(Vec<u32>),
    /// All of a bike, or of the garage.
    All(Option<String>),
}

/// What ticking came to.
#[derive(Debug, Clone, Default)]
pub struct Marked {
    /// Jobs that were marked.
    pub marked: Vec<OpenJob>,
    /// Jobs that were so already.
    pub already: Vec<OpenJob>,
}

/// What can be said to be on again, and what it is called.
const PARTS: [(&str, &str); 4] =
    [("ports", "cylinder"), ("head", "head"), ("engine", "bottom end"), ("pipe", "pipe")];

/// The jobs of a setup that is put back; what was said to be fitted is done at once.
pub(super) fn of_rollback(
    (plan, mut items): (&RestorePlan, Vec<JobItem>),
    (fitted, words): (&[String], &str),
    date: When,
) -> Vec<JobItem> {
    for (section, part) in PARTS {
        let said = fitted.iter().any(|name| name == section || name == "all");
        let mut of_it = plan.applied.iter().filter(|change| section_of(&change.field) == section);
        if said && of_it.any(|change| !is_done_by_hand(change)) {
            items.push(JobItem {
                field: format!("{SAID_TO_BE_ON}{section}"),
                part: None,
                what: format!("fit the {part} of {words}"),
                from: None,
                to: None,
                done: Some(date),
                undone: None,
            });
        }
    }
    items
}

/// The file of the jobs of a setup that is being recorded: named by the setup, which has one.
pub(super) fn file_of(
    book: &Book<'_>,
    (bike, setup): (&str, &str),
    items: Vec<JobItem>,
    date: When,
) -> Result<Option<FileChange>, StoreError> {
    if items.is_empty() {
        return Ok(None);
    }
    let mut numbers = book.numbers_of_jobs(bike)?;
    let items = items.into_iter().map(|item| (numbers.give(&item).to_string(), item)).collect();
    let job = Job { bike: bike.to_owned(), setup: setup.to_owned(), date, items };
    Ok(Some((path_of(date, setup), Some(text_of(&job)?.into_bytes()))))
}

/// A part that goes in or comes out, with where it was and where it goes in words.
pub(super) struct PartGoes<'a> {
    pub(super) part: &'a str,
    pub(super) engine: &'a str,
    pub(super) from: Option<String>,
    pub(super) to: Option<String>,
    pub(super) instead_of: Option<&'a str>,
}

/// The file of a part that goes into an engine or comes out of it; none where no bike has that engine.
pub(super) fn file_of_part(
    book: &Book<'_>,
    goes: PartGoes<'_>,
    (date, moment): (When, &Moment),
) -> Result<Option<FileChange>, StoreError> {
    let Some((bike, _)) = book.engine_holders()?.remove(goes.engine) else { return Ok(None) };
    let Some(setup) = book.latest(&bike)? else { return Ok(None) };
    let part = goes.part;
    let other_side = goes.from.as_ref().is_some_and(|from| from.starts_with(&format!("{} at ", goes.engine)));
    let what = match (&goes.to, goes.instead_of) {
        (Some(to), other) if other_side => {
            let out = other.map(|other| format!(", {other} comes out")).unwrap_or_default();
            format!("move {part} from {} to {to}{out}", goes.from.as_deref().unwrap_or_default())
        }
        (Some(to), Some(other)) => format!("fit {part} to {to}, {other} comes out"),
        (Some(to), None) => format!("fit {part} to {to}"),
        (None, _) => format!("take {part} out of {}", goes.from.as_deref().unwrap_or(goes.engine)),
    };
    let item = JobItem {
        field: OF_PART.to_owned(),
        part: Some(part.to_owned()),
        what,
        from: goes.from,
        to: goes.to,
        done: None,
        undone: None,
    };
    let number = book.numbers_of_jobs(&bike)?.give(&item).to_string();
    let job = Job { bike, setup: setup.id, date, items: BTreeMap::from([(number, item)]) };
    let id = moment.new_id(&format!("job of the part {part} on {date}"));
    Ok(Some((path_of(date, &id), Some(text_of(&job)?.into_bytes()))))
}

pub(super) fn path_of(date: When, id: &str) -> PathBuf {
    Path::new(checks::JOBS).join(format!("{}-{id}.toml", date.for_file_name()))
}

pub(super) fn text_of(job: &Job) -> Result<String, StoreError> {
    let body = toml::to_string(job).map_err(|error| {
        StoreError::request(None, format!("The jobs cannot be written: {error}."), "Name fewer of them.")
    })?;
    Ok(format!("#:schema ../schema/job.schema.json\n\n{body}"))
}

/// Records that jobs are done, or are not after all. Those that are so already are told apart.
pub fn mark(garage: &Garage, which: &WhichJobs, mark: Mark, moment: &Moment) -> Result<Marked, StoreError> {
    if let WhichJobs::All(Some(bike)) = which {
        garage.require_bike(bike)?;
    }
    let _lock = garage.begin_writing(moment)?;
    take_in(garage, Paper::Job, None, moment)?;
    let book = Book::open(garage)?;
    let all: Vec<OpenJob> = book.open_jobs()?.into_iter().flat_map(|bike| bike.jobs).collect();
    let meant = meant(all, which)?;
    let is_so = |job: &OpenJob| job.done.is_some() == (mark == Mark::Done);
    let (already, marked): (Vec<_>, Vec<_>) = meant.into_iter().partition(is_so);
    let known = book.jobs()?;
    let mut changes: Vec<FileChange> = Vec::new();
    let mut bikes: Vec<&str> = marked.iter().map(|job| job.bike.as_str()).collect();
    bikes.dedup();
    for bike in &bikes {
        let Some(setup) = book.latest(bike)? else { continue };
        let of_bike: Vec<&OpenJob> = marked.iter().filter(|job| job.bike == *bike).collect();
        // A second later than every mark before: of two in one second the later counts.
        let marks = known.iter().filter(|record| record.job.bike == *bike);
        let marks = marks.flat_map(|record| record.job.items.values());
        // And than the last run, which may be dated by its day alone: what is ticked now is ticked since it ran.
        let ran = book.outings(bike)?.last().map(|run| run.outing.date);
        let last = marks.flat_map(|item| [item.done, item.undone]).flatten().chain(ran).max();
        let date = last
            .filter(|last| *last >= moment.now)
            .map_or(Some(moment.now), |last| When::from_unix(last.unix() + 1, moment.now.offset_minutes()));
        let date = date.unwrap_or(moment.now);
        let items = of_bike.iter().map(|job| {
            let (done, undone) = match mark {
                Mark::Done => (Some(date), None),
                Mark::Undone => (None, Some(date)),
            };
            (job.number.to_string(), JobItem { done, undone, ..job.item.clone() })
        });
        let job = Job { bike: (*bike).to_owned(), setup: setup.id, date, items: items.collect() };
        let id = moment.new_id(&format!("{mark:?} jobs of {bike} after {} files", known.len()));
        let (file, text) = (path_of(date, &id), text_of(&job)?.into_bytes());
        no_findings(checks::job(garage, &file, &text).findings)?;
        changes.push((file, Some(text)));
    }
    if !changes.is_empty() {
        let word = if mark == Mark::Done { "Done" } else { "Not done" };
        let what: Vec<&str> = marked.iter().map(|job| job.item.what.as_str()).collect();
        let message = Message {
            why: format!("{word} at {}: {}", bikes.join(" and "), what.join(", ")),
            trailers: bikes.iter().map(|bike| (BIKE_TRAILER, (*bike).to_owned())).collect(),
        };
        garage.repository().record(&changes, &message, moment.now, moment.now)?;
    }
    Ok(Marked { marked, already })
}

/// The jobs that are meant, by bike.
fn meant(all: Vec<OpenJob>, which: &WhichJobs) -> Result<Vec<OpenJob>, StoreError> {
    let numbers = match which {
        WhichJobs::All(None) => return Ok(all),
        WhichJobs::All(Some(bike)) => return Ok(all.into_iter().filter(|job| job.bike == *bike).collect()),
        WhichJobs::Numbers(numbers) => numbers,
    };
    if let Some(unknown) = numbers.iter().find(|number| all.iter().all(|job| job.number != **number)) {
        let mut there: Vec<u32> = all.iter().map(|job| job.number).collect();
        there.sort_unstable();
        let there: Vec<String> = there.iter().map(ToString::to_string).collect();
        if there.is_empty() {
            return Err(StoreError::NothingChanged {
                message: "No job is open at any bike: nothing to tick.".into(),
                help: Command::Jobs + " lists them.",
            });
        }
        let help = match there.as_slice() {
            [only] => {
                Guidance::from(format!("There is only job {only}; ")) + Command::Jobs + " says what it is."
            }
            several => {
                Guidance::from(format!("There are {}; ", several.join(", ")))
                    + Command::Jobs
                    + " says what they are."
            }
        };
        return Err(StoreError::request(
            Some("job"),
            format!("There is no job {unknown}. Nothing was ticked."),
            help,
        ));
    }
    Ok(all.into_iter().filter(|job| numbers.contains(&job.number)).collect())
}

impl Book<'_> {
    /// All jobs that can be read, by date and file.
    pub fn jobs(&self) -> Result<Vec<JobRecord>, StoreError> {
        let papers = self.papers::<Job>(Paper::Job, None)?;
        Ok(papers
            .into_iter()
            .map(|paper| JobRecord { file: paper.file.into(), job: paper.document })
            .collect())
    }

    /// Files of jobs that cannot be read.
    pub fn broken_jobs(&self) -> Result<Vec<BrokenOuting>, StoreError> {
        self.broken_papers(Paper::Job, None)
    }
}
