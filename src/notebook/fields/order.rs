//! The order in which fields are read out: by section, then as the work is done at the bike.

use crate::notebook::fields::combination::Combination;
use crate::notebook::fields::cylinder::{common, own_of};

/// The sections of a setup in the order in which they are read out.
pub const SECTIONS: [&str; 11] = [
    "engine",
    "ports",
    "head",
    "ignition",
    "jetting",
    "injection",
    "pipe",
    "fuel",
    "gearing",
    "extra",
    "notes",
];

/// The section a field belongs to.
pub fn section_of(field: &str) -> &str {
    match common(field).split('.').next().unwrap_or(field) {
        "engine_notes" => "notes",
        "cylinders" => "engine",
        first => first,
    }
}

/// Sorts fields as they are read out: by section, then as the work is done at the bike (main, pilot, needle, clip), then by name; what a
/// cylinder has of its own follows what is written for all.
pub fn reading_order(field: &str) -> (usize, u16, &str, &str) {
    let section = section_of(field);
    let rank = SECTIONS.iter().position(|known| *known == section);
    let own = own_of(field);
    let turn = Combination::meaning(common(field)).map_or(u16::MAX, |meaning| meaning.hands.turn);
    (
        rank.unwrap_or(SECTIONS.len()),
        turn,
        own.map_or(field, |(_, rest)| rest),
        own.map_or("", |(name, _)| name),
    )
}
