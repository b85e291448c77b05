//! Reads a map: its axes and cells from a document, or from a CSV file under maps/ (rpm across, throttle down).

use toml_edit::{Array, Item, TableLike, Value as TomlValue};

use crate::notebook::fields::finding::Code;
use crate::notebook::fields::names;
use crate::notebook::fields::node::MapShape;
use crate::notebook::fields::path::{join, parent};
use crate::notebook::fields::value::Value;
use crate::notebook::maps::csv_read::parse_csv;
use crate::notebook::maps::rules::{Wrong, check, is_map_file, no_file, ragged};
use crate::notebook::maps::table::MapTable;
use crate::notebook::reading::walk::Walk;

/// Reads the cells at `field` and the axes beside them; whatever is wrong becomes a finding.
pub(super) fn cells(
    walk: &mut Walk<'_>,
    field: &str,
    value: &TomlValue,
    table: &dyn TableLike,
    shape: &MapShape,
    line: usize,
) {
    let read = match value {
        TomlValue::String(name) => {
            let name = name.value();
            let Some(text) = text_of_file(walk, name, field, line) else {
                return;
            };
            match parse_csv(&text, shape) {
                Ok(map) => {
                    unused_axes(walk, field, name, table, shape);
                    walk.put(field, line, Value::Map(MapTable { file: Some(name.clone()), ..map }));
                }
                Err(wrong) => {
                    let message = format!("{field}: {}", wrong.message);
                    walk.push_beside(name, (wrong.code, wrong.line), field, &message, &wrong.help);
                }
            }
            return;
        }
        TomlValue::Array(rows) => from_document(rows, table, shape),
        other => {
            walk.wrong_sort(
                field,
                line,
                "a list of numbers or the name of a file in maps/",
                &Item::Value(other.clone()),
            );
            return;
        }
    };
    match read.and_then(|map| check(map, shape)) {
        Ok(map) => walk.put(field, line, Value::Map(map)),
        Err(Wrong { axis: Some(axis), code, message, help, .. }) => {
            let at = table.get(&axis).and_then(|item| walk.item_line(table, &axis, item)).unwrap_or(line);
            walk.push(code, Some(at), Some(&join(parent(field), &axis)), &message, &help);
        }
        Err(Wrong { code, message, help, .. }) => {
            walk.push(code, Some(line), Some(field), &format!("{field}: {message}"), &help);
        }
    }
}

/// A map's file has axes of its own, so those beside its name would be read by nobody.
fn unused_axes(walk: &mut Walk<'_>, field: &str, file: &str, table: &dyn TableLike, shape: &MapShape) {
    let axes = [&shape.across, &shape.down];
    let Some((axis, item)) = axes.into_iter().find_map(|axis| Some((axis, table.get(axis)?))) else {
        return;
    };
    let line = walk.item_line(table, axis, item);
    let axis = join(parent(field), axis);
    let message = format!("{axis} is not used: {field} is {file}, which has axes of its own.");
    walk.push(
        Code::Contradiction,
        line,
        Some(&axis),
        &message,
        "Take it out, or write the cells here as well.",
    );
}

/// The text of a file under maps/; what keeps it from being read becomes a finding where the file is named.
fn text_of_file(walk: &mut Walk<'_>, name: &str, field: &str, line: usize) -> Option<String> {
    let text = (walk.options.map_file)(name).filter(|_| is_map_file(name));
    if text.is_none() {
        let wrong = if is_map_file(name) {
            no_file(name)
        } else {
            let message = format!("\"{}\" is not a file in maps/.", names::visible(name));
            Wrong::new(Code::MapFile, message, "Write it like \"maps/ignition.csv\".")
        };
        let message = format!("{field}: {}", wrong.message);
        walk.push(wrong.code, Some(line), Some(field), &message, &wrong.help);
    }
    text
}

fn from_document(rows: &Array, table: &dyn TableLike, shape: &MapShape) -> Result<MapTable, Wrong> {
    let rpm = axis(table, &shape.across)?.ok_or_else(|| {
        Wrong::new(
            Code::MissingField,
            format!("The engine speeds of the map are missing: there is no {}.", shape.across),
            format!("Add {} = [1000, 2000, ...] with one engine speed for each cell.", shape.across),
        )
        .of_axis(&shape.across)
    })?;
    let throttle = axis(table, &shape.down)?.unwrap_or_default();
    let nested = rows.iter().any(TomlValue::is_array);
    let rows = if nested {
        rows.iter()
            .map(|row| {
                row.as_array()
                    .ok_or_else(|| ragged("rows and single numbers are mixed"))
                    .and_then(|row| numbers(row, "cells"))
            })
            .collect::<Result<Vec<_>, _>>()?
    } else {
        vec![numbers(rows, "cells")?]
    };
    Ok(MapTable { rpm, throttle, rows, unit: shape.unit.clone(), file: None })
}

fn axis(table: &dyn TableLike, name: &str) -> Result<Option<Vec<f64>>, Wrong> {
    match table.get(name).map(Item::as_array) {
        None => Ok(None),
        Some(Some(values)) => numbers(values, name).map(Some).map_err(|wrong| wrong.of_axis(name)),
        Some(None) => {
            let message = format!("{name} is not a list of numbers.");
            let help = format!("Write it like {name} = [20, 50, 100].");
            Err(Wrong::new(Code::WrongSort, message, help).of_axis(name))
        }
    }
}

fn numbers(values: &Array, what: &str) -> Result<Vec<f64>, Wrong> {
    values
        .iter()
        .map(|value| {
            #[allow(clippy::cast_precision_loss)] // engine speeds and cells are far below 2^52
            let number = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64));
            number.ok_or_else(|| {
                let message = format!("{what} has {}, which is not a number.", value.to_string().trim());
                Wrong::new(Code::WrongSort, message, "Write plain numbers without units.")
            })
        })
        .collect()
}
