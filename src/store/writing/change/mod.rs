//! Recording a change of the setup.

pub(in crate::store) mod cylinders;

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::machine::Moment;
use crate::notebook::editing::assign::apply;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::restoring::on_the_bike::to_do;
use crate::notebook::{
    AirEntry, Assignment, Comparison, EditOptions, FieldSet, JobItem, SetupFiles, When, compare, replace_map,
};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::folder::lock::WriterLock;
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::{AIR_TRAILER, BIKE_TRAILER, DESPITE_TRAILER, SETUP_TRAILER};
use crate::store::index::documents::Paper;
use crate::store::index::papers;
use crate::store::index::rows::path_text;
use crate::store::records::{OutingRecord, SetupRecord, is_taken_in};
use crate::store::shortened::shortened_setup;
use crate::store::writing::guards::{
    Check, Proposed, check_air, check_date, identity_remark, retired_remark,
};
use crate::store::writing::jobs::file_of;
use crate::store::writing::map_edit::{MapEdit, refuse_unrecorded};
use crate::store::writing::outings::take_in;
use crate::store::writing::proven::require_marks;

/// A change to be recorded.
#[derive(Debug, Clone, Default)]
pub struct ChangeRequest {
    /// The bike.
    pub bike: String,
    /// What to set besides what was edited on disk.
    pub assignments: Vec<Assignment>,
    /// Maps to be written whole. With any, edits on disk that were never recorded are refused.
    pub maps: Vec<MapEdit>,
    /// Whether a map may gain a breakpoint.
    pub insert: bool,
    /// The reason.
    pub why: String,
    /// The air, where it mattered.
    pub air: Option<AirEntry>,
    /// When, if not now.
    pub date: Option<When>,
    /// Number of the setup that it was worked out for, where it was: refused where another one is the newest by then.
    pub made_for: Option<u32>,
}

/// A setup that was recorded.
#[derive(Debug)]
pub struct Recorded {
    /// Its record.
    pub setup: SetupRecord,
    /// Number of the setup before.
    pub before: Option<u32>,
    /// What changed.
    pub comparison: Comparison,
    /// The setup's values before and after.
    pub fields: (FieldSet, FieldSet),
    /// What was on a bike that never ran, with what is only written down now; none of one that ran, and of a first setup.
    pub was_on_it: Option<FieldSet>,
    /// What else should be known.
    pub remarks: Vec<Guidance>,
}

impl Recorded {
    /// What is to be done at the bike for it.
    pub fn to_do(&self) -> Vec<JobItem> {
        to_do(self.was_on_it.as_ref().unwrap_or(&self.fields.0), &self.fields.1)
    }

    /// Whether a field was only written down: it is on the bike already.
    pub fn is_only_written(&self, field: &str) -> bool {
        let was = self.was_on_it.as_ref();
        self.fields.0.get(field).is_none() && was.is_some_and(|was| was.get(field).is_some())
    }
}

/// Records what was edited on disk and what the assignments say as one new setup.
pub fn change(garage: &Garage, request: &ChangeRequest, moment: &Moment) -> Result<Recorded, StoreError> {
    change_checked(garage, request, moment, &|_| Ok(None))
}

/// As [`change`], if a check lets it.
pub fn change_checked(
    garage: &Garage,
    request: &ChangeRequest,
    moment: &Moment,
    check: Check<'_>,
) -> Result<Recorded, StoreError> {
    let (_lock, book) = begin(garage, (&request.bike, request.air.as_ref(), request.date), moment)?;
    require_made_for(&book, request)?;
    let on_disk = garage.files_now(&request.bike)?;
    no_findings(shortened_setup(garage, &on_disk)?)?;
    let before = garage.combination(&on_disk);
    if request.assignments.is_empty() && request.maps.is_empty() {
        no_findings(before.findings.clone())?;
    }
    let options = EditOptions { insert: request.insert, refuse_bare_lengths: garage.is_imperial() };
    let mut files = apply(&on_disk, &request.assignments, options)?;
    if !request.maps.is_empty() {
        refuse_unrecorded(&book, &request.bike, &before)?;
    }
    for map in &request.maps {
        map.refuse_stale(&request.bike, &before.fields)?;
        files = replace_map(&files, &map.field, &map.to)?;
    }
    let files = garage.with_named_engine(files)?;
    if files.engine_name != on_disk.engine_name {
        no_findings(shortened_setup(garage, &of_engine_alone(&files))?)?;
    }
    let names_engine = request.assignments.iter().any(|assignment| assignment.field == "engine");
    let engine = EngineCheck::of(&book, &request.bike, files.engine_name.as_deref())?;
    if !names_engine {
        engine.require_here(&request.bike)?;
    }
    let act = Act {
        why: &request.why,
        air: request.air.as_ref(),
        date: request.date.unwrap_or(moment.now),
        takes_engine_back: engine.elsewhere.is_some(),
        jobs: None,
        check,
    };
    let mut recorded = record(&book, &files, &act, moment)?;
    recorded.remarks.extend(engine.remark().map(Guidance::from));
    Ok(recorded)
}

