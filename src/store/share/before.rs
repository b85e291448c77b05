//! What was here before others' was brought last: shown, and put back document by document. A setup is put back by a rollback.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use git2::Oid;

use super::trees::differing;
use super::{AFTER, BEFORE};
use crate::machine::Moment;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::{DocumentKind, Outing, When, merge_documents, written_values};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::pages::write_and_record;
use crate::store::history::repository::{FileChange, Repository};
use crate::store::index::rows::path_text;
use crate::store::records::outing_id;
use crate::store::share::setups::retired_in;
use crate::store::writing::file_back;

/// What was otherwise here before others' was brought last.
#[derive(Debug, Clone)]
pub struct Before {
    /// When the newest of what was here then was recorded.
    pub stood: When,
    /// Bikes of which a setup came or was chosen.
    pub bikes: Vec<BikeBefore>,
    /// Bikes that were taken out.
    pub gone: Vec<String>,
    /// Documents that were changed or taken out.
    pub documents: Vec<DocumentBefore>,
}

/// A bike's setup before and since.
#[derive(Debug, Clone)]
pub struct BikeBefore {
    /// The bike.
    pub bike: String,
    /// The number of its newest setup before; none where it had none.
    pub was: Option<u32>,
    /// The number of its newest setup now.
    pub now: u32,
}

/// A document before and since.
#[derive(Debug, Clone)]
pub struct DocumentBefore {
    /// The file, relative to the garage.
    pub file: String,
    /// Whether it is not there any more.
    pub taken_out: bool,
    /// Fields that were changed: the field, before and since; empty of what has none.
    pub fields: Vec<(String, Option<String>, Option<String>)>,
}

/// Whose an engine is: no part of a setup.
const OWNER: &str = "owner";

/// The two ends of the last share that brought something.
struct Ends {
    before: Oid,
    after: Oid,
}

fn ends(garage: &Garage) -> Result<Option<Ends>, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else { return Ok(None) };
    let Ok(before) = repository.git().refname_to_id(BEFORE) else { return Ok(None) };
    // One that was noted and then did not come to stand brought nothing.
    let stands = |id: &Oid| *id == head || repository.is_ancestor(*id, head);
    let after = match repository.git().refname_to_id(AFTER) {
        Ok(after) if stands(&after) => after,
        Ok(_) => before,
        Err(_) => head,
    };
    Ok(stands(&before).then_some(Ends { before, after }))
}

/// What was otherwise here before others' was brought last; none where nothing was ever brought.
pub fn before_share(garage: &Garage) -> Result<Option<Before>, StoreError> {
    let Some(Ends { before, after }) = ends(garage)? else { return Ok(None) };
    let repository = garage.repository();
    let files = differing(repository.git(), None, before, after)?;
    let now = repository.tree(repository.head()?.unwrap_or(after))?;
    let mut documents = Vec::new();
    let mut gone = BTreeSet::new();
    for file in &files {
        let text = path_text(&file.path);
        if let (["bikes", bike, "bike.toml"], None) =
            (text.split('/').collect::<Vec<_>>().as_slice(), file.theirs)
        {
            gone.insert((*bike).to_owned());
        }
    }
    for file in files {
        let text = path_text(&file.path);
        let Some(was) = file.ours else { continue };
        let of_gone = |bike: &String| file.path.starts_with(Garage::bike_folder(bike));
        let is_back = Repository::id_at(&now, &file.path) == Some(was);
        if told_elsewhere(&text) || is_back || gone.iter().any(of_gone) {
            continue;
        }
        let since = file.theirs.map(|id| repository.blob(&file.path, id)).transpose()?;
        let was = repository.blob(&file.path, was)?;
        let mut fields = since.as_ref().map(|since| changed(&file.path, &was, since)).unwrap_or_default();
        if is_of_an_engine(&text) {
            // The rest of it is told as part of setups.
            fields.retain(|(field, ..)| field == OWNER);
            if fields.is_empty() {
                continue;
            }
        }
        documents.push(DocumentBefore { file: text, taken_out: since.is_none(), fields });
    }
    let stood = repository.commit(before)?.author().when();
    Ok(Some(Before {
        stood: When::from_unix(stood.seconds(), stood.offset_minutes()).unwrap_or_default(),
        bikes: bikes(garage, before, after)?,
        gone: gone.into_iter().collect(),
        documents,
    }))
}

/// Whether a file is told as part of a setup, or is none that anybody wrote.
fn told_elsewhere(path: &str) -> bool {
    let parts: Vec<&str> = path.split('/').collect();
    matches!(
        parts.as_slice(),
        ["bikes", _, "setup.toml" | "numbers"] | ["bikes", _, "maps", _] | ["schema", ..]
    )
}

fn is_of_an_engine(path: &str) -> bool {
    matches!(path.split('/').collect::<Vec<_>>().as_slice(), ["engines", _, "engine.toml"])
}

fn changed(path: &Path, was: &[u8], since: &[u8]) -> Vec<(String, Option<String>, Option<String>)> {
    let (Ok(was), Ok(since)) = (written_values(path, was), written_values(path, since)) else {
        return Vec::new();
    };
    let fields: BTreeSet<&String> = was.keys().chain(since.keys()).collect();
    let row = |field: &&String| was.get(*field) != since.get(*field);
    fields
        .into_iter()
        .filter(row)
        .map(|field| (field.clone(), was.get(field).cloned(), since.get(field).cloned()))
        .collect()
}

