//! Files of the garage that are not as they were recorded last: the disk, the newest commit and git's own index beside each
//! other, and what looks like a document and is read by nobody.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use git2::{ObjectType, Oid, TreeWalkMode, TreeWalkResult};

use crate::notebook::GARAGE_FILE;
use crate::notebook::fields::names::{self, visible};
use crate::notebook::guidance::{Command, GitCommand, Guidance, OutingChange};
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::bound;
use crate::store::folder::gate::entry::EntryKind;
use crate::store::index::rows::path_text;
use crate::store::records::outing_id;

/// A file that is not on disk what it is in the history.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unrecorded {
    /// Its path in the garage.
    pub file: PathBuf,
    /// How it stands.
    pub state: FileState,
    /// What to do, a sentence.
    pub help: Guidance,
}

/// How a file stands beside the history.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FileState {
    /// It was recorded and is not on disk any more.
    Deleted,
    /// It is another one on disk.
    Changed,
    /// It was never recorded.
    New,
    /// The disk has what was recorded, git's index something else.
    Staged,
    /// It looks like a document, and nobody reads it.
    Overlooked,
}

/// How git merges what both sides added to.
const MERGING: &str = ".gitattributes";
/// Folders that are the garage's own; what else lies in the repository is the user's.
const OURS: [&str; 6] = ["bikes", "engines", "parts", "places", "jobs", "configs"];

/// Files of the garage that are not as they were recorded, by path.
pub fn unrecorded(garage: &Garage) -> Result<Vec<Unrecorded>, StoreError> {
    let recorded = recorded(garage)?;
    let mut found = Vec::new();
    for (file, id) in &recorded {
        if let Some(state) = state_on_disk(garage, file, *id)? {
            found.push((file.clone(), state));
        }
    }
    let differs: BTreeSet<PathBuf> = found.iter().map(|(file, _)| file.clone()).collect();
    let staged = staged(garage, &recorded)?;
    found.extend(
        staged.into_iter().filter(|file| !differs.contains(file)).map(|file| (file, FileState::Staged)),
    );
    for folder in OURS {
        look_through(garage, Path::new(folder), &recorded, &mut found)?;
    }
    found.sort();
    found.dedup_by(|one, two| one.0 == two.0);
    let entry = |(file, state): (PathBuf, FileState)| Unrecorded { help: help(&file, state), file, state };
    Ok(found.into_iter().map(entry).collect())
}

/// Outings of a bike that are on disk what they are not in the history.
pub fn edited_outings(garage: &Garage, bike: &str) -> Result<Vec<Unrecorded>, StoreError> {
    let folder = Path::new("bikes").join(bike).join("outings");
    let repository = garage.repository();
    let Some(head) = repository.head()? else { return Ok(Vec::new()) };
    let tree = repository.tree(head)?;
    let Ok(entry) = tree.get_path(&folder) else { return Ok(Vec::new()) };
    let outings = entry.to_object(repository.git()).and_then(|object| object.peel_to_tree());
    let mut found = Vec::new();
    for entry in &outings.map_err(git("read a commit's files"))? {
        let Ok(name) = entry.name() else { continue };
        let file = folder.join(name);
        if name.ends_with(".toml") && state_on_disk(garage, &file, entry.id())? == Some(FileState::Changed) {
            found.push(Unrecorded { help: help(&file, FileState::Changed), file, state: FileState::Changed });
        }
    }
    Ok(found)
}

/// What there is to say before a bike's outings are taken in as they stand on disk; none where all are as they were recorded.
pub fn outings_edited_by_hand(garage: &Garage, bike: &str) -> Result<Option<String>, StoreError> {
    let edited = edited_outings(garage, bike)?;
    let files: Vec<String> = edited.iter().map(|one| visible(&one.file.to_string_lossy())).collect();
    Ok((!files.is_empty()).then(|| {
        format!(
            "Edited by hand since it was recorded, and taken as it stands there now: {}. What a lean run forbade may be gone with it",
            files.join(", ")
        )
    }))
}

