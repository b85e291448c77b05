//! One writer at a time. The lock is the operating system's own (it is gone with the process that held it); the file's
//! text only says who holds it.

use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use crate::machine::{self, Moment, ProcessState};
use crate::notebook::fields::names::visible;
use crate::store::error::{StoreError, disk};
use crate::store::folder::gate::{Gate, OWN, OwnFile};

/// How long a second writer waits for one and the same holder that is not known to live and go on; while they change, work is done and
/// its turn comes.
const PATIENCE: Duration = Duration::from_secs(15);
const BETWEEN_TRIES: Duration = Duration::from_millis(25);

/// Hears for whom is waited, and how long already.
pub(in crate::store) type Waits<'w> = dyn Fn(&str, Duration) + 'w;

/// Held while a command writes; let go when dropped.
#[derive(Debug)]
pub struct WriterLock {
    _file: OwnFile,
}

impl WriterLock {
    /// Takes the lock in `.git/reedbook`, waiting for another writer as long as that lives and is not stopped.
    pub(in crate::store) fn take(git: &Gate, moment: &Moment, waits: &Waits<'_>) -> Result<Self, StoreError> {
        Self::named(git, "writer", moment, Some(waits))
    }

    /// Takes the lock where nobody has it.
    pub(in crate::store) fn take_if_free(git: &Gate) -> Option<Self> {
        let file = git.own_file(&Path::new(OWN).join("writer")).ok()?;
        file.try_lock().ok()?.then_some(Self { _file: file })
    }

    /// Takes a lock of another name there: of those that share, or that send to one repository. Where nobody hears for whom is waited, as on a
    /// disk that other machines write too, that is not for long.
    pub(in crate::store) fn named(
        git: &Gate,
        name: &str,
        moment: &Moment,
        waits: Option<&Waits<'_>>,
    ) -> Result<Self, StoreError> {
        git.make_folder(Path::new(OWN))?;
        let path = Path::new(OWN).join(name);
        let mut file = git.own_file(&path)?;
        let path = git.place(&path);
        let (mut waited, mut waited_for, mut in_all) = (Duration::ZERO, None, Duration::ZERO);
        while !file.try_lock().map_err(disk("Cannot lock", &path))? {
            // The text is a courtesy; without it the refusal still stands.
            let holder = file.text().unwrap_or_default();
            let state = process_of(&holder).and_then(machine::process_state);
            let lives = waits.filter(|_| state == Some(ProcessState::Lives));
            if waited >= PATIENCE && lives.is_none() {
                return Err(StoreError::Locked { holder: named(&holder, state) });
            }
            if waited_for.as_ref() != Some(&holder) {
                (waited, waited_for) = (Duration::ZERO, Some(holder.clone()));
            }
            if let Some(waits) = lives {
                waits(&visible(holder.trim()), in_all);
            }
            sleep(BETWEEN_TRIES);
            waited += BETWEEN_TRIES;
            in_all += BETWEEN_TRIES;
        }
        let holder = format!("process {} since {}", machine::process_id(), moment.now);
        file.say(holder.as_bytes()).map_err(disk("Cannot write", &path))?;
        Ok(Self { _file: file })
    }
}

/// The number of the process that a lock's text names.
fn process_of(holder: &str) -> Option<u32> {
    holder.strip_prefix("process ")?.split_whitespace().next()?.parse().ok()
}

/// Who holds a lock, in words: one that is gone does not.
fn named(holder: &str, state: Option<ProcessState>) -> String {
    let holder = visible(holder.trim());
    match state {
        Some(ProcessState::Gone) => "which process that is, it does not say".to_owned(),
        Some(ProcessState::Stopped) => format!("{holder}, which is stopped"),
        _ if holder.is_empty() => "which process that is, it does not say".to_owned(),
        _ => holder,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_process_that_is_gone_is_not_named_and_a_stopped_one_is() {
        let holder = "process 4194305 since 2026-05-16T09:00+02:00";
        assert_eq!(process_of(holder), Some(4_194_305));
        assert!(!named(holder, Some(ProcessState::Gone)).contains("4194305"));
        assert!(named(holder, Some(ProcessState::Stopped)).ends_with(", which is stopped"));
        assert_eq!(process_of("somebody else's"), None);
        if let Some(state) = machine::process_state(machine::process_id()) {
            assert_eq!(state, ProcessState::Lives);
            // More than a system has.
            assert_eq!(machine::process_state(u32::MAX), Some(ProcessState::Gone));
        }
    }
}
