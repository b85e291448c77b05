//! What can go wrong with the garage on disk and its history, each with its place and the way out.

use std::path::{Path, PathBuf};

use thiserror::Error;

use crate::notebook::GARAGE_FILE;
use crate::notebook::fields::names::{NameError, visible};
use crate::notebook::guidance::{Command, CommandOption, GitCommand, Guidance};
use crate::notebook::{AirEntryError, DateError, EditError, Finding, Place, nearest_name};
use crate::store::folder::gate::Barred;

/// What went wrong in the store.
#[derive(Debug, Error)]
pub enum StoreError {
    /// No garage.toml in this folder or above it.
    #[error("There is no garage in {} or above it.", .0.display())]
    NoGarage(PathBuf),
    /// The folder is a garage already.
    #[error("{} is a garage already.", .0.display())]
    GarageExists(PathBuf),
    /// The folder is inside somebody else's repository.
    #[error("{} lies inside the git repository {}.", .folder.display(), .repository.display())]
    InsideRepository {
        /// Where the garage was wanted.
        folder: PathBuf,
        /// The repository around it.
        repository: PathBuf,
    },
    /// garage.toml is there but not its git repository.
    #[error("{} has a garage.toml but no git repository of its own.", .0.display())]
    NoRepository(PathBuf),
    /// A file cannot be read or written.
    #[error("{} {}: {source}.", .doing, .path.display())]
    Disk {
        /// What was tried, "Cannot write".
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// Something in the garage is not opened: a link, a pipe, a file that is too large.
    #[error(transparent)]
    Barred(#[from] Barred),
    /// Git said no.
    #[error("Git could not {doing}: {}.", said(.source))]
    Git {
        /// What was tried.
        doing: &'static str,
        /// What libgit2 said.
        source: git2::Error,
    },
    /// One of git's objects ends before its end, and what reads it does not come back.
    #[error("Git's object {} is cut short, as by a disk that lost its power: part of the history cannot be read.", .0.display())]
    CutShort(PathBuf),
    /// HEAD points at a commit and not at a branch: what is recorded would be lost at the next checkout.
    #[error("The garage stands on a past commit and not on a branch, so nothing can be recorded.")]
    Detached,
    /// No garage.toml in the folder that was named.
    #[error("There is no garage in {}.", .0.display())]
    NoGarageThere(PathBuf),
    /// A garage by its history, without the file that makes a folder one.
    #[error("garage.toml is gone from {}.", .0.display())]
    GarageFileGone(PathBuf),
    /// One of git's own locks is held.
    #[error("Git's lock {} is there: git is at work in the garage, or was stopped in the midst of it.", .0.display())]
    GitLocked(PathBuf),
    /// A merge or another operation of git is half done.
    #[error("A {0} of git is under way in the garage.")]
    Unfinished(&'static str),
    /// The index could not be used, not even in memory.
    #[error("The index could not be built: {0}.")]
    Index(#[from] rusqlite::Error),
    /// Somebody else is writing.
    #[error("Another reedbook is writing in this garage: {holder}.")]
    Locked {
        /// Who holds the lock and since when.
        holder: String,
    },
    /// A bike that is not there.
    #[error("There is no bike \"{name}\" in this garage.")]
    UnknownBike {
        /// The name as typed, made visible.
        name: String,
        /// Bikes that are there.
        known: Vec<String>,
    },
    /// An engine that is not there.
    #[error("There is no engine \"{name}\" in this garage.")]
    UnknownEngine {
        /// The name as typed, made visible.
        name: String,
        /// Engines that are there.
        known: Vec<String>,
    },
    /// A setup that is not there.
    #[error("{bike} has no setup {wanted}.")]
    UnknownSetup {
        /// The bike.
        bike: String,
        /// What was asked for.
        wanted: String,
        /// What there is, as a sentence.
        have: Guidance,
    },
    /// A bike without a setup.
    #[error("Nothing is recorded of {bike} yet.")]
    NothingRecorded {
        /// The bike.
        bike: String,
    },
    /// A bike without an outing.
    #[error("{bike} has no outings yet.")]
    NoOutings {
        /// The bike.
        bike: String,
    },
    /// An outing that is not there.
    #[error("{bike} has no outing \"{wanted}\".")]
    UnknownOuting {
        /// The bike.
        bike: String,
        /// What was asked for.
        wanted: String,
        /// Those that may be meant, with their ids.
        may_be: String,
    },
    /// An outing that is missing or cannot be read, where an answer needs all of them.
    #[error("{message}")]
    OutingUnread {
        /// What is the matter with it.
        message: String,
        /// Its file and line.
        place: Place,
        /// The way out.
        help: Guidance,
    },
    /// The name is taken.
    #[error("There is {what} \"{name}\" already.")]
    Taken {
        /// Bike or engine.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A name that cannot be used.
    #[error(transparent)]
    Name(#[from] NameError),
    /// Documents with errors.
    #[error("{}", first_message(.0))]
    Findings(Vec<Finding>),
    /// An assignment that cannot be done.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// Air that cannot be.
    #[error(transparent)]
    Air(#[from] AirEntryError),
    /// A date that cannot be read.
    #[error(transparent)]
    Date(#[from] DateError),
    /// Nothing would be recorded.
    #[error("{message}")]
    NothingChanged {
        /// In which way nothing changes.
        message: String,
        /// What to do instead.
        help: Guidance,
    },
    /// Edits that were never recorded are in the way.
    #[error("{bike} has edits on disk that were never recorded: {fields}.")]
    UnrecordedEdits {
        /// The bike.
        bike: String,
        /// The fields edited.
        fields: String,
        /// Whether the command can be told to lose them.
        can_discard: bool,
    },
    /// Anything else that the request got wrong.
    #[error("{}", .message.without_commands())]
    Request {
        /// What is wrong.
        message: Guidance,
        /// The field or option concerned.
        field: Option<String>,
        /// The way out.
        help: Guidance,
    },
}

fn first_message(findings: &[Finding]) -> String {
    findings.first().map_or_else(String::new, |finding| finding.message.clone())
}

impl StoreError {
    /// A request that cannot be done, with the option or field it concerns.
    pub fn request(field: Option<&str>, message: impl Into<Guidance>, help: impl Into<Guidance>) -> Self {
        Self::Request { message: message.into(), field: field.map(str::to_owned), help: help.into() }
    }

    /// A repository that another user of this machine owns: git opens it for nobody else.
    pub(super) fn foreign_owner(folder: &Path) -> Self {
        let folder = visible(&folder.to_string_lossy());
        Self::request(
            None,
            format!("{folder} belongs to another user of this machine."),
            Guidance::from("If you trust it: ") + GitCommand::Trust(folder) + ".",
        )
    }

    /// A bike that is not there; its name is untrusted.
    pub fn unknown_bike(name: &str, known: Vec<String>) -> Self {
        Self::UnknownBike { name: visible(name), known }
    }

    /// File, line and field, as far as the error has them.
    pub fn place(&self) -> Place {
        match self {
            Self::Findings(findings) => {
                findings.first().map(|finding| finding.place.clone()).unwrap_or_default()
            }
            Self::Disk { path, .. } => Place::file(path),
            Self::Barred(barred) => Place::file(&barred.path),
            Self::OutingUnread { place, .. } => place.clone(),
            Self::Edit(error) => error.place(),
            Self::Air(error) => field_place(Some(error.field())),
            Self::Request { field, .. } => field_place(field.as_deref()),
            Self::Date(_) => field_place(Some("date")),
            _ => Place::default(),
        }
    }

    /// What is wrong, with the commands that it names.
    pub fn message(&self) -> Guidance {
        match self {
            Self::Request { message, .. } => message.clone(),
            other => other.to_string().into(),
        }
    }

    /// What is allowed and the way out.
    pub fn help(&self) -> Guidance {
        match self {
            Self::Detached => {
                Guidance::from("Go back to the branch first: ")
                    + GitCommand::Switch(None)
                    + " or "
                    + GitCommand::Switch(Some("main".to_owned()))
                    + "."
            }
            Self::NoGarage(_) | Self::NoGarageThere(_) => {
                Guidance::from("Go into the garage's folder, name it with ")
                    + CommandOption::Garage
                    + ", or start one with "
                    + Command::MakeGarage
                    + "."
            }
            Self::GarageFileGone(_) => Command::MendFile(GARAGE_FILE.to_owned()) + " puts it back as it was recorded last.",
            Self::GarageExists(_) => "Use it as it is, or name another folder.".into(),
            Self::InsideRepository { .. } => "A garage is a repository of its own: choose a folder outside that one.".into(),
            Self::NoRepository(path) => {
                Guidance::from("Put its .git folder back, or run ")
                    + GitCommand::Init
                    + format!(" in {} and commit what is there.", path.display())
            }
            Self::Disk { .. } => "Check that the folder is there, that it may be written to and that the disk is not full; nothing was recorded.".into(),
            Self::Barred(barred) => barred.help().into(),
            Self::Git { source, .. } => help_of_git(source),
            Self::CutShort(_) => GitCommand::LookThrough + " names all that is damaged: bring the garage back from a copy, or from whoever it is shared with; that one file can be put back alone. Nothing was recorded.",
            Self::Unfinished("merge" | "rebase") => {
                Command::MendGarage + " puts back what was before; "
                    + Command::Share
                    + " then brings both together and asks. Or finish it with git ("
                    + GitCommand::Status
                    + " says how)."
            }
            Self::Unfinished("bisection") => {
                Guidance::from("Finish or abort it with git first (") + GitCommand::Status + " says how)."
            }
            Self::Unfinished(_) => {
                Command::MendGarage
                    + " puts back what was before; or finish it with git ("
                    + GitCommand::Status
                    + " says how)."
            }
            Self::Index(_) => "Delete .git/reedbook/index.sqlite: it is only a copy and is built again.".into(),
            Self::GitLocked(lock) => format!(
                "Wait until git is done and try again; where no git is running, delete {}. Nothing was recorded.",
                lock.display()
            )
            .into(),
            Self::Locked { .. } => "Wait until it is done and try again; nothing was recorded by this command.".into(),
            Self::UnknownBike { name, known } => {
                let near = nearest_name(&name.to_lowercase(), known.iter().map(String::as_str));
                let meant = near.map(|near| format!("Did you mean {near}? ")).unwrap_or_default();
                Guidance::from(meant) + known_names("bike", known, Command::MakeBike(None))
            }
            Self::UnknownEngine { known, .. } => known_names("engine", known, Command::MakeEngine),
            Self::NothingRecorded { bike } => {
                Guidance::from(format!("Fill in bikes/{bike}/setup.toml, then "))
                    + Command::RecordSetup(Some(bike.clone()))
                    + "."
            }
            Self::NoOutings { bike } => Guidance::from("Log one: ") + Command::LogRun(bike.clone()) + ".",
            Self::UnknownSetup { have, .. } => have.clone(),
            Self::UnknownOuting { bike, may_be, .. } => {
                Guidance::from(format!(
                    "Name it by its id, of which three characters are enough, or `last`: {may_be}. All of them: "
                )) + Command::ListOutingsInFull(bike.clone())
            }
            Self::Taken { what, .. } => {
                let list = match *what {
                    "a bike" => Command::ListBikes,
                    "an engine" => Command::ListEngines,
                    _ => Command::ListParts(None),
                };
                Guidance::from("Choose another name; ") + list + " shows those in use."
            }
            Self::Name(error) => error.help().into(),
            Self::Findings(findings) => findings.first().map(|finding| finding.help.clone()).unwrap_or_default(),
            Self::Edit(error) => error.help().into(),
            Self::Air(error) => error.help(str::to_owned).into(),
            Self::Date(error) => error.help().into(),
            Self::NothingChanged { help, .. } | Self::Request { help, .. } | Self::OutingUnread { help, .. } => {
                help.clone()
            }
            Self::UnrecordedEdits { bike, can_discard, .. } => {
                let record = Guidance::from("Record them with ") + Command::RecordSetup(Some(bike.clone()));
                if *can_discard {
                    record + ", or add " + CommandOption::DiscardEdits + " to lose them."
                } else {
                    record + " first."
                }
            }
        }
    }
}

fn known_names(what: &str, known: &[String], make: Command) -> Guidance {
    if known.is_empty() {
        Guidance::from(format!("There is no {what} yet. Make one with ")) + make + "."
    } else {
        format!("There are: {}.", known.join(", ")).into()
    }
}

fn field_place(field: Option<&str>) -> Place {
    Place { field: field.map(str::to_owned), ..Place::default() }
}

/// Gives a disk error its file.
pub(super) fn disk(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> StoreError + use<> {
    let path = path.to_owned();
    move |source| StoreError::Disk { doing, path, source }
}

/// Gives a git error what was tried.
pub(super) fn git(doing: &'static str) -> impl FnOnce(git2::Error) -> StoreError {
    move |source| StoreError::Git { doing, source }
}

/// How libgit2 names an object while it is written.
const TEMPORARY: &str = "tmp_object_git2";

/// What libgit2 said; sometimes it says that there was no error.
fn said(error: &git2::Error) -> String {
    let is_gone = error.code() == git2::ErrorCode::NotFound && error.class() == git2::ErrorClass::Odb;
    match error.message().trim_end_matches('.') {
        _ if is_gone => "part of the history is not there".to_owned(),
        // The name of a file that is gone again says nothing; why it could not be written does.
        words if words.contains(TEMPORARY) => {
            let why = words.rsplit(TEMPORARY).next().and_then(|rest| rest.split_once(": "));
            let why = why.map(|(_, why)| format!(" ({why})")).unwrap_or_default();
            format!("the disk does not take a new object{why}")
        }
        "" | "no error" => format!("it does not say why ({:?})", error.code()),
        words => words.to_owned(),
    }
}

fn help_of_git(error: &git2::Error) -> Guidance {
    let missing = error.code() == git2::ErrorCode::NotFound && error.class() == git2::ErrorClass::Odb;
    if missing || error.message().contains("pack") {
        return Guidance::from(
            "Part of the history is missing or damaged here; nothing was recorded. In a clone that leaves files out ",
        ) + GitCommand::BringWhatWasLeftOut
            + " brings them; else "
            + GitCommand::LookThrough
            + " names what is missing: bring the garage back from a copy, or from whoever it is shared with.";
    }
    if error.class() == git2::ErrorClass::Index && error.message().contains("extension") {
        return Guidance::from(
            "Git's own index is kept in a way that only git reads; nothing was recorded. ",
        ) + GitCommand::PlainIndex
            + " (or "
            + GitCommand::WholeCheckout
            + ") makes it plain, then say it again.";
    }
    if error.class() == git2::ErrorClass::Index {
        return Guidance::from("Git's own index is damaged; nothing was recorded. ")
            + Command::MendGarage
            + " builds it anew from what is recorded; what was staged and not committed is not in it.";
    }
    GitCommand::Status + " and " + GitCommand::LookThrough + " in the garage show more; nothing was recorded."
}
