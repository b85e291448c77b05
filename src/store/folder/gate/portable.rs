//! The same calls where a system has no `openat`: each name is looked at before it is used, and is not used where it is a
//! link. Between the two somebody who can write in the garage at that moment could still put one there.

use std::ffi::{OsStr, OsString};
use std::fs::{self, File, Metadata, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use super::Odd;

use crate::store::folder::gate::entry::{About, EntryKind};

/// A folder.
#[derive(Debug)]
pub(super) struct FolderHandle(PathBuf);

impl FolderHandle {
    pub(super) fn top(path: &Path) -> io::Result<Self> {
        if fs::metadata(path)?.is_dir() {
            Ok(Self(path.to_owned()))
        } else {
            Err(io::ErrorKind::NotADirectory.into())
        }
    }

    pub(super) fn inner(&self, name: &OsStr) -> io::Result<Self> {
        let path = self.0.join(name);
        if fs::symlink_metadata(&path)?.is_dir() {
            Ok(Self(path))
        } else {
            Err(io::ErrorKind::NotADirectory.into())
        }
    }

    pub(super) fn about(&self, name: &OsStr) -> io::Result<Option<About>> {
        match fs::symlink_metadata(self.0.join(name)) {
            Ok(data) => Ok(Some(about(&data))),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    pub(super) fn open(&self, name: &OsStr) -> io::Result<(File, About)> {
        self.opened(name, OpenOptions::new().read(true))
    }

    pub(super) fn open_or_make(&self, name: &OsStr) -> io::Result<(File, About)> {
        self.opened(name, OpenOptions::new().read(true).write(true).create(true).truncate(false))
    }

    fn opened(&self, name: &OsStr, options: &mut OpenOptions) -> io::Result<(File, About)> {
        match self.about(name)? {
            Some(about) if about.kind != EntryKind::Plain => Err(io::ErrorKind::InvalidInput.into()),
            _ => {
                let file = options.open(self.0.join(name))?;
                let about = about(&file.metadata()?);
                Ok((file, about))
            }
        }
    }

    pub(super) fn make(&self, name: &OsStr) -> io::Result<File> {
        OpenOptions::new().write(true).create_new(true).open(self.0.join(name))
    }

    // The same on every system, though this one has no permissions of that kind.
    #[allow(clippy::unnecessary_wraps)]
    pub(super) fn permit(_: &File, _: u32) -> io::Result<()> {
        Ok(())
    }

    pub(super) fn make_folder(&self, name: &OsStr) -> io::Result<()> {
        fs::create_dir(self.0.join(name))
    }

    pub(super) fn rename(&self, name: &OsStr, to: &Self, new: &OsStr) -> io::Result<()> {
        fs::rename(self.0.join(name), to.0.join(new))
    }

    pub(super) fn link(&self, name: &OsStr, to: &Self, new: &OsStr) -> io::Result<()> {
        fs::hard_link(self.0.join(name), to.0.join(new))
    }

    pub(super) fn remove(&self, name: &OsStr) -> io::Result<()> {
        fs::remove_file(self.0.join(name))
    }

    pub(super) fn entries(&self) -> io::Result<Vec<(OsString, EntryKind)>> {
        let mut found = Vec::new();
        for entry in fs::read_dir(&self.0)? {
            let entry = entry?;
            let kind = self.about(&entry.file_name())?.map(|about| about.kind);
            found.extend(kind.map(|kind| (entry.file_name(), kind)));
        }
        Ok(found)
    }

    // A folder cannot be opened to be synced everywhere.
    #[allow(clippy::unnecessary_wraps, clippy::unused_self)]
    pub(super) fn sync(&self) -> io::Result<()> {
        Ok(())
    }
}

pub(super) fn is_another_disk(error: &io::Error) -> bool {
    error.kind() == io::ErrorKind::CrossesDevices
}

fn about(data: &Metadata) -> About {
    let kind = if data.is_symlink() {
        EntryKind::Odd(Odd::Link)
    } else if data.is_dir() {
        EntryKind::Folder
    } else if data.is_file() {
        EntryKind::Plain
    } else {
        EntryKind::Odd(Odd::Device)
    };
    let since = data.modified().ok().and_then(|time| time.duration_since(UNIX_EPOCH).ok());
    About {
        kind,
        size: data.len(),
        modified: since.and_then(|since| i64::try_from(since.as_nanos()).ok()).unwrap_or(0),
        identity: String::new(),
        mode: None,
        names: 1,
    }
}
