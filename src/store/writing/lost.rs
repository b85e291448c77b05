//! A bike that was taken out with git, here or by others, and is brought back as it stood last.

use std::path::Path;

use git2::{ObjectType, Oid, Tree};

use crate::machine::Moment;
use crate::notebook::SetupFiles;
use crate::notebook::fields::names;
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;
use crate::store::folder::make::write_and_record;
use crate::store::history::repository::FileChange;
use crate::store::history::scan::BIKE_TRAILER;
use crate::store::writing::jobs;

/// Commits that are looked through for a hint: whoever mistypes a name does not wait for a long history.
const HINT: usize = 500;

/// Writes down again what a bike had when it was there last, with the engine that was in it and its jobs, as far as they are not there.
/// Its setups, outings and numbers are those that it had.
///
/// # Errors
///
/// Where the history knows no such bike, where a file of another content stands in the way, and what a record may fail of.
pub fn bring_back(garage: &Garage, bike: &str, moment: &Moment) -> Result<(), StoreError> {
    let _lock = garage.begin_writing(moment)?;
    let Some(commit) = last_with(garage, bike, usize::MAX)? else {
        return garage.require_bike(bike);
    };
    let repository = garage.repository();
    let tree = repository.tree(commit)?;
    let mut back = Vec::new();
    collect(garage, &tree, &Garage::bike_folder(bike), &mut back)?;
    if let Some(engine) = garage.files_in(&tree, bike)?.engine_name
        && garage.read(&SetupFiles::engine_path(&engine))?.is_none()
    {
        collect(garage, &tree, &Path::new("engines").join(&engine), &mut back)?;
    }
    let mut of_jobs = Vec::new();
    collect(garage, &tree, Path::new(jobs::FOLDER), &mut of_jobs)?;
    back.extend(of_jobs.into_iter().filter(|(path, bytes)| {
        let bytes = bytes.as_deref().unwrap_or_default();
        jobs::check(garage, path, bytes).document.is_some_and(|job| job.bike == bike)
    }));
    let mut changes = Vec::new();
    for (path, bytes) in back {
        let on_disk = garage.read(&path)?;
        if on_disk.is_some() && on_disk != bytes && !path.starts_with(jobs::FOLDER) {
            return Err(StoreError::request(
                None,
                format!(
                    "{} is there and is not as the bike had it.",
                    names::visible(&path.to_string_lossy())
                ),
                "Put it elsewhere first; nothing was brought back.",
            ));
        }
        if on_disk.is_none() || on_disk == bytes {
            changes.push((path, bytes));
        }
    }
    let why = format!("Bring {bike} back as it stood before it was taken out");
    write_and_record(garage, &changes, &why, vec![(BIKE_TRAILER, bike.to_owned())], moment)
}

/// Whether one of the newest commits had such a bike.
pub(in crate::store) fn was_there(garage: &Garage, bike: &str) -> bool {
    names::check(bike).is_ok() && last_with(garage, bike, HINT).is_ok_and(|found| found.is_some())
}

/// The newest commit that had the bike, among so many.
fn last_with(garage: &Garage, bike: &str, most: usize) -> Result<Option<Oid>, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else { return Ok(None) };
    let path = Garage::bike_folder(bike).join("bike.toml");
    let has = |tree: &Tree<'_>| tree.get_path(&path).is_ok();
    let mut walk = repository.git().revwalk().map_err(git("read its history"))?;
    walk.set_sorting(git2::Sort::TIME).and_then(|()| walk.push(head)).map_err(git("read its history"))?;
    for id in walk.take(most) {
        let id = id.map_err(git("read its history"))?;
        if has(&repository.tree(id)?) {
            return Ok(Some(id));
        }
    }
    Ok(None)
}

/// All plain files below a folder of a tree.
fn collect(
    garage: &Garage,
    tree: &Tree<'_>,
    folder: &Path,
    found: &mut Vec<FileChange>,
) -> Result<(), StoreError> {
    let repository = garage.repository();
    for (name, id) in repository.names_in(tree, folder) {
        let path = folder.join(name);
        let Ok(entry) = tree.get_path(&path) else { continue };
        match entry.kind() {
            Some(ObjectType::Tree) => collect(garage, tree, &path, found)?,
            // A link is none.
            Some(ObjectType::Blob) if entry.filemode() & 0o170_000 == 0o100_000 => {
                found.push((path.clone(), Some(repository.blob(&path, id)?)));
            }
            _ => {}
        }
    }
    Ok(())
}
