//! What the other side took out, what is not sent, and what was asked and answered before.

use std::path::Path;

use git2::Oid;

use super::setups::SetupQuestion;
use super::words::{broken, way_out_of};
use super::{Meeting, Shared};
use crate::notebook::GARAGE_FILE;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, GitCommand, Guidance};
use crate::store::error::StoreError;
use crate::store::folder::gate::{OWN, bound};
use crate::store::history::numbers::Numbers;
use crate::store::history::repository::Repository;
use crate::store::index::rows::path_text;

impl Meeting<'_> {
    /// A bike or an engine that the other side took out since both had it, and a number that it gave to another setup, are not taken over
    /// unasked.
    pub(super) fn require_nothing_taken(&self, base: Oid, theirs: Oid) -> Result<(), StoreError> {
        if self.request.rewritten {
            return Ok(());
        }
        let repository = self.garage.repository();
        let tree = repository.tree(base)?;
        let mut taken = Vec::new();
        for (path, bytes) in self.forward(base, theirs)? {
            let text = path_text(&path);
            match (text.split('/').collect::<Vec<_>>().as_slice(), bytes) {
                (["bikes", bike, "bike.toml"], None) => taken.push(format!("the bike {}", visible(bike))),
                (["engines", engine, "engine.toml"], None) => {
                    taken.push(format!("the engine {}", visible(engine)));
                }
                (["bikes", bike, "numbers"], bytes)
                    if !taken.contains(&format!("the bike {}", visible(bike))) =>
                {
                    let before = repository.file(&tree, &path)?.unwrap_or_default();
                    let read = |bytes: &[u8]| Numbers::read(&[&String::from_utf8_lossy(bytes)]);
                    let moved = read(&before).moved_in(&read(&bytes.unwrap_or_default()));
                    taken.extend(moved.map(|number| format!("the number {number} of {}", visible(bike))));
                }
                _ => {}
            }
        }
        if taken.is_empty() {
            return Ok(());
        }
        Err(StoreError::request(
            None,
            format!("The other side took out {}.", taken.join(", ")),
            Guidance::from("Nothing here was touched. Ask who did that and why. ")
                + Command::ShareRewritten
                + " takes it out here, too; "
                + Command::ShareBefore
                + " shows then what was before, and brings it back.",
        ))
    }

    /// Bikes that are sent as taken out: the others are asked before they lose them.
    pub(super) fn tell_taken(&self, shared: &mut Shared, commit: Oid) -> Result<(), StoreError> {
        let Some(theirs) = self.theirs.filter(|theirs| *theirs != commit) else { return Ok(()) };
        for (path, bytes) in self.forward(theirs, commit)? {
            let text = path_text(&path);
            if let (["bikes", bike, "bike.toml"], None) =
                (text.split('/').collect::<Vec<_>>().as_slice(), bytes)
            {
                let shown = visible(bike);
                let said = format!(
                    "{shown} was taken out here, and that is sent: the others are stopped by it until they agree. If it is not meant: "
                );
                shared
                    .notes
                    .push(Guidance::from(said) + Command::BringBikeBack(Some(shown)) + ", then share again.");
            }
        }
        Ok(())
    }

    /// What nobody could read is not sent: both sides of a merge in one file, or what is no TOML.
    pub(super) fn require_whole(&self, commit: Oid) -> Result<(), StoreError> {
        let Some(theirs) = self.theirs.filter(|theirs| *theirs != commit) else { return Ok(()) };
        let repository = self.garage.repository();
        let file = Path::new(GARAGE_FILE);
        if Repository::id_at(&repository.tree(commit)?, file).is_none() {
            return Err(StoreError::request(
                None,
                format!(
                    "{GARAGE_FILE} is in no commit any more, so nothing was sent: the others could open the garage no more."
                ),
                Guidance::from("It was taken out of git, or git's index was lost. Take it in again: ")
                    + GitCommand::Add(GARAGE_FILE.into())
                    + ", then "
                    + GitCommand::Commit(GARAGE_FILE.into())
                    + "; "
                    + Command::CheckGarage
                    + " names what else is not recorded.",
            ));
        }
        let changes = self.forward(theirs, commit)?;
        match broken(&changes) {
            None => Ok(()),
            Some((path, finding)) => Err(StoreError::request(
                None,
                format!(
                    "{} is recorded here and cannot be read, so nothing was sent: {finding}",
                    visible(&path_text(&path))
                ),
                way_out_of(&path),
            )),
        }
    }
}

impl Meeting<'_> {
    pub(super) fn answers_file() -> std::path::PathBuf {
        Path::new(OWN).join("share-answers")
    }

    /// An answer to a question that is not there: it was given before, or nobody asked.
    pub(super) fn nothing_asked(&self, shared: &mut Shared) {
        let subjects = self.request.keep.iter();
        let notes = subjects
            .map(|(subject, _)| format!("Nothing is asked of {}, so nothing was chosen.", visible(subject)))
            .map(Guidance::from);
        shared.notes.extend(
            notes
                .filter(|note| shared.settled.is_empty() && !shared.notes.contains(note))
                .collect::<Vec<_>>(),
        );
    }

    pub(super) fn asked_file() -> std::path::PathBuf {
        Path::new(OWN).join("share-asked")
    }

    /// Notes which questions are about to be shown.
    pub(super) fn note_asked(&self, questions: &[SetupQuestion]) -> Result<(), StoreError> {
        let line = |question: &SetupQuestion| format!("{} {}\n", question.fingerprint, question.subject);
        let lines: String = questions.iter().map(line).collect();
        self.garage.repository().own().write(&Self::asked_file(), lines.as_bytes())
    }

    /// Whether a question was shown otherwise than it is now: an answer to that one is none to this.
    pub(super) fn has_moved_on(&self, question: &SetupQuestion) -> Result<bool, StoreError> {
        let own = self.garage.repository().own();
        let shown = own.read_at_most(&Self::asked_file(), bound::DOCUMENT)?.unwrap_or_default();
        let shown = String::from_utf8_lossy(&shown).into_owned();
        let mut of_it = shown.lines().filter_map(|line| line.split_once(' '));
        let of_it = of_it.find(|(_, subject)| *subject == question.subject);
        Ok(of_it.is_some_and(|(fingerprint, _)| fingerprint != question.fingerprint))
    }
}