/// The garage's files in the newest commit.
fn recorded(garage: &Garage) -> Result<BTreeMap<PathBuf, Oid>, StoreError> {
    let repository = garage.repository();
    let mut files = BTreeMap::new();
    let Some(head) = repository.head()? else {
        return Ok(files);
    };
    let tree = repository.tree(head)?;
    tree.walk(TreeWalkMode::PreOrder, |above, entry| {
        let Ok(name) = entry.name() else { return TreeWalkResult::Ok };
        let path = PathBuf::from(format!("{above}{name}"));
        match entry.kind() {
            Some(ObjectType::Tree) if above.is_empty() && !OURS.contains(&name) => {
                return TreeWalkResult::Skip;
            }
            Some(ObjectType::Blob) if is_ours(&path) => {
                files.insert(path, entry.id());
            }
            _ => {}
        }
        TreeWalkResult::Ok
    })
    .map_err(git("read a commit's files"))?;
    Ok(files)
}

fn is_ours(path: &Path) -> bool {
    path == Path::new(GARAGE_FILE)
        || path == Path::new(MERGING)
        || OURS.iter().any(|folder| path.starts_with(folder))
}

/// How a recorded file stands on disk; none where it is the same.
fn state_on_disk(garage: &Garage, file: &Path, id: Oid) -> Result<Option<FileState>, StoreError> {
    let bytes = match garage.read(file) {
        // What lies in its place is named where documents are read.
        Err(StoreError::Barred(_)) => return Ok(Some(FileState::Changed)),
        read => read?,
    };
    let Some(bytes) = bytes else {
        return Ok(Some(FileState::Deleted));
    };
    let same = Oid::hash_object(ObjectType::Blob, &bytes).is_ok_and(|hash| hash == id);
    Ok((!same).then_some(FileState::Changed))
}

/// The garage's files that git's index has otherwise than the newest commit.
fn staged(garage: &Garage, recorded: &BTreeMap<PathBuf, Oid>) -> Result<Vec<PathBuf>, StoreError> {
    let repository = garage.repository();
    repository.own().require_of_a_size(Path::new("index"), bound::GIT_INDEX)?;
    let index = repository.git().index().map_err(git("read its index"))?;
    let mut of_index = BTreeMap::new();
    for entry in index.iter() {
        let path = PathBuf::from(String::from_utf8_lossy(&entry.path).into_owned());
        if is_ours(&path) {
            of_index.insert(path, entry.id);
        }
    }
    let otherwise = |(path, id): (&PathBuf, &Oid)| (of_index.get(path) != Some(id)).then(|| path.clone());
    let mut found: Vec<_> = recorded.iter().filter_map(otherwise).collect();
    // What is new to both is found on disk; a file that is in the index alone was staged and taken away again.
    found.extend(
        of_index
            .into_keys()
            .filter(|path| !recorded.contains_key(path) && matches!(garage.kind(path), Ok(None))),
    );
    Ok(found)
}

/// Goes through a folder on disk for what was never recorded, and for what looks like a document and is none.
fn look_through(
    garage: &Garage,
    folder: &Path,
    recorded: &BTreeMap<PathBuf, Oid>,
    found: &mut Vec<(PathBuf, FileState)>,
) -> Result<(), StoreError> {
    let entries = match garage.entries(folder) {
        Err(StoreError::Barred(_)) => return Ok(()),
        entries => entries?,
    };
    for (name, kind) in entries {
        let path = folder.join(name);
        match (kind, place_of(&path)) {
            (EntryKind::Folder, PathKind::Folder) => look_through(garage, &path, recorded, found)?,
            (EntryKind::Plain, PathKind::Document) => {
                if !recorded.contains_key(&path) {
                    found.push((path, FileState::New));
                }
            }
            (EntryKind::Plain, _) if !looks_like_a_document(&path) => {}
            // A document that is none is named where documents are read.
            (_, PathKind::Document) if path.extension().is_some_and(|ending| ending == "toml") => {}
            (EntryKind::Folder, PathKind::None) if !stands_for_a_document(&path) => {}
            _ => found.push((path, FileState::Overlooked)),
        }
    }
    Ok(())
}

/// What a path of a garage is, by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum PathKind {
    /// A folder with documents in it.
    Folder,
    /// A document, a map, a list.
    Document,
    /// Nothing that is read.
    None,
}

