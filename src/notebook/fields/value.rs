//! A document's values by dotted field, which is what is compared, searched and changed.

use std::collections::BTreeMap;

use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::cylinder::{common, own_of};
use crate::notebook::maps::table::MapTable;
use crate::notebook::reading::combination::Combination;
use crate::quantity::{Dimension, Quantity, trimmed};

/// One value of a document.
#[derive(Debug, Clone)]
pub enum Value {
    /// A quantity or a plain number.
    Quantity(Quantity),
    /// Words, a choice or a date.
    Text(String),
    /// Yes or no.
    Flag(bool),
    /// A map.
    Map(MapTable),
}

impl Value {
    /// Whether both are one reading: the units and the digits typed do not matter, nor how an editor ends its lines.
    pub fn same_as(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Quantity(a), Self::Quantity(b)) => a.same_as(b),
            (Self::Text(a), Self::Text(b)) => a.trim_end().lines().eq(b.trim_end().lines()),
            (Self::Flag(a), Self::Flag(b)) => a == b,
            (Self::Map(a), Self::Map(b)) => a.same_as(b),
            _ => false,
        }
    }

    /// The quantity, if it is one.
    pub fn quantity(&self) -> Option<&Quantity> {
        match self {
            Self::Quantity(quantity) => Some(quantity),
            _ => None,
        }
    }

    /// As text to be kept and read back: as typed, with its unit.
    pub fn typed(&self) -> String {
        match self {
            Self::Quantity(quantity) => quantity.with_unit(),
            value => value.text(),
        }
    }

    /// As text for reading: as typed, with its unit; turns of a screw one way, however they were typed.
    pub fn text(&self) -> String {
        match self {
            Self::Quantity(quantity) if quantity.dimension() == Dimension::Turns => turns(quantity.value()),
            Self::Quantity(quantity) => quantity.with_unit(),
            Self::Text(text) => text.clone(),
            Self::Flag(true) => "yes".into(),
            Self::Flag(false) => "no".into(),
            Self::Map(map) => match map.rows.len() {
                1 => format!("map of {} points", map.rpm.len()),
                rows => format!("map of {} by {rows}", map.rpm.len()),
            },
        }
    }
}

/// Turns of a screw as they are written everywhere: "1.5 turns", "1 turn".
pub fn turns(turns: f64) -> String {
    let turns = trimmed(turns, 3);
    let unit = if turns == "1" { "turn" } else { "turns" };
    format!("{turns} {unit}")
}

/// The same in a value as it was typed, "1 1/2 turns"; any other stays as it is.
pub fn read_out(typed: &str) -> String {
    let read = typed
        .ends_with(['n', 's'])
        .then(|| Quantity::parse(typed, &[Dimension::Turns], "turns").ok())
        .flatten();
    read.map_or_else(|| typed.to_owned(), |read| turns(read.value()))
}

/// A value and where it stands.
#[derive(Debug, Clone)]
pub struct Entry {
    /// The value.
    pub value: Value,
    /// The document it stands in.
    pub document: DocumentKind,
    /// Its line, from 1.
    pub line: usize,
}

/// The values of one document, or of the documents that make up one setup.
#[derive(Debug, Clone, Default)]
pub struct FieldSet {
    entries: BTreeMap<String, Entry>,
}

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

impl FieldSet {
    /// Puts a value in its place.
    pub fn insert(&mut self, field: String, entry: Entry) {
        self.entries.insert(field, entry);
    }

    /// Takes a value out.
    pub fn take_out(&mut self, field: &str) {
        self.entries.remove(field);
    }

    /// Takes all values of another document.
    pub fn extend(&mut self, other: Self) {
        self.entries.extend(other.entries);
    }

    /// The same with what another set has that was never `known`: as if that had been written down before. With another engine nothing is
    /// taken over, and a cylinder's own value is no new one where all had one.
    #[must_use]
    pub fn and_first_written(&self, other: &Self, known: &Self) -> Self {
        let mut all = self.clone();
        if self.text("engine") != other.text("engine") {
            return all;
        }
        let has = |field: &str| known.entries.contains_key(field) || self.entries.contains_key(field);
        let is_new = |field: &str| !has(field) && own_of(field).is_none_or(|(_, common)| !has(common));
        let new = other.entries.iter().filter(|(field, _)| is_new(field));
        all.entries.extend(new.map(|(field, entry)| (field.clone(), entry.clone())));
        all
    }

    /// A value by its dotted field.
    pub fn get(&self, field: &str) -> Option<&Value> {
        self.entries.get(field).map(|entry| &entry.value)
    }

    /// A value with its place.
    pub fn entry(&self, field: &str) -> Option<&Entry> {
        self.entries.get(field)
    }

    /// A quantity by its dotted field.
    pub fn quantity(&self, field: &str) -> Option<&Quantity> {
        self.get(field)?.quantity()
    }

    /// Words by their dotted field.
    pub fn text(&self, field: &str) -> Option<&str> {
        match self.get(field)? {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// A map by its dotted field.
    pub fn map(&self, field: &str) -> Option<&MapTable> {
        match self.get(field)? {
            Value::Map(map) => Some(map),
            _ => None,
        }
    }

    /// All values, by field.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Entry)> {
        self.entries.iter().map(|(field, entry)| (field.as_str(), entry))
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Whether both hold the same readings.
    pub fn same_as(&self, other: &Self) -> bool {
        self.entries.len() == other.entries.len()
            && self
                .entries
                .iter()
                .zip(&other.entries)
                .all(|((a, x), (b, y))| a == b && x.value.same_as(&y.value))
    }
}
