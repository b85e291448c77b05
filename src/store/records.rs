//! What the garage remembers, each as a record: setups, outings, builds, parts and jobs, and how a command names them.

use std::fmt;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, BikeDocument, Build, Job, Outing, Part, When};
use crate::store::error::{StoreError, git};
use crate::store::index::which;

use git2::Oid;

/// A setup as a command names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SetupName {
    /// By its number.
    Number(u32),
    /// The files on disk.
    Now,
    /// The newest one recorded.
    Latest,
    /// The newest one the tuner vouches for.
    Proven,
}

impl FromStr for SetupName {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "now" => Ok(Self::Now),
            "latest" => Ok(Self::Latest),
            "proven" => Ok(Self::Proven),
            _ => text
                .parse()
                .map(Self::Number)
                .map_err(|_| "a setup is its number, now, latest or proven".into()),
        }
    }
}

impl fmt::Display for SetupName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => write!(f, "{number}"),
            Self::Now => f.write_str("now"),
            Self::Latest => f.write_str("latest"),
            Self::Proven => f.write_str("proven"),
        }
    }
}

/// A recorded setup.
#[derive(Debug, Clone)]
pub struct SetupRecord {
    /// The bike.
    pub bike: String,
    /// Its number.
    pub number: u32,
    /// Its identity.
    pub id: String,
    /// The commit that recorded it.
    pub commit: String,
    /// When.
    pub date: When,
    /// Who recorded it, as git knows it.
    pub author: String,
    /// Why.
    pub why: String,
    /// The air noted with the change.
    pub air: Option<AirEntry>,
    /// The engine it ran with.
    pub engine: Option<String>,
    /// Whether its files can be read.
    pub readable: bool,
    /// Why it was recorded despite a warning.
    pub despite: Option<String>,
    /// Whether it was put together of two sides' setups: nobody had run it then.
    pub combined: bool,
    /// The identity of the setup that it was made from: on its own side, where two recorded at once.
    pub made_from: Option<String>,
    /// The identities of the two that a choice put together.
    pub combined_of: Vec<String>,
}

/// A recorded outing, or one that lies on disk and is not recorded yet.
#[derive(Debug, Clone)]
pub struct OutingRecord {
    /// The bike.
    pub bike: String,
    /// Its identity, the end of the file's name.
    pub id: String,
    /// Its file in the garage.
    pub file: PathBuf,
    /// The document.
    pub outing: Outing,
    /// Number of the setup it ran.
    pub setup: Option<u32>,
    /// The cylinders of the engine that ran, where something is said of one of them; empty else.
    pub cylinders: Vec<String>,
}

impl OutingRecord {
    /// Its id, and what tells it from others: its date and its session.
    pub(super) fn id_and_words(&self) -> (String, String) {
        let session = self.outing.session.as_deref().map(|session| format!(", {session}"));
        (self.id.clone(), format!("{}{}", self.outing.date.short(), session.unwrap_or_default()))
    }
}

/// An outing file that cannot be read.
#[derive(Debug, Clone)]
pub struct BrokenOuting {
    /// Its file in the garage.
    pub file: PathBuf,
    /// What is wrong, a line each.
    pub findings: String,
}

/// An id that no outing has: those of the day that was named, else the newest may be meant.
pub(super) fn unknown_outing(bike: &str, wanted: &str, outings: &[OutingRecord]) -> StoreError {
    let newest = || outings.iter().rev();
    let of_day: Vec<_> = newest().filter(|run| run.outing.date.day() == wanted).collect();
    let may_be = if of_day.is_empty() { newest().collect() } else { of_day };
    let may_be: Vec<_> = may_be.into_iter().map(OutingRecord::id_and_words).collect();
    let may_be = which::listed(may_be.iter(), may_be.len());
    StoreError::UnknownOuting { bike: bike.to_owned(), wanted: visible(wanted), may_be }
}

/// The setup that was the newest at a date: the last recorded one that is not dated later.
pub(super) fn setup_at(setups: &[SetupRecord], date: When) -> Option<&SetupRecord> {
    setups.iter().rev().find(|setup| setup.date <= date)
}

/// The setup with the newest proven mark.
pub fn newest_proven<'s>(bike: &BikeDocument, setups: &'s [SetupRecord]) -> Option<&'s SetupRecord> {
    let marked = setups.iter().filter_map(|setup| Some((bike.proven.get(&setup.id)?.date, setup)));
    marked.max_by_key(|(date, setup)| (*date, setup.number)).map(|(_, setup)| setup)
}

/// An outing's identity is the end of its file's name after the last hyphen.
pub fn outing_id(file: &str) -> String {
    let stem =
        Path::new(file).file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    stem.rsplit_once('-').map_or(stem.clone(), |(_, id)| id.to_owned())
}

/// The commit that recorded a setup.
pub(in crate::store) fn commit_of(setup: &SetupRecord) -> Result<Oid, StoreError> {
    Oid::from_str(&setup.commit).map_err(git("read a commit's id"))
}

/// A build that is on disk.
#[derive(Debug, Clone)]
pub struct BuildRecord {
    /// The engine.
    pub engine: String,
    /// Its identity, the end of the file's name.
    pub id: String,
    /// Its file in the garage.
    pub file: PathBuf,
    /// The document.
    pub build: Build,
}

/// A part that is on disk.
#[derive(Debug, Clone)]
pub struct PartRecord {
    /// Its name: the file's.
    pub name: String,
    /// Its file in the garage.
    pub file: PathBuf,
    /// The document.
    pub part: Part,
}

/// A file of jobs.
#[derive(Debug, Clone)]
pub struct JobRecord {
    /// Its file in the garage.
    pub file: PathBuf,
    /// The document.
    pub job: Job,
}

/// What stands in the reason of a change that takes a handover in.
pub(in crate::store) const HANDED_OVER: &str = "Handed over by ";
/// What stands behind it there.
pub(in crate::store) const CONTENT: &str = ", content ";

/// Whether a setup took a handover in, by its reason: what is in it for the first time was on somebody else's bike, and on this one not yet.
pub(in crate::store) fn is_taken_in(why: &str) -> bool {
    why.lines().any(|line| line.starts_with(HANDED_OVER) && line.contains(CONTENT))
}
