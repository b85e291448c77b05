//! What comes with the program: the tables and templates of `configs/` and the demo garage, embedded as plain files;
//! and the templates that a garage has of its own.

use std::path::Path;

use include_dir::{Dir, include_dir};

use crate::notebook::fields::names;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;

static CONFIGS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/configs");
static DEMO: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/demo-garage");

/// A file under configs/ by its path in a garage ("configs/jets.toml").
pub(super) fn config(path: &Path) -> Option<&'static [u8]> {
    let inner = path.strip_prefix("configs").ok()?;
    CONFIGS.get_file(inner).map(include_dir::File::contents)
}

/// Every file under configs/ with its path in a garage.
pub(in crate::store) fn configs() -> Vec<(std::path::PathBuf, &'static [u8])> {
    let mut found = Vec::new();
    collect(&CONFIGS, &mut found);
    found.into_iter().map(|(path, bytes)| (Path::new("configs").join(path), bytes)).collect()
}

/// Every file of the demo garage with its path, sorted.
pub fn demo() -> Vec<(std::path::PathBuf, &'static [u8])> {
    let mut found = Vec::new();
    collect(&DEMO, &mut found);
    found.sort();
    found
}

fn collect(folder: &Dir<'static>, found: &mut Vec<(std::path::PathBuf, &'static [u8])>) {
    for file in folder.files() {
        found.push((file.path().to_owned(), file.contents()));
    }
    for inner in folder.dirs() {
        collect(inner, found);
    }
}

impl Garage {
    /// A template for a new bike or engine: the garage's own, or the one that comes with the program.
    pub fn template(&self, name: &str) -> Result<Vec<u8>, StoreError> {
        names::check(name)?;
        let path = Path::new("configs/templates").join(format!("{name}.toml"));
        if let Some(bytes) = self.read(&path)? {
            return Ok(bytes);
        }
        config(&path).map(<[u8]>::to_vec).ok_or_else(|| {
            StoreError::request(
                Some("template"),
                format!("There is no template \"{name}\" in configs/templates."),
                format!("There are: {}.", self.templates().join(", ")),
            )
        })
    }

    /// Names of the templates for bikes.
    pub fn templates(&self) -> Vec<String> {
        let own = self.file_names(Path::new("configs/templates")).unwrap_or_default();
        let mut names: Vec<_> = own
            .iter()
            .filter_map(|name| name.strip_suffix(".toml"))
            .chain(["carbureted", "injected"])
            .filter(|name| *name != "engine")
            .map(str::to_owned)
            .collect();
        names.sort();
        names.dedup();
        names
    }
}
