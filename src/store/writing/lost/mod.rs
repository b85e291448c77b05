//! A bike that was taken out with git, here or by others, and is brought back as it stood last.

mod runs;
mod stood;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use git2::{ObjectType, Oid, Tree};

use crate::machine::Moment;
use crate::notebook::fields::names;
use crate::notebook::guidance::Command;
use crate::notebook::{Page, SetupFiles, When};
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::pages::write_and_record;
use crate::store::history::numbers;
use crate::store::history::scan::BIKE_TRAILER;
use crate::store::records::outing_id;
use runs::{ever_stood, is_plain};
use stood::last_stands;

/// A bike that is there again.
#[derive(Debug, Clone)]
pub struct BroughtBack {
    /// When what it stands as now was recorded.
    pub stood: When,
    /// How many outings it has again.
    pub outings: usize,
    /// How many of them were not there when it stood so: others recorded them, or they had gone another way than by their removal.
    pub gathered: usize,
    /// When others had it last who knew nothing of its going; what they recorded of its setups is in the history alone.
    pub others: Vec<When>,
}

/// Files by path.
type Files = BTreeMap<PathBuf, Option<Vec<u8>>>;

/// Writes down again what a bike had before it went, with the engine that was in it and its jobs, as far as they are not there. Its setups
/// and numbers are those that it had; its outings are all that it ever had, but those that were removed by themselves.
///
/// # Errors
///
/// Where the history knows no such bike, where a file of another content stands in the way, and what a record may fail of.
pub fn bring_back(garage: &Garage, bike: &str, moment: &Moment) -> Result<BroughtBack, StoreError> {
    let _lock = garage.begin_writing(moment)?;
    let folder = Garage::bike_folder(bike);
    let sides = match names::check(bike) {
        Ok(_) => last_stands(garage, &folder, "bike.toml")?,
        Err(_) => Vec::new(),
    };
    let Some((first, others)) = sides.split_first() else {
        return Err(garage.require_bike(bike).err().unwrap_or_else(|| StoreError::NothingChanged {
            message: format!("{bike} is there."),
            help: Command::ListBikes + " shows all bikes.",
        }));
    };
    let commit = first.written;
    let tree = garage.repository().tree(commit)?;
    let mut back = Files::new();
    collect(garage, &tree, &folder, &mut back)?;
    let (outings, gathered) = gather(garage, bike, &mut back)?;
    if let Some(Some(bytes)) = back.get_mut(&folder.join("bike.toml")) {
        // It is in use again, whatever it was before it went.
        let mut page = Page::open(&folder.join("bike.toml"), Some(bytes))?;
        page.take_out("retired");
        *bytes = page.bytes();
    }
    let list = folder.join("numbers");
    let recorded = garage.recorded(&list)?;
    let mut numbers = back.get(&list).cloned().flatten().unwrap_or_default();
    for side in others {
        numbers = with_numbers(garage, &list, (commit, &numbers), side.written)?;
    }
    if let Some(left) = &recorded {
        numbers = merged("", left, &numbers);
    }
    if !numbers.is_empty() {
        back.insert(list.clone(), Some(numbers));
    }
    if let Some(engine) = garage.files_in(&tree, bike)?.engine_name {
        engine_of(garage, &engine, &mut back)?;
    }
    for side in &sides {
        jobs_of(garage, &garage.repository().tree(side.last)?, bike, &mut back)?;
    }
    let mut changes = Vec::new();
    for (path, bytes) in back {
        let on_disk = garage.read(&path)?;
        let is_list_that_was_left = path == list && on_disk == recorded;
        if on_disk.is_none() || on_disk == bytes || is_list_that_was_left {
            changes.push((path, bytes));
        } else if !path.starts_with(checks::JOBS) {
            return Err(StoreError::request(
                None,
                format!(
                    "{} is there and is not as the bike had it.",
                    names::visible(&path.to_string_lossy())
                ),
                "Put it elsewhere first; nothing was brought back.",
            ));
        }
    }
    let stood = date_of(garage, commit)?;
    let others = others.iter().map(|side| date_of(garage, side.written)).collect::<Result<_, _>>()?;
    let why = format!("Bring {bike} back as it stood on {}", stood.day());
    write_and_record(garage, &changes, &why, vec![(BIKE_TRAILER, bike.to_owned())], moment)?;
    Ok(BroughtBack { stood, outings, gathered, others })
}

