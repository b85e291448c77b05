//! Reads a document: its values by field, and everything that is wrong with it.

use std::path::Path;

use jiff::tz::Offset;
use serde::de::DeserializeOwned;
use toml_edit::{Document, Item, TableLike, Value as TomlValue};

use super::{cylinder, numbers};
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::date::When;
use crate::notebook::fields::finding::{Code, Finding};
use crate::notebook::fields::node::{Leaf, Node, Sort, Table, out_of_range};
use crate::notebook::fields::path::{did_you_mean, is_explained, join, nearest_name, parent};
use crate::notebook::fields::value::{FieldSet, Value};
use crate::notebook::reading::map;
use crate::notebook::reading::sorts::{as_typed, free_value, sort_of, typed_text};
use crate::notebook::reading::toml_fault::{self, first_sentence};
use crate::notebook::reading::walk::{ReadOptions, SEE_THE_SCHEMA, Walk};
use crate::quantity::Dimension;

/// A document as read.
#[derive(Debug, Clone)]
pub struct Checked<T> {
    /// The document, when nothing is wrong with it.
    pub document: Option<T>,
    /// Its values, as far as they can be read.
    pub fields: FieldSet,
    /// What is wrong.
    pub findings: Vec<Finding>,
}

impl<T> Checked<T> {
    /// A document of which only is known what is wrong.
    pub fn of_findings(findings: Vec<Finding>) -> Self {
        Self { document: None, fields: FieldSet::default(), findings }
    }
}

/// Reads a document whose bytes come from disk or from history.
pub fn read<T: DeserializeOwned>(
    kind: DocumentKind,
    file: &Path,
    bytes: &[u8],
    options: ReadOptions<'_>,
) -> Checked<T> {
    let mut walk = Walk::new(kind, file, options);
    let document = walk.run(bytes).and_then(|text| walk.typed(&text));
    Checked { document, fields: walk.fields, findings: walk.findings }
}

