//! A document that cannot be read any more, put back as it was recorded last while it could: both sides of a merge in one file, a line
//! that is no TOML, a file that is gone. And a merge of git that was left open, ended as before it.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use git2::{Oid, RepositoryState};

use crate::machine::Moment;
use crate::notebook::GARAGE_FILE;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, GitCommand, Guidance};
use crate::notebook::{
    BothChanged, Checked, Code, DocumentKind, Finding, GarageDocument, Outing, When, merge_documents,
};
use crate::store::checks;
use crate::store::error::{StoreError, git};
use crate::store::folder::finding::{gate_by_history, gate_of, require_known_layout};
use crate::store::folder::garage::{Garage, read_document};
use crate::store::folder::gate::bound;
use crate::store::folder::lock::WriterLock;
use crate::store::folder::pages::write_and_record;
use crate::store::history::numbers::{brought_back, has_lost};
use crate::store::history::repository::{FileChange, Repository};
use crate::store::index::rows::path_text;
use crate::store::share::{is_readable, kind_of};
use crate::store::shortened::shortened;
use crate::store::writing::places;

/// A document that is there again.
#[derive(Debug, Clone)]
pub struct FileBack {
    /// The file, relative to the garage.
    pub file: String,
    /// When it was recorded as it stands now; of two sides that are brought together, on this one.
    pub stood: When,
    /// Who did that.
    pub author: String,
    /// Who recorded the other sides, what else they changed of it stands as well.
    pub beside: Vec<String>,
    /// Fields that another side had otherwise: theirs is what does not stand.
    pub otherwise: Vec<BothChanged>,
    /// Git's object with what stood in the file, where that was never recorded.
    pub was: Option<String>,
}

/// What was half done or damaged of git's, and is so no more.
#[derive(Debug, Clone)]
pub enum Ended {
    /// A merge, with the files that stand as they were recorded before it.
    Merge(Vec<String>),
    /// A rebase, with the same.
    Rebase(Vec<String>),
    /// Git's index, which is built anew.
    Index,
}

/// Tells what can be read.
type Whole<'w> = dyn Fn(&[u8]) -> bool + 'w;

/// A version of a document that can be read.
struct Version {
    commit: Oid,
    bytes: Vec<u8>,
}

