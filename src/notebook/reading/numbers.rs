//! Reads lists of numbers: the sizes of a box, the points of a needle, a table of shares. Each number is held against the range
//! of its column, so that a slip names its line and is not reckoned with.

use toml_edit::{Item, Value as TomlValue};

use crate::notebook::fields::finding::Code;
use crate::notebook::fields::node::{Column, NumberList};
use crate::notebook::fields::value::Value;
use crate::notebook::reading::walk::Walk;
use crate::quantity::trimmed;

/// Reads the list at `field`; whatever is wrong becomes a finding.
pub(super) fn numbers(walk: &mut Walk<'_>, field: &str, value: &TomlValue, shape: &NumberList, line: usize) {
    let Some(list) = value.as_array() else {
        return walk.wrong_sort(field, line, "a list of numbers", &Item::Value(value.clone()));
    };
    if list.len() < shape.least_rows {
        let message = format!("{field} has {} of the {} rows it needs.", list.len(), shape.least_rows);
        walk.push(Code::MissingField, Some(line), Some(field), &message, &shape.help());
    }
    let mut before: Option<f64> = None;
    for (index, row) in list.iter().enumerate() {
        let at = row.span().map_or(line, |span| walk.line_of(span.start));
        let place = format!("{field}, entry {}", index + 1);
        let first = self::row(walk, (field, &place), row, shape, at);
        let ascends =
            shape.columns.len() < 2 || !matches!((before, first), (Some(one), Some(two)) if two <= one);
        if let (Some(column), Some(found), false) = (shape.columns.first(), first, ascends) {
            let message = format!(
                "{place}: {} cannot be {} after a larger or the same one.",
                column.name,
                column.shown(found)
            );
            walk.push(
                Code::AxisOrder,
                Some(at),
                Some(field),
                &message,
                "The rows go from the least to the most, each once.",
            );
        }
        before = first.or(before);
    }
    walk.put(field, line, Value::Text(value.to_string().trim().to_owned()));
}

/// Checks one row, and gives its first number.
fn row(
    walk: &mut Walk<'_>,
    (field, place): (&str, &str),
    row: &TomlValue,
    shape: &NumberList,
    line: usize,
) -> Option<f64> {
    let cells: Vec<&TomlValue> = match row.as_array() {
        Some(cells) if shape.columns.len() > 1 => cells.iter().collect(),
        None if shape.columns.len() == 1 => vec![row],
        _ => Vec::new(),
    };
    if cells.len() != shape.columns.len() {
        let message = format!("{place} is not {}.", shape.row_words());
        walk.push(Code::WrongSort, Some(line), Some(field), &message, &shape.help());
        return None;
    }
    let mut read = cells.into_iter().zip(&shape.columns).map(|(cell, column)| {
        let number = number(cell);
        if let Some(message) = wrong(cell, number, column) {
            let code = if number.is_some() { Code::OutOfRange } else { Code::BadQuantity };
            walk.push(code, Some(line), Some(field), &format!("{place}: {message}"), &column.help());
            return None;
        }
        number
    });
    let first = read.next().flatten();
    read.for_each(drop);
    first
}

/// A number that can be reckoned with.
fn number(cell: &TomlValue) -> Option<f64> {
    #[allow(clippy::cast_precision_loss)] // far beyond every range
    let number = cell.as_float().or_else(|| cell.as_integer().map(|whole| whole as f64));
    number.filter(|number| number.is_finite())
}

fn wrong(cell: &TomlValue, number: Option<f64>, column: &Column) -> Option<String> {
    let shown = match number {
        Some(number) if (column.range.0..=column.range.1).contains(&number) => return None,
        Some(number) => column.shown(number),
        None => cell.to_string().trim().to_owned(),
    };
    Some(format!("{} cannot be {shown}.", column.name))
}

impl Column {
    fn shown(&self, number: f64) -> String {
        format!("{} {}", trimmed(number, 6), self.unit).trim().to_owned()
    }

    fn help(&self) -> String {
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        format!("Allowed: a number from {}{unit} to {}{unit}.", self.range.0, self.range.1)
    }
}

impl NumberList {
    /// "a pair of slide lift and share".
    fn row_words(&self) -> String {
        let names: Vec<&str> = self.columns.iter().map(|column| column.name.as_str()).collect();
        match names.as_slice() {
            [one] => format!("a {one}"),
            several => format!("a row of {}", several.join(" and ")),
        }
    }

    fn help(&self) -> String {
        let units: Vec<&str> = self.columns.iter().map(|column| column.unit.as_str()).collect();
        match units.as_slice() {
            [_] => "It is a list of numbers, like [170, 172].".to_owned(),
            several => format!(
                "Each row is {}, both bare numbers in {}: [12.5, 2.5].",
                self.row_words(),
                several.join(" and ")
            ),
        }
    }
}
