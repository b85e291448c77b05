//! The one gate to the files of a garage: whatever is opened, listed, written, renamed or removed goes through it.
//!
//! A garage may be a stranger's. So a path is walked from the top folder one name at a time, and no name is followed where it
//! is a link; what is opened is a plain file, never a pipe, a device or a socket; and no more is read than such a file can
//! need ([`bound`]). What stands in the way is named ([`Barred`]) and left alone; the rest of the garage stays usable.
//!
//! On Unix each step is an `openat` without following, by `rustix`: what was looked at and what is opened cannot be two
//! files. `rustix` was in the tree already, and a crate that walks links as long as they stay inside would still let one
//! document pose as another, or as something in `.git`. Elsewhere (`portable.rs`) each name is looked at before it is used.

mod barred;
pub(in crate::store) mod bound;
pub(in crate::store) mod entry;
mod gits_own;
mod included;
#[cfg(any(not(unix), test))]
mod portable;
#[cfg(test)]
mod tests;
#[cfg(unix)]
mod unix;
mod writing;

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Read};
use std::path::{Component, Path, PathBuf};
use std::rc::Rc;

use crate::store::error::{StoreError, disk};
use crate::store::folder::gate::entry::{About, EntryKind};
use crate::store::history::signs::sign_of_life;
pub use barred::{Barred, Odd};
pub(in crate::store) use gits_own::odd_in_git;
#[cfg(not(unix))]
use portable as system;
#[cfg(unix)]
use unix as system;
pub(in crate::store) use writing::{Heard, OWN, OwnFile};

/// Beginning of the names of our temporary files.
pub(in crate::store) const TEMPORARY: &str = ".reedbook-";

/// A folder below which files are opened.
#[derive(Debug)]
pub(in crate::store) struct Gate {
    /// Where it is, for messages and for the libraries that want a path.
    top: PathBuf,
    /// What is said in place of it: nothing for the garage, `.git` for its repository.
    called: PathBuf,
    folder: Rc<system::FolderHandle>,
    /// Whether `.git` is out of bounds.
    is_garage: bool,
    /// Where files are made before they take their place.
    staging: Option<Rc<Gate>>,
}

/// An open folder of a garage: its files are reached by one name each.
#[derive(Debug)]
pub(in crate::store) struct Folder {
    /// Its path in the garage.
    path: PathBuf,
    /// Where it is, for messages.
    place: PathBuf,
    open: Rc<system::FolderHandle>,
}

impl Gate {
    /// The gate of a garage whose top folder this is. The way to the top folder is the user's: links in it are followed.
    pub(in crate::store) fn of_garage(top: &Path) -> io::Result<Self> {
        Self::open(top, PathBuf::new(), true)
    }

    /// The gate of a folder that is made where it is not there.
    pub(in crate::store) fn of_new_garage(top: &Path) -> Result<Self, StoreError> {
        std::fs::create_dir_all(top).map_err(disk("Cannot make the folder", top))?;
        let real = top.canonicalize().map_err(disk("Cannot open the folder", top))?;
        Self::of_garage(&real).map_err(disk("Cannot open the folder", &real))
    }

    /// The gate of a folder of git's own, which usually lies in the garage and is called by its name there.
    pub(in crate::store) fn of_git(folder: &Path, garage: &Self) -> io::Result<Self> {
        let in_the_garage = garage.top.join(".git").canonicalize().is_ok_and(|own| own == folder);
        Self::open(folder, if in_the_garage { PathBuf::from(".git") } else { folder.to_owned() }, false)
    }

    /// The gate of a folder of git's own, wherever it is.
    pub(in crate::store) fn of_git_alone(folder: &Path) -> io::Result<Self> {
        Self::open(folder, folder.to_owned(), false)
    }

    fn open(top: &Path, called: PathBuf, is_garage: bool) -> io::Result<Self> {
        let folder = Rc::new(system::FolderHandle::top(top)?);
        Ok(Self { top: top.to_owned(), called, folder, is_garage, staging: None })
    }

    /// The same gate, its files made in `staging` before they take their place.
    pub(in crate::store) fn staged_in(mut self, staging: &Rc<Self>) -> Self {
        self.staging = Some(Rc::clone(staging));
        self
    }

    /// The path for a library that opens it itself, links in it resolved; the name must have been looked at.
    pub(in crate::store) fn real_path(&self, path: &Path) -> Result<PathBuf, StoreError> {
        let folder = path.parent().unwrap_or(Path::new(""));
        let place = self.top.join(folder).canonicalize().map_err(disk("Cannot open", &self.place(folder)))?;
        Ok(path.file_name().map_or(place.clone(), |name| place.join(name)))
    }

