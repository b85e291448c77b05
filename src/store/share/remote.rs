//! What a garage is shared through is git's own remote, so that plain git pulls and pushes there too.

use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{GitCommand, Guidance};
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;

use git2::{ErrorCode, Oid};

/// The name that a remote gets.
const ORIGIN: &str = "origin";

/// The address of the branch's remote, or of the only one; none where nothing is known.
pub(in crate::store) fn known(garage: &Garage, branch: &str) -> Result<Option<String>, StoreError> {
    let repository = garage.repository().git();
    let config =
        repository.config().and_then(|mut config| config.snapshot()).map_err(git("read its settings"))?;
    let of_branch = config.get_string(&format!("branch.{branch}.remote")).ok();
    let names = repository.remotes().map_err(git("list its remotes"))?;
    let only = (names.len() == 1).then(|| names.get(0).ok().flatten().map(str::to_owned)).flatten();
    let name = of_branch.or(only).unwrap_or_else(|| ORIGIN.to_owned());
    Ok(config.get_string(&format!("remote.{name}.url")).ok())
}

/// Writes it down as git would.
pub(super) fn remember(garage: &Garage, branch: &str, address: &str) -> Result<(), StoreError> {
    let repository = garage.repository().git();
    let write = || -> Result<(), git2::Error> {
        // What is said for this process only lies above the garage's own settings, and is not to be written to.
        let mut config = repository.config()?.open_level(git2::ConfigLevel::Local)?;
        let name =
            config.get_string(&format!("branch.{branch}.remote")).unwrap_or_else(|_| ORIGIN.to_owned());
        config.set_str(&format!("remote.{name}.url"), address)?;
        config.set_str(&format!("remote.{name}.fetch"), &format!("+refs/heads/*:refs/remotes/{name}/*"))?;
        config.set_str(&format!("branch.{branch}.remote"), &name)?;
        config.set_str(&format!("branch.{branch}.merge"), &format!("refs/heads/{branch}"))
    };
    write().map_err(git("note what it is shared through"))
}

/// Notes what the other side has where git looks for it, so that git's own words of it are true; that there is none yet is no error.
pub(super) fn track(garage: &Garage, branch: &str, commit: Oid) -> Result<(), StoreError> {
    let repository = garage.repository().git();
    let write = || -> Result<(), git2::Error> {
        let config = repository.config()?.snapshot()?;
        let name =
            config.get_string(&format!("branch.{branch}.remote")).unwrap_or_else(|_| ORIGIN.to_owned());
        let reference = format!("refs/remotes/{name}/{branch}");
        if !git2::Reference::is_valid_name(&reference) {
            return Ok(());
        }
        repository.reference(&reference, commit, true, "share").map(|_| ())
    };
    write().map_err(git("note what was shared"))
}

impl Garage {
    /// Whether it is known what it is shared through.
    pub fn is_shared(&self) -> bool {
        let branch = self.repository().branch_name();
        branch.is_ok_and(|branch| known(self, &branch).is_ok_and(|address| address.is_some()))
    }
}

/// The newest commit that both sides had when they last met.
pub(super) const SHARED: &str = "refs/reedbook/shared";

/// What became of what was sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sent {
    /// The other side has it.
    Done,
    /// Somebody else was quicker: what they sent has to be brought first.
    Overtaken,
}

/// The other side knows other branches only.
pub(super) fn other_branch<'n>(branch: &str, there: impl Iterator<Item = &'n str>) -> StoreError {
    let there: Vec<String> = there.take(5).map(visible).collect();
    StoreError::request(
        None,
        format!("The other side has no branch {}, only {}.", visible(branch), there.join(", ")),
        Guidance::from("Go to the branch that is shared: ")
            + GitCommand::Switch(Some(there.first().map_or("main", String::as_str).to_owned()))
            + ".",
    )
}

/// Whether git said that somebody else was quicker.
pub(super) fn is_overtaken(error: &git2::Error) -> bool {
    matches!(error.code(), ErrorCode::Modified | ErrorCode::Exists | ErrorCode::Locked | ErrorCode::NotFound)
}
