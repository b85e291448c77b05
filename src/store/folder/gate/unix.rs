//! The system's calls on Unix: each names one file in an open folder and follows no link.

use std::ffi::{OsStr, OsString};
use std::fs::File;
use std::io;
use std::os::fd::OwnedFd;
use std::os::unix::ffi::OsStrExt;
use std::path::Path;

use rustix::fs::{self, AtFlags, CWD, Dir, FileType, Mode, OFlags, Stat};
use rustix::io::Errno;

use super::Odd;

use crate::store::folder::gate::entry::{About, EntryKind};

/// An open folder.
#[derive(Debug)]
pub(super) struct FolderHandle(OwnedFd);

/// Permissions as an editor would give them; the user's mask takes its part away.
const FILE: Mode = Mode::from_raw_mode(0o666);
const FOLDER: Mode = Mode::from_raw_mode(0o777);

impl FolderHandle {
    /// Opens a top folder, to which links may lead.
    pub(super) fn top(path: &Path) -> io::Result<Self> {
        Ok(Self(fs::openat(CWD, path, OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC, Mode::empty())?))
    }

    /// Opens a folder in it.
    pub(super) fn inner(&self, name: &OsStr) -> io::Result<Self> {
        let flags = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::NOFOLLOW | OFlags::CLOEXEC;
        Ok(Self(fs::openat(&self.0, name, flags, Mode::empty())?))
    }

    /// What lies under a name; none where nothing does.
    pub(super) fn about(&self, name: &OsStr) -> io::Result<Option<About>> {
        match fs::statat(&self.0, name, AtFlags::SYMLINK_NOFOLLOW) {
            Ok(stat) => Ok(Some(about(&stat))),
            Err(Errno::NOENT) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    /// Opens a file to read, without waiting where it is a pipe.
    pub(super) fn open(&self, name: &OsStr) -> io::Result<(File, About)> {
        self.opened(name, OFlags::RDONLY)
    }

    /// Opens a file to read and write, made where it is not there.
    pub(super) fn open_or_make(&self, name: &OsStr) -> io::Result<(File, About)> {
        self.opened(name, OFlags::RDWR | OFlags::CREATE)
    }

    fn opened(&self, name: &OsStr, flags: OFlags) -> io::Result<(File, About)> {
        let flags = flags | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::NOCTTY | OFlags::CLOEXEC;
        let file = fs::openat(&self.0, name, flags, FILE)?;
        let stat = fs::fstat(&file)?;
        Ok((file.into(), about(&stat)))
    }

    /// Makes a file that is not there yet.
    pub(super) fn make(&self, name: &OsStr) -> io::Result<File> {
        let flags = OFlags::WRONLY | OFlags::CREATE | OFlags::EXCL | OFlags::NOFOLLOW | OFlags::CLOEXEC;
        Ok(fs::openat(&self.0, name, flags, FILE)?.into())
    }

    /// Gives a file the permissions of another.
    // The width of a mode differs from system to system.
    #[allow(clippy::useless_conversion)]
    pub(super) fn permit(file: &File, mode: u32) -> io::Result<()> {
        Ok(fs::fchmod(file, Mode::from_bits_truncate(mode.try_into().unwrap_or_default()))?)
    }

    /// Makes a folder that is not there yet.
    pub(super) fn make_folder(&self, name: &OsStr) -> io::Result<()> {
        Ok(fs::mkdirat(&self.0, name, FOLDER)?)
    }

    /// Gives a file its name in another folder, whatever had that name before.
    pub(super) fn rename(&self, name: &OsStr, to: &Self, new: &OsStr) -> io::Result<()> {
        Ok(fs::renameat(&self.0, name, &to.0, new)?)
    }

    /// Gives a file a second name, which must be free.
    pub(super) fn link(&self, name: &OsStr, to: &Self, new: &OsStr) -> io::Result<()> {
        Ok(fs::linkat(&self.0, name, &to.0, new, AtFlags::empty())?)
    }

    /// Removes a file, or the link itself.
    pub(super) fn remove(&self, name: &OsStr) -> io::Result<()> {
        Ok(fs::unlinkat(&self.0, name, AtFlags::empty())?)
    }

    /// Every name in it but `.` and `..`.
    pub(super) fn entries(&self) -> io::Result<Vec<(OsString, EntryKind)>> {
        let mut found = Vec::new();
        for entry in Dir::read_from(&self.0)? {
            let entry = entry?;
            let name = OsStr::from_bytes(entry.file_name().to_bytes());
            if name == "." || name == ".." {
                continue;
            }
            let kind = match entry.file_type() {
                // Some file systems do not say.
                FileType::Unknown => self.about(name)?.map(|about| about.kind),
                known => Some(kind(known)),
            };
            found.extend(kind.map(|kind| (name.to_owned(), kind)));
        }
        Ok(found)
    }

    /// Waits until its names are on disk.
    pub(super) fn sync(&self) -> io::Result<()> {
        Ok(fs::fsync(&self.0)?)
    }
}

/// Whether a file cannot get a name in another folder because that lies on another disk.
pub(super) fn is_another_disk(error: &io::Error) -> bool {
    error.raw_os_error() == Some(Errno::XDEV.raw_os_error())
}

fn kind(of: FileType) -> EntryKind {
    match of {
        FileType::RegularFile => EntryKind::Plain,
        FileType::Directory => EntryKind::Folder,
        FileType::Symlink => EntryKind::Odd(Odd::Link),
        FileType::Fifo => EntryKind::Odd(Odd::Pipe),
        FileType::Socket => EntryKind::Odd(Odd::Socket),
        _ => EntryKind::Odd(Odd::Device),
    }
}

// The widths of these numbers differ from system to system.
#[allow(clippy::useless_conversion, clippy::unnecessary_fallible_conversions)]
fn about(stat: &Stat) -> About {
    let number = |value: i64, nano: i64| value.saturating_mul(1_000_000_000).saturating_add(nano);
    let nano = |part: i64| part;
    let modified = number(
        i64::try_from(stat.st_mtime).unwrap_or_default(),
        nano(i64::try_from(stat.st_mtime_nsec).unwrap_or_default()),
    );
    About {
        kind: kind(FileType::from_raw_mode(stat.st_mode)),
        size: u64::try_from(stat.st_size).unwrap_or_default(),
        modified,
        identity: format!("{} {}.{}", stat.st_ino, stat.st_ctime, stat.st_ctime_nsec),
        mode: Some(u32::from(stat.st_mode) & 0o7777),
        names: u64::try_from(stat.st_nlink).unwrap_or(1),
    }
}
