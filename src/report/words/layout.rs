//! Tables and small pieces of text that several reports share.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, When};
use crate::quantity::fixed;

use crate::report::history::noted_air::NotedAir;
use crate::report::out::glue::{glued, unglued};
use crate::report::out::screen::Screen;

/// A table without frames, as wide as the screen at most; the columns named in `right` hold figures.
pub(in crate::report) fn table(
    head: &[&str],
    rows: Vec<Vec<String>>,
    right: &[usize],
    width: usize,
) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(u16::try_from(width).unwrap_or(80));
    if !head.is_empty() {
        table.set_header(head.iter().copied());
    }
    for row in rows {
        table.add_row(row.iter().map(|cell| glued(cell, width)));
    }
    let columns: Vec<usize> = right.to_vec();
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_padding((u16::from(index != 0), 1));
        if columns.contains(&index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    unglued(&table.to_string()).lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

/// A signed figure: "+2.00", "-0.5".
pub(in crate::report) fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.starts_with('-') || text.bytes().all(|b| matches!(b, b'0' | b'.')) {
        text
    } else {
        format!("+{text}")
    }
}

/// A number grouped by thousands for reading at arm's length: "12,400".
pub(in crate::report) fn grouped(value: f64) -> String {
    let digits = fixed(value.abs(), 0);
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    if value < 0.0 && digits != "0" { format!("-{text}") } else { text }
}

/// The air in a few words: "93.4 % air, 24 C". The percentage is the relative density of the moist air.
pub fn air_in_short(screen: &Screen, entry: &AirEntry) -> String {
    NotedAir::of(entry).in_short(screen)
}

/// A date for a column.
pub(in crate::report) fn day(when: When) -> String {
    when.short()
}

/// The first line of a text that may have many, control characters made visible.
pub(in crate::report) fn first_line(text: &str) -> String {
    let mut lines = text.trim().lines();
    let first = visible(lines.next().unwrap_or_default().trim());
    if lines.next().is_some() { format!("{first} …") } else { first }
}

/// "1 setup", "2 setups".
pub(in crate::report) fn count(number: usize, one: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") }
}

/// A text with a capital at its beginning.
pub(in crate::report) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
