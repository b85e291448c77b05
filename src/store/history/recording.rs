//! Recording: the files, their commit and git's own index as one act. A note of it is kept in `.git/reedbook/unfinished`
//! until all of it stands, so that the next writer finishes or takes back what a killed one left.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::sleep;
use std::time::Duration;

use git2::{Commit, ErrorCode, ObjectType, Oid, Tree};
use serde::{Deserialize, Serialize};

use crate::notebook::When;
use crate::store::error::{StoreError, git};
use crate::store::folder::gate::{Heard, OWN, bound};
use crate::store::history::repository::{FileChange, Message, Repository};
use crate::store::history::staging::{BETWEEN_TRIES, PATIENCE, planned_index};
use crate::store::index::rows::path_text;

/// What is being recorded.
#[derive(Debug, Serialize, Deserialize)]
struct Note {
    /// The newest commit when it began.
    #[serde(default)]
    from: Option<String>,
    /// The commit that is made; it stands once the branch reaches it.
    commit: String,
    /// The files it writes.
    files: Vec<NotedFile>,
}

/// A file of a note, by its blobs; none where there is no file.
#[derive(Debug, Serialize, Deserialize)]
struct NotedFile {
    path: String,
    before: Option<String>,
    after: Option<String>,
}

/// Whether this process has recorded what it was asked to.
static RECORDED: AtomicBool = AtomicBool::new(false);

/// Whether what the command was asked for is recorded: whatever goes wrong afterwards must not sound as if it were not.
pub fn has_recorded() -> bool {
    RECORDED.load(Ordering::Relaxed)
}

impl Repository {
    /// Writes files and records them as one commit on the current branch, all or nothing, and brings git's index along.
    pub fn record(
        &self,
        changes: &[FileChange],
        message: &Message,
        date: When,
        now: When,
    ) -> Result<Oid, StoreError> {
        let commit = self.record_by_the_way(changes, message, date, now)?;
        RECORDED.store(true, Ordering::Relaxed);
        Ok(commit)
    }

    /// The same for what nobody asked for: edits by hand that are taken in on the way.
    pub fn record_by_the_way(
        &self,
        changes: &[FileChange],
        message: &Message,
        date: When,
        now: When,
    ) -> Result<Oid, StoreError> {
        for (path, bytes) in changes {
            self.files().allow(path, bytes.as_deref().unwrap_or_default())?;
        }
        let parent = self.head()?;
        let parents: Vec<Oid> = parent.into_iter().collect();
        let (commit, ids) = self.unreferenced(changes, message, (date, now), &parents)?;
        let done = self.stand(parent, commit, (changes, &ids), (&message.why, &|_, _| ()));
        RECORDED
            .fetch_or(self.head().is_ok_and(|head| head == Some(commit)) && done.is_err(), Ordering::Relaxed);
        done.map(|()| commit)
    }

    /// Makes a commit of files on the first of its parents; nothing points at it yet. Gives the files' blobs with it.
    pub(in crate::store) fn unreferenced(
        &self,
        changes: &[FileChange],
        message: &Message,
        (date, now): (When, When),
        parents: &[Oid],
    ) -> Result<(Oid, Vec<Option<Oid>>), StoreError> {
        let parents = parents.iter().map(|id| self.commit(*id)).collect::<Result<Vec<_>, _>>()?;
        let base = parents.first().map(Commit::tree).transpose().map_err(git("read a commit's files"))?;
        let (tree, ids) = self.tree_with(base.as_ref(), changes).map_err(git("store the files"))?;
        let tree = self.git().find_tree(tree).map_err(git("store the files"))?;
        let parents: Vec<_> = parents.iter().collect();
        let commit = self
            .git()
            .commit(None, &self.signature(date)?, &self.signature(now)?, &message.text(), &tree, &parents)
            .map_err(git("store the commit"))?;
        Ok((commit, ids))
    }

