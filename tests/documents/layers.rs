//! The floors of the house: each imports only those below it. Reads the sources, so that a forbidden import fails here
//! before anybody has to notice it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The floors from the bottom up; those on one line do not import each other.
const FLOORS: [&[&str]; 7] = [
    &["quantity"],
    &["air", "engine"],
    &["notebook"],
    &["machine"],
    &["store"],
    &["advice"],
    &["report", "commands"],
];

fn height(floor: &str) -> Option<usize> {
    FLOORS.iter().position(|floors| floors.contains(&floor))
}

/// Imports of `crate::<floor>` in a source that its own floor may not have.
fn forbidden(own: &str, source: &str) -> Vec<String> {
    let own_height = height(own).expect("a known floor");
    let mut found = Vec::new();
    for (at, _) in source.match_indices("crate::") {
        let name: String = source[at + "crate::".len()..]
            .chars()
            .take_while(|c| c.is_ascii_lowercase() || *c == '_')
            .collect();
        let Some(other) = height(&name) else { continue };
        let commands_may_show = own == "commands" && name == "report";
        if name != own && other >= own_height && !commands_may_show {
            found.push(name);
        }
    }
    found
}

/// What a pure floor may not touch.
fn impure(source: &str) -> Option<&'static str> {
    ["std::fs", "std::env", "std::io", "std::time", "std::process", "println!", "eprintln!"]
        .into_iter()
        .find(|name| source.lines().any(|line| !line.trim_start().starts_with("//") && line.contains(name)))
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

fn floor_of(path: &Path, root: &Path) -> String {
    let inner = path.strip_prefix(root).unwrap();
    let first = inner.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
    first.trim_end_matches(".rs").to_owned()
}

#[test]
fn every_floor_imports_only_those_below() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    let mut scanned = 0;
    for path in files {
        let floor = floor_of(&path, &root);
        if floor == "lib" || floor == "main" {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        let wrong = forbidden(&floor, &text);
        assert!(wrong.is_empty(), "{} imports {wrong:?}", path.display());
        if matches!(floor.as_str(), "quantity" | "air" | "engine" | "notebook") {
            assert_eq!(impure(&text), None, "{} is on a pure floor", path.display());
        }
        scanned += 1;
    }
    assert!(scanned > 60, "only {scanned} sources were read");
}

#[test]
fn a_forbidden_import_is_seen() {
    assert_eq!(forbidden("air", "use crate::store::Garage;"), ["store"]);
    assert_eq!(forbidden("air", "use crate::engine::fuel;"), ["engine"]);
    assert_eq!(forbidden("report", "use crate::commands::Desk;"), ["commands"]);
    assert!(forbidden("store", "use crate::notebook::Setup; use crate::store::folder::disk;").is_empty());
    assert!(forbidden("commands", "use crate::report::Screen;").is_empty());
    assert_eq!(impure("let x = std::fs::read(p);"), Some("std::fs"));
    assert_eq!(impure("// std::fs is not used"), None);
}

/// The parts of one command, in a folder of its own, may import each other; no command imports another.
#[test]
fn commands_do_not_import_each_other() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/commands");
    let mut files = Vec::new();
    sources(&folder, &mut files);
    let commands: BTreeSet<_> = files.iter().map(|path| floor_of(path, &folder)).collect();
    for path in &files {
        let own = floor_of(path, &folder);
        if own == "mod" {
            continue;
        }
        let text = fs::read_to_string(path).unwrap();
        let inside = path.parent() != Some(&folder) && !path.ends_with("mod.rs");
        let above = if inside { "super::super" } else { "super" };
        for other in
            commands.iter().filter(|name| **name != own && *name != "mod" && !name.ends_with("_options"))
        {
            let imports = text.contains(&format!("{above}::{other}::"))
                || text.contains(&format!("commands::{other}::"));
            assert!(!imports, "{} imports the command {other}", path.display());
        }
    }
    assert!(files.len() > 12 && commands.contains("build") && commands.contains("rejet"));
}

#[test]
fn files_stay_short() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    sources(&root.join("src"), &mut files);
    sources(&root.join("tests"), &mut files);
    for path in files {
        let lines = fs::read_to_string(&path).unwrap().lines().count();
        assert!(lines <= 500, "{} has {lines} lines", path.display());
    }
}
