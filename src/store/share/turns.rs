//! Taking turns: one share at a time in a garage, one sender at a time to a repository on a disk; and what killed ones left of git's own
//! locks is in nobody's way.

use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use crate::machine::Moment;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::{Gate, OWN};
use crate::store::folder::lock::WriterLock;

/// Held by libgit2 while it brings or takes, and by git for moments where a shallow clone sends.
const SHALLOW: &str = "shallow.lock";
/// How long git may hold a lock of its own.
const PATIENCE: Duration = Duration::from_secs(3);
const BETWEEN_LOOKS: Duration = Duration::from_millis(25);

/// Waits until no other share is under way in this garage, and clears what one that was killed left.
pub(super) fn of_sharing(garage: &Garage, moment: &Moment) -> Result<WriterLock, StoreError> {
    let own = garage.repository().own();
    let turn = WriterLock::named(own, "sharing", moment, Some(&|who, waited| garage.waits(who, waited)))?;
    // Left of a writer that was killed, and of an older share.
    drop(garage.begin_writing(moment)?);
    let common = garage.repository().common();
    // References that nobody else writes.
    for (gate, folder) in
        [(common, PathBuf::from("refs/reedbook")), (own, Path::new(OWN).join("wire/refs/wire"))]
    {
        for name in ["before", "after", "theirs", "ours", "shared"] {
            if gate.folder(&folder)?.is_some() {
                gate.remove(&folder.join(format!("{name}.lock")))?;
            }
        }
    }
    clear_where_it_stays(common)?;
    Ok(turn)
}

/// Waits for the turn to send to a repository on a disk; none where another sender has it for long.
pub(super) fn of_sending(
    there: &Gate,
    branch: &str,
    moment: &Moment,
) -> Result<Option<WriterLock>, StoreError> {
    let turn = match WriterLock::named(there, "sending", moment, None) {
        Ok(turn) => turn,
        Err(StoreError::Locked { .. }) => return Ok(None),
        Err(error) => return Err(error),
    };
    clear_where_it_stays(there)?;
    let lock = Path::new("refs/heads").join(format!("{branch}.lock"));
    if is_soon_gone(there, &lock)? { Ok(Some(turn)) } else { Err(StoreError::GitLocked(there.place(&lock))) }
}

/// Clears the lock of shallow histories, which every bringing and taking makes, where nobody is at work any more.
fn clear_where_it_stays(gate: &Gate) -> Result<(), StoreError> {
    let lock = Path::new(SHALLOW);
    if is_soon_gone(gate, lock)? { Ok(()) } else { gate.remove(lock) }
}

fn is_soon_gone(gate: &Gate, lock: &Path) -> Result<bool, StoreError> {
    let mut waited = Duration::ZERO;
    while gate.folder(lock.parent().unwrap_or(Path::new("")))?.is_some() && gate.about(lock)?.is_some() {
        if waited >= PATIENCE {
            return Ok(false);
        }
        sleep(BETWEEN_LOOKS);
        waited += BETWEEN_LOOKS;
    }
    Ok(true)
}
