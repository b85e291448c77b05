//! The handful of files that git opens by their names as soon as a repository is opened. Libraries open them as they lie there, wait at
//! a pipe and read a device to its end: so each is looked at before, in a stranger's garage and on a stick alike.

use std::path::{Path, PathBuf};

use super::included::odd_in_included;
use super::{Barred, Gate, Odd, bound};
use crate::store::error::StoreError;
use crate::store::folder::gate::entry::EntryKind;

/// Files, and the most that is read of each.
const FILES: [(&str, u64); 11] = [
    ("HEAD", bound::LINE),
    ("config", bound::DOCUMENT),
    ("config.worktree", bound::DOCUMENT),
    ("commondir", bound::LINE),
    ("packed-refs", bound::REFERENCES),
    ("shallow", bound::NOTE),
    ("info/grafts", bound::NOTE),
    ("info/exclude", bound::DOCUMENT),
    ("info/attributes", bound::DOCUMENT),
    ("objects/info/alternates", bound::LINE),
    ("objects/info/commit-graph", u64::MAX),
];
/// Folders whose files git opens one and all, and the most that is read of each: packs are mapped, what is logged is only added to.
const FOLDERS: [(&str, u64); 4] = [
    ("refs", bound::LINE),
    ("logs", u64::MAX),
    ("objects/info/commit-graphs", u64::MAX),
    ("objects/pack", u64::MAX),
];
/// Folders in folders of branches: more is no name of a branch.
const DEEPEST: usize = 16;
/// Loose objects whose size is looked at: git packs them long before there are so many, and a list of names costs next to nothing.
const SIZED: usize = 10_000;
/// Repositories that borrow objects of one another: git's own limit.
const BORROWED: usize = 5;

/// What of a repository's files is not to be opened; none where all of them are such as git writes.
pub(in crate::store) fn odd_in_git(repository: &Gate) -> Result<Option<Barred>, StoreError> {
    for (file, most) in FILES {
        if let Some(barred) = repository.odd_at(Path::new(file), most)? {
            return Ok(Some(barred));
        }
    }
    for (folder, most) in FOLDERS {
        if let Some(barred) = repository.odd_below(Path::new(folder), most, 0)? {
            return Ok(Some(barred));
        }
    }
    if let Some(barred) = repository.odd_loose(Path::new("objects"))? {
        return Ok(Some(barred));
    }
    if let Some(barred) = odd_in_included(repository)? {
        return Ok(Some(barred));
    }
    odd_in_borrowed(repository, 0)
}

/// Another repository's objects are opened as well, where this one borrows them.
fn odd_in_borrowed(repository: &Gate, depth: usize) -> Result<Option<Barred>, StoreError> {
    let named = repository.read_at_most(Path::new("objects/info/alternates"), bound::LINE)?;
    odd_in_objects(&repository.top().join("objects"), &named.unwrap_or_default(), depth)
}

fn odd_in_objects(objects: &Path, named: &[u8], depth: usize) -> Result<Option<Barred>, StoreError> {
    if depth >= BORROWED {
        return Ok(None);
    }
    let named = String::from_utf8_lossy(named);
    for line in named.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#')) {
        let place = objects.join(line);
        // One that is not there is git's to tell.
        let Ok(gate) = Gate::of_git_alone(&place) else { continue };
        let alternates = Path::new("info/alternates");
        let odd = match gate.odd_at(alternates, bound::LINE)? {
            None => match gate.odd_below(Path::new("pack"), u64::MAX, 0)? {
                None => gate.odd_loose(Path::new(""))?,
                odd => odd,
            },
            odd => odd,
        };
        if odd.is_some() {
            return Ok(odd);
        }
        let inner = gate.read_at_most(alternates, bound::LINE)?.unwrap_or_default();
        if let Some(odd) = odd_in_objects(&place, &inner, depth + 1)? {
            return Ok(Some(odd));
        }
    }
    Ok(None)
}

/// Whether a name is a loose object's: the 38 digits of its id that are not its folder's.
fn is_rest_of_id(name: &str) -> bool {
    name.len() == 38 && name.bytes().all(|byte| byte.is_ascii_hexdigit())
}

