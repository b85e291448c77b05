//! One writer at a time. The lock is the operating system's own (it is gone with the process that held it); the file's
//! text only says who holds it.

use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use crate::machine::{self, Moment};
use crate::notebook::fields::names::visible;
use crate::store::error::{StoreError, disk};
use crate::store::folder::gate::{Gate, OWN, OwnFile};

/// How long a second writer waits for one and the same holder; while they change, work is done and its turn comes.
const PATIENCE: Duration = Duration::from_secs(15);
const BETWEEN_TRIES: Duration = Duration::from_millis(25);

/// Held while a command writes; let go when dropped.
#[derive(Debug)]
pub struct WriterLock {
    _file: OwnFile,
}

impl WriterLock {
    /// Takes the lock in `.git/reedbook`, waiting up to 15 s for one other writer.
    pub(in crate::store) fn take(git: &Gate, moment: &Moment) -> Result<Self, StoreError> {
        Self::named(git, "writer", moment)
    }

    /// Takes the lock where nobody has it.
    pub(in crate::store) fn take_if_free(git: &Gate) -> Option<Self> {
        let file = git.own_file(&Path::new(OWN).join("writer")).ok()?;
        file.try_lock().ok()?.then_some(Self { _file: file })
    }

    /// Takes a lock of another name there, waiting as long: of those that share, or that send to one repository.
    pub(in crate::store) fn named(git: &Gate, name: &str, moment: &Moment) -> Result<Self, StoreError> {
        git.make_folder(Path::new(OWN))?;
        let path = Path::new(OWN).join(name);
        let mut file = git.own_file(&path)?;
        let path = git.place(&path);
        let (mut waited, mut waited_for) = (Duration::ZERO, None);
        while !file.try_lock().map_err(disk("Cannot lock", &path))? {
            // The text is a courtesy; without it the refusal still stands.
            let holder = file.text().unwrap_or_default();
            if waited >= PATIENCE {
                return Err(StoreError::Locked { holder: visible(holder.trim()) });
            }
            if waited_for.as_ref() != Some(&holder) {
                (waited, waited_for) = (Duration::ZERO, Some(holder));
            }
            sleep(BETWEEN_TRIES);
            waited += BETWEEN_TRIES;
        }
        let holder = format!("process {} since {}", machine::process_id(), moment.now);
        file.say(holder.as_bytes()).map_err(disk("Cannot write", &path))?;
        Ok(Self { _file: file })
    }
}
