//! The garage's git repository: reading files of a commit, and recording files as one commit with trailers.

use std::fs;
use std::path::{Path, PathBuf};

use git2::{Commit, ErrorCode, IndexEntry, IndexTime, Oid, RepositoryState, Signature, Time, Tree};

use super::disk;
use super::error::{StoreError, disk as disk_error, git};
use crate::notebook::When;
use crate::notebook::names::visible_lines;

/// A file to be recorded: its path in the garage and its bytes, or none when it is removed.
pub(super) type FileChange = (PathBuf, Option<Vec<u8>>);

/// A git repository at the root of the garage.
pub struct Repository {
    git: git2::Repository,
    root: PathBuf,
}

/// What a commit says.
#[derive(Debug, Clone)]
pub struct Message {
    /// The reason, in the user's words.
    pub why: String,
    /// Trailers by name.
    pub trailers: Vec<(&'static str, String)>,
}

impl Message {
    fn text(&self) -> String {
        // People read git's log in a terminal: nothing in a reason may move its cursor.
        let why = visible_lines(self.why.trim());
        let trailers: Vec<_> = self
            .trailers
            .iter()
            .map(|(name, value)| {
                format!("{name}: {}", value.split_whitespace().collect::<Vec<_>>().join(" "))
            })
            .collect();
        format!("{why}\n\n{}\n", trailers.join("\n"))
    }
}

impl Repository {
    /// Makes a new repository and the settings a garage wants.
    pub fn create(root: &Path) -> Result<Self, StoreError> {
        let mut options = git2::RepositoryInitOptions::new();
        options.initial_head("main").no_reinit(true);
        let repository = git2::Repository::init_opts(root, &options).map_err(git("make a repository"))?;
        let made = Self { git: repository, root: root.to_owned() };
        made.prepare_for_writing()?;
        Ok(made)
    }

    /// Opens the repository whose top folder is `root`, and no other above it.
    pub fn open(root: &Path) -> Result<Self, StoreError> {
        let git = git2::Repository::open(root).map_err(|error| match error.code() {
            ErrorCode::NotFound => StoreError::NoRepository(root.to_owned()),
            _ => git("open the garage's repository")(error),
        })?;
        Ok(Self { git, root: root.to_owned() })
    }

    /// The repository around a folder, if any.
    pub fn around(folder: &Path) -> Option<PathBuf> {
        let found = git2::Repository::discover(folder).ok()?;
        found.workdir().or_else(|| Some(found.path())).map(Path::to_owned)
    }

    /// Our own folder inside .git: the index, the lock, the journal.
    pub fn own_folder(&self) -> PathBuf {
        self.git.path().join("reedbook")
    }

    /// Objects and references reach the disk before anything points at them: libgit2 reads the setting for that from the
    /// repository's configuration, to which a file of our own is added for this process only (in the garage's own
    /// configuration, newer versions of git would warn of it at every command). The folders that objects go into are made
    /// once, so that no new folder has to be synced.
    pub fn prepare_for_writing(&self) -> Result<(), StoreError> {
        let path = self.own_folder().join("git-settings");
        let wanted = "[core]\n\tfsyncObjectFiles = true\n";
        if disk::read(&path)?.as_deref() != Some(wanted.as_bytes()) {
            self.make_object_folders()?;
            disk::write(&path, wanted.as_bytes())?;
        }
        let mut config = self.git.config().map_err(git("read its settings"))?;
        match config.add_file(&path, git2::ConfigLevel::App, true) {
            Ok(()) => Ok(()),
            Err(error) if error.code() == ErrorCode::Exists => Ok(()),
            Err(error) => Err(git("use its settings")(error)),
        }
    }

    fn make_object_folders(&self) -> Result<(), StoreError> {
        let objects = self.git.path().join("objects");
        for first in 0..=255_u8 {
            let folder = objects.join(format!("{first:02x}"));
            fs::create_dir_all(&folder).map_err(disk_error("Cannot make the folder", &folder))?;
        }
        fs::File::open(&objects)
            .and_then(|folder| folder.sync_all())
            .map_err(disk_error("Cannot sync", &objects))
    }

    /// Refuses to write while a merge or the like is half done.
    pub fn require_clean_state(&self) -> Result<(), StoreError> {
        if self.git.head_detached().unwrap_or(false) {
            return Err(StoreError::Detached);
        }
        match self.git.state() {
            RepositoryState::Clean => Ok(()),
            RepositoryState::Merge => Err(StoreError::Unfinished("merge")),
            RepositoryState::Revert | RepositoryState::RevertSequence => {
                Err(StoreError::Unfinished("revert"))
            }
            RepositoryState::CherryPick | RepositoryState::CherryPickSequence => {
                Err(StoreError::Unfinished("cherry-pick"))
            }
            RepositoryState::Bisect => Err(StoreError::Unfinished("bisection")),
            _ => Err(StoreError::Unfinished("rebase")),
        }
    }

