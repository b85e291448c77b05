//! Recording: a change of the setup, and a rollback, which is a change too.

use std::path::PathBuf;

use crate::machine::Moment;
use crate::notebook::editing::assign::apply;
use crate::notebook::fields::names::visible;
use crate::notebook::restoring::plan::{plan, restore};
use crate::notebook::{
    AirEntry, Assignment, Combination, Comparison, EditOptions, FieldSet, RestorePlan, RestoreRequest,
    SetupFiles, When, compare, replace_map,
};
use crate::store::book::{Book, SetupName, SetupRecord};
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::{AIR_TRAILER, BIKE_TRAILER, DESPITE_TRAILER, SETUP_TRAILER};
use crate::store::writing::guards::{Check, Proposed, check_air, check_date, identity_remark};
use crate::store::writing::map_edit::{MapEdit, refuse_unrecorded};
use crate::store::writing::outings::take_in;

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
    /// What else should be known.
    pub remarks: Vec<String>,
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
    garage.require_bike(&request.bike)?;
    check_air(request.air.as_ref())?;
    check_date(request.date.unwrap_or(moment.now), moment)?;
    let _lock = garage.begin_writing(moment)?;
    take_in(garage, &request.bike, moment)?;
    let book = Book::open(garage)?;
    require_made_for(&book, request)?;
    let on_disk = garage.files_now(&request.bike)?;
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
        check,
    };
    let mut recorded = record(&book, &files, &act, moment)?;
    recorded.remarks.extend(engine.remark());
    Ok(recorded)
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
struct EngineCheck {
    engine: String,
    /// The other bike that has it, and the setup that took it there.
    elsewhere: Option<(String, u32)>,
}

impl EngineCheck {
    fn of(book: &Book<'_>, bike: &str, engine: Option<&str>) -> Result<Self, StoreError> {
        let engine = engine.unwrap_or_default().to_owned();
        let holder = book.engine_holders()?.remove(&engine);
        Ok(Self { engine, elsewhere: holder.filter(|(holder, _)| holder != bike) })
    }

    fn require_here(&self, bike: &str) -> Result<(), StoreError> {
        let Some((other, number)) = &self.elsewhere else {
            return Ok(());
        };
        Err(StoreError::request(
            Some("engine"),
            format!("The engine {} went into {other} with its setup {number}.", self.engine),
            format!(
                "Say which engine is in {bike} now: `reedbook change {bike} engine=NAME --why \"…\"`; engine={} takes it back.",
                self.engine
            ),
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
    garage.require_bike(&request.bike)?;
    check_air(request.air.as_ref())?;
    check_date(request.date.unwrap_or(moment.now), moment)?;
    let _lock = garage.begin_writing(moment)?;
    take_in(garage, &request.bike, moment)?;
    let book = Book::open(garage)?;
    let to = book.recorded(&request.bike, &request.to)?;
    if !to.readable {
        return Err(StoreError::request(
            None,
            format!("The files of setup {} cannot be read.", to.number),
            "Name another setup; `git show` has the text as it was.",
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
        if request.discard_edits && plan.still_different.is_empty() && drop_edits(garage, &files)? {
            return Ok(Rollback::EditsDropped(to));
        }
        return Err(nothing_to_put_back(&plan, &to, &request.bike));
    }
    let engine_file = match &plan.engine {
        Some(engine) => garage.read(&SetupFiles::engine_path(engine))?,
        None => None,
    };
    let mut restored = restore(&files, &target_files, engine_file.as_deref(), &plan)?;
    if let Some(setup) = &restored.setup {
        restored.engine_name = SetupFiles::named_engine(setup);
    }
    let why = request.why.clone().unwrap_or_else(|| match request.only.as_slice() {
        [] => format!("Back to setup {}", to.number),
        only => format!("Back to setup {} ({})", to.number, only.join(", ")),
    });
    let act = Act {
        why: &why,
        air: request.air.as_ref(),
        date: request.date.unwrap_or(moment.now),
        takes_engine_back: false,
        check,
    };
    let recorded = record(&book, &restored, &act, moment)?;
    let air = book.air_of(&request.bike, &to)?;
    Ok(Rollback::Recorded(Box::new(RolledBack {
        recorded,
        to,
        plan,
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
    let now = garage.combination(&on_disk);
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

/// Writes recorded files over edits on disk; false when there were none.
fn drop_edits(garage: &Garage, recorded: &SetupFiles) -> Result<bool, StoreError> {
    if garage.files_now(&recorded.bike)? == *recorded {
        return Ok(false);
    }
    let folder = Garage::bike_folder(&recorded.bike);
    let mut files: Vec<FileChange> = vec![(SetupFiles::setup_path(&recorded.bike), recorded.setup.clone())];
    if let Some(name) = &recorded.engine_name {
        files.push((SetupFiles::engine_path(name), recorded.engine.clone()));
    }
    files.extend(recorded.maps.iter().map(|(name, bytes)| (folder.join(name), Some(bytes.clone()))));
    garage.repository().write_files(&files)?;
    Ok(true)
}

fn nothing_to_put_back(plan: &RestorePlan, to: &SetupRecord, bike: &str) -> StoreError {
    let sentences: Vec<_> = plan.still_different.iter().map(|one| one.sentence.as_str()).collect();
    let message =
        format!("Nothing of setup {} can be put back by a command: {}.", to.number, sentences.join("; "));
    match (plan.still_different.as_slice(), &to.engine) {
        ([], _) => StoreError::NothingChanged {
            message: format!("The bike is as in setup {} already.", to.number),
            help: "Nothing was recorded.".into(),
        },
        ([only], Some(engine)) if only.field == "engine" => StoreError::NothingChanged {
            message: message.replace(": take it out there first", ""),
            help: format!("Take it back first: `reedbook change {bike} engine={engine} --why \"…\"`."),
        },
        _ => StoreError::NothingChanged {
            message,
            help: "Fit the part from then and add --fitted, or re-jet for what is there.".into(),
        },
    }
}

/// Why, in what air and when a setup is recorded.
struct Act<'a> {
    why: &'a str,
    air: Option<&'a AirEntry>,
    date: When,
    takes_engine_back: bool,
    check: Check<'a>,
}

/// Checks the files, writes them and records them as a new setup.
fn record(
    book: &Book<'_>,
    files: &SetupFiles,
    act: &Act<'_>,
    moment: &Moment,
) -> Result<Recorded, StoreError> {
    let garage = book.garage();
    let whole = garage.combination(files);
    no_findings(whole.findings.clone())?;
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
            why: act.why.to_owned(),
            air: act.air.cloned(),
            engine: files.engine_name.clone(),
            readable: true,
            despite,
        },
        before: latest.map(|setup| setup.number),
        comparison,
        fields: (old, whole.fields),
        remarks: identity_remark(garage),
    })
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
        return Err(StoreError::NothingChanged {
            message: format!("The setup of {bike} holds nothing yet."),
            help: format!("Fill in bikes/{bike}/setup.toml first: take the '#' off the lines you know."),
        });
    };
    if !comparison.changes.is_empty() || act.takes_engine_back {
        return Ok(());
    }
    Err(StoreError::NothingChanged {
        message: format!("Nothing differs from setup {}: there is nothing to record.", latest.number),
        help: format!(
            "Edit bikes/{bike}/setup.toml or name what changed, like jetting.main=172. A comment alone is not a change."
        ),
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