/// Puts a document back as it was recorded last while it could be read; of two sides of a merge both, field by field, and what both changed
/// as this side had it. A run that was lean on a side stays so: `lean` tells one.
///
/// # Errors
///
/// Where the file can be read, is part of a setup, or was never recorded so that it could be read; and what a record may fail of.
pub fn mend_file(
    garage: &Garage,
    file: &Path,
    lean: fn(&Outing) -> bool,
    moment: &Moment,
) -> Result<FileBack, StoreError> {
    if let ["bikes", bike, "numbers"] = path_text(file).split('/').collect::<Vec<_>>().as_slice() {
        garage.require_bike(bike)?;
        return mend_numbers(garage, file, moment);
    }
    let kind = mendable(file)?;
    let _lock = garage.begin_writing(moment)?;
    let whole = |bytes: &[u8]| is_whole(garage, kind, file, bytes);
    let on_disk = garage.read(file)?;
    let is_short = |bytes: &Vec<u8>| Ok::<_, StoreError>(shortened(garage, file, bytes)?.is_some());
    let is_short = on_disk.as_ref().map(is_short).transpose()?.unwrap_or_default();
    if !is_short && on_disk.as_ref().is_some_and(|bytes| whole(bytes)) {
        return Err(StoreError::NothingChanged {
            message: format!("{} can be read.", visible(&path_text(file))),
            help: Command::CheckGarage + " names what cannot.",
        });
    }
    let versions = newest_readable(garage.repository(), file, &whole)?;
    let Some(first) = versions.first() else {
        return Err(StoreError::request(
            None,
            format!("{} was never recorded so that it could be read.", visible(&path_text(file))),
            "Fix it with an editor, or take it out with git.",
        ));
    };
    let (mut bytes, mut otherwise, mut stood) = (first.bytes.clone(), Vec::new(), first);
    let mut beside = Vec::new();
    // An engine's file is part of setups: two of them together would be an engine that nobody ran.
    for other in versions.iter().skip(1).filter(|_| kind != DocumentKind::Engine) {
        let base = base_of(garage.repository(), file, (stood.commit, other.commit), &whole)?;
        let merged = merge_documents(kind, file, base.as_deref(), (&other.bytes, &bytes))?;
        // Here "ours" is the other side: what stands is this one's.
        otherwise.extend(merged.both.into_iter().map(|both| BothChanged {
            ours: both.theirs,
            theirs: both.ours,
            ..both
        }));
        bytes = merged.bytes;
        beside.push(written_by(garage, file, other.commit)?.1);
    }
    if kind == DocumentKind::Outing
        && let Some(held) = held_by_a_side(garage, file, (&versions, &bytes), lean)
    {
        (bytes, otherwise, stood) = (held.bytes.clone(), Vec::new(), held);
        beside.clear();
    }
    let (stood, author) = written_by(garage, file, stood.commit)?;
    let why = format!("Put {} back as it was recorded on {}", path_text(file), stood.day());
    let recorded = garage.recorded(file)?;
    let lost = on_disk.filter(|bytes| recorded.as_ref() != Some(bytes));
    let was = lost.map(|bytes| garage.repository().git().blob(&bytes)).transpose();
    let was = was.map_err(git("keep what stood in the file"))?.map(|id| id.to_string());
    if recorded.as_ref() == Some(&bytes) {
        // Only the disk had it otherwise.
        garage.repository().as_recorded(file, bytes)?;
    } else {
        write_and_record(garage, &[(file.to_owned(), Some(bytes))], &why, Vec::new(), moment)?;
    }
    beside.retain(|other| *other != author);
    Ok(FileBack { file: path_text(file), stood, author, beside, otherwise, was })
}

/// Puts a list of numbers that lost some of those that were recorded back.
fn mend_numbers(garage: &Garage, file: &Path, moment: &Moment) -> Result<FileBack, StoreError> {
    let _lock = garage.begin_writing(moment)?;
    let text = |bytes: Option<Vec<u8>>| bytes.map(|bytes| String::from_utf8_lossy(&bytes).into_owned());
    let (recorded, on_disk) = (text(garage.recorded(file)?), text(garage.read(file)?));
    let (Some(recorded), Some(head)) = (recorded, garage.repository().head()?) else {
        return Err(StoreError::NothingChanged {
            message: format!("{} was never recorded.", visible(&path_text(file))),
            help: "The next setup that is recorded begins it.".into(),
        });
    };
    if on_disk.as_ref().is_some_and(|on_disk| !has_lost(&recorded, on_disk)) {
        return Err(StoreError::NothingChanged {
            message: format!("{} has all numbers that were recorded.", visible(&path_text(file))),
            help: Command::CheckGarage + " names what is wrong in it.",
        });
    }
    let (stood, author) = written_by(garage, file, head)?;
    let whole = brought_back(&recorded, &on_disk.unwrap_or_default());
    garage.repository().write_files(&[(file.to_owned(), Some(whole.into_bytes()))], &|_, _| ())?;
    Ok(FileBack {
        file: path_text(file),
        stood,
        author,
        beside: Vec::new(),
        otherwise: Vec::new(),
        was: None,
    })
}

/// Whether a document can be read, as that which it is.
fn is_whole(garage: &Garage, kind: DocumentKind, file: &Path, bytes: &[u8]) -> bool {
    let reads = match kind {
        DocumentKind::Outing => is_known(&checks::outing(garage, file, bytes)),
        DocumentKind::Build => is_known(&checks::build(garage, file, bytes)),
        DocumentKind::Part => is_known(&checks::part(garage, file, bytes)),
        DocumentKind::Job => is_known(&checks::job(garage, file, bytes)),
        DocumentKind::Place => is_known(&places::check(garage, file, bytes)),
        _ => true,
    };
    reads && is_readable(file, bytes)
}

