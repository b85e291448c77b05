//! Through the gate to write: a file is made whole in `.git/reedbook`, synced, and then renamed into its place, so that a
//! loss of power leaves the old or the new one, never half, and nothing lies beside the documents meanwhile.
//!
//! Where `.git` lies on another disk than the garage, it is made beside its place instead; what a killed process left of it
//! there is overlooked by every reader.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs::{File, TryLockError};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::rc::Rc;

use super::{Gate, Odd, TEMPORARY, bound, system};
use crate::machine;
use crate::store::error::{StoreError, disk};
use crate::store::folder::gate::entry::EntryKind;

/// Our folder in git's.
pub(in crate::store) const OWN: &str = "reedbook";

/// Hears how many files of how many are written.
pub(in crate::store) type Heard<'h> = dyn Fn(usize, usize) + 'h;

/// Files that are open at once: with their folders three times as many, and a process may have 256.
const AT_ONCE: usize = 50;

/// How many of them are brought to disk at a time.
const SYNCING: usize = 16;

/// A file that is made and has not got its place yet.
struct Begun<'f> {
    path: &'f Path,
    folder: Rc<system::FolderHandle>,
    name: &'f OsStr,
    staging: Rc<system::FolderHandle>,
    made: String,
    file: File,
}

impl Gate {
    /// Writes a file whole, with its folders. What is no plain file is not replaced.
    pub(in crate::store) fn write(&self, path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
        self.allow(path, bytes)?;
        let place = self.place(path);
        let (folder, name, mode) = self.room_for(path)?;
        let staging = self.staging_beside(&folder)?;
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

    /// Writes many files as [`Gate::write`] does one, in far less time: a disk brings a hundred new files to rest together almost as
    /// soon as one, and each folder once.
    pub(in crate::store) fn write_all(
        &self,
        files: &[(&Path, &[u8])],
        heard: &Heard<'_>,
    ) -> Result<(), StoreError> {
        for (at, some) in files.chunks(AT_ONCE).enumerate() {
            self.write_some(some)?;
            heard((at * AT_ONCE + some.len()).min(files.len()), files.len());
        }
        Ok(())
    }

    fn write_some(&self, files: &[(&Path, &[u8])]) -> Result<(), StoreError> {
        let mut begun = Vec::new();
        let done = self.begin_all(files, &mut begun).and_then(|()| self.place_all(&begun));
        if done.is_err() {
            // What got its name already is gone from here; what cannot be removed is cleared by the next writer.
            for one in &begun {
                let _ = one.staging.remove(one.made.as_ref());
            }
        }
        done
    }

    fn begin_all<'f>(
        &self,
        files: &[(&'f Path, &[u8])],
        begun: &mut Vec<Begun<'f>>,
    ) -> Result<(), StoreError> {
        for (path, bytes) in files {
            self.allow(path, bytes)?;
            let (folder, name, mode) = self.room_for(path)?;
            let staging = self.staging_beside(&folder)?;
            let first = u32::try_from(begun.len()).unwrap_or_default();
            let (made, file) =
                begun_in(&staging, bytes, mode, first).map_err(disk("Cannot write", &self.place(path)))?;
            begun.push(Begun { path, folder, name, staging, made, file });
        }
        Ok(())
    }

    /// All of them on disk first, then each in its place, then the folders on disk.
    fn place_all(&self, begun: &[Begun<'_>]) -> Result<(), StoreError> {
        sync_together(begun).map_err(disk(
            "Cannot write",
            &self.place(begun.first().map_or(Path::new(""), |one| one.path)),
        ))?;
        let mut folders = BTreeMap::new();
        for one in begun {
            match one.staging.rename(one.made.as_ref(), &one.folder, one.name) {
                Err(error) if system::is_another_disk(&error) => {
                    let bytes = one.staging.open(one.made.as_ref()).and_then(|(mut file, _)| {
                        let mut bytes = Vec::new();
                        file.read_to_end(&mut bytes).map(|_| bytes)
                    });
                    let bytes = bytes.map_err(disk("Cannot write", &self.place(one.path)))?;
                    let _ = one.staging.remove(one.made.as_ref());
                    self.write(one.path, &bytes)?;
                }
                done => done.map_err(disk("Cannot write", &self.place(one.path)))?,
            }
            folders.insert(one.path.parent(), (one.path, &one.folder));
        }
        for (path, folder) in folders.into_values() {
            folder.sync().map_err(disk("Cannot write", &self.place(path)))?;
        }
        Ok(())
    }

    /// The folder of a file that is to be written, made where it is not there, its name in it, and the permissions of the file that it
    /// replaces.
    fn room_for<'p>(
        &self,
        path: &'p Path,
    ) -> Result<(Rc<system::FolderHandle>, &'p OsStr, Option<u32>), StoreError> {
        let above = path.parent().unwrap_or(Path::new(""));
        let folder = self.make_folders(above, "Cannot make the folder of", path)?;
        let name = path.file_name().ok_or_else(|| self.barred(path, Odd::Outside))?;
        let about = folder.about(name).map_err(disk("Cannot write", &self.place(path)))?;
        let mode = match about {
            Some(about) => match about.kind {
                EntryKind::Plain => about.mode,
                EntryKind::Folder => return Err(self.barred(path, Odd::Folder)),
                EntryKind::Odd(what) => return Err(self.barred(path, what)),
            },
            None => None,
        };
        Ok((folder, name, mode))
    }

    /// Where a file is made before it gets its place in a folder.
    fn staging_beside(
        &self,
        folder: &Rc<system::FolderHandle>,
    ) -> Result<Rc<system::FolderHandle>, StoreError> {
        match &self.staging {
            Some(staging) => staging.make_folders(Path::new(OWN), "Cannot write in", Path::new(OWN)),
            None => Ok(Rc::clone(folder)),
        }
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
    let (name, file) = begun_in(folder, bytes, mode, 0)?;
    file.sync_all().inspect_err(|_| {
        let _ = folder.remove(OsStr::new(&name));
    })?;
    Ok(name)
}

/// The same, not on disk yet; the number in its name is `first` or the next that is free.
fn begun_in(
    folder: &system::FolderHandle,
    bytes: &[u8],
    mode: Option<u32>,
    first: u32,
) -> io::Result<(String, File)> {
    let mut turn = first;
    let (name, mut file) = loop {
        let name = format!("{TEMPORARY}{}-{turn}", machine::process_id());
        match folder.make(OsStr::new(&name)) {
            Ok(file) => break (name, file),
            Err(error) if error.kind() == ErrorKind::AlreadyExists && turn < first + 1_000 => turn += 1,
            Err(error) => return Err(error),
        }
    };
    let mut fill = || -> io::Result<()> {
        file.write_all(bytes)?;
        // A file that is replaced keeps its permissions.
        mode.map_or(Ok(()), |mode| system::FolderHandle::permit(&file, mode))
    };
    fill().inspect_err(|_| {
        let _ = folder.remove(OsStr::new(&name));
    })?;
    Ok((name, file))
}

/// Brings files to disk, several at a time: a disk writes what is asked of it meanwhile in one go, and one after the other each waits for
/// its own.
fn sync_together(begun: &[Begun<'_>]) -> io::Result<()> {
    let files: Vec<&File> = begun.iter().map(|one| &one.file).collect();
    let share = files.len().div_ceil(SYNCING).max(1);
    std::thread::scope(|scope| {
        let sync = |some: &[&File]| some.iter().try_for_each(|file| file.sync_all());
        let (own, others) = files.split_at(share.min(files.len()));
        let others: Vec<_> = others.chunks(share).map(|some| scope.spawn(move || sync(some))).collect();
        let done = sync(own);
        let failed = || io::Error::other("a file could not be brought to disk");
        others.into_iter().map(|one| one.join().unwrap_or_else(|_| Err(failed()))).fold(done, io::Result::and)
    })
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