/// When a commit was made, as its author dated it.
fn date_of(garage: &Garage, commit: Oid) -> Result<When, StoreError> {
    let commit = garage.repository().commit(commit)?;
    let time = commit.author().when();
    Ok(When::from_unix(time.seconds(), time.offset_minutes()).unwrap_or_default())
}

/// Puts every outing that the bike ever had to those that it had last, and its newest version in the place of an older one; how many there
/// are, and how many it did not have last.
fn gather(garage: &Garage, bike: &str, back: &mut Files) -> Result<(usize, usize), StoreError> {
    let folder = Garage::bike_folder(bike).join("outings");
    let of = |path: &Path| {
        let is_outing = path.parent() == Some(&*folder) && path.extension().is_some_and(|end| end == "toml");
        is_outing.then(|| outing_id(&path.to_string_lossy()))
    };
    let had: BTreeSet<String> = back.keys().filter_map(|path| of(path)).collect();
    let stood = ever_stood(garage, bike)?;
    let gathered = stood.iter().filter(|outing| !had.contains(&outing.id)).count();
    for outing in stood {
        back.retain(|path, _| of(path).is_none_or(|id| id != outing.id));
        back.extend(outing.files);
    }
    Ok((had.len() + gathered, gathered))
}

/// The list of numbers with what another side had given.
fn with_numbers(
    garage: &Garage,
    list: &Path,
    (commit, numbers): (Oid, &[u8]),
    side: Oid,
) -> Result<Vec<u8>, StoreError> {
    let repository = garage.repository();
    let at = |commit: Oid| -> Result<Vec<u8>, StoreError> {
        Ok(repository.file(&repository.tree(commit)?, list)?.unwrap_or_default())
    };
    let base = match repository.git().merge_base(commit, side) {
        Ok(base) => at(base)?,
        Err(_) => Vec::new(),
    };
    Ok(merged(&String::from_utf8_lossy(&base), &at(side)?, numbers))
}

fn merged(base: &str, ours: &[u8], theirs: &[u8]) -> Vec<u8> {
    numbers::merged(base, &String::from_utf8_lossy(ours), &String::from_utf8_lossy(theirs)).0.into_bytes()
}

/// The engine that was in the bike, where it is not there: as it stood last itself, which may have gone before or after the bike.
fn engine_of(garage: &Garage, engine: &str, back: &mut Files) -> Result<(), StoreError> {
    if garage.read(&SetupFiles::engine_path(engine))?.is_some() {
        return Ok(());
    }
    let folder = Path::new("engines").join(engine);
    for side in last_stands(garage, &folder, "engine.toml")? {
        let mut files = Files::new();
        collect(garage, &garage.repository().tree(side.written)?, &folder, &mut files)?;
        // What another side had of it besides: its builds.
        for (path, bytes) in files {
            back.entry(path).or_insert(bytes);
        }
    }
    Ok(())
}

/// What was to be done at the bike, and what of it was done.
fn jobs_of(garage: &Garage, tree: &Tree<'_>, bike: &str, back: &mut Files) -> Result<(), StoreError> {
    let mut files = Files::new();
    collect(garage, tree, Path::new(checks::JOBS), &mut files)?;
    for (path, bytes) in files {
        let job = checks::job(garage, &path, bytes.as_deref().unwrap_or_default()).document;
        if job.is_some_and(|job| job.bike == bike) {
            back.entry(path).or_insert(bytes);
        }
    }
    Ok(())
}

/// All plain files below a folder of a tree.
fn collect(garage: &Garage, tree: &Tree<'_>, folder: &Path, found: &mut Files) -> Result<(), StoreError> {
    let repository = garage.repository();
    for (name, id) in repository.names_in(tree, folder) {
        let path = folder.join(name);
        let Ok(entry) = tree.get_path(&path) else { continue };
        if entry.kind() == Some(ObjectType::Tree) {
            collect(garage, tree, &path, found)?;
        } else if is_plain(entry.kind(), entry.filemode()) {
            let bytes = repository.blob(&path, id)?;
            found.insert(path, Some(bytes));
        }
    }
    Ok(())
}