impl Walk<'_> {
    fn run(&mut self, bytes: &[u8]) -> Option<String> {
        let Ok(text) = std::str::from_utf8(bytes) else {
            self.findings.push(toml_fault::not_text(self.file));
            return None;
        };
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        self.line_starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        let document = match Document::parse(text) {
            Ok(document) => document,
            Err(error) => {
                self.findings.push(toml_fault::not_toml(self.file, text, &error));
                return None;
            }
        };
        if let Node::Table(table) = self.kind.catalogue() {
            self.table("", document.as_table(), table, 1);
        }
        self.findings.is_empty().then(|| self.with_whole_dates(text))
    }

    /// The text with the dates whole: who reads it on needs no offset of their own.
    fn with_whole_dates(&self, text: &str) -> String {
        let mut dates: Vec<_> = self.dates.iter().collect();
        dates.sort_by_key(|(place, _)| place.start);
        let mut whole = text.to_owned();
        for (place, date) in dates.into_iter().rev() {
            if whole.get(place.clone()).is_some() {
                whole.replace_range(place.clone(), &format!("\"{date}\""));
            }
        }
        whole
    }

    fn typed<T: DeserializeOwned>(&mut self, text: &str) -> Option<T> {
        match toml::from_str::<T>(text) {
            Ok(document) => Some(document),
            Err(error) => {
                let line = error.span().map(|span| self.line_of(span.start));
                let message = first_sentence(error.message());
                self.push(Code::WrongSort, line, None, &message, SEE_THE_SCHEMA);
                None
            }
        }
    }

    fn table(&mut self, above: &str, table: &dyn TableLike, shape: &Table, line: usize) {
        for (key, item) in table.iter() {
            let field = join(above, key);
            let at = self.item_line(table, key, item).unwrap_or(line);
            match shape.field(key) {
                Some(node) => self.item(&field, item, node, at, Some((table, shape))),
                None => self.unknown((&field, key), item, shape, at),
            }
        }
        for name in &shape.required {
            let field = join(above, name);
            if !table.contains_key(name) && !is_explained(&field, &self.findings) {
                let message = format!("{field} is missing.");
                self.push(
                    Code::MissingField,
                    Some(line),
                    Some(&field),
                    &message,
                    "It is needed here; add it.",
                );
            }
        }
    }

    fn unknown(&mut self, (field, key): (&str, &str), item: &Item, shape: &Table, line: usize) {
        let known = shape.fields.iter().map(|(name, _)| name.as_str());
        let near = nearest_name(key, known);
        let message = format!("{field} is not a field of this file.");
        // A window or the like whose table of windows was left out.
        let named =
            item.as_table_like().and_then(|_| shape.named_parts()).map(|parts| format!("{parts}.{key}"));
        let free = shape.field("extra").is_some();
        let help = match (near.map(str::to_owned).or(named), free) {
            (Some(near), _) => did_you_mean(&join(parent(field), &near)),
            (None, true) => "Put what is not foreseen under [extra].".to_owned(),
            (None, false) => {
                let names: Vec<_> = shape.fields.iter().map(|(name, _)| name.as_str()).collect();
                format!("Known here: {}.", names.join(", "))
            }
        };
        let help = format!("{help} {OF_A_NEWER}");
        self.push(Code::UnknownField, Some(line), Some(field), &message, &help);
    }

    pub(super) fn item(
        &mut self,
        field: &str,
        item: &Item,
        node: &Node,
        line: usize,
        around: Option<(&dyn TableLike, &Table)>,
    ) {
        match node {
            Node::Free => self.free(field, item, line),
            Node::Table(shape) => match item.as_table_like() {
                Some(table) => self.table(field, table, shape, line),
                None => self.wrong_sort(field, line, "a table of fields", item),
            },
            Node::Own(shape) => cylinder::own(self, field, item, shape, line),
            Node::Named(shape) => match item.as_table_like() {
                Some(table) => {
                    for (name, inner) in table.iter() {
                        let at = self.item_line(table, name, inner).unwrap_or(line);
                        self.item(&join(field, name), inner, shape, at, None);
                    }
                }
                None => self.wrong_sort(field, line, "a table of named parts", item),
            },
            Node::Leaf(leaf) => match item.as_value() {
                Some(value) => self.leaf(field, value, leaf, line, around),
                None => self.wrong_sort(field, line, "a single value", item),
            },
        }
    }

    fn leaf(
        &mut self,
        field: &str,
        value: &TomlValue,
        leaf: &Leaf,
        line: usize,
        around: Option<(&dyn TableLike, &Table)>,
    ) {
        match &leaf.sort {
            Sort::Quantity(dimensions, unit) => self.quantity(field, value, leaf, dimensions, unit, line),
            Sort::Text => match value.as_str() {
                Some(text) => self.put(field, line, Value::Text(text.to_owned())),
                None => self.not_in_quotes(field, value, line),
            },
            Sort::Names => self.list_of_names(field, value, line),
            Sort::Choice(words) => self.choice(field, value, words, line),
            Sort::Flag => match value.as_bool() {
                Some(flag) => self.put(field, line, Value::Flag(flag)),
                None => self.wrong_sort(field, line, "true or false", &Item::Value(value.clone())),
            },
            Sort::Date => self.date(field, value, line),
            Sort::Axis => {}
            Sort::Numbers(shape) => numbers::numbers(self, field, value, shape, line),
            Sort::Cells(shape) => {
                if let Some((table, _)) = around {
                    map::cells(self, field, value, table, shape, line);
                }
            }
        }
    }

    fn quantity(
        &mut self,
        field: &str,
        value: &TomlValue,
        leaf: &Leaf,
        dimensions: &'static [Dimension],
        unit: &'static str,
        line: usize,
    ) {
        let Some(text) = typed_text(value) else {
            let wanted = Dimension::names(dimensions);
            self.wrong_sort(field, line, &wanted, &Item::Value(value.clone()));
            return;
        };
        let quantity = match leaf.quantity(&text, dimensions, unit) {
            Ok(quantity) => quantity,
            Err(error) => {
                let message = format!("{field}: {error}");
                self.push(Code::BadQuantity, Some(line), Some(field), &message, &error.help());
                return;
            }
        };
        let either = quantity.dimension().meant_either_way();
        if let Some([one, other]) = either.filter(|_| self.options.refuse_bare_lengths && quantity.is_bare())
        {
            let message = format!("{field} is {text} without a unit, and this garage is imperial.");
            let help = format!("Write \"{text} {one}\" or \"{text} {other}\", whichever it is.");
            self.push(Code::BareLength, Some(line), Some(field), &message, &help);
            return;
        }
        if let Some(message) = out_of_range(field, &quantity, leaf, unit) {
            self.push(Code::OutOfRange, Some(line), Some(field), &message.0, &message.1);
            return;
        }
        self.put(field, line, Value::Quantity(quantity));
    }

    fn choice(&mut self, field: &str, value: &TomlValue, words: &[String], line: usize) {
        match value.as_str() {
            Some(word) if words.iter().any(|known| known == word) => {
                self.put(field, line, Value::Text(word.to_owned()));
            }
            _ => {
                let shown = value.as_str().map_or_else(|| value.to_string().trim().to_owned(), str::to_owned);
                let message = format!("{field} cannot be \"{shown}\".");
                let help = format!("Allowed: {}.", words.join(", "));
                self.push(Code::NotAChoice, Some(line), Some(field), &message, &help);
            }
        }
    }

    fn list_of_names(&mut self, field: &str, value: &TomlValue, line: usize) {
        let names: Option<Vec<&str>> =
            value.as_array().and_then(|list| list.iter().map(TomlValue::as_str).collect());
        if let Some(names) = names {
            self.put(field, line, Value::Text(names.join(", ")));
        } else {
            let found = Item::Value(value.clone());
            self.wrong_sort(field, line, "a list of names in quotes, like [\"a\", \"b\"],", &found);
        }
    }

    fn date(&mut self, field: &str, value: &TomlValue, line: usize) {
        let Some(text) = value.as_str() else {
            let message = format!("{field} is not a date in quotes.");
            self.push(
                Code::BadDate,
                Some(line),
                Some(field),
                &message,
                "Write it like \"2026-05-16T10:30+02:00\".",
            );
            return;
        };
        match When::parse(text, self.options.here) {
            Ok(date) => {
                let complete = When::parse(text, Offset::UTC).is_ok_and(|same| same == date);
                if let Some(place) = value.span().filter(|_| !complete) {
                    self.dates.push((place, date));
                }
                self.put(field, line, Value::Text(text.to_owned()));
            }
            Err(error) => {
                self.push(
                    Code::BadDate,
                    Some(line),
                    Some(field),
                    &format!("{field}: {error}"),
                    &error.help(),
                );
            }
        }
    }

    /// The free part keeps whatever is there; text that reads as a quantity with a unit is one.
    fn free(&mut self, field: &str, item: &Item, line: usize) {
        if let Some(table) = item.as_table_like() {
            for (name, inner) in table.iter() {
                let at = self.item_line(table, name, inner).unwrap_or(line);
                self.free(&join(field, name), inner, at);
            }
        } else if let Some(value) = item.as_value() {
            self.put(field, line, free_value(value));
        } else {
            self.wrong_sort(field, line, "a value or a table", item);
        }
    }

    /// Words that lack their quotes.
    fn not_in_quotes(&mut self, field: &str, value: &TomlValue, line: usize) {
        let message =
            format!("{field} is {}, but words in quotes belong there.", sort_of(&Item::Value(value.clone())));
        let help = match as_typed(value) {
            Some(typed) => format!("Write it in quotes: \"{typed}\"."),
            None => SEE_THE_SCHEMA.to_owned(),
        };
        self.push(Code::WrongSort, Some(line), Some(field), &message, &help);
    }
}

/// What is not known here may be known to another version.
const OF_A_NEWER: &str = "If a newer version of this program wrote it, use that one here.";
