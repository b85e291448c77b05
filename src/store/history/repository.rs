//! The garage's git repository: its settings, its commits and the files of a commit. Recording is in `recording.rs`.

use std::collections::{BTreeSet, HashSet};
use std::panic::resume_unwind;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::thread;

use git2::{Commit, ErrorCode, ObjectType, Oid, RepositoryState, Signature, Time, Tree};

use crate::machine::variable;
use crate::notebook::When;
use crate::notebook::fields::names::visible_lines;
use crate::store::error::{StoreError, disk, git};
use crate::store::folder::gate::entry::EntryKind;
use crate::store::folder::gate::{Barred, Gate, OWN, Odd, bound};
use crate::store::history::cut_short::{all_cut_short, watch};
use crate::store::history::signs::sign_of_life;
use crate::store::history::sizes::{Sized, require_small, require_small_commits, too_large};

/// The address of whoever gave git none.
const NO_ADDRESS: &str = "garage@localhost";

/// A file to be recorded: its path in the garage and its bytes, or none when it is removed.
pub(in crate::store) type FileChange = (PathBuf, Option<Vec<u8>>);

/// Commits of a walk of which git's reader may keep what was read.
const KEPT: usize = 1_000;

/// A git repository at the root of the garage.
pub struct Repository {
    git: git2::Repository,
    /// The gate to the garage's files.
    files: Gate,
    /// The gate to git's folder, in which ours is.
    own: Rc<Gate>,
    /// The gate to what several work trees have in common: objects and branches.
    common: Rc<Gate>,
}