/// The file of the engine alone.
pub(super) fn of_engine_alone(files: &SetupFiles) -> SetupFiles {
    SetupFiles { setup: None, maps: BTreeMap::new(), ..files.clone() }
}

/// Checks what is said of a recording, waits for its turn and takes in what was written by hand; the turn lasts as long as its lock.
pub(super) fn begin<'g>(
    garage: &'g Garage,
    (bike, air, date): (&str, Option<&AirEntry>, Option<When>),
    moment: &Moment,
) -> Result<(WriterLock, Book<'g>), StoreError> {
    garage.require_bike(bike)?;
    check_air(air)?;
    check_date(date.unwrap_or(moment.now), moment)?;
    let lock = garage.begin_writing(moment)?;
    require_marks(garage, bike)?;
    take_in(garage, bike, moment)?;
    papers::take_in(garage, Paper::Job, None, moment)?;
    Ok((lock, Book::open(garage)?))
}

/// What was worked out for one setup is not recorded on another that came in between.
fn require_made_for(book: &Book<'_>, request: &ChangeRequest) -> Result<(), StoreError> {
    let newest = book.latest(&request.bike)?.map(|setup| setup.number);
    match (request.made_for, newest) {
        (Some(known), Some(newest)) if known != newest => Err(StoreError::request(
            None,
            format!(
                "Setup {newest} was recorded meanwhile; this was worked out for setup {known}, so nothing was recorded."
            ),
            "Ask again: the answer is then for what is on the bike now.",
        )),
        _ => Ok(()),
    }
}

/// Where the engine that a setup names is, as far as the records say.
pub(super) struct EngineCheck {
    engine: String,
    /// The other bike that has it, and the setup that took it there.
    elsewhere: Option<(String, u32)>,
}

impl EngineCheck {
    pub(super) fn of(book: &Book<'_>, bike: &str, engine: Option<&str>) -> Result<Self, StoreError> {
        let engine = engine.unwrap_or_default().to_owned();
        let holder = book.engine_holders()?.remove(&engine);
        Ok(Self { engine, elsewhere: holder.filter(|(holder, _)| holder != bike) })
    }

    /// Refuses where it is in another bike.
    pub(super) fn require_here(&self, bike: &str) -> Result<(), StoreError> {
        let Some((other, number)) = &self.elsewhere else {
            return Ok(());
        };
        Err(StoreError::request(
            Some("engine"),
            format!("The engine {} went into {other} with its setup {number}.", self.engine),
            Guidance::from(format!("Say which engine is in {bike} now: "))
                + Command::SayEngine(bike.to_owned())
                + format!("; engine={} takes it back.", self.engine),
        ))
    }

    fn remark(&self) -> Option<String> {
        let (other, number) = self.elsewhere.as_ref()?;
        Some(format!(
            "The engine {} came out of {other} (its setup {number}); {other} has none until you give it one.",
            self.engine
        ))
    }
}

/// Why, in what air and when a setup is recorded.
pub(super) struct Act<'a> {
    pub(super) why: &'a str,
    pub(super) air: Option<&'a AirEntry>,
    pub(super) date: When,
    pub(super) takes_engine_back: bool,
    /// What is to be done for it where that is known otherwise: by what is put back.
    pub(super) jobs: Option<Vec<JobItem>>,
    pub(super) check: Check<'a>,
}

