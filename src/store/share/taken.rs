//! What the other side took out, and what is not sent.

use git2::Oid;

use super::Meeting;
use super::words::{broken, way_out_of};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::store::error::StoreError;
use crate::store::history::numbers::Numbers;
use crate::store::index::outings::path_text;

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
                + " takes it out here, too; git keeps what was before as refs/reedbook/before.",
        ))
    }

    /// What nobody could read is not sent: both sides of a merge in one file, or what is no TOML.
    pub(super) fn require_whole(&self, commit: Oid) -> Result<(), StoreError> {
        let Some(theirs) = self.theirs.filter(|theirs| *theirs != commit) else { return Ok(()) };
        match broken(&self.forward(theirs, commit)?) {
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
