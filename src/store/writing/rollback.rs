//! Recording a rollback: an earlier setup put back as a new one.

use crate::machine::Moment;
use crate::notebook::guidance::{Command, CommandOption, GitCommand, Guidance};
use crate::notebook::restoring::on_the_bike::{of_plan, to_do};
use crate::notebook::restoring::plan::{plan, restore};
use crate::notebook::{
    AirEntry, Combination, FieldSet, Finding, JobItem, RestorePlan, RestoreRequest, SetupFiles, When, compare,
};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::BIKE_TRAILER;
use crate::store::records::{SetupName, SetupRecord};
use crate::store::shortened::shortened_setup;
use crate::store::writing::change::{Act, EngineCheck, Recorded, begin, record};
use crate::store::writing::guards::Check;
use crate::store::writing::jobs::of_rollback;

/// A rollback to be done.
#[derive(Debug, Clone)]
pub struct RollbackRequest {
    /// The bike.
    pub bike: String,
    /// The setup to put back.
    pub to: SetupName,
    /// Only these sections; all when empty.
    pub only: Vec<String>,
    /// Sections whose part from then is on the bike again.
    pub fitted: Vec<String>,
    /// Whether edits that were never recorded may be lost.
    pub discard_edits: bool,
    /// The reason.
    pub why: Option<String>,
    /// The air, where it mattered.
    pub air: Option<AirEntry>,
    /// When, if not now.
    pub date: Option<When>,
}

/// A rollback that was done.
#[derive(Debug)]
pub struct RolledBack {
    /// The setup that was recorded.
    pub recorded: Recorded,
    /// The setup that was put back.
    pub to: SetupRecord,
    /// What was put back and what was not.
    pub plan: RestorePlan,
    /// What is to be done for it, and what was said to be on already.
    pub jobs: Vec<JobItem>,
    /// The sections that were asked for; all when empty.
    pub only: Vec<String>,
    /// The air the setup was right in, and where that is from.
    pub air: Option<(AirEntry, String)>,
    /// The air it goes back into, where it was given.
    pub air_now: Option<AirEntry>,
}

/// What a rollback came to.
#[derive(Debug)]
pub enum Rollback {
    /// A new setup was recorded.
    Recorded(Box<RolledBack>),
    /// The newest setup was asked for: edits on disk were dropped and nothing was recorded.
    EditsDropped(SetupRecord),
    /// The bike is recorded so already: nothing was recorded.
    Already(SetupRecord),
}

/// Puts an earlier setup back as a new one.
pub fn rollback(garage: &Garage, request: &RollbackRequest, moment: &Moment) -> Result<Rollback, StoreError> {
    rollback_checked(garage, request, moment, &|_| Ok(None))
}

/// As [`rollback`], if a check lets it.
pub fn rollback_checked(
    garage: &Garage,
    request: &RollbackRequest,
    moment: &Moment,
    check: Check<'_>,
) -> Result<Rollback, StoreError> {
    let (_lock, book) = begin(garage, (&request.bike, request.air.as_ref(), request.date), moment)?;
    let to = book.recorded(&request.bike, &request.to)?;
    if !to.readable {
        return Err(StoreError::request(
            None,
            format!("The files of setup {} cannot be read.", to.number),
            Guidance::from("Name another setup; ") + GitCommand::Show + " has the text as it was.",
        ));
    }
    let latest = book.recorded(&request.bike, &SetupName::Latest)?;
    EngineCheck::of(&book, &request.bike, latest.engine.as_deref())?.require_here(&request.bike)?;
    let files = start_of_rollback(&book, request, &latest)?;
    let now = Combination::read(&files, false);
    let target_files = book.files(&request.bike, Some(&to))?;
    let target = Combination::read(&target_files, false);
    let engine_now = engine_as_it_is(&book, request, &to, &now)?;
    let plan = plan(&now, &target, &restore_request(&book, request, &to, engine_now.as_ref())?)?;
    if plan.applied.is_empty() {
        if request.discard_edits
            && plan.still_different.is_empty()
            && drop_edits(garage, &files, (&to, moment))?
        {
            return Ok(Rollback::EditsDropped(to));
        }
        if plan.still_different.is_empty() {
            return Ok(Rollback::Already(to));
        }
        return Err(nothing_to_put_back(&plan, &to, &request.bike));
    }
    let engine_file = match &plan.engine {
        Some(engine) => garage.read(&SetupFiles::engine_path(engine))?,
        None => None,
    };
    if plan.engine.is_some() {
        let other = SetupFiles {
            bike: request.bike.clone(),
            engine_name: plan.engine.clone(),
            engine: engine_file.clone(),
            ..SetupFiles::default()
        };
        no_findings(shortened_setup(garage, &other)?)?;
    }
    let mut restored = restore(&files, &target_files, engine_file.as_deref(), &plan)?;
    if let Some(setup) = &restored.setup {
        restored.engine_name = SetupFiles::named_engine(setup);
    }
    let why = request.why.clone().unwrap_or_else(|| match request.only.as_slice() {
        [] => format!("Back to setup {}", to.number),
        only => format!("Back to setup {} ({})", to.number, only.join(", ")),
    });
    let words = format!("setup {}", to.number);
    // With several cylinders the values that hold for each say what is to be done there.
    let items = if now.fields.cylinders().is_empty() {
        of_plan(&plan)
    } else {
        to_do(&now.fields, &Combination::read(&restored, false).fields)
    };
    let jobs = of_rollback((&plan, items), (&request.fitted, &words), request.date.unwrap_or(moment.now));
    let act = Act {
        why: &why,
        air: request.air.as_ref(),
        date: request.date.unwrap_or(moment.now),
        takes_engine_back: false,
        jobs: Some(jobs.clone()),
        check,
    };
    let recorded = record(&book, &restored, &act, moment)?;
    let air = book.air_of(&request.bike, &to)?;
    Ok(Rollback::Recorded(Box::new(RolledBack {
        recorded,
        to,
        plan,
        jobs,
        only: request.only.clone(),
        air,
        air_now: request.air.clone(),
    })))
}