    /// Refuses to write while somebody else holds git's index.
    pub fn require_free_index(&self) -> Result<(), StoreError> {
        if self.git.path().join("index.lock").exists() { Err(StoreError::IndexLocked) } else { Ok(()) }
    }

    /// The newest commit; none in a repository without commits.
    pub fn head(&self) -> Result<Option<Oid>, StoreError> {
        match self.git.head() {
            Ok(head) => Ok(head.target()),
            Err(error) if matches!(error.code(), ErrorCode::UnbornBranch | ErrorCode::NotFound) => Ok(None),
            Err(error) => Err(git("find the newest commit")(error)),
        }
    }

    /// A commit by its id.
    pub fn commit(&self, id: Oid) -> Result<Commit<'_>, StoreError> {
        self.git.find_commit(id).map_err(git("read a commit"))
    }

    /// The files of a commit.
    pub fn tree(&self, commit: Oid) -> Result<Tree<'_>, StoreError> {
        self.commit(commit)?.tree().map_err(git("read a commit's files"))
    }

    /// Commits reachable from `head` but not from `known`, parents before children.
    pub fn commits_since(&self, head: Oid, known: Option<Oid>) -> Result<Vec<Oid>, StoreError> {
        let walk = || -> Result<Vec<Oid>, git2::Error> {
            let mut walk = self.git.revwalk()?;
            walk.set_sorting(git2::Sort::TOPOLOGICAL | git2::Sort::TIME | git2::Sort::REVERSE)?;
            walk.push(head)?;
            if let Some(known) = known {
                walk.hide(known)?;
            }
            walk.collect()
        };
        walk().map_err(git("read its history"))
    }

    /// Whether `older` is `newer` or one of its ancestors.
    pub fn is_ancestor(&self, older: Oid, newer: Oid) -> bool {
        older == newer || self.git.graph_descendant_of(newer, older).unwrap_or(false)
    }

    /// A file of a tree.
    pub fn file(&self, tree: &Tree<'_>, path: &Path) -> Result<Option<Vec<u8>>, StoreError> {
        let entry = match tree.get_path(path) {
            Ok(entry) => entry,
            Err(error) if error.code() == ErrorCode::NotFound => return Ok(None),
            Err(error) => return Err(git("read a file of a commit")(error)),
        };
        self.blob(entry.id()).map(Some)
    }

    /// A blob's bytes.
    pub fn blob(&self, id: Oid) -> Result<Vec<u8>, StoreError> {
        let blob = self.git.find_blob(id).map_err(git("read a recorded file"))?;
        Ok(blob.content().to_vec())
    }

    /// The object at a path of a tree.
    pub fn id_at(tree: &Tree<'_>, path: &Path) -> Option<Oid> {
        tree.get_path(path).ok().map(|entry| entry.id())
    }

    /// Names in a folder of a tree.
    pub fn names_in(&self, tree: &Tree<'_>, path: &Path) -> Vec<(String, Oid)> {
        let Some(id) = Self::id_at(tree, path) else {
            return Vec::new();
        };
        let Ok(folder) = self.git.find_tree(id) else {
            return Vec::new();
        };
        folder.iter().filter_map(|entry| Some((entry.name().ok()?.to_owned(), entry.id()))).collect()
    }

    /// Records files as one commit on the current branch and brings git's own index along.
    pub fn record(
        &self,
        changes: &[FileChange],
        message: &Message,
        date: When,
        now: When,
    ) -> Result<Oid, StoreError> {
        let parent = self.head()?.map(|id| self.commit(id)).transpose()?;
        let tree = parent.as_ref().map(Commit::tree).transpose().map_err(git("read a commit's files"))?;
        let (tree, entries) = self.tree_with(tree.as_ref(), changes).map_err(git("store the files"))?;
        let author = self.signature(date)?;
        let committer = self.signature(now)?;
        let parents: Vec<_> = parent.iter().collect();
        let tree = self.git.find_tree(tree).map_err(git("store the files"))?;
        let journal = Journal::begin(self, changes)?;
        let id = self
            .git
            .commit(Some("HEAD"), &author, &committer, &message.text(), &tree, &parents)
            .map_err(git("record the commit"))?;
        // The commit stands. If git's index cannot follow now, the journal stays and the next writer brings it along.
        if self.update_index(changes, &entries).is_ok() {
            journal.end()?;
        }
        Ok(id)
    }

    fn tree_with(
        &self,
        base: Option<&Tree<'_>>,
        changes: &[FileChange],
    ) -> Result<(Oid, Vec<Option<Oid>>), git2::Error> {
        let mut index = git2::Index::new()?;
        if let Some(base) = base {
            index.read_tree(base)?;
        }
        let mut ids = Vec::new();
        for (path, bytes) in changes {
            let id = bytes.as_ref().map(|bytes| self.git.blob(bytes)).transpose()?;
            match id {
                Some(id) => index.add(&entry(path, id))?,
                None => forget(&mut index, path)?,
            }
            ids.push(id);
        }
        Ok((index.write_tree_to(&self.git)?, ids))
    }

    fn update_index(&self, changes: &[FileChange], ids: &[Option<Oid>]) -> Result<(), git2::Error> {
        let mut index = self.git.index()?;
        index.read(true)?;
        for ((path, _), id) in changes.iter().zip(ids) {
            match id {
                Some(id) => index.add(&entry(path, *id))?,
                None => forget(&mut index, path)?,
            }
        }
        index.write()
    }

    /// The user's name from git's settings; a garage without one still records, under its own name.
    fn signature(&self, when: When) -> Result<Signature<'static>, StoreError> {
        let time = Time::new(when.unix(), when.offset_minutes());
        let (name, email) = match self.git.signature() {
            Ok(user) => (
                user.name().unwrap_or("garage").to_owned(),
                user.email().unwrap_or("garage@localhost").to_owned(),
            ),
            Err(_) => ("garage".to_owned(), "garage@localhost".to_owned()),
        };
        Signature::new(&name, &email, &time).map_err(git("sign the commit"))
    }

    /// Whether git knows who the user is.
    pub fn has_identity(&self) -> bool {
        self.git.signature().is_ok()
    }

    /// Mends what a killed writer left half done. Only called with the writer's lock held.
    pub fn recover(&self) -> Result<(), StoreError> {
        Journal::recover(self)
    }

    /// Every object that can be reached from the history, read once: the damaged ones.
    pub fn damaged_objects(&self) -> Result<Vec<String>, StoreError> {
        let database = self.git.odb().map_err(git("open its objects"))?;
        let mut ids = Vec::new();
        database
            .foreach(|id| {
                ids.push(*id);
                true
            })
            .map_err(git("list its objects"))?;
        let damaged = ids.into_iter().filter(|id| {
            let read = database.read(*id);
            !read.is_ok_and(|object| {
                Oid::hash_object(object.kind(), object.data()).is_ok_and(|hash| hash == *id)
            })
        });
        Ok(damaged.map(|id| id.to_string()).collect())
    }
}

