//! Git's own index brought along with a commit: planned beside it, and put in its place through git's own lock.

use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use git2::{ErrorCode, IndexEntry, IndexTime, Oid};

use crate::store::error::{StoreError, disk, git};
use crate::store::folder::gate::{OWN, bound};
use crate::store::history::repository::Repository;
use crate::store::index::rows::path_text;

/// How long git's own lock is waited for: an editor that shows git's status takes it for milliseconds.
pub(super) const PATIENCE: Duration = Duration::from_secs(1);
pub(super) const BETWEEN_TRIES: Duration = Duration::from_millis(20);

/// Git's own index, and its lock.
const INDEX: &str = "index";
const LOCK: &str = "index.lock";

/// Git's own index: planned beside it, put into git's lock with everything in it, and then in place. So the lock is only
/// ever there whole, and what a killed writer left of it is recognised as ours by its content.
impl Repository {
    /// Takes git's lock with the index as it is to be in it.
    pub(super) fn lock_index(&self, entries: &[(PathBuf, Option<Oid>)]) -> Result<(), StoreError> {
        let mut waited = Duration::ZERO;
        loop {
            let base = self.index_on_disk()?;
            self.plan_index(base.as_deref(), entries)?;
            if !self.own().link(&planned_index(), Path::new(LOCK))? {
                if waited >= PATIENCE {
                    return Err(StoreError::GitLocked(Path::new(".git").join(LOCK)));
                }
                sleep(BETWEEN_TRIES);
                waited += BETWEEN_TRIES;
            } else if self.index_on_disk()? == base {
                return Ok(());
            } else {
                // Git was quicker between the reading and the lock: plan anew.
                self.clear_index_lock()?;
            }
        }
    }

    fn index_on_disk(&self) -> Result<Option<Vec<u8>>, StoreError> {
        self.own().read_at_most(Path::new(INDEX), bound::GIT_INDEX)
    }

    fn plan_index(&self, base: Option<&[u8]>, entries: &[(PathBuf, Option<Oid>)]) -> Result<(), StoreError> {
        let (planned, part) = (planned_index(), planned_index().with_extension("part"));
        // First of all: it may be one file with git's index, if a writer was killed after the last step.
        self.own().remove(&planned)?;
        // libgit2 gives its file a name and syncs nothing: the name is of no use until it is synced.
        self.own().remove(&part)?;
        self.own().remove(&planned.with_extension("part.lock"))?;
        if let Some(base) = base {
            let place = self.own().place(&part);
            self.own().own_file(&part)?.say(base).map_err(disk("Cannot write", &place))?;
        }
        let real = self.own().real_path(&part)?;
        let edit = || -> Result<(), git2::Error> {
            let mut index = git2::Index::open(&real)?;
            // Without git's own index all that is recorded would look taken out to whoever commits next.
            if base.is_none()
                && let Ok(head) = self.git().head()
            {
                index.read_tree(&head.peel_to_tree()?)?;
            }
            for (path, id) in entries {
                put(&mut index, path, *id)?;
            }
            index.write()
        };
        edit().map_err(git("bring its index along"))?;
        self.own().sync_file(&part)?;
        self.own().rename(&part, &planned)
    }

    pub(super) fn put_index_in_place(&self) -> Result<(), StoreError> {
        self.own().rename(Path::new(LOCK), Path::new(INDEX))
    }

    /// Whether git's index has these blobs already.
    pub(super) fn index_has(&self, entries: &[(PathBuf, Option<Oid>)]) -> Result<bool, git2::Error> {
        let index = git2::Index::open(&self.git().path().join(INDEX))?;
        Ok(entries.iter().all(|(path, id)| index.get_path(path, 0).map(|entry| entry.id) == *id))
    }

    /// Lets go of git's lock, if it is ours.
    pub(super) fn clear_index_lock(&self) -> Result<(), StoreError> {
        let read = |path: &Path| self.own().read_at_most(path, bound::GIT_INDEX);
        match (read(Path::new(LOCK))?, read(&planned_index())?) {
            (Some(lies_there), Some(ours)) if lies_there == ours => self.own().remove(Path::new(LOCK)),
            _ => Ok(()),
        }
    }
}

/// Where git's index is planned.
pub(super) fn planned_index() -> PathBuf {
    Path::new(OWN).join("git-index")
}

fn put(index: &mut git2::Index, path: &Path, id: Option<Oid>) -> Result<(), git2::Error> {
    match id {
        Some(id) => index.add(&entry(path, id)),
        None => match index.remove(path, 0) {
            Err(error) if error.code() != ErrorCode::NotFound => Err(error),
            _ => Ok(()),
        },
    }
}

/// An index entry without file times: git looks at the file once and fills them in.
fn entry(path: &Path, id: Oid) -> IndexEntry {
    IndexEntry {
        ctime: IndexTime::new(0, 0),
        mtime: IndexTime::new(0, 0),
        dev: 0,
        ino: 0,
        mode: 0o100_644,
        uid: 0,
        gid: 0,
        file_size: 0,
        id,
        flags: 0,
        flags_extended: 0,
        path: path_text(path).into_bytes(),
    }
}