fn bikes(garage: &Garage, before: Oid, after: Oid) -> Result<Vec<BikeBefore>, StoreError> {
    let repository = garage.repository();
    let ids = |head: Oid| -> Result<BTreeSet<String>, StoreError> {
        Ok(repository.commits_since(head, Some(before))?.iter().map(ToString::to_string).collect())
    };
    let brought = ids(after)?;
    let since = repository.head()?.map(ids).transpose()?.unwrap_or_default();
    let book = Book::open(garage)?;
    let mut bikes = Vec::new();
    for bike in garage.bikes() {
        let setups = book.setups(&bike)?;
        let Some(now) = setups.last().filter(|_| setups.iter().any(|setup| brought.contains(&setup.commit)))
        else {
            continue;
        };
        let was = setups.iter().rev().find(|setup| !since.contains(&setup.commit));
        bikes.push(BikeBefore { now: now.number, was: was.map(|setup| setup.number), bike });
    }
    Ok(bikes)
}

/// Puts documents back as they were before others' was brought last; what was changed here since stays. `lean` tells a run that was lean or
/// seized: such a one is never let go so.
///
/// # Errors
///
/// Where a file is part of a setup, was not here then, is as it was, or was changed since in the same field; and what a record may fail of.
pub fn put_back(
    garage: &Garage,
    files: &[PathBuf],
    lean: fn(&Outing) -> bool,
    moment: &Moment,
) -> Result<Vec<String>, StoreError> {
    let _lock = garage.begin_writing(moment)?;
    let repository = garage.repository();
    let Some(Ends { before, after }) = ends(garage)? else {
        return Err(StoreError::NothingChanged {
            message: "Nothing of others was ever brought here.".into(),
            help: Command::Share + " brings it.",
        });
    };
    let trees = [before, after, repository.head()?.unwrap_or(after)].map(|commit| repository.tree(commit));
    let [was, came, now] = trees;
    let (was, came, now) = (was?, came?, now?);
    let mut changes: BTreeMap<PathBuf, Option<Vec<u8>>> = BTreeMap::new();
    for file in files {
        let shown = visible(&path_text(file));
        let of_a_setup = || {
            Err(StoreError::request(
                None,
                format!("{shown} is part of a setup."),
                Command::ShareBefore + " names the setup that is to be put back.",
            ))
        };
        if told_elsewhere(&path_text(file)) {
            return of_a_setup();
        }
        let kind = file_back::mendable(file)?;
        let Some(was) = repository.file(&was, file)? else {
            return Err(StoreError::request(
                None,
                format!("{shown} was not here before others' was brought."),
                Command::ShareBefore + " names what was here and is otherwise now.",
            ));
        };
        let (came, now) = (repository.file(&came, file)?, repository.file(&now, file)?);
        let is_setup = |came: &Vec<u8>| changed(file, &was, came).iter().any(|(field, ..)| field != OWNER);
        if kind == DocumentKind::Engine && came.as_ref().is_none_or(is_setup) {
            return of_a_setup();
        }
        if garage.read(file)? != now {
            return Err(StoreError::request(
                None,
                format!("{shown} was edited and not recorded."),
                Guidance::from("Record it first (")
                    + Command::CheckGarage
                    + " says how); nothing was touched.",
            ));
        }
        let bytes = match &now {
            Some(now) if *now == was => {
                return Err(StoreError::NothingChanged {
                    message: format!("{shown} is as it was before."),
                    help: Command::ShareBefore + " names what is otherwise.",
                });
            }
            Some(now) if Some(now) != came.as_ref() => {
                let merged = merge_documents(kind, file, came.as_deref(), (now, &was))?;
                if let Some(both) = merged.both.first() {
                    return Err(StoreError::request(
                        None,
                        format!("{} of {shown} was changed here since, too.", visible(&both.field)),
                        "What was changed last holds: write that field yourself; nothing was touched.",
                    ));
                }
                merged.bytes
            }
            _ => was,
        };
        if kind == DocumentKind::Outing {
            require_still_lean(garage, file, (now.as_deref(), &bytes), lean)?;
        }
        changes.insert(file.clone(), Some(bytes));
    }
    let retires = changes.iter().find_map(|(path, bytes)| retired_in(path, bytes.as_deref()));
    let names: Vec<String> = changes.keys().map(|path| path_text(path)).collect();
    let mut why = format!("Put {} back as before others' was brought", names.join(", "));
    if let Some(bike) = retires {
        why = format!("{why}; {bike} is retired again");
    }
    let changes: Vec<FileChange> = changes.into_iter().collect();
    write_and_record(garage, &changes, &why, Vec::new(), moment)?;
    Ok(names)
}

/// A run that is lean by now is not made another one by putting its file back.
fn require_still_lean(
    garage: &Garage,
    file: &Path,
    (now, then): (Option<&[u8]>, &[u8]),
    lean: fn(&Outing) -> bool,
) -> Result<(), StoreError> {
    let is_lean = |bytes: &[u8]| checks::outing(garage, file, bytes).document.as_ref().is_some_and(lean);
    if !now.is_some_and(is_lean) || is_lean(then) {
        return Ok(());
    }
    let text = path_text(file);
    let bike = text.split('/').nth(1).unwrap_or_default().to_owned();
    let mend = Command::MendOuting(visible(&bike), outing_id(&text), OutingChange::CauseAndMend);
    Err(StoreError::request(
        None,
        format!("{} says that the run was lean, and before it did not.", visible(&text)),
        Guidance::from("What was lean stays so until its cause is known and fixed: ") + mend + ".",
    ))
}
