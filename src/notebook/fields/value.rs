//! A document's values by dotted field, which is what is compared, searched and changed.

use std::collections::BTreeMap;

use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::maps::table::MapTable;
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
