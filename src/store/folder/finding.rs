//! Finding the garage: the folder with a garage.toml at or above where one is, or what was one when something was recorded in it last.

use std::path::Path;

use crate::notebook::{DocumentKind, GARAGE_FILE, GarageDocument};
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, read_document};
use crate::store::folder::gate::{Gate, entry::EntryKind};
use crate::store::history::repository::Repository;
use crate::store::shortened::{is_beginning, shortened_finding};

impl Garage {
    /// The garage at `named`, or the one at or above `from`.
    pub fn find(named: Option<&Path>, from: &Path) -> Result<Self, StoreError> {
        if let Some(named) = named {
            let root = from.join(named);
            return match gate_of(&root) {
                Some(gate) => Self::through(gate),
                None if gate_by_history(&root).is_some() => Err(StoreError::GarageFileGone(root)),
                None => Err(StoreError::NoGarageThere(root)),
            };
        }
        match from.ancestors().find_map(gate_of) {
            Some(gate) => Self::through(gate),
            None => Err(match from.ancestors().find_map(gate_by_history) {
                Some(gate) => StoreError::GarageFileGone(gate.top().to_owned()),
                None => StoreError::NoGarage(from.to_owned()),
            }),
        }
    }

    /// Opens the garage whose top folder is `root`.
    pub fn open(root: &Path) -> Result<Self, StoreError> {
        Self::through(gate_of(root).ok_or_else(|| StoreError::NoGarage(root.to_owned()))?)
    }

    fn through(gate: Gate) -> Result<Self, StoreError> {
        let path = Path::new(GARAGE_FILE);
        let bytes = gate.read(path)?.ok_or_else(|| StoreError::NoGarage(gate.top().to_owned()))?;
        // Without these two nothing can be said of any bike.
        for folder in ["bikes", "engines"] {
            gate.folder(Path::new(folder))?;
        }
        require_known_layout(&bytes, "This garage")?;
        let repository = Repository::open(gate)?;
        if let Some(head) = repository.head()?
            && let Some(id) = Repository::id_at(&repository.tree(head)?, path)
            && is_beginning(&repository, path, (id, &bytes))?
        {
            return Err(StoreError::Findings(vec![shortened_finding(path, &bytes)]));
        }
        let document = read_document::<GarageDocument>(DocumentKind::Garage, path, &bytes, false)?;
        Ok(Self::new(repository, document))
    }
}

/// The gate of a folder that is a garage's: its garage.toml may be anything but a folder.
pub(in crate::store) fn gate_of(folder: &Path) -> Option<Gate> {
    let gate = Gate::of_garage(folder).ok()?;
    let about = gate.about(Path::new(GARAGE_FILE)).ok()??;
    (about.kind != EntryKind::Folder).then_some(gate)
}

/// Commits that are gone back for a garage.toml that was taken out.
const GONE_BACK: usize = 1_000;

/// The gate of a folder that was a garage when something was recorded in it last, but has no garage.toml now; also where that it is gone was
/// recorded, and the bikes are there.
pub(in crate::store) fn gate_by_history(folder: &Path) -> Option<Gate> {
    let gate = || Gate::of_garage(folder).ok();
    let repository = Repository::open(gate()?).ok()?;
    let mut at = repository.head().ok()??;
    for _ in 0..GONE_BACK {
        let tree = repository.tree(at).ok()?;
        if Repository::id_at(&tree, Path::new(GARAGE_FILE)).is_some() {
            return gate();
        }
        tree.get_name("bikes")?;
        at = repository.commit(at).ok()?.parent_ids().next()?;
    }
    None
}

/// Fails where a garage.toml names a layout of a later version, whatever else it has that is not known here.
pub(in crate::store) fn require_known_layout(garage: &[u8], whose: &str) -> Result<(), StoreError> {
    let table = std::str::from_utf8(garage).ok().and_then(|text| text.parse::<toml::Table>().ok());
    match table.as_ref().and_then(|table| table.get("layout")).and_then(toml::Value::as_integer) {
        Some(layout) if layout > 1 => Err(StoreError::request(
            Some("layout"),
            format!("{whose} has layout {layout}; this program knows layout 1."),
            "Use a newer reedbook for it; nothing was touched.",
        )),
        _ => Ok(()),
    }
}
