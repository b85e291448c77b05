//! What the newest commits had.

use std::path::Path;

use crate::notebook::fields::names;
use crate::store::error::{StoreError, git};
use crate::store::history::repository::Repository;

/// Commits that are looked through for a hint: whoever mistypes a name does not wait for a long history.
const HINT: usize = 500;

/// Whether one of the newest commits had a folder of that name with such a file.
pub(in crate::store) fn was_there(repository: &Repository, above: &Path, name: &str, file: &str) -> bool {
    let path = above.join(name).join(file);
    let had = || -> Result<bool, StoreError> {
        let Some(head) = repository.head()? else { return Ok(false) };
        let mut walk = repository.git().revwalk().map_err(git("read its history"))?;
        walk.push(head).map_err(git("read its history"))?;
        for id in walk.take(HINT) {
            let tree = repository.tree(id.map_err(git("read its history"))?)?;
            if tree.get_path(&path).is_ok() {
                return Ok(true);
            }
        }
        Ok(false)
    };
    names::check(name).is_ok() && had().unwrap_or(false)
}