/// Whether nothing is wrong with a document, or only that a newer program wrote it.
fn is_known<T>(checked: &Checked<T>) -> bool {
    let is_newer = |finding: &Finding| finding.code == Code::UnknownField;
    checked.document.is_some() || (!checked.findings.is_empty() && checked.findings.iter().all(is_newer))
}

/// The side on which a run was lean, where what both came to is not.
fn held_by_a_side<'v>(
    garage: &Garage,
    file: &Path,
    (versions, merged): (&'v [Version], &[u8]),
    lean: fn(&Outing) -> bool,
) -> Option<&'v Version> {
    let is_lean = |bytes: &[u8]| checks::outing(garage, file, bytes).document.as_ref().is_some_and(lean);
    versions.iter().find(|side| is_lean(&side.bytes)).filter(|_| !is_lean(merged))
}

/// What a document is that can be put back by itself.
///
/// # Errors
///
/// Where it is part of a setup, which a rollback puts back, or none of a garage's documents.
pub(in crate::store) fn mendable(file: &Path) -> Result<DocumentKind, StoreError> {
    let text = path_text(file);
    match (text.split('/').collect::<Vec<_>>().as_slice(), kind_of(&text)) {
        (["bikes", bike, "setup.toml"] | ["bikes", bike, "maps", _], _) => Err(StoreError::request(
            None,
            format!("{} is part of a setup.", visible(&text)),
            Command::PutNewestBack(visible(bike)) + " puts the newest one that is whole in its place.",
        )),
        (_, Some(kind)) => Ok(kind),
        (_, None) => Err(StoreError::request(
            None,
            format!("{} is none of a garage's documents.", visible(&text)),
            Guidance::from("Name a file as it is named where it cannot be read; ")
                + Command::CheckGarage
                + " names them.",
        )),
    }
}

/// The newest version that can be read; where a merge of two sides left none, one of each side, this one's first.
fn newest_readable(
    repository: &Repository,
    file: &Path,
    whole: &Whole<'_>,
) -> Result<Vec<Version>, StoreError> {
    let Some(mut at) = repository.head()? else { return Ok(Vec::new()) };
    loop {
        if let Some(version) = readable_at(repository, file, at, whole)? {
            return Ok(vec![version]);
        }
        let parents: Vec<Oid> = repository.commit(at)?.parent_ids().collect();
        match parents.as_slice() {
            [] => return Ok(Vec::new()),
            [one] => at = *one,
            sides => {
                let mut versions: Vec<Version> = Vec::new();
                for side in sides {
                    let newest = newest_of_line(repository, file, *side, whole)?;
                    versions.extend(newest.filter(|new| versions.iter().all(|one| one.bytes != new.bytes)));
                }
                return Ok(versions);
            }
        }
    }
}

/// The newest version that can be read on the first line of a side.
fn newest_of_line(
    repository: &Repository,
    file: &Path,
    side: Oid,
    whole: &Whole<'_>,
) -> Result<Option<Version>, StoreError> {
    let mut at = Some(side);
    while let Some(id) = at {
        if let Some(version) = readable_at(repository, file, id, whole)? {
            return Ok(Some(version));
        }
        at = repository.commit(id)?.parent_ids().next();
    }
    Ok(None)
}

fn readable_at(
    repository: &Repository,
    file: &Path,
    commit: Oid,
    whole: &Whole<'_>,
) -> Result<Option<Version>, StoreError> {
    let bytes = repository.file(&repository.tree(commit)?, file)?;
    Ok(bytes.filter(|bytes| whole(bytes)).map(|bytes| Version { commit, bytes }))
}

