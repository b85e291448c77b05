//! Files that end before they should: what stands on disk is the beginning of what was recorded, as after a full disk or a lost power, and
//! reads as a whole document all the same. What was in the rest is not answered without, and not recorded as taken out.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

use git2::{ObjectType, Oid};

use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Command;
use crate::notebook::{Code, Finding, Place, SetupFiles};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::repository::Repository;

/// The newest recorded files, folder by folder as they are asked for.
pub struct NewestRecorded<'g> {
    garage: &'g Garage,
    folders: HashMap<PathBuf, BTreeMap<String, Oid>>,
}

impl<'g> NewestRecorded<'g> {
    /// Of a garage.
    pub fn of(garage: &'g Garage) -> Self {
        Self { garage, folders: HashMap::new() }
    }

    /// What is wrong with a file that is only the beginning of what was recorded.
    pub fn shortened(&mut self, file: &Path, bytes: &[u8]) -> Result<Option<Finding>, StoreError> {
        let (Some(folder), Some(name)) = (file.parent(), file.file_name()) else { return Ok(None) };
        let repository = self.garage.repository();
        if !self.folders.contains_key(folder) {
            let names = match repository.head()? {
                Some(head) => repository.names_in(&repository.tree(head)?, folder),
                None => Vec::new(),
            };
            self.folders.insert(folder.to_owned(), names.into_iter().collect());
        }
        let known = self.folders.get(folder).and_then(|names| names.get(name.to_string_lossy().as_ref()));
        match known {
            Some(id) if is_beginning(repository, file, (*id, bytes))? => {
                Ok(Some(shortened_finding(file, bytes)))
            }
            _ => Ok(None),
        }
    }
}

/// The same of one file.
pub(in crate::store) fn shortened(
    garage: &Garage,
    file: &Path,
    bytes: &[u8],
) -> Result<Option<Finding>, StoreError> {
    NewestRecorded::of(garage).shortened(file, bytes)
}

/// Whether bytes are the beginning of a recorded file, and not all of it.
pub(in crate::store) fn is_beginning(
    repository: &Repository,
    file: &Path,
    (recorded, bytes): (Oid, &[u8]),
) -> Result<bool, StoreError> {
    if Oid::hash_object(ObjectType::Blob, bytes).is_ok_and(|hash| hash == recorded) {
        return Ok(false);
    }
    let recorded = match repository.blob(file, recorded) {
        Ok(recorded) => recorded,
        // What is too large or no file is said by whoever reads it.
        Err(StoreError::Barred(_)) => return Ok(false),
        Err(error) => return Err(error),
    };
    Ok(bytes.len() < recorded.len() && recorded.starts_with(bytes))
}

/// What there is to say of a file that is cut short.
pub(in crate::store) fn shortened_finding(file: &Path, bytes: &[u8]) -> Finding {
    let text = file.to_string_lossy().replace('\\', "/");
    let what = if bytes.is_empty() { "is empty" } else { "is cut short" };
    let back = match text.split('/').collect::<Vec<_>>().as_slice() {
        // What is part of a setup goes back with the whole of it.
        ["bikes", bike, "setup.toml"] | ["bikes", bike, "maps", _] => Command::PutNewestBack(visible(bike)),
        _ => Command::MendFile(text.clone()),
    };
    Finding {
        code: Code::CutShort,
        place: Place::file(file),
        message: format!("{} {what}: what was recorded goes on behind it.", visible(&text)),
        help: back + " brings back what was recorded. If the rest is to go, commit it so with git.",
    }
}

/// What is wrong with the files of a bike's setup on disk that are only the beginning of what was recorded; where remarks alone are gone from
/// their end, nothing is.
pub(in crate::store) fn shortened_setup(
    garage: &Garage,
    files: &SetupFiles,
) -> Result<Vec<Finding>, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else { return Ok(Vec::new()) };
    let tree = repository.tree(head)?;
    let mut found = Vec::new();
    for (path, bytes) in files.by_path() {
        let Some(recorded) = Repository::id_at(&tree, &path) else { continue };
        if is_beginning(repository, &path, (recorded, bytes))?
            && says_less(&path, bytes, &repository.blob(&path, recorded)?)
        {
            found.push(shortened_finding(&path, bytes));
        }
    }
    Ok(found)
}

/// Whether the beginning of a file says less than the whole of it.
fn says_less(path: &Path, beginning: &[u8], whole: &[u8]) -> bool {
    if path.extension().is_some_and(|ending| ending == "csv") {
        return beginning.trim_ascii_end() != whole.trim_ascii_end();
    }
    let table = |bytes: &[u8]| std::str::from_utf8(bytes).ok()?.parse::<toml::Table>().ok();
    let (beginning, whole) = (table(beginning), table(whole));
    beginning.is_none() || beginning != whole
}