/// Checks the files, writes them and records them as a new setup.
pub(super) fn record(
    book: &Book<'_>,
    files: &SetupFiles,
    act: &Act<'_>,
    moment: &Moment,
) -> Result<Recorded, StoreError> {
    let garage = book.garage();
    let whole = garage.combination(files);
    no_findings(whole.findings.clone())?;
    cylinders::require_as_many(garage, &files.bike, &whole)?;
    cylinders::require_known_to_all(book, &files.bike, &whole, act.date.max(moment.now))?;
    let latest = book.latest(&files.bike)?;
    let before = latest.as_ref().map(|setup| book.combination(&files.bike, Some(setup))).transpose()?;
    let old = before.as_ref().map(|before| before.fields.clone()).unwrap_or_default();
    let comparison = compare(&old, &whole.fields);
    refuse_empty(&comparison, latest.as_ref(), &files.bike, act)?;
    let (bike, before) = (files.bike.as_str(), before.as_ref());
    let despite = (act.check)(&Proposed { book, bike, before, after: &whole, air: act.air, date: act.date })?;
    let mut numbers = book.numbers(&files.bike)?;
    for setup in book.setups(&files.bike)? {
        numbers.give(&setup.id);
    }
    let id = moment.new_id(&format!("setup {} of {}", numbers.count() + 1, files.bike));
    let number = numbers.give(&id);
    let mut changes = file_changes(book, files)?;
    let gone = changes.iter().filter(|(_, bytes)| bytes.is_none());
    let gone = gone.map(|(path, _)| {
        format!(
            "{} is not on disk any more, so it is no part of setup {number}; git keeps it.",
            path_text(path)
        )
    });
    let gone = gone.map(Guidance::from);
    let mut remarks: Vec<Guidance> =
        retired_remark(garage, bike).into_iter().chain(identity_remark(garage)).chain(gone).collect();
    if act.date < moment.now {
        remarks.extend(later_runs(book, (bike, number), act.date)?);
    }
    let numbers_lost = book.numbers_lost(bike)?;
    remarks.extend(
        numbers_lost
            .map(|lost| Guidance::from(lost.message) + " The numbers stand again as they were recorded."),
    );
    let was_on_it = match &latest {
        Some(_) if !is_taken_in(act.why) => book.with_what_is_first_written(bike, (&old, &whole.fields))?,
        // What is to be done for it hangs on what is there.
        None if is_taken_in(act.why) => return Err(nothing_known(bike)),
        Some(_) | None => None,
    };
    let items = match (&latest, &act.jobs) {
        (_, Some(jobs)) => jobs.clone(),
        (Some(_), None) => to_do(was_on_it.as_ref().unwrap_or(&old), &whole.fields),
        // The first setup is written down as it is on the bike.
        (None, None) => Vec::new(),
    };
    changes.extend(file_of(book, (&files.bike, &id), items, act.date)?);
    changes.push((Garage::bike_folder(&files.bike).join("numbers"), Some(numbers.text().into_bytes())));
    let message =
        Message { why: act.why.to_owned(), trailers: trailers((bike, &id), act.air, despite.as_deref()) };
    let commit = garage.repository().record(&changes, &message, act.date, moment.now)?;
    Ok(Recorded {
        setup: SetupRecord {
            bike: files.bike.clone(),
            number,
            id,
            commit: commit.to_string(),
            date: act.date,
            author: garage.repository().author(),
            why: act.why.to_owned(),
            air: act.air.cloned(),
            engine: files.engine_name.clone(),
            readable: true,
            despite,
            combined: false,
            combined_of: Vec::new(),
            made_from: latest.as_ref().map(|setup| setup.id.clone()),
        },
        before: latest.map(|setup| setup.number),
        comparison,
        fields: (old, whole.fields),
        was_on_it,
        remarks,
    })
}

/// A bike of which nothing is written down takes nothing in: nobody could say what is to be done for it.
fn nothing_known(bike: &str) -> StoreError {
    StoreError::request(
        None,
        format!("Nothing is recorded of {bike} yet, so what has to be done at it for this is not known."),
        Guidance::from("Write down first what is on it: ")
            + Command::RecordSetup(Some(bike.to_owned()))
            + ".",
    )
}

/// Most of the runs that are named one by one.
const MOST_NAMED: usize = 3;