/// Where it is noted that the cautions were read.
fn cautions_path() -> PathBuf {
    Path::new(OWN).join("cautions-read")
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
    pub(in crate::store) fn create(files: Gate) -> Result<Self, StoreError> {
        let mut options = git2::RepositoryInitOptions::new();
        options.initial_head("main").no_reinit(true);
        let repository =
            git2::Repository::init_opts(files.top(), &options).map_err(git("make a repository"))?;
        let made = Self::of(repository, files)?;
        made.prepare_for_writing()?;
        Ok(made)
    }

    /// Opens the repository whose top folder is `root`, and no other above it.
    pub(in crate::store) fn open(files: Gate) -> Result<Self, StoreError> {
        files.require_git_as_git_writes_it()?;
        let git = git2::Repository::open(files.top()).map_err(|error| match error.code() {
            ErrorCode::NotFound => StoreError::NoRepository(files.top().to_owned()),
            ErrorCode::Owner => StoreError::foreign_owner(files.top()),
            _ => git("open the garage's repository")(error),
        })?;
        watch(&git);
        let opened = Self::of(git, files)?;
        // Now, because libgit2 asks for the setting when it first looks for an object. A garage where this fails cannot be
        // written at all, which whoever writes will be told.
        let _ = opened.ask_for_syncs();
        Ok(opened)
    }

    /// The repository of a folder that holds no commit yet: just made, or left by somebody who was stopped while making it.
    pub(in crate::store) fn is_begun(files: &Gate) -> Result<bool, StoreError> {
        files.require_git_as_git_writes_it()?;
        let found = git2::Repository::open(files.top());
        Ok(found.is_ok_and(|git| git.is_empty().unwrap_or(false) && git.workdir().is_some()))
    }

    fn of(git: git2::Repository, files: Gate) -> Result<Self, StoreError> {
        let gate =
            |folder: &Path| Gate::of_git(folder, &files).map(Rc::new).map_err(disk("Cannot open", folder));
        let own = gate(git.path())?;
        let common = if git.commondir() == git.path() { Rc::clone(&own) } else { gate(git.commondir())? };
        Ok(Self { files: files.staged_in(&own), own, common, git })
    }

    /// The repository around a folder, if any.
    pub fn around(folder: &Path) -> Option<PathBuf> {
        let found = git2::Repository::discover(folder).ok()?;
        found.workdir().or_else(|| Some(found.path())).map(Path::to_owned)
    }

    /// The gate to the garage's files.
    pub(in crate::store) fn files(&self) -> &Gate {
        &self.files
    }

    /// The gate to git's folder, in which ours is: the index, the lock, the journal.
    pub(in crate::store) fn own(&self) -> &Gate {
        &self.own
    }

    /// The gate to what several work trees have in common.
    pub(in crate::store) fn common(&self) -> &Gate {
        &self.common
    }

    /// Objects and references reach the disk before anything points at them: libgit2 reads the setting for that from the
    /// repository's configuration, to which a file of our own is added for this process only (in the garage's own
    /// configuration, newer versions of git would warn of it at every command).
    fn ask_for_syncs(&self) -> Result<(), StoreError> {
        let path = Path::new(OWN).join("git-settings");
        let wanted = "[core]\n\tfsyncObjectFiles = true\n";
        if self.own.read_at_most(&path, bound::LINE)?.as_deref() != Some(wanted.as_bytes()) {
            self.own.write(&path, wanted.as_bytes())?;
        }
        let path = self.own.real_path(&path)?;
        let mut config = self.git.config().map_err(git("read its settings"))?;
        match config.add_file(&path, git2::ConfigLevel::App, true) {
            Err(error) if error.code() != ErrorCode::Exists => Err(git("use its settings")(error)),
            _ => Ok(()),
        }
    }

    /// Whether all the cautions were read here: in this copy of the garage, by whoever works at it.
    pub fn were_cautions_read(&self) -> bool {
        matches!(self.own.about(&cautions_path()), Ok(Some(_)))
    }

    /// Notes that all the cautions were read here. Where nothing can be written they are said again.
    pub fn note_cautions_read(&self) {
        let _ = self.own.write(&cautions_path(), b"read\n");
    }

    /// Where the file with our settings is, for another repository that is written on the way.
    pub(in crate::store) fn settings_file(&self) -> Option<PathBuf> {
        self.own.real_path(&Path::new(OWN).join("git-settings")).ok()
    }

    /// The branch that is recorded on.
    pub(in crate::store) fn branch_name(&self) -> Result<String, StoreError> {
        let head = self.git.find_reference("HEAD").map_err(git("find its branch"))?;
        let name = head.symbolic_target().ok().flatten().and_then(|name| name.strip_prefix("refs/heads/"));
        name.map(str::to_owned).ok_or(StoreError::Detached)
    }

    /// Makes the folders that objects go into, so that no new folder has to be synced later (`git gc` removes empty ones).
    pub fn prepare_for_writing(&self) -> Result<(), StoreError> {
        self.ask_for_syncs()?;
        let objects = Path::new("objects");
        let entries = self.common.folder(objects)?.map_or(Ok(Vec::new()), |folder| folder.entries())?;
        let there =
            entries.iter().filter(|(name, kind)| name.len() == 2 && *kind == EntryKind::Folder).count();
        if there == 256 {
            return Ok(());
        }
        self.common.make_inner(objects, (0..=255_u8).map(|first| format!("{first:02x}")))
    }

    /// Refuses to write while a merge or the like is half done.
    pub fn require_clean_state(&self) -> Result<(), StoreError> {
        match self.git.state() {
            // A rebase stands beside its branch, too; it is the rebase that is in the way.
            RepositoryState::Clean if self.git.head_detached().unwrap_or(false) => Err(StoreError::Detached),
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
            Err(error) if matches!(error.code(), ErrorCode::UnbornBranch | ErrorCode::NotFound) => {
                self.require_never_recorded()?;
                Ok(None)
            }
            Err(error) => Err(git("find the newest commit")(error)),
        }
    }

    /// When something was recorded last, by the clock that did it; none before the first record.
    pub fn last_recorded(&self) -> Result<Option<When>, StoreError> {
        let Some(head) = self.head()? else { return Ok(None) };
        let time = self.commit(head)?.committer().when();
        Ok(When::from_unix(time.seconds(), time.offset_minutes()))
    }

    /// Whether this clone holds only the end of its history.
    pub fn is_shallow(&self) -> bool {
        self.git().is_shallow()
    }

    /// Where a clone that holds only the end of its history begins, as git notes it; empty where the history is whole.
    pub fn first_commits(&self) -> Result<String, StoreError> {
        if !self.is_shallow() {
            return Ok(String::new());
        }
        let noted = self.common().read_at_most(Path::new("shallow"), bound::NOTE)?.unwrap_or_default();
        Ok(String::from_utf8_lossy(&noted).split_whitespace().collect::<Vec<_>>().join(","))
    }

    /// Whether a commit has parents that this clone does not hold.
    pub fn is_cut_off(&self, commit: &Commit<'_>) -> bool {
        let has_parents = || {
            commit.raw_header_bytes().split(|byte| *byte == b'\n').any(|line| line.starts_with(b"parent "))
        };
        self.is_shallow() && commit.parent_count() == 0 && has_parents()
    }

    /// The same of a commit by its id in words.
    pub fn begins_with(&self, commit: &str) -> bool {
        let cut_off = |id| self.commit(id).is_ok_and(|commit| self.is_cut_off(&commit));
        self.is_shallow() && Oid::from_str(commit).is_ok_and(cut_off)
    }

    /// A commit by its id.
    pub fn commit(&self, id: Oid) -> Result<Commit<'_>, StoreError> {
        sign_of_life();
        require_small(&self.git.odb().map_err(git("open its objects"))?, id, Sized::Commit)?;
        self.git.find_commit(id).map_err(git("read a commit"))
    }

    /// Lets go now and then of what git's reader keeps of each object: whoever walks a long history, and says how many commits of it are
    /// behind, needs little of that again.
    pub(in crate::store) fn let_go(&self, behind: usize, last: Oid) {
        if behind % KEPT == KEPT - 1 {
            git2::opts::enable_caching(false);
            // libgit2 empties each store when it would put something there and may not.
            let _ = self.git.find_commit(last).and_then(|commit| commit.tree());
            git2::opts::enable_caching(true);
        }
    }

    /// The files of a commit.
    pub fn tree(&self, commit: Oid) -> Result<Tree<'_>, StoreError> {
        let commit = self.commit(commit)?;
        require_small(&self.git.odb().map_err(git("open its objects"))?, commit.tree_id(), Sized::Tree)?;
        commit.tree().map_err(git("read a commit's files"))
    }

    /// Commits reachable from `head` but not from `known`, parents before children.
    pub fn commits_since(&self, head: Oid, known: Option<Oid>) -> Result<Vec<Oid>, StoreError> {
        require_small_commits(&self.git, head, known.as_slice())?;
        let walk = || -> Result<Vec<Oid>, git2::Error> {
            let mut walk = self.git.revwalk()?;
            walk.set_sorting(git2::Sort::TOPOLOGICAL | git2::Sort::TIME | git2::Sort::REVERSE)?;
            walk.push(head)?;
            if let Some(known) = known {
                walk.hide(known)?;
            }
            walk.inspect(|_| sign_of_life()).collect()
        };
        walk().map_err(git("read its history"))
    }

    /// The first commit of the garage, which all its copies have in common; none before it. Where several histories were joined by hand,
    /// the first of the line that is recorded in.
    pub fn first_commit(&self) -> Result<Option<Oid>, StoreError> {
        let Some(head) = self.head()? else { return Ok(None) };
        let walk = || -> Result<Option<Oid>, git2::Error> {
            let mut walk = self.git.revwalk()?;
            walk.simplify_first_parent()?;
            walk.push(head)?;
            walk.inspect(|_| sign_of_life()).last().transpose()
        };
        walk().map_err(git("read its history"))
    }

    /// The commits behind `older` by which `newer` came from it, parents before children, and the commit that they begin behind: `older`
    /// itself, or, where a merge brought others, the newest one before it from which all of them come, so that in every order they stand
    /// behind all that it came from. None where `newer` did not come from `older`, or where there is no such commit.
    pub fn grown(&self, older: Oid, newer: Oid) -> Result<Option<(Oid, Vec<Oid>)>, StoreError> {
        require_small_commits(&self.git, newer, &[older])?;
        if !self.is_ancestor(older, newer) {
            return Ok(None);
        }
        let mut begin = older;
        loop {
            let since = self.commits_since(newer, Some(begin))?;
            let all: HashSet<Oid> = since.iter().copied().collect();
            let mut before = BTreeSet::from([begin]);
            for id in &since {
                let commit = self.commit(*id)?;
                if commit.parent_count() == 0 {
                    return Ok(None);
                }
                before.extend(commit.parent_ids().filter(|parent| !all.contains(parent)));
            }
            if before.len() == 1 {
                return Ok(Some((begin, since)));
            }
            let before: Vec<Oid> = before.into_iter().collect();
            match self.git.merge_base_octopus(&before) {
                // One that does not lead further back would be asked for ever.
                Ok(base) if base != begin => begin = base,
                _ => return Ok(None),
            }
        }
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
        if entry.kind() == Some(ObjectType::Commit) {
            // Another repository in a file's place.
            return Err(Barred { path: path.to_owned(), what: Odd::Folder }.into());
        }
        self.blob(path, entry.id()).map(Some)
    }

    /// A blob's bytes, as a file at a path: no more than such a file may have.
    pub fn blob(&self, path: &Path, id: Oid) -> Result<Vec<u8>, StoreError> {
        sign_of_life();
        let failed = || git("read a recorded file");
        let (bytes, kind) = self.git.odb().and_then(|all| all.read_header(id)).map_err(failed())?;
        if kind != ObjectType::Blob {
            return Err(Barred { path: path.to_owned(), what: Odd::Folder }.into());
        }
        let (bytes, most) = (bytes as u64, bound::of(path));
        if bytes > most {
            return Err(Barred { path: path.to_owned(), what: Odd::TooLarge { bytes, most } }.into());
        }
        let blob = self.git.find_blob(id).map_err(failed())?;
        Ok(blob.content().to_vec())
    }

    /// The object at a path of a tree.
    pub fn id_at(tree: &Tree<'_>, path: &Path) -> Option<Oid> {
        tree.get_path(path).ok().map(|entry| entry.id())
    }

    /// Names in a folder whose object differs from that of the parent; of a merge, from that of any of its sides.
    pub(in crate::store) fn differing_in(
        &self,
        tree: &Tree<'_>,
        parents: &[Tree<'_>],
        path: &Path,
    ) -> BTreeSet<String> {
        let folder = |tree: &Tree<'_>| tree.get_path(path).ok().map(|entry| entry.id());
        let Some(here) = folder(tree) else { return BTreeSet::new() };
        let others: Vec<Option<Oid>> = parents.iter().map(folder).filter(|id| *id != Some(here)).collect();
        if others.is_empty() && !parents.is_empty() {
            return BTreeSet::new();
        }
        let find = |id: Oid| self.git.find_tree(id).ok();
        let Some(here) = find(here) else { return BTreeSet::new() };
        let others: Vec<Option<Tree<'_>>> = others.into_iter().map(|id| id.and_then(find)).collect();
        let differs = |entry: &git2::TreeEntry<'_>| {
            let same = |other: &Option<Tree<'_>>| {
                let known = other
                    .as_ref()
                    .and_then(|other| other.get_name_bytes(entry.name_bytes()).map(|known| known.id()));
                known == Some(entry.id())
            };
            others.is_empty() || !others.iter().all(same)
        };
        here.iter().filter(differs).filter_map(|entry| entry.name().ok().map(str::to_owned)).collect()
    }

    /// Names in a folder of a tree.
    pub fn names_in(&self, tree: &Tree<'_>, path: &Path) -> Vec<(String, Oid)> {
        sign_of_life();
        // The top folder has no path.
        let id = if path.as_os_str().is_empty() { Some(tree.id()) } else { Self::id_at(tree, path) };
        let Some(Ok(folder)) = id.map(|id| self.git.find_tree(id)) else {
            return Vec::new();
        };
        let files = folder.iter().filter(|entry| entry.kind() != Some(ObjectType::Commit));
        files.filter_map(|entry| Some((entry.name().ok()?.to_owned(), entry.id()))).collect()
    }

    /// The user's name from git's settings; a garage without one still records, under its own name.
    pub(super) fn signature(&self, when: When) -> Result<Signature<'static>, StoreError> {
        let time = Time::new(when.unix(), when.offset_minutes());
        let garage = || ("garage".to_owned(), NO_ADDRESS.to_owned());
        let (name, email) = self.user().unwrap_or_else(garage);
        Signature::new(&name, &email, &time).map_err(git("sign the commit"))
    }

    /// The user's name and address, as git itself finds them: from its variables, and what these leave out from its settings.
    fn user(&self) -> Option<(String, String)> {
        let said = |what: &str| {
            variable(&format!("GIT_AUTHOR_{what}")).or_else(|| variable(&format!("GIT_COMMITTER_{what}")))
        };
        let config = self.git.config().ok()?.snapshot().ok();
        let set = |key: &str| config.as_ref()?.get_string(key).ok().filter(|value| !value.is_empty());
        // Like git, without what ends a name in a commit.
        let plain = |text: String| text.replace(['<', '>', '\n', '\r'], "").trim().to_owned();
        let name = said("NAME").or_else(|| set("user.name")).map(plain).filter(|name| !name.is_empty())?;
        // A name alone is enough to know who it was.
        let address =
            said("EMAIL").or_else(|| set("user.email")).map(plain).filter(|address| !address.is_empty());
        Some((name, address.unwrap_or_else(|| NO_ADDRESS.to_owned())))
    }

    /// Who records here.
    pub fn author(&self) -> String {
        self.user().map_or_else(|| "garage".to_owned(), |(name, _)| name)
    }

    /// Whether git knows who the user is.
    pub fn has_identity(&self) -> bool {
        self.user().is_some()
    }

    /// Every object, read once: the damaged ones, looked for beside something else that is done meanwhile.
    pub fn damaged_beside<T>(&self, meanwhile: impl FnOnce() -> T) -> (Result<Vec<String>, StoreError>, T) {
        let (folder, common) = (self.git.path().to_owned(), self.git.commondir().to_owned());
        thread::scope(|scope| {
            let looking = scope.spawn(move || damaged(&folder, &common));
            let done = meanwhile();
            (looking.join().unwrap_or_else(|panic| resume_unwind(panic)), done)
        })
    }

    pub(in crate::store) fn git(&self) -> &git2::Repository {
        &self.git
    }
}

/// The damaged objects of a repository, by a reader of its own.
fn damaged(folder: &Path, common: &Path) -> Result<Vec<String>, StoreError> {
    let repository = git2::Repository::open(folder).map_err(git("open the garage's repository"))?;
    let database = repository.odb().map_err(git("open its objects"))?;
    let mut ids = Vec::new();
    database
        .foreach(|id| {
            ids.push(*id);
            true
        })
        .map_err(git("list its objects"))?;
    // The others can be read: whatever is wrong with them is said by the reading.
    let cut_short: BTreeSet<String> = all_cut_short(&common.join("objects")).into_iter().collect();
    let damaged = ids.into_iter().filter(|id| {
        sign_of_life();
        if cut_short.contains(&id.to_string()) || too_large(&database, *id, Sized::Any).is_some() {
            return true;
        }
        let read = database.read(*id);
        !read.is_ok_and(|object| Oid::hash_object(object.kind(), object.data()).is_ok_and(|hash| hash == *id))
    });
    Ok(damaged.map(|id| id.to_string()).collect())
}
