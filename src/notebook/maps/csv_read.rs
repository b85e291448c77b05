//! A map as CSV, read: engine speeds across, throttle openings down.

use crate::notebook::editing::map::csv::CsvSheet;
use crate::notebook::fields::finding::Code;
use crate::notebook::fields::names;
use crate::notebook::fields::node::MapShape;
use crate::notebook::maps::rules::{Wrong, check};
use crate::notebook::maps::table::MapTable;

/// A map as CSV, checked: the first row is the engine speeds after one corner cell, the first column the throttle openings
/// (empty in a map over engine speed alone).
pub fn parse_csv(text: &str, shape: &MapShape) -> Result<MapTable, Wrong> {
    let lines = CsvSheet::new(text.to_owned()).lines();
    let line_of = |row: usize| lines.get(row).copied();
    let map = rows_of_csv(text, shape, &line_of)?;
    check(map, shape).map_err(|wrong| Wrong { line: wrong.row.and_then(line_of), ..wrong })
}

pub(in crate::notebook) fn rows_of_csv(
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

pub(in crate::notebook) fn number(cell: &str, line: usize) -> Result<f64, Wrong> {
    cell.parse::<f64>().map_err(|_| {
        let message =
            format!("Line {line} of the map file has \"{}\", which is not a number.", names::visible(cell));
        let help = "Every cell but the corner is a number with a decimal point.";
        Wrong::new(Code::MapFile, message, help).on_line(line)
    })
}
