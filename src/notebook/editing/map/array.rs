//! A map that stands in the setup file: its arrays change cell by cell, and their line breaks and comments stay.

use toml_edit::{Array, Item, TableLike, Value as TomlValue};

use crate::notebook::editing::map::sheet::Sheet;
use crate::notebook::editing::toml::text::{number, text_of};
use crate::notebook::fields::node::MapShape;

/// The arrays of one map.
pub(super) struct InlineSheet<'a> {
    table: &'a mut dyn TableLike,
    across: &'a str,
    down: &'a str,
    cells: &'a str,
}

impl<'a> InlineSheet<'a> {
    /// `table` holds the field and its axes.
    pub(super) fn new(table: &'a mut dyn TableLike, shape: &'a MapShape, field: &'a str) -> Self {
        Self {
            table,
            across: &shape.across,
            down: &shape.down,
            cells: field.rsplit('.').next().unwrap_or(field),
        }
    }

    fn array(&mut self, name: &str) -> Option<&mut Array> {
        self.table.get_mut(name).and_then(Item::as_array_mut)
    }

    /// The row that a map over engine speed alone is, or one of several.
    fn row(&mut self, at: usize) -> Option<&mut Array> {
        let name = self.cells;
        let cells = self.array(name)?;
        if cells.iter().any(TomlValue::is_array) {
            return cells.get_mut(at)?.as_array_mut();
        }
        Some(cells)
    }
}

impl Sheet for InlineSheet<'_> {
    fn decimals(&self) -> usize {
        let cells = self.table.get(self.cells).and_then(Item::as_array);
        cells.map(finest).unwrap_or_default()
    }

    fn put(&mut self, row: usize, column: usize, digits: &str) {
        if let Some(old) = self.row(row).and_then(|row| row.get_mut(column)) {
            let mut value = written(digits);
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
    }

    fn insert_column(&mut self, at: usize, rpm: &str, cells: &[String]) {
        let across = self.across;
        if let Some(axis) = self.array(across) {
            insert(axis, at, written(rpm));
        }
        for (index, digits) in cells.iter().enumerate() {
            if let Some(row) = self.row(index) {
                insert(row, at, written(digits));
            }
        }
    }

    fn insert_row(&mut self, at: usize, throttle: &str, cells: &[String]) {
        let (down, name) = (self.down, self.cells);
        if let Some(axis) = self.array(down) {
            insert(axis, at, written(throttle));
        }
        let Some(rows) = self.array(name) else {
            return;
        };
        // A map of one opening may have its row written flat: it becomes the first of several.
        if !rows.iter().any(TomlValue::is_array) {
            let only = std::mem::take(rows);
            rows.push(TomlValue::Array(only));
        }
        let model = rows.get(at.min(rows.len().saturating_sub(1))).and_then(TomlValue::as_array);
        if let Some(row) = model.map(|model| row_like(model, cells)) {
            insert(rows, at, TomlValue::Array(row));
        }
    }
}

fn written(digits: &str) -> TomlValue {
    let fallback = || digits.parse::<f64>().map_or_else(|_| TomlValue::from(digits), TomlValue::from);
    number(digits).unwrap_or_else(fallback)
}

fn finest(cells: &Array) -> usize {
    let decimals = |value: &TomlValue| match value {
        TomlValue::Array(row) => finest(row),
        TomlValue::Float(number) => {
            let text = number.display_repr();
            text.split_once('.').map_or(0, |(_, after)| after.bytes().take_while(u8::is_ascii_digit).count())
        }
        _ => 0,
    };
    cells.iter().map(decimals).max().unwrap_or_default()
}

/// A row set out like its neighbour, without that one's comments.
fn row_like(model: &Array, cells: &[String]) -> Array {
    let mut row = model.clone();
    row.set_trailing(without_comments(text_of(Some(model.trailing()))));
    for (index, digits) in cells.iter().enumerate() {
        if let Some(old) = row.get_mut(index) {
            let mut value = written(digits);
            let around = |raw| without_comments(text_of(raw));
            value.decor_mut().set_prefix(around(old.decor().prefix()));
            value.decor_mut().set_suffix(around(old.decor().suffix()));
            *old = value;
        }
    }
    row
}

/// Puts a value in before the one at `at`. A comment behind the value before it stays there, and a list with one value a
/// line keeps one value a line.
fn insert(array: &mut Array, at: usize, mut value: TomlValue) {
    let one_a_line = array.len() > 1 && array.iter().skip(1).all(|value| prefix(value).contains('\n'));
    let line_start =
        array.iter().skip(1).map(prefix).find(|space| space.contains('\n')).map(|space| line_of(&space));
    let between = if one_a_line { line_start.unwrap_or_default() } else { " ".to_owned() };
    if at < array.len() {
        let Some(next) = array.get_mut(at) else {
            return;
        };
        value.decor_mut().set_prefix(prefix(next));
        value.decor_mut().set_suffix("");
        next.decor_mut().set_prefix(between);
    } else {
        let behind = comment_at_end(array);
        let indent = behind.map(|comment| format!("{}{}", comment.trim_end(), line_or(&between)));
        value.decor_mut().set_prefix(indent.unwrap_or(between));
        let suffix = array.len().checked_sub(1).and_then(|last| array.get_mut(last)).map(|last| {
            let suffix = text_of(last.decor().suffix()).to_owned();
            last.decor_mut().set_suffix("");
            suffix
        });
        value.decor_mut().set_suffix(suffix.unwrap_or_default());
    }
    array.insert_formatted(at.min(array.len()), value);
}

fn prefix(value: &TomlValue) -> String {
    text_of(value.decor().prefix()).to_owned()
}

/// From the last line break on: where the value on that line begins.
fn line_of(space: &str) -> String {
    space.rfind('\n').map_or_else(|| space.to_owned(), |at| space[at..].to_owned())
}

fn line_or(between: &str) -> String {
    if between.contains('\n') { between.to_owned() } else { format!("\n{between}") }
}

/// Takes the comment behind the last value off the array, so that it can stay behind it.
fn comment_at_end(array: &mut Array) -> Option<String> {
    let trailing = text_of(Some(array.trailing())).to_owned();
    if trailing.contains('#') {
        array.set_trailing(line_of(&trailing));
        return Some(trailing);
    }
    let last = array.len().checked_sub(1)?;
    let suffix = text_of(array.get(last)?.decor().suffix()).to_owned();
    suffix.contains('#').then(|| {
        if let Some(last) = array.get_mut(last) {
            last.decor_mut().set_suffix(line_of(&suffix));
        }
        suffix
    })
}

/// The same space without what is written in it.
fn without_comments(space: &str) -> String {
    if !space.contains('#') {
        return space.to_owned();
    }
    line_of(space)
}