/// What a rollback starts from: the files on disk when they hold nothing unrecorded, else the newest recorded ones if the
/// user lets the edits go.
fn start_of_rollback(
    book: &Book<'_>,
    request: &RollbackRequest,
    latest: &SetupRecord,
) -> Result<SetupFiles, StoreError> {
    let garage = book.garage();
    let on_disk = garage.files_now(&request.bike)?;
    let recorded = book.files(&request.bike, Some(latest))?;
    let mut now = garage.combination(&on_disk);
    now.findings.extend(shortened_setup(garage, &on_disk)?);
    let last = Combination::read(&recorded, false);
    if now.findings.is_empty() && now.fields.same_as(&last.fields) {
        return Ok(on_disk);
    }
    if request.discard_edits {
        return Ok(recorded);
    }
    if now.findings.is_empty() {
        let fields: Vec<_> =
            compare(&last.fields, &now.fields).changes.into_iter().map(|change| change.field).collect();
        return Err(StoreError::UnrecordedEdits {
            bike: request.bike.clone(),
            fields: fields.join(", "),
            can_discard: true,
        });
    }
    Err(StoreError::Findings(now.findings))
}

fn restore_request<'a>(
    book: &Book<'_>,
    request: &RollbackRequest,
    to: &SetupRecord,
    engine_now: Option<&'a FieldSet>,
) -> Result<RestoreRequest<'a>, StoreError> {
    let holder = book.engine_holders()?.remove(to.engine.as_deref().unwrap_or_default());
    Ok(RestoreRequest {
        target_words: format!("setup {}", to.number),
        only: request.only.clone(),
        fitted: request.fitted.clone(),
        engine_elsewhere: holder.map(|(bike, _)| bike).filter(|bike| *bike != request.bike),
        target_engine_now: engine_now,
    })
}

/// The file of the engine that an earlier setup ran, as it is now; none when that engine is in the bike anyway.
fn engine_as_it_is(
    book: &Book<'_>,
    request: &RollbackRequest,
    to: &SetupRecord,
    now: &Combination,
) -> Result<Option<FieldSet>, StoreError> {
    let Some(engine) = to.engine.as_deref().filter(|engine| now.fields.text("engine") != Some(engine)) else {
        return Ok(None);
    };
    let files = SetupFiles {
        bike: request.bike.clone(),
        setup: Some(Vec::new()),
        engine_name: Some(engine.to_owned()),
        engine: book.garage().read(&SetupFiles::engine_path(engine))?,
        ..SetupFiles::default()
    };
    Ok(files.engine.is_some().then(|| Combination::read(&files, false).fields))
}

/// Writes recorded files over edits on disk; false when there were none. Where the newest commit holds what cannot be read, both sides of
/// a merge, what is put back is recorded: it is no other setup.
fn drop_edits(
    garage: &Garage,
    recorded: &SetupFiles,
    (to, moment): (&SetupRecord, &Moment),
) -> Result<bool, StoreError> {
    let repository = garage.repository();
    let head = repository.head()?.map(|head| repository.tree(head)).transpose()?;
    let at_head = head.map(|tree| garage.scanned_files_in(&tree, &recorded.bike)).transpose()?;
    let no_toml = |finding: &Finding| finding.code.is_unreadable();
    let is_broken =
        at_head.is_some_and(|files| Combination::read(&files, false).findings.iter().any(no_toml));
    if !is_broken && garage.files_now(&recorded.bike)? == *recorded {
        return Ok(false);
    }
    let folder = Garage::bike_folder(&recorded.bike);
    let mut files: Vec<FileChange> = vec![(SetupFiles::setup_path(&recorded.bike), recorded.setup.clone())];
    if let Some(name) = &recorded.engine_name {
        files.push((SetupFiles::engine_path(name), recorded.engine.clone()));
    }
    files.extend(recorded.maps.iter().map(|(name, bytes)| (folder.join(name), Some(bytes.clone()))));
    if is_broken {
        let message = Message {
            why: format!("Put the files of {} back as setup {} has them", recorded.bike, to.number),
            trailers: vec![(BIKE_TRAILER, recorded.bike.clone())],
        };
        repository.record_by_the_way(&files, &message, moment.now, moment.now)?;
    } else {
        repository.write_files(&files, &|_, _| ())?;
    }
    Ok(true)
}

fn nothing_to_put_back(plan: &RestorePlan, to: &SetupRecord, bike: &str) -> StoreError {
    let sentences: Vec<_> = plan.still_different.iter().map(|one| one.sentence.as_str()).collect();
    let message =
        format!("Nothing of setup {} can be put back by a command: {}.", to.number, sentences.join("; "));
    match (plan.still_different.as_slice(), &to.engine) {
        ([only], Some(engine)) if only.field == "engine" => StoreError::request(
            None,
            message.replace(": take it out there first", ""),
            Guidance::from("Take it back first: ")
                + Command::PutIn { bike: bike.to_owned(), engine: engine.clone() }
                + ".",
        ),
        _ => StoreError::request(
            None,
            message,
            Guidance::from("Fit the part from then and add ")
                + CommandOption::Fitted
                + ", or re-jet for what is there.",
        ),
    }
}
