//! Files of the garage that are not as they were recorded last: deleted or changed on disk, and nobody wrote it down.

use std::path::PathBuf;

use git2::{Status, StatusOptions};

use crate::store::book::outing_id;
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;

/// A recorded file that is another on disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unrecorded {
    /// Its path in the garage.
    pub file: PathBuf,
    /// Whether it is gone.
    pub deleted: bool,
    /// What to do, a sentence.
    pub help: String,
}

/// Folders and files that are the garage's own; what else lies in the repository is the user's.
const OURS: [&str; 5] = ["garage.toml", "bikes/", "engines/", "parts/", "configs/"];

/// Recorded files of the garage that are deleted or changed on disk, by path.
pub fn unrecorded(garage: &Garage) -> Result<Vec<Unrecorded>, StoreError> {
    let mut options = StatusOptions::new();
    options.include_untracked(false).include_ignored(false).exclude_submodules(true).no_refresh(true);
    let doing = "compare the files with what was recorded";
    let statuses = garage.repository().git().statuses(Some(&mut options)).map_err(git(doing))?;
    let gone = Status::WT_DELETED | Status::INDEX_DELETED;
    let other = gone
        | Status::WT_MODIFIED
        | Status::INDEX_MODIFIED
        | Status::WT_TYPECHANGE
        | Status::INDEX_TYPECHANGE;
    let mut found: Vec<_> = statuses
        .iter()
        .filter(|entry| entry.status().intersects(other))
        .filter_map(|entry| {
            let path = entry.path().ok()?.to_owned();
            let file = PathBuf::from(&path);
            let ours = OURS.iter().any(|ours| path.starts_with(ours));
            let deleted = entry.status().intersects(gone) && matches!(garage.kind(&file), Ok(None));
            ours.then(|| Unrecorded { help: help(&path, deleted), file, deleted })
        })
        .collect();
    found.sort_by(|one, two| one.file.cmp(&two.file));
    Ok(found)
}

/// What to do about one of them.
fn help(path: &str, deleted: bool) -> String {
    let back = format!("`{}`", bring_back(path));
    let parts: Vec<&str> = path.split('/').collect();
    let record = match parts.as_slice() {
        ["bikes", bike, "outings", name] if name.ends_with(".toml") => {
            let (verb, id) = (if deleted { "remove" } else { "edit" }, outing_id(name));
            format!("`reedbook outing {verb} {bike} {id}`")
        }
        ["bikes", bike, "setup.toml" | "maps", ..] => format!("`reedbook change {bike} --why \"…\"`"),
        ["engines", _, "engine.toml"] if !deleted => "`reedbook change` of the bike it is in".to_owned(),
        ["engines", _, "builds", _] => "the next `reedbook build` that writes".to_owned(),
        ["parts", _] => "the next `reedbook part` that writes".to_owned(),
        _ => format!("`git commit -m \"…\" {path}`"),
    };
    format!("{back} brings back what was recorded, {record} records it as it is now.")
}

/// The command that brings back a file as it was recorded, even where git was told to remove it.
pub(super) fn bring_back(path: &str) -> String {
    format!("git checkout HEAD -- {path}")
}