fn base_of(
    repository: &Repository,
    file: &Path,
    (one, other): (Oid, Oid),
    whole: &Whole<'_>,
) -> Result<Option<Vec<u8>>, StoreError> {
    let Ok(base) = repository.git().merge_base(one, other) else { return Ok(None) };
    Ok(readable_at(repository, file, base, whole)?.map(|version| version.bytes))
}

/// When, and by whom, a document was recorded as a commit has it.
fn written_by(garage: &Garage, file: &Path, commit: Oid) -> Result<(When, String), StoreError> {
    let repository = garage.repository();
    let at = |commit: Oid| Ok::<_, StoreError>(Repository::id_at(&repository.tree(commit)?, file));
    let (mut wrote, stands) = (commit, at(commit)?);
    loop {
        let parents: Vec<Oid> = repository.commit(wrote)?.parent_ids().collect();
        let mut same = None;
        for parent in parents {
            if same.is_none() && at(parent)? == stands {
                same = Some(parent);
            }
        }
        let Some(parent) = same else { break };
        wrote = parent;
    }
    let wrote = repository.commit(wrote)?;
    let (time, author) =
        (wrote.author().when(), wrote.author().name().map(str::to_owned).unwrap_or_default());
    Ok((When::from_unix(time.seconds(), time.offset_minutes()).unwrap_or_default(), author))
}

impl Garage {
    /// Opens a garage as [`Garage::find`] does, also where garage.toml cannot be read or is gone: by what was recorded of it last, so that it can be mended.
    ///
    /// # Errors
    ///
    /// As [`Garage::find`], and where it never could be read.
    pub fn find_to_mend(named: Option<&Path>, from: &Path) -> Result<Self, StoreError> {
        match Self::find(named, from) {
            Err(error @ (StoreError::Findings(_) | StoreError::GarageFileGone(_))) => {
                let at = named.map_or_else(|| from.to_owned(), |named| from.join(named));
                let gate_of = |folder: &Path| gate_of(folder).or_else(|| gate_by_history(folder));
                let Some(gate) = at.ancestors().find_map(gate_of) else { return Err(error) };
                let repository = Repository::open(gate)?;
                let Some(bytes) = readable_garage_file(&repository)? else { return Err(error) };
                require_known_layout(&bytes, "This garage")?;
                let path = Path::new(GARAGE_FILE);
                let document = read_document::<GarageDocument>(DocumentKind::Garage, path, &bytes, false)?;
                Ok(Self::new(repository, document))
            }
            found => found,
        }
    }
}

/// garage.toml as it was recorded last while it could be read, of a garage that cannot be opened without it.
fn readable_garage_file(repository: &Repository) -> Result<Option<Vec<u8>>, StoreError> {
    let file = Path::new(GARAGE_FILE);
    Ok(newest_readable(repository, file, &|bytes| is_readable(file, bytes))?
        .into_iter()
        .next()
        .map(|version| version.bytes))
}

