//! A repository on this machine's disks that a garage is shared through: a bare one on a stick, on a disk of the shop's.

use std::path::Path;

use git2::{AutotagOption, ErrorCode, FetchOptions, Oid, RemoteCallbacks, Repository};

use crate::machine;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance};
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::{self, Gate};
use crate::store::history::cut_short::watch;
use crate::store::history::signs::sign_of_life;
use crate::store::share::remote::{Sent, is_overtaken, other_branch};

/// The repository, open.
pub(super) struct Stick {
    git: Repository,
    path: String,
}

impl Stick {
    pub(super) fn open(path: &Path, garage: &Garage) -> Result<Self, StoreError> {
        let called = visible(&path.to_string_lossy());
        Self::require_plain(path)?;
        let git = Repository::open(path).map_err(|error| match error.code() {
            ErrorCode::NotFound => StoreError::request(
                Some("with"),
                format!("There is no git repository at {called}."),
                Guidance::from("Check that the stick is in and where it is; ")
                    + CommandOption::New
                    + " makes one there. Nothing was touched.",
            ),
            ErrorCode::Owner => StoreError::foreign_owner(path),
            _ => git("open the repository that the garage is shared through")(error),
        })?;
        if git.commondir() == garage.repository().git().commondir() {
            return Err(StoreError::request(
                Some("with"),
                "A garage is not shared with itself.",
                "Name another folder, on a stick or on a disk that the others reach.",
            ));
        }
        watch(&git);
        Ok(Self { git, path: called })
    }

    /// Git's own files there are such as git writes, before anything opens them.
    fn require_plain(path: &Path) -> Result<(), StoreError> {
        for folder in [path.to_owned(), path.join(".git")] {
            let Ok(gate) = Gate::of_git_alone(&folder) else { continue };
            if let Some(barred) = gate::odd_in_git(&gate)? {
                let help = Guidance::from(
                    "Nothing of it was opened, and this garage is not touched. Take it away there, or share through another place: ",
                );
                let help = help + Command::ShareWithNew + " makes one with all that is here.";
                return Err(StoreError::request(
                    Some("with"),
                    format!("The other side is damaged: {}", barred.of_the_other_side()),
                    help,
                ));
            }
        }
        Ok(())
    }

    /// Makes a bare repository where nothing is.
    pub(super) fn make(path: &Path, branch: &str, garage: &Garage) -> Result<(), StoreError> {
        let called = visible(&path.to_string_lossy());
        let refuse = |what: &str| {
            let help =
                "Name a folder that is not there yet, beside the garage or on the stick, like ../shop.git.";
            Err(StoreError::request(Some("new"), format!("{called} {what}."), help))
        };
        if gate::lies_in(path, garage.root()) {
            return refuse("lies in the garage itself");
        }
        if gate::is_full(path) {
            return refuse("is there already and not empty");
        }
        let mut options = git2::RepositoryInitOptions::new();
        options.bare(true).no_reinit(true).initial_head(branch).external_template(false);
        Repository::init_opts(path, &options).map(|_| ()).map_err(|error| {
            StoreError::request(
                Some("new"),
                format!(
                    "No repository could be made at {}: {}.",
                    visible(&path.to_string_lossy()),
                    visible(error.message())
                ),
                Guidance::from(
                    "Name a folder that is not there yet, in one that may be written to; leave out ",
                ) + CommandOption::New
                    + " where one is.",
            )
        })
    }

    pub(super) fn git(&self) -> &Repository {
        &self.git
    }

    /// The newest commit of the branch; none where nothing was sent here yet.
    pub(super) fn tip(&self, branch: &str) -> Result<Option<Oid>, StoreError> {
        match self.git.find_reference(&format!("refs/heads/{branch}")) {
            Ok(reference) => Ok(reference.target()),
            Err(error) if error.code() == ErrorCode::NotFound => {
                let references = self.git.references_glob("refs/heads/*").map_err(git("list branches"))?;
                let names: Vec<String> = references
                    .filter_map(|reference| {
                        Some(reference.ok()?.name().ok()?.trim_start_matches("refs/heads/").to_owned())
                    })
                    .collect();
                if names.is_empty() {
                    Ok(None)
                } else {
                    Err(other_branch(branch, names.iter().map(String::as_str)))
                }
            }
            Err(error) => Err(git("read the other side's branch")(error)),
        }
    }

    /// A garage in which somebody works is nobody's letter box: what is sent there would change files under their hands.
    pub(super) fn require_bare(&self) -> Result<(), StoreError> {
        if self.git.is_bare() {
            return Ok(());
        }
        Err(StoreError::request(
            Some("with"),
            format!("{} is a garage that somebody works in, so nothing was sent there.", self.path),
            Guidance::from("Share through a repository without files between you: ")
                + Command::ShareWithNew
                + " in one of the garages makes it.",
        ))
    }

    /// Copies what it lacks of a commit from the garage; no branch points at it yet.
    pub(super) fn receive(&self, garage: &Garage, from: &str, commit: Oid) -> Result<(), git2::Error> {
        let mut settings = self.git.config()?;
        let ours = garage.repository().settings_file();
        // Without it what is copied is only later on disk.
        let _ = ours.map(|path| settings.add_file(&path, git2::ConfigLevel::App, true));
        let incoming = format!("refs/reedbook/incoming-{}", machine::process_id());
        // Copying a season may take long, and reads nothing through us.
        let mut heard = RemoteCallbacks::new();
        heard.transfer_progress(|gone| {
            garage.tell("sending", gone.received_objects(), gone.total_objects());
            true
        });
        heard.pack_progress(|_, _, _| sign_of_life());
        let mut options = FetchOptions::new();
        options.remote_callbacks(heard).download_tags(AutotagOption::None).update_fetchhead(false);
        let place = garage.repository().git().commondir().to_string_lossy().into_owned();
        self.git.remote_anonymous(&place)?.fetch(
            &[format!("+{from}:{incoming}")],
            Some(&mut options),
            None,
        )?;
        self.git.find_commit(commit)?;
        self.git.find_reference(&incoming)?.delete()
    }

    /// Moves the branch from where it was expected; nobody else's is overwritten.
    pub(super) fn move_branch(
        &self,
        branch: &str,
        expected: Option<Oid>,
        commit: Oid,
    ) -> Result<Sent, git2::Error> {
        let name = format!("refs/heads/{branch}");
        let moved = if let Some(expected) = expected {
            self.git.reference_matching(&name, commit, true, expected, "share")
        } else {
            let made = self.git.reference(&name, commit, false, "share");
            if made.is_ok() && self.git.head().is_err() {
                // A repository that git made may stand on a branch that nobody has: whoever clones it would get no files.
                let _ = self.git.set_head(&name);
            }
            made
        };
        match moved {
            Ok(_) => Ok(Sent::Done),
            Err(error) if is_overtaken(&error) => Ok(Sent::Overtaken),
            Err(error) => Err(error),
        }
    }
}
