//! Reads a map: its axes and cells from a document, or from a CSV file under maps/ (rpm across, throttle down).

use toml_edit::{Array, Item, TableLike, Value as TomlValue};

use super::catalogue::MapShape;
use super::finding::Code;
use super::map::MapTable;
use super::names;
use super::read::{Walk, join, parent};
use super::value::Value;

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
        TomlValue::String(name) => from_file(walk, name.value(), shape),
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
        Ok(map) => {
            if let Some(file) = &map.file {
                unused_axes(walk, field, file, table, shape);
            }
            walk.put(field, line, Value::Map(map));
        }
        Err(Wrong { axis: Some(axis), code, message, help }) if value.is_array() => {
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

/// What is wrong with a map.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// The field of the axis that is to blame, where it is not the cells.
    pub axis: Option<String>,
    /// Its sort.
    pub code: Code,
    /// What was found.
    pub message: String,
    /// The way out.
    pub help: String,
}

fn wrong(code: Code, message: impl Into<String>, help: impl Into<String>) -> Wrong {
    Wrong { axis: None, code, message: message.into(), help: help.into() }
}

fn wrong_axis(name: &str, code: Code, message: String, help: String) -> Wrong {
    Wrong { axis: Some(name.to_owned()), code, message, help }
}

fn from_file(walk: &Walk<'_>, name: &str, shape: &MapShape) -> Result<MapTable, Wrong> {
    let inner = name.strip_prefix("maps/").and_then(|rest| rest.strip_suffix(".csv"));
    if inner.is_none_or(|stem| names::check(stem).is_err()) {
        let message = format!("\"{}\" is not a file in maps/.", names::visible(name));
        return Err(wrong(Code::MapFile, message, "Write it like \"maps/ignition.csv\"."));
    }
    let text = (walk.options.map_file)(name).ok_or_else(|| {
        let message = format!("The file {name} is not there, or is not text.");
        wrong(Code::MapFile, message, "Put it beside setup.toml, in maps/, saved as UTF-8 text.")
    })?;
    let mut map = parse_csv(&text, shape)?;
    map.file = Some(name.to_owned());
    Ok(map)
}

/// A map as CSV: the first row is the engine speeds after one corner cell, the first column the throttle openings
/// (empty in a map over engine speed alone).
pub fn parse_csv(text: &str, shape: &MapShape) -> Result<MapTable, Wrong> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut map = MapTable {
        rpm: Vec::new(),
        throttle: Vec::new(),
        rows: Vec::new(),
        unit: shape.unit.clone(),
        file: None,
    };
    for (index, record) in reader.records().enumerate() {
        let record = record
            .map_err(|error| wrong(Code::MapFile, format!("{error}."), "Save the map as plain CSV."))?;
        let numbers =
            record.iter().skip(1).map(|cell| number(cell, index + 1)).collect::<Result<Vec<_>, _>>()?;
        let first = record.get(0).unwrap_or("");
        if index == 0 {
            map.rpm = numbers;
        } else {
            if !first.is_empty() {
                map.throttle.push(number(first, index + 1)?);
            }
            map.rows.push(numbers);
        }
    }
    Ok(map)
}

fn number(cell: &str, line: usize) -> Result<f64, Wrong> {
    cell.parse::<f64>().map_err(|_| {
        let message =
            format!("Line {line} of the map file has \"{}\", which is not a number.", names::visible(cell));
        wrong(Code::MapFile, message, "Every cell but the corner is a number with a decimal point.")
    })
}

fn from_document(rows: &Array, table: &dyn TableLike, shape: &MapShape) -> Result<MapTable, Wrong> {
    let rpm = axis(table, &shape.across)?.ok_or_else(|| {
        wrong_axis(
            &shape.across,
            Code::MissingField,
            format!("The engine speeds of the map are missing: there is no {}.", shape.across),
            format!("Add {} = [1000, 2000, ...] with one engine speed for each cell.", shape.across),
        )
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
        Some(Some(values)) => {
            numbers(values, name).map(Some).map_err(|wrong| Wrong { axis: Some(name.to_owned()), ..wrong })
        }
        Some(None) => Err(wrong_axis(
            name,
            Code::WrongSort,
            format!("{name} is not a list of numbers."),
            format!("Write it like {name} = [20, 50, 100]."),
        )),
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
                wrong(Code::WrongSort, message, "Write plain numbers without units.")
            })
        })
        .collect()
}

fn ragged(message: &str) -> Wrong {
    wrong(
        Code::RaggedMap,
        format!("{message}."),
        "Give every row one cell for each engine speed, and one row for each throttle opening.",
    )
}

/// The rules every map keeps, wherever it was read from.
pub fn check(map: MapTable, shape: &MapShape) -> Result<MapTable, Wrong> {
    if map.rpm.len() < 2 {
        return Err(ragged("A map needs at least two engine speeds"));
    }
    ascending(&map.rpm, &shape.across, (0.0, 30_000.0))?;
    ascending(&map.throttle, &shape.down, (0.0, 100.0))?;
    let wanted = map.throttle.len().max(1);
    if map.rows.len() != wanted {
        return Err(ragged(&format!(
            "There are {} rows of cells for {wanted} of {}",
            map.rows.len(),
            shape.down
        )));
    }
    for (index, row) in map.rows.iter().enumerate() {
        if row.len() != map.rpm.len() {
            return Err(ragged(&format!(
                "Row {} has {} cells for {} engine speeds",
                index + 1,
                row.len(),
                map.rpm.len()
            )));
        }
    }
    let (low, high) = shape.range;
    let outside = map.cells().find(|(_, cell)| !cell.is_finite() || !(low..=high).contains(cell));
    match outside {
        Some((place, cell)) => Err(wrong(
            Code::OutOfRange,
            format!("The cell at {place} cannot be {cell}."),
            format!("Allowed: {low} to {high} {}.", shape.unit).replace(" .", "."),
        )),
        None => Ok(map),
    }
}

fn ascending(axis: &[f64], name: &str, (low, high): (f64, f64)) -> Result<(), Wrong> {
    if let Some(point) = axis.iter().find(|point| !(low..=high).contains(*point)) {
        return Err(wrong_axis(
            name,
            Code::OutOfRange,
            format!("{name} has {point}."),
            format!("Allowed: {low} to {high}."),
        ));
    }
    match axis.windows(2).find(|pair| pair[0] >= pair[1]) {
        Some(pair) => Err(wrong_axis(
            name,
            Code::AxisOrder,
            format!("{name} does not ascend: {} is followed by {}.", pair[0], pair[1]),
            "Put the breakpoints in ascending order, each once, and the cells with them.".into(),
        )),
        None => Ok(()),
    }
}
