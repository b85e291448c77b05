//! Files that end before they should: what stands on disk is the beginning of what was recorded, as after a full disk or a lost power, and
//! reads as a whole document all the same. What was in the rest is not answered without, and not recorded as taken out.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

use git2::{ObjectType, Oid};

use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Command;
use crate::notebook::{Code, Finding, Place};
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
    Finding {
        code: Code::CutShort,
        place: Place::file(file),
        message: format!("{} {what}: what was recorded goes on behind it.", visible(&text)),
        help: Command::MendFile(text)
            + " brings back what was recorded. If the rest is to go, commit it so with git.",
    }
}
