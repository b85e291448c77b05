//! What comes with the program: the tables and templates of `configs/` and the demo garage, embedded as plain files.

use std::path::Path;

use include_dir::{Dir, include_dir};

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
