//! Through the gate to write: a file is made whole in `.git/reedbook`, synced, and then renamed into its place, so that a
//! loss of power leaves the old or the new one, never half, and nothing lies beside the documents meanwhile.
//!
//! Where `.git` lies on another disk than the garage, it is made beside its place instead; what a killed process left of it
//! there is overlooked by every reader.

use std::ffi::OsStr;
use std::fs::{File, TryLockError};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::rc::Rc;

use super::{EntryKind, Gate, Odd, TEMPORARY, bound, system};
use crate::machine;
use crate::store::error::{StoreError, disk};

/// Our folder in git's.
pub(in crate::store) const OWN: &str = "reedbook";

impl Gate {
    /// Writes a file whole, with its folders. What is no plain file is not replaced.
    pub(in crate::store) fn write(&self, path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
        self.allow(path, bytes)?;
        let place = self.place(path);
        let above = path.parent().unwrap_or(Path::new(""));
        let folder = self.make_folders(above, "Cannot make the folder of", path)?;
        let name = path.file_name().ok_or_else(|| self.barred(path, Odd::Outside))?;
        let mode = match folder.about(name).map_err(disk("Cannot write", &place))? {
            Some(about) => match about.kind {
                EntryKind::Plain => about.mode,
                EntryKind::Folder => return Err(self.barred(path, Odd::Folder)),
                EntryKind::Odd(what) => return Err(self.barred(path, what)),
            },
            None => None,
        };
        let staging = match &self.staging {
            Some(staging) => staging.make_folders(Path::new(OWN), "Cannot write in", Path::new(OWN))?,
            None => Rc::clone(&folder),
        };
        let put = |from: &system::FolderHandle| -> io::Result<()> {
            let made = made_in(from, bytes, mode)?;
            from.rename(made.as_ref(), &folder, name).inspect_err(|_| {
                // What cannot be removed is overlooked, and cleared by the next writer.
                let _ = from.remove(made.as_ref());
            })?;
            folder.sync()
        };
        match put(&staging) {
            Err(error) if system::is_another_disk(&error) => put(&folder),
            done => done,
        }
        .map_err(disk("Cannot write", &place))
    }

    /// Fails where a file could not be read again, so large is it or so it is called.
    pub(in crate::store) fn allow(&self, path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
        if self.names(path)?.is_empty() {
            return Err(self.barred(path, Odd::Outside));
        }
        let (size, most) = (bytes.len() as u64, bound::of(path));
        if self.is_garage && size > most {
            return Err(self.barred(path, Odd::TooLarge { bytes: size, most }));
        }
        Ok(())
    }

