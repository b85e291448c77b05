//! The garage's git repository: its settings, its commits and the files of a commit. Recording is in `recording.rs`.

use std::fs;
use std::path::{Path, PathBuf};

use git2::{Commit, ErrorCode, Oid, RepositoryState, Signature, Time, Tree};

use crate::notebook::When;
use crate::notebook::fields::names::visible_lines;
use crate::store::error::{StoreError, disk as disk_error, git};
use crate::store::folder::disk;

/// A file to be recorded: its path in the garage and its bytes, or none when it is removed.
pub(in crate::store) type FileChange = (PathBuf, Option<Vec<u8>>);

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
    pub(super) fn text(&self) -> String {
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
        let opened = Self { git, root: root.to_owned() };
        // Now, because libgit2 asks for the setting when it first looks for an object. A garage where this fails cannot be
        // written at all, which whoever writes will be told.
        let _ = opened.ask_for_syncs();
        Ok(opened)
    }

    /// The repository of a folder that holds no commit yet: just made, or left by somebody who was stopped while making it.
    pub fn begun(folder: &Path) -> Option<Self> {
        let git = git2::Repository::open(folder).ok()?;
        let empty = git.is_empty().unwrap_or(false) && git.workdir().is_some();
        empty.then(|| Self::open(folder).ok()).flatten()
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
    /// configuration, newer versions of git would warn of it at every command).
    fn ask_for_syncs(&self) -> Result<(), StoreError> {
        let path = self.own_folder().join("git-settings");
        let wanted = "[core]\n\tfsyncObjectFiles = true\n";
        if disk::read(&path)?.as_deref() != Some(wanted.as_bytes()) {
            disk::write(&path, wanted.as_bytes())?;
        }
        let mut config = self.git.config().map_err(git("read its settings"))?;
        match config.add_file(&path, git2::ConfigLevel::App, true) {
            Err(error) if error.code() != ErrorCode::Exists => Err(git("use its settings")(error)),
            _ => Ok(()),
        }
    }

    /// Makes the folders that objects go into, so that no new folder has to be synced later (`git gc` removes empty ones).
    pub fn prepare_for_writing(&self) -> Result<(), StoreError> {
        self.ask_for_syncs()?;
        let objects = self.git.commondir().join("objects");
        let make = || -> std::io::Result<()> {
            let there =
                fs::read_dir(&objects)?.flatten().filter(|entry| entry.file_name().len() == 2).count();
            if there == 256 {
                return Ok(());
            }
            for first in 0..=255_u8 {
                fs::create_dir_all(objects.join(format!("{first:02x}")))?;
            }
            disk::sync_folder(&objects)
        };
        make().map_err(disk_error("Cannot make the folders of", &objects))
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

    /// Whether `newer` came from `older` by one commit after another, without a merge.
    pub fn is_line(&self, older: Oid, newer: Oid) -> bool {
        let mut at = newer;
        while at != older {
            match self.git.find_commit(at) {
                Ok(commit) if commit.parent_count() == 1 => match commit.parent_id(0) {
                    Ok(parent) => at = parent,
                    Err(_) => return false,
                },
                _ => return false,
            }
        }
        true
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

    /// The user's name from git's settings; a garage without one still records, under its own name.
    pub(super) fn signature(&self, when: When) -> Result<Signature<'static>, StoreError> {
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

    /// The top folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    pub(in crate::store) fn git(&self) -> &git2::Repository {
        &self.git
    }
}
