//! Reads a map: its axes and cells from a document, or from a CSV file under maps/ (rpm across, throttle down).

use toml_edit::{Array, Item, TableLike, Value as TomlValue};

use crate::notebook::editing::map::csv::CsvSheet;
use crate::notebook::fields::catalogue::MapShape;
use crate::notebook::fields::finding::Code;
use crate::notebook::fields::names;
use crate::notebook::fields::value::Value;
use crate::notebook::maps::table::MapTable;
use crate::notebook::reading::document::{Walk, join, parent};

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

/// What is wrong with a map.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// The field of the axis that is to blame, where it is not the cells.
    pub axis: Option<String>,
    /// The row that is to blame: 0 for the engine speeds, then one for each row of cells.
    pub row: Option<usize>,
    /// The line of the map's file that is to blame, from 1, where the map has a file.
    pub line: Option<usize>,
    /// Its sort.
    pub code: Code,
    /// What was found.
    pub message: String,
    /// The way out.
    pub help: String,
}

impl Wrong {
    pub(in crate::notebook) fn new(code: Code, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { axis: None, row: None, line: None, code, message: message.into(), help: help.into() }
    }

    fn of_axis(self, name: &str) -> Self {
        Self { axis: Some(name.to_owned()), ..self }
    }

    fn in_row(self, row: usize) -> Self {
        Self { row: Some(row), ..self }
    }

    fn on_line(self, line: usize) -> Self {
        Self { line: Some(line), ..self }
    }
}

/// Whether a name is that of a file under maps/, and no other file's.
pub(in crate::notebook) fn is_map_file(name: &str) -> bool {
    let stem = name.strip_prefix("maps/").and_then(|rest| rest.strip_suffix(".csv"));
    stem.is_some_and(|stem| names::check(stem).is_ok())
}

/// A file under maps/ that is named and not there.
pub(in crate::notebook) fn no_file(name: &str) -> Wrong {
    Wrong::new(
        Code::MapFile,
        format!("The file {name} is not there, or is not text."),
        "Put it beside setup.toml, in maps/, saved as UTF-8 text.",
    )
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

/// A map as CSV, checked: the first row is the engine speeds after one corner cell, the first column the throttle openings
/// (empty in a map over engine speed alone).
pub fn parse_csv(text: &str, shape: &MapShape) -> Result<MapTable, Wrong> {
    let lines = CsvSheet::new(text.to_owned()).lines();
    let line_of = |row: usize| lines.get(row).copied();
    let map = rows_of_csv(text, shape, &line_of)?;
    check(map, shape).map_err(|wrong| Wrong { line: wrong.row.and_then(line_of), ..wrong })
}

fn rows_of_csv(
    text: &str,
    shape: &MapShape,
    line_of: &dyn Fn(usize) -> Option<usize>,
) -> Result<MapTable, Wrong> {
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
    for (row, record) in reader.records().enumerate() {
        let line = line_of(row).unwrap_or(row + 1);
        let record = record.map_err(|error| {
            Wrong::new(Code::MapFile, format!("{error}."), "Save the map as plain CSV.").on_line(line)
        })?;
        let numbers = record.iter().skip(1).map(|cell| number(cell, line)).collect::<Result<Vec<_>, _>>()?;
        let first = record.get(0).unwrap_or("");
        if row == 0 {
            if first.parse::<f64>().is_ok() {
                let message = format!("The first cell of the map file is the engine speed {first}.");
                let help = "Put a corner cell before the engine speeds (the word rpm will do), and the throttle opening, or nothing, before each row of cells.";
                return Err(Wrong::new(Code::MapFile, message, help).on_line(line));
            }
            map.rpm = numbers;
        } else {
            if !first.is_empty() {
                map.throttle.push(number(first, line)?);
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
        let help = "Every cell but the corner is a number with a decimal point.";
        Wrong::new(Code::MapFile, message, help).on_line(line)
    })
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

fn ragged(message: &str) -> Wrong {
    Wrong::new(
        Code::RaggedMap,
        format!("{message}."),
        "Give every row one cell for each engine speed, and one row for each throttle opening.",
    )
}

/// The rules every map keeps, wherever it was read from.
pub fn check(map: MapTable, shape: &MapShape) -> Result<MapTable, Wrong> {
    if map.rpm.len() < 2 {
        let help = "Add the next engine speed, and its cell to every row; one figure alone goes into a note.";
        let message = "A map needs at least two engine speeds.".to_owned();
        return Err(Wrong::new(Code::RaggedMap, message, help).in_row(0));
    }
    ascending(&map.rpm, &shape.across, (0.0, 30_000.0)).map_err(|(wrong, _)| wrong.in_row(0))?;
    let each_has_an_opening = map.rows.len() == map.throttle.len();
    ascending(&map.throttle, &shape.down, (0.0, 100.0))
        .map_err(|(wrong, at)| if each_has_an_opening { wrong.in_row(at + 1) } else { wrong })?;
    let wanted = map.throttle.len().max(1);
    if map.rows.len() != wanted {
        return Err(ragged(&format!(
            "There are {} rows of cells for {wanted} of {}",
            map.rows.len(),
            shape.down
        )));
    }
    for (row, cells) in map.rows.iter().enumerate() {
        if cells.len() != map.rpm.len() {
            let found =
                format!("Row {} has {} cells for {} engine speeds", row + 1, cells.len(), map.rpm.len());
            return Err(ragged(&found).in_row(row + 1));
        }
    }
    let (low, high) = shape.range;
    let outside = map.cells().find(|(_, cell)| !cell.is_finite() || !(low..=high).contains(cell));
    match outside {
        Some((place, cell)) => {
            let message = format!("The cell at {place} cannot be {cell}.");
            let help = format!("Allowed: {low} to {high} {}.", shape.unit).replace(" .", ".");
            let wrong = Wrong::new(Code::OutOfRange, message, help);
            Err(map.row(place.throttle).map_or(wrong.clone(), |row| wrong.in_row(row + 1)))
        }
        None => Ok(map),
    }
}

/// The fault of an axis, with the number of the breakpoint from 0.
fn ascending(axis: &[f64], name: &str, (low, high): (f64, f64)) -> Result<(), (Wrong, usize)> {
    if let Some(at) = axis.iter().position(|point| !(low..=high).contains(point)) {
        let wrong = Wrong::new(
            Code::OutOfRange,
            format!("{name} has {}.", axis[at]),
            format!("Allowed: {low} to {high}."),
        );
        return Err((wrong.of_axis(name), at));
    }
    match axis.windows(2).position(|pair| pair[0] >= pair[1]) {
        Some(at) => {
            let wrong = Wrong::new(
                Code::AxisOrder,
                format!("{name} does not ascend: {} is followed by {}.", axis[at], axis[at + 1]),
                "Put the breakpoints in ascending order, each once, and the cells with them.",
            );
            Err((wrong.of_axis(name), at + 1))
        }
        None => Ok(()),
    }
}