    /// Makes a file that must not be there yet.
    fn make(&self, path: &Path, bytes: &[u8]) -> Result<io::Result<()>, StoreError> {
        let (Some(folder), name) = self.folder_of(path)? else {
            return Ok(Err(ErrorKind::NotFound.into()));
        };
        Ok(folder.make(name).and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        }))
    }

    /// Removes a file, or a link itself, if it is there.
    pub(in crate::store) fn remove(&self, path: &Path) -> Result<(), StoreError> {
        let (Some(folder), name) = self.folder_of(path)? else {
            return Ok(());
        };
        match folder.remove(name) {
            Ok(()) => folder.sync(),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
            Err(error) => Err(error),
        }
        .map_err(disk("Cannot remove", &self.place(path)))
    }

    /// Gives a file another name in this gate, whatever had that name, and waits until that is on disk.
    pub(in crate::store) fn rename(&self, path: &Path, new: &Path) -> Result<(), StoreError> {
        let failed = || disk("Cannot write", &self.place(new));
        let ((Some(from), name), (Some(to), new_name)) = (self.folder_of(path)?, self.folder_of(new)?) else {
            return Err(failed()(ErrorKind::NotFound.into()));
        };
        from.rename(name, &to, new_name).and_then(|()| to.sync()).map_err(failed())
    }

    /// Gives a file a second name, or makes a copy where the file system knows no second names; false where the name is taken.
    pub(in crate::store) fn link(&self, path: &Path, new: &Path) -> Result<bool, StoreError> {
        let failed = || disk("Cannot write", &self.place(new));
        let ((Some(from), name), (Some(to), new_name)) = (self.folder_of(path)?, self.folder_of(new)?) else {
            return Err(failed()(ErrorKind::NotFound.into()));
        };
        let done = match from.link(name, &to, new_name) {
            Err(error) if error.kind() != ErrorKind::AlreadyExists => {
                let bytes = self.read_at_most(path, bound::GIT_INDEX)?.unwrap_or_default();
                self.make(new, &bytes)?
            }
            done => done,
        };
        match done {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => Ok(false),
            Err(error) => Err(failed()(error)),
        }
    }

    /// Waits until a file is on disk.
    pub(in crate::store) fn sync_file(&self, path: &Path) -> Result<(), StoreError> {
        let failed = || disk("Cannot write", &self.place(path));
        match self.folder_of(path)? {
            (Some(folder), name) => folder.open(name).and_then(|(file, _)| file.sync_all()).map_err(failed()),
            _ => Err(failed()(ErrorKind::NotFound.into())),
        }
    }

    /// Makes folders that may be there, each on disk before anything is put into it.
    pub(in crate::store) fn make_folder(&self, path: &Path) -> Result<(), StoreError> {
        self.make_folders(path, "Cannot make", path).map(|_| ())
    }

    /// Makes folders inside one that is there, all on disk at the end.
    pub(in crate::store) fn make_inner(
        &self,
        path: &Path,
        names: impl Iterator<Item = String>,
    ) -> Result<(), StoreError> {
        let failed = || disk("Cannot make the folders of", &self.place(path));
        let Some(folder) = self.walk(path)? else {
            return Err(failed()(ErrorKind::NotFound.into()));
        };
        for name in names {
            match folder.make_folder(name.as_ref()) {
                Err(error) if error.kind() != ErrorKind::AlreadyExists => return Err(failed()(error)),
                _ => {}
            }
        }
        folder.sync().map_err(failed())
    }

    fn make_folders(
        &self,
        path: &Path,
        doing: &'static str,
        of: &Path,
    ) -> Result<Rc<system::FolderHandle>, StoreError> {
        let mut at = Rc::clone(&self.folder);
        let mut walked = std::path::PathBuf::new();
        for name in self.names(path)? {
            walked.push(name);
            let there = match at.about(name) {
                Ok(there) => there,
                Err(error) => return Err(disk(doing, &self.place(of))(error)),
            };
            match there.map(|about| about.kind) {
                Some(EntryKind::Odd(what)) => return Err(self.barred(&walked, what)),
                Some(EntryKind::Plain) => return Err(self.barred(&walked, Odd::File)),
                Some(EntryKind::Folder) => {}
                None => match at.make_folder(name) {
                    // Another process was quicker.
                    Err(error) if error.kind() != ErrorKind::AlreadyExists => Err(error),
                    _ => at.sync(),
                }
                .map_err(disk(doing, &self.place(of)))?,
            }
            at = Rc::new(at.inner(name).map_err(disk(doing, &self.place(of)))?);
        }
        Ok(at)
    }

    /// Removes what killed writers left in our own folder; only called with the writer's lock held.
    pub(in crate::store) fn clear_staging(&self) -> Result<(), StoreError> {
        let Some(folder) = self.folder(Path::new(OWN))? else {
            return Ok(());
        };
        for name in folder.entries()?.into_iter().filter_map(|(name, _)| name.into_string().ok()) {
            if name.starts_with(TEMPORARY) {
                // Only tidiness: a file that stays is overlooked by every reader.
                let _ = folder.open.remove(name.as_ref());
            }
        }
        Ok(())
    }

    /// Opens a file of our own to be locked or said anew, made where it is not there.
    pub(in crate::store) fn own_file(&self, path: &Path) -> Result<OwnFile, StoreError> {
        let (Some(folder), name) = self.folder_of(path)? else {
            return Err(disk("Cannot write", &self.place(path))(ErrorKind::NotFound.into()));
        };
        let about = folder.about(name).map_err(disk("Cannot write", &self.place(path)))?;
        let odd = about.and_then(|about| match about.kind {
            EntryKind::Plain => None,
            EntryKind::Folder => Some(Odd::Folder),
            EntryKind::Odd(what) => Some(what),
        });
        if let Some(what) = odd {
            return Err(self.barred(path, what));
        }
        let (file, about) = folder.open_or_make(name).map_err(disk("Cannot write", &self.place(path)))?;
        match about.kind {
            EntryKind::Plain if about.names < 2 => Ok(OwnFile(file)),
            EntryKind::Plain => Err(self.barred(path, Odd::SecondName)),
            EntryKind::Folder => Err(self.barred(path, Odd::Folder)),
            EntryKind::Odd(what) => Err(self.barred(path, what)),
        }
    }
}

/// Makes a file under a name that is free, whole and on disk; its name.
fn made_in(folder: &system::FolderHandle, bytes: &[u8], mode: Option<u32>) -> io::Result<String> {
    let mut turn = 0_u32;
    let (name, mut file) = loop {
        let name = format!("{TEMPORARY}{}-{turn}", machine::process_id());
        match folder.make(OsStr::new(&name)) {
            Ok(file) => break (name, file),
            Err(error) if error.kind() == ErrorKind::AlreadyExists && turn < 1_000 => turn += 1,
            Err(error) => return Err(error),
        }
    };
    let mut fill = || -> io::Result<()> {
        file.write_all(bytes)?;
        // A file that is replaced keeps its permissions.
        mode.map_or(Ok(()), |mode| system::FolderHandle::permit(&file, mode))?;
        file.sync_all()
    };
    fill().inspect_err(|_| {
        let _ = folder.remove(OsStr::new(&name));
    })?;
    Ok(name)
}

/// An open file of our own. A lock on it is the operating system's, and gone with the process that held it.
#[derive(Debug)]
pub(in crate::store) struct OwnFile(File);

impl OwnFile {
    /// Takes the lock; false where somebody else has it.
    pub(in crate::store) fn try_lock(&self) -> io::Result<bool> {
        match self.0.try_lock() {
            Ok(()) => Ok(true),
            Err(TryLockError::WouldBlock) => Ok(false),
            Err(TryLockError::Error(error)) => Err(error),
        }
    }

    /// What the file says.
    pub(in crate::store) fn text(&mut self) -> io::Result<String> {
        let mut bytes = Vec::new();
        self.0.seek(SeekFrom::Start(0))?;
        Read::by_ref(&mut self.0).take(bound::LINE).read_to_end(&mut bytes)?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }

    /// Makes it say something else.
    pub(in crate::store) fn say(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.set_len(0)?;
        self.0.seek(SeekFrom::Start(0))?;
        self.0.write_all(bytes)
    }
}
