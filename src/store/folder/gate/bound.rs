//! How much of a file is read at most, by what it is.

use std::path::Path;

/// A document or a table: the longest of the demo has 9 kB, and notes of a whole season fit a hundred times.
pub(in crate::store) const DOCUMENT: u64 = 1024 * 1024;
/// A map of an engine control has at most some 40 by 40 cells of 8 characters, 13 kB.
const MAP: u64 = 128 * 1024;
/// A dyno curve that was kept at 100 points a second for ten minutes has 60,000 lines of 20 characters.
const CURVE: u64 = 2 * 1024 * 1024;
/// A list of numbers has 20 to 50 bytes a setup: a hundred thousand setups of one bike.
const NUMBERS: u64 = 4 * 1024 * 1024;
/// Git's own index has some 100 bytes a file: a million files.
pub(in crate::store) const GIT_INDEX: u64 = 128 * 1024 * 1024;
/// The note of what is being recorded has some 150 bytes a file.
pub(in crate::store) const NOTE: u64 = 8 * 1024 * 1024;
/// Git's list of branches has some 70 bytes each: two hundred thousand.
pub(in crate::store) const REFERENCES: u64 = 16 * 1024 * 1024;
/// One of git's loose objects; what is larger is none of a garage's.
pub(in crate::store) const OBJECT: u64 = 16 * 1024 * 1024;
/// A lock's text, a seal, a setting.
pub(in crate::store) const LINE: u64 = 64 * 1024;

/// The most that is read of a file of a garage.
pub(in crate::store) fn of(path: &Path) -> u64 {
    let inside = |folder: &str| path.parent().is_some_and(|above| above.ends_with(folder));
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("csv") if inside("maps") => MAP,
        Some("csv") => CURVE,
        None if path.file_name().is_some_and(|name| name == "numbers") => NUMBERS,
        _ => DOCUMENT,
    }
}