    /// What lies in the place of git's own folder.
    pub(in crate::store) fn about_git(&self) -> Result<Option<EntryKind>, StoreError> {
        let about = self
            .folder
            .about(".git".as_ref())
            .map_err(disk("Cannot read", &self.place(Path::new(".git"))))?;
        match about.map(|about| about.kind) {
            Some(EntryKind::Odd(what)) => Err(self.barred(Path::new(".git"), what)),
            other => Ok(other),
        }
    }

    /// Fails where something else than a plain file lies at a path.
    pub(in crate::store) fn require_plain(&self, path: &Path) -> Result<(), StoreError> {
        match self.about(path)?.map(|about| about.kind) {
            Some(EntryKind::Odd(what)) => Err(self.barred(path, what)),
            Some(EntryKind::Folder) => Err(self.barred(path, Odd::Folder)),
            _ => Ok(()),
        }
    }

    /// Fails where something else than a plain file of a size that its like may have lies at a path.
    pub(in crate::store) fn require_of_a_size(&self, path: &Path, most: u64) -> Result<(), StoreError> {
        match self.odd_at(path, most)? {
            Some(odd) => Err(odd.into()),
            None => Ok(()),
        }
    }

    /// The top folder.
    pub(in crate::store) fn top(&self) -> &Path {
        &self.top
    }

    /// Where a path of it is, for messages.
    pub(in crate::store) fn place(&self, path: &Path) -> PathBuf {
        self.top.join(path)
    }

    fn barred(&self, path: &Path, what: Odd) -> StoreError {
        Barred { path: self.called.join(path), what }.into()
    }

    /// The names of a path, each an ordinary one: nothing leads out of the garage or into its repository.
    fn names<'p>(&self, path: &'p Path) -> Result<Vec<&'p std::ffi::OsStr>, StoreError> {
        let mut names = Vec::new();
        for component in path.components() {
            match component {
                Component::Normal(name) if !(self.is_garage && is_git(name)) => names.push(name),
                _ => return Err(self.barred(path, Odd::Outside)),
            }
        }
        Ok(names)
    }

    /// Walks to a folder; none where it is not there.
    fn walk(&self, path: &Path) -> Result<Option<Rc<system::FolderHandle>>, StoreError> {
        let mut at = Rc::clone(&self.folder);
        let mut walked = PathBuf::new();
        for name in self.names(path)? {
            walked.push(name);
            match at.inner(name) {
                Ok(folder) => at = Rc::new(folder),
                Err(error) => {
                    return match at.about(name).map(|about| about.map(|about| about.kind)) {
                        Ok(Some(EntryKind::Odd(what))) => Err(self.barred(&walked, what)),
                        Ok(Some(EntryKind::Plain)) => Err(self.barred(&walked, Odd::File)),
                        Ok(None) => Ok(None),
                        _ => Err(disk("Cannot read", &self.place(&walked))(error)),
                    };
                }
            }
        }
        Ok(Some(at))
    }

    /// The folder of a path and the last name of it.
    fn folder_of<'p>(
        &self,
        path: &'p Path,
    ) -> Result<(Option<Rc<system::FolderHandle>>, &'p std::ffi::OsStr), StoreError> {
        let name = path.file_name().ok_or_else(|| self.barred(path, Odd::Outside))?;
        self.names(path)?;
        Ok((self.walk(path.parent().unwrap_or(Path::new("")))?, name))
    }

    /// A folder of the garage; none where there is none.
    pub(in crate::store) fn folder(&self, path: &Path) -> Result<Option<Folder>, StoreError> {
        let folder = self.walk(path)?;
        let place = self.place(path);
        Ok(folder.map(|open| Folder { path: self.called.join(path), place, open }))
    }

    /// What lies at a path; none where nothing does.
    pub(in crate::store) fn about(&self, path: &Path) -> Result<Option<About>, StoreError> {
        match self.folder_of(path)? {
            (Some(folder), name) => folder.about(name).map_err(disk("Cannot read", &self.place(path))),
            (None, _) => Ok(None),
        }
    }

    /// Reads a plain file that is no larger than its like may be; none where it is not there.
    pub(in crate::store) fn read(&self, path: &Path) -> Result<Option<Vec<u8>>, StoreError> {
        self.read_at_most(path, bound::of(path))
    }

    /// The same with a bound of its own.
    pub(in crate::store) fn read_at_most(
        &self,
        path: &Path,
        most: u64,
    ) -> Result<Option<Vec<u8>>, StoreError> {
        match self.folder_of(path)? {
            (Some(folder), name) => {
                let named =
                    Named { folder: &folder, path: &self.called.join(path), place: &self.place(path) };
                named.read(name, most)
            }
            (None, _) => Ok(None),
        }
    }
}

impl Folder {
    /// What is in it, by name: each name with what lies there.
    pub(in crate::store) fn entries(&self) -> Result<Vec<(OsString, EntryKind)>, StoreError> {
        let mut entries = self.open.entries().map_err(disk("Cannot read", &self.place))?;
        entries.sort_by(|one, two| one.0.cmp(&two.0));
        Ok(entries)
    }

