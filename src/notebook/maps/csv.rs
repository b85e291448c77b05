//! Whole maps as CSV: written out, read from a file that was made elsewhere, and written over an older file in its style.

use std::path::Path;

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::field::shape_of;
use crate::notebook::editing::map::csv::CsvSheet;
use crate::notebook::editing::map::sheet::Sheet;
use crate::notebook::fields::finding::Code;
use crate::notebook::maps::csv_read::parse_csv;
use crate::notebook::maps::rules::Wrong;
use crate::notebook::maps::shape::decimals_of;
use crate::notebook::maps::table::MapTable;
use crate::quantity::{fixed, nearly_equal};

/// A map as CSV, as it stands in a file under maps/: engine speeds across after a corner cell, throttle openings down; a
/// single row begins with an empty cell. Reading it gives the same map.
pub fn map_csv(map: &MapTable) -> String {
    let decimals = decimals_of(map);
    let corner = if map.throttle.is_empty() { "rpm" } else { "throttle\\rpm" };
    let line = |first: &str, numbers: &[f64], decimals: usize| {
        let numbers = numbers.iter().map(|number| digits(*number, decimals));
        std::iter::once(first.to_owned()).chain(numbers).collect::<Vec<_>>().join(",") + "\n"
    };
    let mut text = line(corner, &map.rpm, 0);
    for (row, cells) in map.rows.iter().enumerate() {
        let first = map.throttle.get(row).map(|throttle| digits(*throttle, 0)).unwrap_or_default();
        text += &line(&first, cells, decimals);
    }
    text
}

/// A number with at least so many decimals, and as many as say it; what a computer adds in the thirteenth place is no digit.
pub(in crate::notebook) fn digits(value: f64, least: usize) -> String {
    let says_it = |decimals: &usize| {
        let shown = fixed(value, *decimals).parse::<f64>();
        shown.is_ok_and(|shown| (shown - value).abs() <= 1e-12 * value.abs())
    };
    let decimals = (least..=least.max(9)).find(says_it);
    decimals.map_or_else(|| value.to_string(), |decimals| fixed(value, decimals))
}

/// Reads the CSV of a map that was made elsewhere, as `field` takes it ("ignition.advance"); `file` is only named in what is
/// said of it. Besides what a file under maps/ may be, a single row may begin with a word in place of an empty cell.
/// Semicolons and tabs between the cells and decimal commas are refused, never guessed at.
pub fn parse_map_csv(field: &str, file: &Path, text: &str) -> Result<MapTable, EditError> {
    let shape = shape_of(field)?;
    let wrong = |wrong| EditError::BadMap { field: field.to_owned(), file: Some(file.to_owned()), wrong };
    foreign_signs(text).map_or(Ok(()), |found| Err(wrong(found)))?;
    let read = parse_csv(&without_row_name(text), shape).map_err(|found| wrong(explained(found, text)))?;
    if openings_across(text) { Err(wrong(turned(None))) } else { Ok(read) }
}

fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines().enumerate().map(|(at, line)| (at + 1, line))
}

/// Other signs between the cells than commas, and commas inside the numbers where quotes give them away.
fn foreign_signs(text: &str) -> Option<Wrong> {
    lines(text).find_map(|(line, content)| {
        let (what, help) = if content.contains(';') {
            (
                "semicolons between its cells",
                "Save it with commas between the cells and decimal points in the numbers.",
            )
        } else if content.contains('\t') {
            (
                "tabs between its cells",
                "Save it with commas between the cells and decimal points in the numbers.",
            )
        } else if has_decimal_comma(content) {
            ("a number with a decimal comma", "Save it with decimal points in the numbers.")
        } else {
            return None;
        };
        let message = format!("Line {line} of the map file has {what}.");
        Some(Wrong { line: Some(line), ..Wrong::new(Code::MapFile, message, help) })
    })
}

/// Whether a quoted cell is a number with a comma in it.
fn has_decimal_comma(line: &str) -> bool {
    line.split('"')
        .skip(1)
        .step_by(2)
        .any(|cell| cell.contains(',') && cell.trim().replacen(',', ".", 1).parse::<f64>().is_ok())
}

/// The text without the word before the only row of cells, line for line.
fn without_row_name(text: &str) -> String {
    let mut filled = text.split_inclusive('\n').enumerate().filter(|(_, line)| !line.trim().is_empty());
    let (Some(_), Some((at, row)), None) = (filled.next(), filled.next(), filled.next()) else {
        return text.to_owned();
    };
    let name_end = match row.strip_prefix('"') {
        Some(rest) => rest.find('"').map(|end| end + 2),
        None => row.find(','),
    };
    let Some((name, cells)) = name_end.and_then(|end| row.split_at_checked(end)) else {
        return text.to_owned();
    };
    if name.trim().parse::<f64>().is_ok() {
        return text.to_owned();
    }
    text.split_inclusive('\n').enumerate().map(|(line, old)| if line == at { cells } else { old }).collect()
}