/// What is said of runs later than a setup that was typed late: they stand under another, and may have had this one.
fn later_runs(
    book: &Book<'_>,
    (bike, number): (&str, u32),
    date: When,
) -> Result<Option<Guidance>, StoreError> {
    let runs = book.outings(bike)?;
    let later: Vec<&OutingRecord> = runs.iter().filter(|run| run.outing.date > date).collect();
    let Some(newest) = later.last() else { return Ok(None) };
    let count = match later.len() {
        1 => "1 run is later than this, and stands under another setup".to_owned(),
        many => format!("{many} runs are later than this, and stand under other setups"),
    };
    let said =
        format!("{count} (the last on {}). What ran on this is put right with ", newest.outing.date.short());
    let mends = later.iter().rev().take(MOST_NAMED).rev().map(|run| {
        Guidance::from(Command::MendOuting(bike.to_owned(), run.id.clone(), OutingChange::SetupOf(number)))
    });
    Ok(Some(Guidance::from(said) + Guidance::joined(mends, ", ") + "."))
}

/// Refuses a question to a bike whose engine went into another one, and which was given none since.
pub fn require_engine_here(book: &Book<'_>, bike: &str, engine: Option<&str>) -> Result<(), StoreError> {
    EngineCheck::of(book, bike, engine)?.require_here(bike)
}

fn refuse_empty(
    comparison: &Comparison,
    latest: Option<&SetupRecord>,
    bike: &str,
    act: &Act<'_>,
) -> Result<(), StoreError> {
    let Some(latest) = latest else {
        if comparison.changes.iter().any(|change| change.field != "engine") {
            return Ok(());
        }
        return Err(StoreError::request(
            None,
            format!("The setup of {bike} holds nothing yet."),
            format!("Fill in bikes/{bike}/setup.toml first: take the '#' off the lines you know."),
        ));
    };
    if !comparison.changes.is_empty() || act.takes_engine_back {
        return Ok(());
    }
    Err(StoreError::NothingChanged {
        message: format!("{bike}: as in setup {} already; nothing recorded.", latest.number),
        help: format!(
            "Edit bikes/{bike}/setup.toml or name what changed, like jetting.main=172. A comment alone is not a change."
        )
        .into(),
    })
}

fn trailers(
    (bike, id): (&str, &str),
    air: Option<&AirEntry>,
    despite: Option<&str>,
) -> Vec<(&'static str, String)> {
    let mut trailers = vec![(BIKE_TRAILER, bike.to_owned()), (SETUP_TRAILER, id.to_owned())];
    trailers.extend(air.map(|air| (AIR_TRAILER, air.line())));
    trailers.extend(despite.map(|despite| (DESPITE_TRAILER, visible(despite))));
    trailers
}

/// The files of the commit but for the list of numbers.
fn file_changes(book: &Book<'_>, files: &SetupFiles) -> Result<Vec<FileChange>, StoreError> {
    let garage = book.garage();
    let folder = Garage::bike_folder(&files.bike);
    let mut changes: Vec<FileChange> = vec![(SetupFiles::setup_path(&files.bike), files.setup.clone())];
    if let (Some(name), Some(bytes)) = (&files.engine_name, &files.engine) {
        changes.push((SetupFiles::engine_path(name), Some(bytes.clone())));
    }
    for (name, bytes) in &files.maps {
        changes.push((folder.join(name), Some(bytes.clone())));
    }
    changes.extend(removed_maps(garage, files)?);
    let bike = folder.join("bike.toml");
    if let Some(bytes) = garage.read(&bike)? {
        changes.push((bike, Some(bytes)));
    }
    Ok(changes)
}

/// Map files that were recorded and are no more.
fn removed_maps(garage: &Garage, files: &SetupFiles) -> Result<Vec<FileChange>, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else {
        return Ok(Vec::new());
    };
    let folder: PathBuf = Garage::bike_folder(&files.bike).join("maps");
    let recorded = repository.names_in(&repository.tree(head)?, &folder);
    Ok(recorded
        .into_iter()
        .filter(|(name, _)| name.ends_with(".csv") && !files.maps.contains_key(&format!("maps/{name}")))
        .map(|(name, _)| (folder.join(name), None))
        .collect())
}