    /// Names of its plain files, sorted; our temporary files and names that are not text are overlooked.
    pub(in crate::store) fn file_names(&self) -> Result<Vec<String>, StoreError> {
        let plain = self.entries()?.into_iter().filter(|(_, kind)| *kind == EntryKind::Plain);
        let names = plain.filter_map(|(name, _)| name.into_string().ok());
        Ok(names.filter(|name| !is_temporary(name)).collect())
    }

    /// What lies under one of its names.
    pub(in crate::store) fn about(&self, name: &str) -> Result<Option<About>, StoreError> {
        self.open.about(name.as_ref()).map_err(disk("Cannot read", &self.place.join(name)))
    }

    /// Reads one of its files.
    pub(in crate::store) fn read(&self, name: &str) -> Result<Option<Vec<u8>>, StoreError> {
        let path = self.path.join(name);
        let named = Named { folder: &self.open, path: &path, place: &self.place.join(name) };
        named.read(name.as_ref(), bound::of(&path))
    }
}

/// Reads files one after another: the folder of the last one stays open for the next.
pub(in crate::store) struct Reader<'g> {
    gate: &'g Gate,
    last: Option<(PathBuf, Folder)>,
}

impl<'g> Reader<'g> {
    /// One that has read nothing yet.
    pub(in crate::store) fn of(gate: &'g Gate) -> Self {
        Self { gate, last: None }
    }

    /// As [`Gate::read`].
    pub(in crate::store) fn read(&mut self, path: &Path) -> Result<Option<Vec<u8>>, StoreError> {
        let (Some(above), Some(name)) = (path.parent(), path.file_name().and_then(|name| name.to_str()))
        else {
            return self.gate.read(path);
        };
        if self.last.as_ref().is_none_or(|(open, _)| open != above) {
            self.last = self.gate.folder(above)?.map(|folder| (above.to_owned(), folder));
        }
        self.last.as_ref().map_or(Ok(None), |(_, folder)| folder.read(name))
    }
}

/// A name in an open folder, with what it is called in messages.
struct Named<'a> {
    folder: &'a system::FolderHandle,
    /// Its path in the garage.
    path: &'a Path,
    /// Where it is.
    place: &'a Path,
}

impl Named<'_> {
    fn read(&self, name: &std::ffi::OsStr, most: u64) -> Result<Option<Vec<u8>>, StoreError> {
        sign_of_life();
        let Some((file, about)) = self.plain(name)? else {
            return Ok(None);
        };
        let too_large = |bytes| Barred { path: self.path.to_owned(), what: Odd::TooLarge { bytes, most } };
        if about.size > most {
            return Err(too_large(about.size).into());
        }
        let mut bytes = Vec::with_capacity(usize::try_from(about.size).unwrap_or(0));
        // It may have grown since it was looked at.
        file.take(most + 1).read_to_end(&mut bytes).map_err(disk("Cannot read", self.place))?;
        let read = bytes.len() as u64;
        if read > most { Err(too_large(read).into()) } else { Ok(Some(bytes)) }
    }

    /// Opens a plain file; none where nothing is there.
    fn plain(&self, name: &std::ffi::OsStr) -> Result<Option<(File, About)>, StoreError> {
        let barred = |what| StoreError::from(Barred { path: self.path.to_owned(), what });
        let error = match self.folder.open(name) {
            Ok((file, about)) => match about.kind {
                EntryKind::Plain => return Ok(Some((file, about))),
                EntryKind::Folder => return Err(barred(Odd::Folder)),
                EntryKind::Odd(what) => return Err(barred(what)),
            },
            Err(error) => error,
        };
        match self.folder.about(name).map(|about| about.map(|about| about.kind)) {
            Ok(Some(EntryKind::Odd(what))) => Err(barred(what)),
            Ok(Some(EntryKind::Folder)) => Err(barred(Odd::Folder)),
            Ok(None) if error.kind() == ErrorKind::NotFound => Ok(None),
            _ => Err(disk("Cannot read", self.place)(error)),
        }
    }
}

/// Whether a name is one of our temporary files.
pub(in crate::store) fn is_temporary(name: &str) -> bool {
    name.starts_with(TEMPORARY)
}

/// Whether a name is git's own folder, or what some systems take for it.
fn is_git(name: &std::ffi::OsStr) -> bool {
    name.eq_ignore_ascii_case(".git") || name.eq_ignore_ascii_case("git~1")
}

/// Whether a folder, there already or not yet, is below another one: the nearest that is there says where it would lie.
pub(in crate::store) fn lies_in(folder: &Path, other: &Path) -> bool {
    let there = folder.ancestors().find_map(|above| above.canonicalize().ok());
    there.zip(other.canonicalize().ok()).is_some_and(|(there, other)| there.starts_with(other))
}

/// Whether a folder is there and has something in it.
pub(in crate::store) fn is_full(folder: &Path) -> bool {
    fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some())
}