/// Ends a merge, a rebase, a cherry-pick or a revert of git that is half done: what it wrote stands as it was recorded before it, and what nobody
/// merged stays as it is. Where nothing is half done and git's index is damaged or gone, it is built anew.
///
/// # Errors
///
/// Where nothing is half done, or what only git itself can end.
pub fn end_merge(garage: &Garage, moment: &Moment) -> Result<Ended, StoreError> {
    let repository = garage.repository();
    match repository.git().state() {
        RepositoryState::Merge
        | RepositoryState::CherryPick
        | RepositoryState::CherryPickSequence
        | RepositoryState::Revert
        | RepositoryState::RevertSequence => {}
        RepositoryState::Clean if !repository.has_an_index() => {
            let _lock = WriterLock::take(repository.own(), moment, &|who, waited| garage.waits(who, waited))?;
            repository.index_anew()?;
            return Ok(Ended::Index);
        }
        RepositoryState::Clean => {
            return Err(StoreError::NothingChanged {
                message: "No merge of git is under way.".into(),
                help: Guidance::from("Name the file that is to be put back; ")
                    + Command::CheckGarage
                    + " names what cannot be read.",
            });
        }
        _ => return end_rebase(garage, moment),
    }
    let _lock = WriterLock::take(repository.own(), moment, &|who, waited| garage.waits(who, waited))?;
    let head = repository.head()?.map(|head| repository.tree(head)).transpose()?;
    let paths = touched(repository, head.as_ref())?;
    let mut changes: Vec<FileChange> = Vec::new();
    for path in paths {
        let bytes = head.as_ref().map(|head| repository.file(head, &path)).transpose()?.flatten();
        repository.files().allow(&path, bytes.as_deref().unwrap_or_default())?;
        changes.push((path, bytes));
    }
    repository.write_files(&changes, &|done, of| garage.tell("writing files", done, of))?;
    repository.index_anew()?;
    repository.git().cleanup_state().map_err(git("end the merge"))?;
    Ok(Ended::Merge(changes.iter().map(|(path, _)| path_text(path)).collect()))
}

/// Ends a rebase of git that is half done: the branch is where it was, and its files stand as they were recorded there.
fn end_rebase(garage: &Garage, moment: &Moment) -> Result<Ended, StoreError> {
    let repository = garage.repository();
    let by_git = || {
        StoreError::request(
            None,
            "A rebase of git, or the like, is under way.",
            GitCommand::Abort("rebase") + " ends it as before it.",
        )
    };
    let (own, folder) = (repository.own(), Path::new("rebase-merge"));
    // What was put aside for it is git's to bring back, and so is what it does mail by mail.
    if own.folder(folder)?.is_none() || own.about(&folder.join("autostash"))?.is_some() {
        return Err(by_git());
    }
    let line = |name: &str| -> Result<String, StoreError> {
        let bytes = own.read_at_most(&folder.join(name), bound::LINE)?.unwrap_or_default();
        Ok(String::from_utf8_lossy(&bytes).trim().to_owned())
    };
    let (branch, before) = (line("head-name")?, Oid::from_str(&line("orig-head")?).map_err(|_| by_git())?);
    let stands = repository.git().refname_to_id(&branch).is_ok_and(|stands| stands == before);
    if !branch.starts_with("refs/heads/") || !stands {
        return Err(by_git());
    }
    let _lock = WriterLock::take(own, moment, &|who, waited| garage.waits(who, waited))?;
    let tree = repository.tree(before)?;
    let mut changes: Vec<FileChange> = Vec::new();
    for path in touched(repository, Some(&tree))? {
        let bytes = repository.file(&tree, &path)?;
        repository.files().allow(&path, bytes.as_deref().unwrap_or_default())?;
        changes.push((path, bytes));
    }
    repository.write_files(&changes, &|done, of| garage.tell("writing files", done, of))?;
    repository.git().set_head(&branch).map_err(git("go back to its branch"))?;
    repository.index_anew()?;
    repository.git().cleanup_state().map_err(git("end the rebase"))?;
    Ok(Ended::Rebase(changes.iter().map(|(path, _)| path_text(path)).collect()))
}

/// The paths that git's index has otherwise than the newest commit, those of which it holds two sides among them.
fn touched(repository: &Repository, head: Option<&git2::Tree<'_>>) -> Result<BTreeSet<PathBuf>, StoreError> {
    let failed = || git("read git's index");
    let diff = repository.git().diff_tree_to_index(head, None, None).map_err(failed())?;
    let mut paths = BTreeSet::new();
    for delta in diff.deltas() {
        paths.extend(
            [delta.old_file(), delta.new_file()].iter().filter_map(git2::DiffFile::path).map(Path::to_owned),
        );
    }
    Ok(paths)
}
