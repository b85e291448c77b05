//! One writer at a time. The lock is the operating system's own (it is gone with the process that held it); the file's
//! text only says who holds it.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use crate::machine::{self, Moment};
use crate::store::error::{StoreError, disk};

/// How long a second writer waits.
const PATIENCE: Duration = Duration::from_secs(5);
const BETWEEN_TRIES: Duration = Duration::from_millis(25);

/// Held while a command writes; let go when dropped.
#[derive(Debug)]
pub struct WriterLock {
    _file: File,
}

impl WriterLock {
    /// Takes the lock in `.git/reedbook`, waiting up to 5 s for another writer.
    pub fn take(folder: &Path, moment: &Moment) -> Result<Self, StoreError> {
        std::fs::create_dir_all(folder).map_err(disk("Cannot write in", folder))?;
        let path = folder.join("writer");
        let mut file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .read(true)
            .write(true)
            .open(&path)
            .map_err(disk("Cannot write", &path))?;
        let mut waited = Duration::ZERO;
        loop {
            match file.try_lock() {
                Ok(()) => break,
                Err(TryLockError::WouldBlock) if waited < PATIENCE => {
                    sleep(BETWEEN_TRIES);
                    waited += BETWEEN_TRIES;
                }
                Err(TryLockError::WouldBlock) => {
                    let mut holder = String::new();
                    // The text is a courtesy; without it the refusal still stands.
                    let _ = file.read_to_string(&mut holder);
                    return Err(StoreError::Locked { holder: holder.trim().to_owned() });
                }
                Err(TryLockError::Error(error)) => return Err(disk("Cannot lock", &path)(error)),
            }
        }
        let holder = format!("process {} since {}", machine::process_id(), moment.now);
        let say = |file: &mut File| -> std::io::Result<()> {
            file.set_len(0)?;
            file.seek(SeekFrom::Start(0))?;
            file.write_all(holder.as_bytes())
        };
        say(&mut file).map_err(disk("Cannot write", &path))?;
        Ok(Self { _file: file })
    }
}
