//! What others wrote: the corpus of the fuzzer goes through everything that reads it, and the guide's page of threats names tests that
//! there are.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::inputs;

fn here(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// A panic or a broken promise of one of them fails here without the fuzzer; `tests/fuzz/run` looks for new ones.
#[test]
fn what_the_fuzzer_kept_is_answered() {
    for (name, read) in inputs::ALL {
        let mut tried = 0;
        for entry in fs::read_dir(here("tests/fuzz/corpus").join(name)).unwrap() {
            let path = entry.unwrap().path();
            read(&fs::read(&path).unwrap());
            tried += 1;
        }
        assert!(tried > 0, "{name} has no corpus");
    }
}

#[test]
fn the_page_of_threats_names_tests_that_there_are() {
    let mut there = BTreeSet::new();
    names(&here("tests"), &mut there);
    let page = fs::read_to_string(here("src/guide/threats.md")).unwrap();
    let named = page.split('`').filter(|word| word.len() > 12 && word.bytes().all(is_name));
    let named: Vec<&str> = named.collect();
    assert!(named.len() > 15);
    let missing: Vec<_> = named.iter().filter(|name| !there.contains(**name)).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

fn is_name(byte: u8) -> bool {
    byte == b'_' || byte.is_ascii_lowercase()
}

fn names(folder: &Path, into: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            names(&path, into);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            let text = fs::read_to_string(&path).unwrap();
            into.extend(
                text.lines()
                    .filter_map(|line| line.trim().strip_prefix("fn ")?.split_once('('))
                    .map(|(name, _)| name.to_owned()),
            );
        }
    }
}
