//! What a command had recorded that was stopped before it could say so.

use git2::Oid;

use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::store::folder::garage::Garage;
use crate::store::folder::lock::WriterLock;
use crate::store::history::repository::Repository;
use crate::store::history::scan::{BIKE_TRAILER, COMBINED_TRAILER, SETUP_TRAILER, words};

/// A commit that nobody was told of.
#[derive(Debug, Clone)]
pub struct Mended {
    /// Its reason, in one line.
    pub why: String,
    /// The bike whose setup it is; none where it is none.
    pub setup_of: Option<String>,
    /// Whether that setup was put together of two sides' and never ran.
    pub combined: bool,
}

impl Mended {
    pub(in crate::store) fn of(repository: &Repository, commit: Oid) -> Option<Self> {
        let (why, trailers) = words(&repository.commit(commit).ok()?);
        let is_setup = trailers.contains_key(SETUP_TRAILER);
        Some(Self {
            why: visible(why.lines().next().unwrap_or_default()),
            setup_of: trailers.get(BIKE_TRAILER).filter(|_| is_setup).map(|bike| visible(bike)),
            combined: trailers.contains_key(COMBINED_TRAILER),
        })
    }

    /// In a sentence or two.
    pub fn words(&self) -> Guidance {
        let bike = self.setup_of.as_ref().map(|bike| format!(", a setup of {bike}")).unwrap_or_default();
        let combined = if self.combined {
            " Combined, never run: start rich, and read plug and piston before full throttle."
        } else {
            ""
        };
        let why = &self.why;
        Guidance::from(format!(
            "A command that was stopped half-way is finished{bike}: \"{why}\".{combined} "
        )) + Command::History(None)
            + " and "
            + Command::Jobs
            + " show what is new."
    }
}

impl Garage {
    /// Finishes or takes back what a command left that was stopped half-way, so that nothing is answered of half of it; gives what stands
    /// now and was never said. Where somebody is at work, or it cannot be done, nothing is touched: the next writer will be told why.
    pub fn mend(&self) -> Option<Mended> {
        if !self.repository().is_unfinished() || self.repository().require_clean_state().is_err() {
            return None;
        }
        let _lock = WriterLock::take_if_free(self.repository().own())?;
        self.repository().own().clear_staging().ok()?;
        self.repository().prepare_for_writing().ok()?;
        let commit = self.repository().recover().ok()??;
        Mended::of(self.repository(), commit)
    }
}
