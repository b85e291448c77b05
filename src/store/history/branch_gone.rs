//! A branch that git's HEAD names and that is gone: a bad stick or a copy file by file lost one small file, and the record with it would
//! look as if nothing had ever been recorded. Nothing is answered from that, and nothing is recorded on it.

use std::path::Path;

use git2::Oid;

use super::repository::Repository;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{GitCommand, Guidance};
use crate::store::error::StoreError;
use crate::store::folder::gate::bound;
use crate::store::folder::gate::entry::EntryKind;

impl Repository {
    /// Fails where a branch without a commit had one before: git's log knows of some, or a list of numbers does.
    pub(super) fn require_never_recorded(&self) -> Result<(), StoreError> {
        // What a stopped writer left is taken back or finished first.
        if self.is_unfinished() {
            return Ok(());
        }
        let log = self.own().read_at_most(Path::new("logs/HEAD"), bound::NOTE).ok().flatten();
        let log = String::from_utf8_lossy(&log.unwrap_or_default()).into_owned();
        let newest =
            log.lines().last().and_then(|line| line.split(' ').nth(1)).and_then(|id| Oid::from_str(id).ok());
        let newest = newest.filter(|id| self.git().find_commit(*id).is_ok());
        // One line alone may be of a first commit that was stopped.
        let is_known = newest.is_some() && log.lines().count() > 1;
        let Some(listed) = self.listed_numbers()?.or_else(|| is_known.then(|| "git's log".to_owned())) else {
            return Ok(());
        };
        let branch = self.git().find_reference("HEAD").ok();
        let branch = branch.as_ref().and_then(|head| head.symbolic_target().ok().flatten());
        let branch = branch.map_or_else(|| "refs/heads/main".to_owned(), visible);
        let name = branch.trim_start_matches("refs/heads/").to_owned();
        let help = match newest {
            Some(id) => {
                Guidance::from("The newest commit is still there: ")
                    + GitCommand::BringBranchBack(branch, id.to_string())
                    + " brings it back. Then look through it: "
                    + GitCommand::LookThrough
                    + "."
            }
            None => {
                Guidance::from(
                    "Clone the garage from where it is shared. Where its history is to begin with these files: ",
                ) + GitCommand::Add("-A".into())
                    + ", then "
                    + GitCommand::Commit(".".into())
                    + "."
            }
        };
        Err(StoreError::request(
            None,
            format!(
                "The branch {name} is gone, and {listed} knows what was recorded on it: nothing can be said of what ran, and nothing is recorded."
            ),
            help,
        ))
    }

    /// A bike's list of numbers that has some, beside objects of git's: in a repository that was just made it is a copy's, and the garage
    /// begins anew.
    fn listed_numbers(&self) -> Result<Option<String>, StoreError> {
        let mut has_objects = false;
        if let Ok(all) = self.git().odb() {
            // The first one ends the look.
            let _ = all.foreach(|_| {
                has_objects = true;
                false
            });
        }
        if !has_objects {
            return Ok(None);
        }
        let bikes = Path::new("bikes");
        let entries = self.files().folder(bikes)?.map_or(Ok(Vec::new()), |folder| folder.entries())?;
        for (name, _) in entries.into_iter().filter(|(_, kind)| *kind == EntryKind::Folder) {
            let file = bikes.join(name).join("numbers");
            let about = self.files().about(&file)?;
            if about.is_some_and(|about| about.kind == EntryKind::Plain && about.size > 0) {
                return Ok(Some(visible(&file.to_string_lossy())));
            }
        }
        Ok(None)
    }
}