    /// Brings the branch, the files and git's index to a commit that was made elsewhere or beforehand, all or nothing; `changes` is what
    /// it has otherwise than the newest commit.
    pub(in crate::store) fn bring_to(
        &self,
        commit: Oid,
        changes: &[FileChange],
        (why, heard): (&str, &Heard<'_>),
    ) -> Result<(), StoreError> {
        for (path, bytes) in changes {
            self.files().allow(path, bytes.as_deref().unwrap_or_default())?;
        }
        let tree = self.tree(commit)?;
        let ids: Vec<_> = changes.iter().map(|(path, _)| Self::id_at(&tree, path)).collect();
        self.stand(self.head()?, commit, (changes, &ids), (why, heard))
    }

    /// Writes the files of a commit, git's index and the branch, with a note of it until all of it stands.
    fn stand(
        &self,
        parent: Option<Oid>,
        commit: Oid,
        (changes, ids): (&[FileChange], &[Option<Oid>]),
        (why, heard): (&str, &Heard<'_>),
    ) -> Result<(), StoreError> {
        let note = self.note_of((parent, commit), changes, ids)?;
        let text = serde_json::to_vec(&note).unwrap_or_default();
        self.own().write(&note_path(), &text)?;
        let entries: Vec<_> = changes.iter().map(|(path, _)| path.clone()).zip(ids.iter().copied()).collect();
        let done = self
            .lock_index(&entries)
            .and_then(|()| self.write_files(changes, heard))
            .and_then(|()| self.move_branch(parent, commit, why));
        let stands = done.is_ok() || self.head().is_ok_and(|head| head == Some(commit));
        if !stands {
            self.give_up(&note)?;
            return done;
        }
        // The commit stands: whatever of the rest fails is left to the next writer, for whom the note stays.
        let _ = self.put_index_in_place().and_then(|()| self.forget_note());
        done
    }

    /// Takes back what was begun, and says so to the next writer where that fails half-way.
    fn give_up(&self, note: &Note) -> Result<(), StoreError> {
        // A new name needs no space on a full disk.
        let _ = self.own().rename(&note_path(), &given_up_path());
        self.take_back(note)
    }

    /// Whether a writer is at work, or was stopped half-way.
    pub(in crate::store) fn is_unfinished(&self) -> bool {
        [note_path(), given_up_path()].iter().any(|path| !matches!(self.own().about(path), Ok(None)))
    }

    /// Finishes or takes back what a killed writer left half done. Only called with the writer's lock held. Gives the commit that stands
    /// now and that nobody was told of.
    pub(in crate::store) fn recover(&self) -> Result<Option<Oid>, StoreError> {
        let given_up = self.own().read_at_most(&given_up_path(), bound::NOTE)?;
        let is_given_up = given_up.is_some();
        let Some(text) = given_up
            .map_or_else(|| self.own().read_at_most(&note_path(), bound::NOTE), |text| Ok(Some(text)))?
        else {
            return Ok(None);
        };
        let note = serde_json::from_slice::<Note>(&text).ok();
        // One that leads out of the garage is none of ours.
        let ours = |note: &Note| {
            let allowed = |path: &str| !path.contains('\0') && self.files().allow(path.as_ref(), &[]).is_ok();
            note.files.iter().all(|file| allowed(&file.path))
        };
        let Some(note) = note.filter(ours) else {
            return self.forget_note().map(|()| None);
        };
        self.clear_branch_lock(&note, &if is_given_up { given_up_path() } else { note_path() });
        let (Some(head), Some(commit)) = (self.head()?, parse(Some(&note.commit))) else {
            return self.take_back(&note).map(|()| None);
        };
        if !self.is_ancestor(commit, head) {
            return if !is_given_up && self.was_seen(&note, commit, head)? {
                self.finish(&note, commit, head).map(|()| Some(commit))
            } else {
                self.take_back(&note).map(|()| None)
            };
        }
        self.clear_index_lock()?;
        for file in &note.files {
            self.replace(file, file.before.as_deref(), file.after.as_deref())?;
        }
        let tree = self.tree(head)?;
        let entries: Vec<_> = note.files.iter().map(|file| PathBuf::from(&file.path)).collect();
        let entries: Vec<_> =
            entries.into_iter().map(|path| (path.clone(), Self::id_at(&tree, &path))).collect();
        if !self.index_has(&entries).map_err(git("read its index"))? {
            self.lock_index(&entries)?;
            self.put_index_in_place()?;
        }
        self.forget_note().map(|()| Some(commit))
    }

    /// Whether a commit that was complete, but for the branch, was already to be seen on disk: somebody may have read it, so it is
    /// finished. Not where the branch went on, or a file was edited since.
    fn was_seen(&self, note: &Note, commit: Oid, head: Oid) -> Result<bool, StoreError> {
        let Ok(made) = self.commit(commit) else { return Ok(false) };
        let only_parent = (made.parent_count() == 1).then(|| made.parent_ids().next()).flatten();
        if parse(note.from.as_deref()).or(only_parent) != Some(head) {
            return Ok(false);
        }
        let mut seen = false;
        for file in &note.files {
            let (before, after) = (parse(file.before.as_deref()), parse(file.after.as_deref()));
            let path = Path::new(&file.path);
            if self.is_on_disk(path, after)? {
                seen |= before != after;
            } else if !self.is_on_disk(path, before)? {
                return Ok(false);
            }
        }
        Ok(seen)
    }

    /// Does what a killed writer did not come to.
    fn finish(&self, note: &Note, commit: Oid, head: Oid) -> Result<(), StoreError> {
        self.clear_index_lock()?;
        for file in &note.files {
            self.replace(file, file.before.as_deref(), file.after.as_deref())?;
        }
        let entries: Vec<_> =
            note.files.iter().map(|file| (PathBuf::from(&file.path), parse(file.after.as_deref()))).collect();
        self.lock_index(&entries)?;
        let why = self.commit(commit)?.summary().ok().flatten().unwrap_or_default().to_owned();
        self.move_branch(Some(head), commit, &why)?;
        self.put_index_in_place()?;
        self.forget_note()
    }

    /// Whether a file on disk is this blob; none where no file is to be there.
    fn is_on_disk(&self, path: &Path, blob: Option<Oid>) -> Result<bool, StoreError> {
        match self.files().read(path) {
            // What was put in its place is none of ours.
            Err(StoreError::Barred(_)) => Ok(false),
            read => {
                let hash = read?.map(|bytes| Oid::hash_object(ObjectType::Blob, &bytes));
                Ok(hash.transpose().map_err(git("compare a file"))? == blob)
            }
        }
    }

    fn note_of(
        &self,
        (from, commit): (Option<Oid>, Oid),
        changes: &[FileChange],
        after: &[Option<Oid>],
    ) -> Result<Note, StoreError> {
        let mut files = Vec::new();
        for ((path, _), after) in changes.iter().zip(after) {
            let on_disk = self.files().read(path)?;
            let before =
                on_disk.map(|bytes| self.git().blob(&bytes)).transpose().map_err(git("store the files"))?;
            files.push(NotedFile {
                path: path_text(path),
                before: before.map(|id| id.to_string()),
                after: after.map(|id| id.to_string()),
            });
        }
        Ok(Note { from: from.map(|id| id.to_string()), commit: commit.to_string(), files })
    }

    fn forget_note(&self) -> Result<(), StoreError> {
        self.own().remove(&planned_index())?;
        self.own().remove(&given_up_path())?;
        self.own().remove(&note_path())
    }

    /// Writes files; one that already has these bytes is left alone.
    pub(in crate::store) fn write_files(
        &self,
        changes: &[FileChange],
        heard: &Heard<'_>,
    ) -> Result<(), StoreError> {
        let mut new: Vec<(&Path, &[u8])> = Vec::new();
        for (path, bytes) in changes {
            match bytes {
                Some(bytes) if self.files().read(path)?.as_ref() == Some(bytes) => {}
                Some(bytes) => new.push((path, bytes)),
                None => self.files().remove(path)?,
            }
        }
        match new.as_slice() {
            [(path, bytes)] => self.files().write(path, bytes),
            new => self.files().write_all(new, heard),
        }
    }

    /// Writes a file as it is recorded, on disk and in git's index.
    pub(in crate::store) fn as_recorded(&self, path: &Path, bytes: Vec<u8>) -> Result<(), StoreError> {
        let tree = self.head()?.map(|head| self.tree(head)).transpose()?;
        let id = tree.as_ref().and_then(|tree| Self::id_at(tree, path));
        self.write_files(&[(path.to_owned(), Some(bytes))], &|_, _| ())?;
        self.lock_index(&[(path.to_owned(), id)])?;
        self.put_index_in_place()
    }

    /// Whether git's index is there and can be read.
    pub(in crate::store) fn has_an_index(&self) -> bool {
        let index = Path::new("index");
        let is_there = self.own().about(index).is_ok_and(|about| about.is_some())
            && self.own().require_of_a_size(index, bound::GIT_INDEX).is_ok();
        is_there && git2::Index::open(&self.git().path().join("index")).is_ok()
    }

    /// Builds git's index anew of the newest commit; what somebody staged goes.
    pub(in crate::store) fn index_anew(&self) -> Result<(), StoreError> {
        self.own().remove(Path::new("index"))?;
        self.lock_index(&[])?;
        self.put_index_in_place()
    }

    /// Puts the files back that the note's commit wrote, unless somebody edited or committed them since.
    fn take_back(&self, note: &Note) -> Result<(), StoreError> {
        self.clear_index_lock()?;
        let tree = self.head()?.map(|head| self.tree(head)).transpose()?;
        for file in &note.files {
            let recorded = tree.as_ref().and_then(|tree| Self::id_at(tree, Path::new(&file.path)));
            if recorded != parse(file.after.as_deref()) {
                self.replace(file, file.after.as_deref(), file.before.as_deref())?;
            }
        }
        self.forget_note()
    }

    /// Replaces a file's blob on disk, if it is the one that is expected there.
    fn replace(&self, file: &NotedFile, from: Option<&str>, to: Option<&str>) -> Result<(), StoreError> {
        let path = Path::new(&file.path);
        if from == to || !self.is_on_disk(path, parse(from))? {
            return Ok(());
        }
        match parse(to) {
            Some(id) => self.files().write(path, &self.blob(path, id)?),
            None => self.files().remove(path),
        }
    }

    /// Moves the branch, or a detached HEAD, from its commit to the new one; fails if it was moved meanwhile.
    fn move_branch(&self, parent: Option<Oid>, commit: Oid, why: &str) -> Result<(), StoreError> {
        let act = if parent.is_some() { "commit" } else { "commit (initial)" };
        let log = format!("{act}: {}", why.lines().next().unwrap_or_default());
        let go = || -> Result<(), git2::Error> {
            if let Some(parent) = parent {
                let head = self.git().head()?;
                self.git().reference_matching(head.name()?, commit, true, parent, &log)?;
            } else {
                let head = self.git().find_reference("HEAD")?;
                self.git().reference(head.symbolic_target()?.unwrap_or("HEAD"), commit, false, &log)?;
            }
            Ok(())
        };
        let mut waited = Duration::ZERO;
        loop {
            match go() {
                Err(error) if error.code() == ErrorCode::Locked => {
                    if waited >= PATIENCE {
                        return Err(StoreError::GitLocked(self.branch_lock()));
                    }
                    sleep(BETWEEN_TRIES);
                    waited += BETWEEN_TRIES;
                }
                done => return done.map_err(git("record the commit")),
            }
        }
    }

    fn tree_with(
        &self,
        base: Option<&Tree<'_>>,
        changes: &[FileChange],
    ) -> Result<(Oid, Vec<Option<Oid>>), git2::Error> {
        // Only the folders on the way to what changed are read and written: however many others there are.
        let blob = |bytes: &Option<Vec<u8>>| bytes.as_ref().map(|bytes| self.git().blob(bytes)).transpose();
        let ids = changes.iter().map(|(_, bytes)| blob(bytes)).collect::<Result<Vec<_>, _>>()?;
        let mut update = git2::build::TreeUpdateBuilder::new();
        for ((path, _), id) in changes.iter().zip(&ids) {
            let name = path_text(path);
            match id {
                Some(id) => drop(update.upsert(name, *id, git2::FileMode::Blob)),
                // What is not there cannot be taken out.
                None if base.is_none_or(|base| base.get_path(path).is_err()) => {}
                None => drop(update.remove(name)),
            }
        }
        let tree = match base {
            Some(base) => update.create_updated(self.git(), base)?,
            None => update
                .create_updated(self.git(), &self.git().find_tree(self.git().treebuilder(None)?.write()?)?)?,
        };
        Ok((tree, ids))
    }
}

impl Repository {
    fn branch(&self) -> Option<String> {
        let head = self.git().find_reference("HEAD").ok()?;
        head.symbolic_target().ok().flatten().map(str::to_owned)
    }

    /// Where git's lock on the branch is: the one that is there.
    fn branch_lock(&self) -> PathBuf {
        let of_branch = self.branch().map(|name| PathBuf::from(format!("{name}.lock")));
        let there = of_branch.filter(|lock| !matches!(self.common().about(lock), Ok(None)));
        Path::new(".git").join(there.unwrap_or_else(|| PathBuf::from("HEAD.lock")))
    }

    /// A branch's lock that came after our note and holds nothing or our commit was ours: the writer's lock was free, so
    /// its owner is dead.
    fn clear_branch_lock(&self, note: &Note, noted: &Path) {
        let of_branch = self.branch().map(|name| (self.common(), format!("{name}.lock")));
        let Ok(Some(noted)) = self.own().about(noted) else { return };
        for (gate, lock) in of_branch.into_iter().chain([(self.own(), "HEAD.lock".to_owned())]) {
            let lock = Path::new(&lock);
            let (Ok(Some(about)), Ok(Some(text))) = (gate.about(lock), gate.read_at_most(lock, bound::LINE))
            else {
                continue;
            };
            let ours = text.is_empty() || text.trim_ascii() == note.commit.as_bytes();
            if ours && about.modified >= noted.modified {
                // A lock that cannot be removed shows itself in the next write's error.
                let _ = gate.remove(lock);
            }
        }
    }
}

/// Where the note is of what is being recorded.
fn note_path() -> PathBuf {
    Path::new(OWN).join("unfinished")
}

/// Where the note is of what was begun and is to be taken back.
fn given_up_path() -> PathBuf {
    Path::new(OWN).join("given-up")
}

fn parse(id: Option<&str>) -> Option<Oid> {
    id.and_then(|id| Oid::from_str(id).ok())
}
