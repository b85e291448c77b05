//! How large an object of git's may be: one that is small as it is stored may be a gigabyte when it is read. Sizes stand before each
//! object, and are looked at before it is opened.

use std::collections::{HashSet, VecDeque};

use git2::{Odb, Oid};

use crate::notebook::guidance::GitCommand;
use crate::store::error::{StoreError, git};
use crate::store::history::signs::sign_of_life;

/// A commit of ours has some 300 bytes, a long reason some thousands.
const COMMIT: usize = 1024 * 1024;
/// A folder's list has some 60 bytes a file: a hundred thousand files.
const TREE: usize = 8 * 1024 * 1024;
/// Anything at all that is held against its name: a photo of a plug is beside the documents.
const ANY: usize = 64 * 1024 * 1024;
/// Commits that are followed beyond what is known, whatever their dates say.
const BEYOND: usize = 4_096;

/// What is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::store) enum Sized {
    /// A commit.
    Commit,
    /// A folder's list.
    Tree,
    /// Whatever it is.
    Any,
}

impl Sized {
    fn most(self) -> usize {
        match self {
            Self::Commit => COMMIT,
            Self::Tree => TREE,
            Self::Any => ANY,
        }
    }
}

/// How many bytes an object has that is too large for its kind; none of one that may be read, or that is not there.
pub(in crate::store) fn too_large(objects: &Odb<'_>, id: Oid, kind: Sized) -> Option<usize> {
    objects.read_header(id).ok().map(|(bytes, _)| bytes).filter(|bytes| *bytes > kind.most())
}

/// Fails where an object is too large for its kind.
pub(in crate::store) fn require_small(objects: &Odb<'_>, id: Oid, kind: Sized) -> Result<(), StoreError> {
    let Some(bytes) = too_large(objects, id, kind) else { return Ok(()) };
    let (what, mega) = (if kind == Sized::Commit { "A commit" } else { "A folder" }, 1024 * 1024);
    Err(StoreError::request(
        None,
        format!(
            "{what} of the history, {}, has {} MB; none of a garage has more than {}. It is not opened.",
            id.to_string().get(..10).unwrap_or_default(),
            bytes / mega,
            kind.most() / mega
        ),
        GitCommand::LookThrough
            + " reads it all the same. Somebody put it there on purpose: take the garage from a copy that is older, or from whoever it is shared with.",
    ))
}

/// Fails where one of the commits from which a history comes is too large, as far as it was not known before: git's own reader takes
/// each of them into memory.
///
/// # Errors
///
/// Where there is one, or the objects cannot be opened.
pub(in crate::store) fn require_small_commits(
    repository: &git2::Repository,
    from: Oid,
    known: &[Oid],
) -> Result<(), StoreError> {
    let objects = repository.odb().map_err(git("open its objects"))?;
    let time = |id: &Oid| repository.find_commit(*id).map(|commit| commit.time().seconds()).ok();
    let newest_known = known.iter().filter_map(time).max();
    let mut seen: HashSet<Oid> = known.iter().copied().collect();
    let mut next = VecDeque::from([from]);
    let mut beyond = 0;
    while let Some(id) = next.pop_front() {
        if !seen.insert(id) {
            continue;
        }
        sign_of_life();
        require_small(&objects, id, Sized::Commit)?;
        // What is not there, as behind the end of a shallow clone, is said by whoever reads it.
        let Ok(commit) = repository.find_commit(id) else { continue };
        if newest_known.is_some_and(|known| commit.time().seconds() < known) {
            beyond += 1;
        }
        if beyond < BEYOND {
            next.extend(commit.parent_ids());
        }
    }
    Ok(())
}
