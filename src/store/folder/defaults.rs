//! What comes with the program: the tables and templates of `configs/` and the demo garage, embedded as plain files.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::LazyLock;

use include_dir::{Dir, include_dir};

use crate::notebook::Checklists;

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

/// What can hurt in the steps of the check lists that come with the program.
pub fn shipped_cautions() -> &'static BTreeSet<String> {
    static CAUTIONS: LazyLock<BTreeSet<String>> = LazyLock::new(|| {
        let text = CONFIGS.get_file("checklists.toml").and_then(include_dir::File::contents_utf8);
        let lists: Checklists = text.and_then(|text| toml::from_str(text).ok()).unwrap_or_default();
        let steps = lists.lists.into_values().flat_map(|list| list.steps.into_values());
        steps.filter_map(|step| step.caution).collect()
    });
    &CAUTIONS
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
