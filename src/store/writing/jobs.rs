//! Jobs: what is to be done at a bike for a setup that was recorded, written with it, and ticks, each a file of its own.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::machine::Moment;
use crate::notebook::restoring::plan::by_hand;
use crate::notebook::{
    Change, Checked, Comparison, DocumentKind, FieldSet, Job, JobItem, RestorePlan, Value, When, read,
    section_of,
};
use crate::store::book::{Book, BrokenOuting, SetupRecord};
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::BIKE_TRAILER;
use crate::store::index::documents::Paper;
use crate::store::index::papers::take_in;

/// The folder of all jobs.
pub(in crate::store) const FOLDER: &str = "jobs";

/// A file of jobs.
#[derive(Debug, Clone)]
pub struct JobRecord {
    /// Its file in the garage.
    pub file: PathBuf,
    /// The document.
    pub job: Job,
}

/// What is to be recorded of some jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// They are done.
    Done,
    /// They are not done after all.
    Undone,
}

/// Reads a file of jobs with everything that is wrong with it.
pub fn check(garage: &Garage, file: &Path, bytes: &[u8]) -> Checked<Job> {
    read::<Job>(DocumentKind::Job, file, bytes, garage.read_options())
}

/// What the hands do between two setups of a bike. The files of another engine came with it.
pub(super) fn plan_of(comparison: &Comparison, (old, new): (&FieldSet, &FieldSet)) -> RestorePlan {
    let engine = |fields: &FieldSet| fields.text("engine").map(str::to_owned);
    let other = engine(old) != engine(new);
    let of_engine = |change: &Change| {
        let in_engine = |fields: &FieldSet| {
            fields.entry(&change.field).is_some_and(|entry| entry.document == DocumentKind::Engine)
        };
        in_engine(old) || in_engine(new)
    };
    let applied = comparison.changes.iter().filter(|change| !(other && of_engine(change)));
    RestorePlan {
        applied: applied.cloned().collect(),
        engine: engine(new).filter(|_| other),
        ..RestorePlan::default()
    }
}

/// The items of a plan by name; what was said to be fitted is ticked.
pub(super) fn items_of(
    plan: &RestorePlan,
    (fitted, words): (&[String], &str),
    date: When,
) -> BTreeMap<String, JobItem> {
    let text = |value: Option<&Value>| value.map(Value::text);
    let of_plan = by_hand(plan).into_iter().map(|(field, what)| {
        let change = plan.applied.iter().find(|change| change.field == field);
        let engine = || plan.engine.clone().filter(|_| field == "engine");
        let from = text(change.and_then(|change| change.old.as_ref()));
        let to = text(change.and_then(|change| change.new.as_ref())).or_else(engine);
        (item_name(&field), JobItem { field, what, from, to, done: None, undone: None })
    });
    let mut items: BTreeMap<String, JobItem> = of_plan.collect();
    for (section, part) in [("ports", "cylinder"), ("head", "head"), ("engine", "engine"), ("pipe", "pipe")] {
        let said = fitted.iter().any(|name| name == section || name == "all");
        let back = plan
            .applied
            .iter()
            .filter(|change| section_of(&change.field) == section && !is_done_by_hand(change));
        let count = back.count();
        if said && count > 0 {
            let item = JobItem {
                field: section.to_owned(),
                what: format!("fit the {part} of {words}"),
                from: None,
                to: None,
                done: Some(date),
                undone: None,
            };
            items.insert(format!("fitted-{section}"), item);
        }
    }
    items
}

/// Whether a change of a plan has a line of its own.
fn is_done_by_hand(change: &Change) -> bool {
    let alone = RestorePlan { applied: vec![change.clone()], ..RestorePlan::default() };
    !by_hand(&alone).is_empty()
}

/// A field as the name of an item.
fn item_name(field: &str) -> String {
    field.replace('.', "-")
}

/// The file of the jobs of a setup that is being recorded: named by the setup, which has one.
pub(super) fn file_of(
    (bike, setup): (&str, &str),
    items: BTreeMap<String, JobItem>,
    date: When,
) -> Result<Option<FileChange>, StoreError> {
    if items.is_empty() {
        return Ok(None);
    }
    let job = Job { bike: bike.to_owned(), setup: setup.to_owned(), date, items };
    Ok(Some((path_of(date, setup), Some(text_of(&job)?.into_bytes()))))
}

fn path_of(date: When, id: &str) -> PathBuf {
    Path::new(FOLDER).join(format!("{}-{id}.toml", date.for_file_name()))
}

fn text_of(job: &Job) -> Result<String, StoreError> {
    let body = toml::to_string(job).map_err(|error| {
        StoreError::request(None, format!("The jobs cannot be written: {error}."), "Name fewer of them.")
    })?;
    Ok(format!("#:schema ../schema/job.schema.json\n\n{body}"))
}

/// Records that jobs of a bike's newest setup are done, or are not. Fails where that setup is not the newest any more: the list that
/// was ticked is another one.
pub fn mark(
    garage: &Garage,
    setup: &SetupRecord,
    (items, mark): (&[JobItem], Mark),
    moment: &Moment,
) -> Result<(), StoreError> {
    let bike = setup.bike.as_str();
    let _lock = garage.begin_writing(moment)?;
    take_in(garage, Paper::Job, None, moment)?;
    let newest = Book::open(garage)?.latest(bike)?;
    if newest.as_ref().map(|newest| &newest.id) != Some(&setup.id) {
        return Err(StoreError::request(
            Some("job"),
            format!("Another setup of {bike} was recorded meanwhile, so its list is another one."),
            format!("`reedbook job {bike}` shows it; tick there."),
        ));
    }
    let items: BTreeMap<String, JobItem> =
        items.iter().map(|item| (item_name(&item.field), item.clone())).collect();
    let words: Vec<String> = items.values().map(|item| item.what.clone()).collect();
    let salt = format!("jobs of {bike} {words:?} {mark:?} {}", garage.file_names(Path::new(FOLDER))?.len());
    let date = moment.now;
    let job = Job { bike: bike.to_owned(), setup: setup.id.clone(), date, items };
    let (file, text) = (path_of(date, &moment.new_id(&salt)), text_of(&job)?.into_bytes());
    no_findings(check(garage, &file, &text).findings)?;
    let word = if mark == Mark::Done { "Done" } else { "Not done" };
    let message = Message {
        why: format!("{word} at {bike}: {}", words.join(", ")),
        trailers: vec![(BIKE_TRAILER, bike.to_owned())],
    };
    garage.repository().record(&[(file, Some(text))], &message, date, date)?;
    Ok(())
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