fn forget(index: &mut git2::Index, path: &Path) -> Result<(), git2::Error> {
    match index.remove(path, 0) {
        Err(error) if error.code() != ErrorCode::NotFound => Err(error),
        _ => Ok(()),
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
        path: path.to_string_lossy().replace('\\', "/").into_bytes(),
    }
}

/// A note of the commit that is being recorded, so that the next writer can tell what a killed one left.
struct Journal {
    path: PathBuf,
}

impl Journal {
    fn begin(repository: &Repository, changes: &[FileChange]) -> Result<Self, StoreError> {
        let path = repository.own_folder().join("unfinished");
        let paths: Vec<_> = changes.iter().map(|(path, _)| path.to_string_lossy()).collect();
        disk::write(&path, paths.join("\n").as_bytes())?;
        Ok(Self { path })
    }

    fn end(&self) -> Result<(), StoreError> {
        disk::remove(&self.path)
    }

    fn recover(repository: &Repository) -> Result<(), StoreError> {
        let path = repository.own_folder().join("unfinished");
        let Some(text) = disk::read(&path)? else {
            return Ok(());
        };
        repository.clear_locks_younger_than(&path);
        let paths: Vec<PathBuf> = String::from_utf8_lossy(&text).lines().map(PathBuf::from).collect();
        if let Some(head) = repository.head()? {
            let tree = repository.tree(head)?;
            let changes: Vec<_> = paths.into_iter().map(|path| (path, None)).collect();
            let ids: Vec<_> =
                changes.iter().map(|(path, _): &FileChange| Repository::id_at(&tree, path)).collect();
            repository.update_index(&changes, &ids).map_err(git("bring its index along"))?;
        }
        disk::remove(&path)
    }
}

impl Repository {
    /// Git's own lock files that came after our journal were ours: the writer's lock was free, so their owner is dead.
    fn clear_locks_younger_than(&self, journal: &Path) {
        let began = fs::metadata(journal).and_then(|data| data.modified());
        let branch = self
            .git
            .find_reference("HEAD")
            .ok()
            .and_then(|head| head.symbolic_target().ok().flatten().map(str::to_owned));
        let mut locks = vec![self.git.path().join("index.lock"), self.git.path().join("HEAD.lock")];
        locks.extend(branch.map(|name| self.git.path().join(format!("{name}.lock"))));
        for lock in locks {
            let made = fs::metadata(&lock).and_then(|data| data.modified());
            if let (Ok(began), Ok(made)) = (&began, &made)
                && made >= began
            {
                // A lock that cannot be removed shows itself in the next write's error.
                let _ = fs::remove_file(&lock);
            }
        }
    }

    /// The top folder.
    pub fn root(&self) -> &Path {
        &self.root
    }
}