fn place_of(path: &Path) -> PathKind {
    let text = path_text(path);
    let parts: Vec<&str> = text.split('/').collect();
    let is_name = |name: &str| names::check(name).is_ok();
    let is = |name: &str, ending: &str| name.strip_suffix(ending).is_some_and(|stem| !stem.is_empty());
    match parts.as_slice() {
        ["bikes" | "engines", name] if is_name(name) => PathKind::Folder,
        ["bikes", _, "maps" | "outings"] | ["engines", _, "builds"] | ["configs", "templates"] => {
            PathKind::Folder
        }
        ["bikes", _, "bike.toml" | "setup.toml" | "numbers"] | ["engines", _, "engine.toml"] => {
            PathKind::Document
        }
        ["bikes", _, "maps", name] if name.strip_suffix(".csv").is_some_and(is_name) => PathKind::Document,
        ["bikes", _, "outings", name] if is(name, ".toml") || is(name, ".csv") => PathKind::Document,
        ["engines", _, "builds", name] if is(name, ".toml") || is(name, ".csv") => PathKind::Document,
        ["jobs", name] if is(name, ".toml") => PathKind::Document,
        ["parts" | "places", name] if name.strip_suffix(".toml").is_some_and(is_name) => PathKind::Document,
        ["configs", name] | ["configs", "templates", name] if is(name, ".toml") => PathKind::Document,
        _ => PathKind::None,
    }
}

/// Whether somebody may take a file for a document: it has the ending somewhere, or the name in other letters.
fn looks_like_a_document(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
    name.contains(".toml") || name.contains(".csv") || name == "numbers"
}

/// Whether a folder lies where documents or the folders of bikes and engines lie.
fn stands_for_a_document(path: &Path) -> bool {
    let above = path.parent().unwrap_or(Path::new(""));
    let name = above.file_name().unwrap_or_default();
    looks_like_a_document(path)
        || above.parent() == Some(Path::new(""))
        || ["maps", "outings", "builds"].iter().any(|folder| name == *folder)
        || matches!(place_of(&PathBuf::from(path_text(path).to_lowercase())), PathKind::Folder)
}

/// What to do about one of them.
fn help(file: &Path, state: FileState) -> Guidance {
    let path = path_text(file);
    match state {
        FileState::Staged => GitCommand::ResetIndex(path) + " puts git's index back to what was recorded.",
        FileState::New => record(&path, state).with_capital() + " records it.",
        FileState::Overlooked => overlooked(&path).into(),
        FileState::Deleted | FileState::Changed => {
            let record = record(&path, state);
            GitCommand::BringBack(path)
                + " brings back what was recorded, "
                + record
                + " records it as it is now."
        }
    }
}

/// The command that records a file as it is.
fn record(path: &str, state: FileState) -> Guidance {
    let parts: Vec<&str> = path.split('/').collect();
    let deleted = state == FileState::Deleted;
    match parts.as_slice() {
        ["bikes", bike, "outings", name] if name.ends_with(".toml") && state == FileState::New => {
            Guidance::from("the next ")
                + Command::AddOuting((*bike).to_owned())
                + " or "
                + Command::ChangeBike((*bike).to_owned())
        }
        ["bikes", bike, "outings", name] if name.ends_with(".toml") => {
            let (bike, id) = ((*bike).to_owned(), outing_id(name));
            if deleted {
                Command::RemoveOuting { bike, id }.into()
            } else {
                Command::MendOuting(bike, id, OutingChange::AsItStands).into()
            }
        }
        ["bikes", bike, "setup.toml" | "maps", ..] => Command::RecordSetup(Some((*bike).to_owned())).into(),
        ["engines", _, "engine.toml"] if !deleted => Command::Change + " of the bike it is in",
        ["engines", _, "builds", _] if !deleted => {
            Guidance::from("the next ") + Command::Builds + " that writes"
        }
        ["jobs", _] if !deleted => Guidance::from("the next ") + Command::JobDone + " or " + Command::Change,
        ["parts", _] if !deleted => Guidance::from("the next ") + Command::Parts + " that writes",
        ["places", _] if !deleted => Guidance::from("the next ") + Command::KeepAirThere + " there",
        _ if state == FileState::New => {
            GitCommand::Add(path.to_owned()) + " and " + GitCommand::Commit(path.to_owned())
        }
        _ => GitCommand::Commit(path.to_owned()).into(),
    }
}

/// What may be wrong with the name of a file that nobody reads.
fn overlooked(path: &str) -> String {
    let lower = path.to_lowercase();
    let without_more = lower.strip_suffix(".txt").unwrap_or(&lower);
    if without_more != path && place_of(Path::new(without_more)) != PathKind::None {
        return format!("Nobody reads it under this name: call it {without_more}.");
    }
    "Nobody reads it: documents have a name of lower-case letters, digits, '-' or '_' and end in .toml, maps in .csv.".to_owned()
}