/// Says more of what is wrong where the file looks like one of the usual slips.
fn explained(wrong: Wrong, text: &str) -> Wrong {
    let doubled = wrong.code == Code::RaggedMap && wrong.line.is_some_and(|line| is_doubled(text, line));
    if doubled {
        let more = "If its numbers have decimal commas, save it with decimal points.";
        return Wrong { help: format!("{} {more}", wrong.help), ..wrong };
    }
    if openings_across(text) {
        return turned(wrong.line);
    }
    let named = wrong.message.contains("Line ");
    match wrong.line.filter(|_| !named) {
        Some(line) => Wrong { message: format!("Line {line} of the map file: {}", wrong.message), ..wrong },
        None => wrong,
    }
}

fn is_doubled(text: &str, line: usize) -> bool {
    let cells = |line: &str| line.split(',').count().saturating_sub(1);
    let head = text.lines().find(|line| !line.trim().is_empty()).map(cells);
    let row = text.lines().nth(line - 1).map(cells);
    matches!((head, row), (Some(head), Some(row)) if head > 0 && row > head)
}

/// Whether the first row could only be throttle openings: no engine runs at 100 rpm.
fn openings_across(text: &str) -> bool {
    let records = records_of(text);
    let head: Vec<f64> =
        records.first().into_iter().flatten().skip(1).filter_map(|cell| cell.trim().parse().ok()).collect();
    !head.is_empty() && head.iter().all(|point| *point <= 100.0)
}

fn turned(line: Option<usize>) -> Wrong {
    let message = "The first row of the map file has throttle openings where engine speeds belong.";
    let help = "Engine speeds in rpm go across in the first row, throttle openings of 0 to 100 % down the first column.";
    Wrong { line, ..Wrong::new(Code::OutOfRange, message, help) }
}

/// A file's text with another map in it: corner cell, line ends, the space between cells, and the digits of what is in
/// both stay.
pub(in crate::notebook) fn csv_in_place_of(old: &str, before: &MapTable, table: &MapTable) -> String {
    let records = records_of(old);
    let cell_of = |row: usize, column: usize| Some(records.get(row)?.get(column)?.as_str());
    let decimals = CsvSheet::new(old.to_owned()).decimals();
    let space = cell_of(0, 1).map_or("", |cell| &cell[..cell.len() - cell.trim_start().len()]);
    let axis =
        |at: Option<&str>, point: f64| at.map_or_else(|| digits(point, 0), |old| old.trim().to_owned());
    let columns: Vec<_> = table.rpm.iter().map(|rpm| before.column(*rpm)).collect();
    let head = table.rpm.iter().zip(&columns);
    let head = head.map(|(rpm, column)| axis(column.and_then(|at| cell_of(0, at + 1)), *rpm));
    let mut lines = vec![line_of(&quoted(cell_of(0, 0).unwrap_or("rpm")), head, space)];
    for (row, cells) in table.rows.iter().enumerate() {
        let throttle = table.throttle.get(row).copied();
        let old_row = before.row(throttle);
        let first =
            throttle.map(|at| axis(old_row.and_then(|row| cell_of(row + 1, 0)), at)).unwrap_or_default();
        let written = cells.iter().zip(&columns).map(|(cell, column)| {
            let old = old_row.zip(*column).and_then(|(row, column)| cell_of(row + 1, column + 1));
            let kept = old.map(str::trim).filter(|old| old.parse().is_ok_and(|old| nearly_equal(old, *cell)));
            kept.map_or_else(|| digits(*cell, decimals), str::to_owned)
        });
        lines.push(line_of(&first, written, space));
    }
    let end = if old.contains("\r\n") { "\r\n" } else { "\n" };
    let mark = if old.starts_with('\u{feff}') { "\u{feff}" } else { "" };
    let last = if old.ends_with(['\n', '\r']) { end } else { "" };
    format!("{mark}{}{last}", lines.join(end))
}

fn records_of(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
    let records = reader.records().filter_map(Result::ok);
    records.map(|record| record.iter().map(str::to_owned).collect()).collect()
}

fn line_of(first: &str, cells: impl Iterator<Item = String>, space: &str) -> String {
    cells.fold(first.to_owned(), |line, cell| format!("{line},{space}{cell}"))
}

/// A corner cell that holds a comma keeps its quotes.
fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}