impl Gate {
    /// The folder of git's in a garage: `.git`, or where the file of that name says that it is, and what several work trees share.
    pub(in crate::store) fn require_git_as_git_writes_it(&self) -> Result<(), StoreError> {
        let Some(own) = self.git_folder()? else { return Ok(()) };
        let mut folders = vec![own];
        while let Some(folder) = folders.pop() {
            let Ok(gate) = Self::of_git(&folder, self) else { continue };
            if let Some(barred) = odd_in_git(&gate)? {
                return Err(barred.into());
            }
            let shared = gate.read_at_most(Path::new("commondir"), bound::LINE)?;
            let shared = shared.map(|shared| folder.join(String::from_utf8_lossy(&shared).trim()));
            folders.extend(
                shared.and_then(|shared| shared.canonicalize().ok()).filter(|shared| *shared != folder),
            );
        }
        Ok(())
    }

    fn git_folder(&self) -> Result<Option<PathBuf>, StoreError> {
        let at = self.top.join(".git");
        match self.about_git()? {
            Some(EntryKind::Folder) => Ok(at.canonicalize().ok()),
            Some(EntryKind::Plain) => {
                let Ok(here) = Self::of_git_alone(&self.top) else { return Ok(None) };
                let text = here.read_at_most(Path::new(".git"), bound::LINE)?.unwrap_or_default();
                let text = String::from_utf8_lossy(&text).into_owned();
                let named = text.trim().strip_prefix("gitdir:").map(|named| self.top.join(named.trim()));
                Ok(named.and_then(|named| named.canonicalize().ok()))
            }
            _ => Ok(None),
        }
    }

    /// What lies at a path and is no plain file of a size that its like may have.
    pub(super) fn odd_at(&self, path: &Path, most: u64) -> Result<Option<Barred>, StoreError> {
        let what = match self.about(path) {
            Ok(None) => return Ok(None),
            Ok(Some(about)) => match about.kind {
                EntryKind::Plain if about.size > most => Odd::TooLarge { bytes: about.size, most },
                EntryKind::Plain => return Ok(None),
                EntryKind::Folder => Odd::Folder,
                EntryKind::Odd(what) => what,
            },
            // A folder above it is none.
            Err(StoreError::Barred(barred)) => return Ok(Some(barred)),
            Err(error) => return Err(error),
        };
        Ok(Some(Barred { path: self.called.join(path), what }))
    }

    /// What lies in the place of a loose object: git opens one by its name, waits at a pipe and reads a gigabyte of nothing.
    fn odd_loose(&self, objects: &Path) -> Result<Option<Barred>, StoreError> {
        let mut seen = 0;
        for first in 0..=255_u8 {
            let inner = objects.join(format!("{first:02x}"));
            let folder = match self.folder(&inner) {
                Ok(Some(folder)) => folder,
                Ok(None) => continue,
                Err(StoreError::Barred(barred)) => return Ok(Some(barred)),
                Err(error) => return Err(error),
            };
            for (name, kind) in folder.entries()? {
                let Some(name) = name.to_str().filter(|name| is_rest_of_id(name)) else { continue };
                seen += 1;
                let size = match kind {
                    EntryKind::Plain if seen > SIZED => continue,
                    EntryKind::Plain => folder.about(name)?.map_or(0, |about| about.size),
                    _ => 0,
                };
                let what = match kind {
                    EntryKind::Plain if size > bound::OBJECT => {
                        Odd::TooLarge { bytes: size, most: bound::OBJECT }
                    }
                    EntryKind::Plain => continue,
                    EntryKind::Folder => Odd::Folder,
                    EntryKind::Odd(what) => what,
                };
                return Ok(Some(Barred { path: self.called.join(inner.join(name)), what }));
            }
        }
        Ok(None)
    }

    fn odd_below(&self, path: &Path, most: u64, depth: usize) -> Result<Option<Barred>, StoreError> {
        let folder = match self.folder(path) {
            Ok(Some(folder)) => folder,
            Ok(None) => return Ok(None),
            Err(StoreError::Barred(barred)) => return Ok(Some(barred)),
            Err(error) => return Err(error),
        };
        for (name, kind) in folder.entries()? {
            let inner = path.join(&name);
            let odd = match kind {
                EntryKind::Folder if depth < DEEPEST => self.odd_below(&inner, most, depth + 1)?,
                EntryKind::Folder => Some(Barred { path: self.called.join(inner), what: Odd::Folder }),
                EntryKind::Plain if most == u64::MAX => None,
                _ => self.odd_at(&inner, most)?,
            };
            if odd.is_some() {
                return Ok(odd);
            }
        }
        Ok(None)
    }
}
