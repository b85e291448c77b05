//! Tables and small pieces of text that several reports share.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width, presets};

use crate::notebook::When;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;

use crate::report::out::glue::{GLUE, glued, unglued};
use crate::report::out::width;

/// Columns under which a table that has no room becomes stanzas.
pub(in crate::report) const NARROW: usize = 60;

/// A table without frames, as wide as the screen at most; the columns named in `right` hold figures. On a narrow screen one that has no
/// room becomes stanzas: the first cell on its own line, the others under it.
pub(in crate::report) fn table(
    head: &[&str],
    rows: Vec<Vec<String>>,
    right: &[usize],
    width: usize,
) -> String {
    let least = least_widths(head, &rows, width);
    let has_room = widest(head, &rows) <= width;
    // Where a word would have to be broken, a wider screen has no room either.
    if !has_room && (width < NARROW || least.iter().sum::<usize>() + 2 * least.len() > width + 1) {
        return stanzas(head, &rows, width);
    }
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
        if let Some(least) = least.get(index).filter(|_| !has_room) {
            let padded = least + usize::from(index != 0) + 1;
            column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(
                u16::try_from(padded).unwrap_or(u16::MAX),
            )));
        }
        if columns.contains(&index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    unglued(&table.to_string()).lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

/// A table whose first column holds names: they stay whole and only the last column is broken; where that has no room, stanzas.
pub(in crate::report) fn table_of_names(head: &[&str], mut rows: Vec<Vec<String>>, width: usize) -> String {
    const LEAST: usize = 16;
    let last = head.len().saturating_sub(1);
    let before: Vec<Vec<String>> = rows.iter().map(|row| row.iter().take(last).cloned().collect()).collect();
    let room = width.saturating_sub(widest(&head[..last], &before) + 2);
    if widest(head, &rows) > width && room < LEAST {
        return stanzas(head, &rows, width);
    }
    for cell in rows.iter_mut().filter_map(|row| row.get_mut(last)) {
        *cell = unglued(&textwrap::fill(&glued(cell, room), room.max(LEAST)));
    }
    table(head, rows, &[], width)
}

/// The least width of each column in which no word is broken, and nothing that belongs together.
fn least_widths(head: &[&str], rows: &[Vec<String>], width: usize) -> Vec<usize> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0).max(head.len());
    let longest = |cell: &str| glued(cell, width).split([' ', '\n']).map(width::of).max().unwrap_or(0);
    let of_column = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| longest(cell));
        cells.chain(head.get(column).map(|head| longest(head))).max().unwrap_or(0)
    };
    (0..columns).map(of_column).collect()
}

/// Columns of a table in which no cell is broken.
pub(in crate::report) fn widest(head: &[&str], rows: &[Vec<String>]) -> usize {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0).max(head.len());
    let of_column = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| width::of(cell));
        cells.chain(head.get(column).map(|head| width::of(head))).max().unwrap_or(0)
    };
    // A blank on each side of a column, none before the first.
    (0..columns).map(of_column).sum::<usize>() + (2 * columns).saturating_sub(1)
}

/// A table for a narrow screen: what a row is about on its own line, its facts under it, each with the head of its column.
pub(in crate::report) fn stanzas(head: &[&str], rows: &[Vec<String>], width: usize) -> String {
    let named = |column: usize, cell: &str| match head.get(column) {
        Some(head) if !head.is_empty() => format!("{head}: {}", cell.trim()),
        _ => cell.trim().to_owned(),
    };
    let mut lines: Vec<String> = Vec::new();
    for row in rows {
        let first = row.first().map(|cell| cell.trim_end()).unwrap_or_default();
        // A name and its value, where both have room on one line.
        if let (true, [_, value]) = (head.is_empty(), row.as_slice())
            && !first.trim().is_empty()
            && width::of(first) + width::of(value) + 2 <= width
        {
            lines.push(format!("{first}: {}", value.trim()).replace(' ', &GLUE.to_string()));
            continue;
        }
        let mut facts = row.iter().enumerate().skip(1).filter(|(_, cell)| !cell.trim().is_empty()).peekable();
        if first.trim().is_empty() {
            // A row without a name goes on with the one before it.
            if let Some((column, cell)) = facts.next() {
                lines.push(format!("  {}", named(column, cell)));
            }
        } else {
            lines.push(first.to_owned());
        }
        // A fact stays on one line where it has room.
        let whole = |fact: String| {
            if width::of(&fact) + 3 < width {
                fact.replace(' ', &GLUE.to_string())
            } else {
                glued(&fact, width)
            }
        };
        let facts: Vec<String> = facts.map(|(column, cell)| whole(named(column, cell))).collect();
        if !facts.is_empty() {
            let options = textwrap::Options::new(width)
                .initial_indent("  ")
                .subsequent_indent("  ")
                .break_words(false)
                .word_splitter(textwrap::WordSplitter::NoHyphenation);
            lines.push(textwrap::fill(&facts.join(", "), &options));
        }
    }
    unglued(&lines.join("\n"))
}

/// Rows in columns as wide as their widest cell, a little indented; no cell is broken.
pub(in crate::report) fn columns<const COLUMNS: usize>(rows: &[[String; COLUMNS]]) -> String {
    let widest = |column: usize| rows.iter().map(|row| width::of(&row[column])).max().unwrap_or(0);
    let widths: [usize; COLUMNS] = std::array::from_fn(widest);
    let line = |row: &[String; COLUMNS]| {
        let cells = row.iter().zip(widths).map(|(cell, wide)| width::padded(cell, wide));
        format!("  {}", cells.collect::<Vec<_>>().join("  ")).trim_end().to_owned()
    };
    rows.iter().map(line).collect::<Vec<_>>().join("\n")
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
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// A date with its time and its offset, as answers write it.
pub(in crate::report) const DATE: &str =
    "^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2})?[+-][0-9]{2}:[0-9]{2}$";

#[cfg(test)]
mod tests {
    use super::table;

    fn drawn(width: usize) -> String {
        let rows = vec![
            vec!["big-end-g1".to_owned(), "24.8 of 25 h".to_owned(), "buy".to_owned()],
            vec![
                "crankshaft-of-the-spare".to_owned(),
                "3 of 50 h".to_owned(),
                "an old one, over its limit".to_owned(),
            ],
        ];
        table(&["part", "run", "spare"], rows, &[], width)
    }

    #[test]
    fn no_width_breaks_a_word_of_a_table() {
        let rows = vec![
            vec!["transfer-main".to_owned(), "2 x transfer-main, 123.4 mm2".to_owned(), "0.00012".to_owned()],
            vec![
                "exhaust".to_owned(),
                "1 x exhaust, 26.1 mm".to_owned(),
                "0.00016 s/m of 0.00015".to_owned(),
            ],
        ];
        for width in 30..=90 {
            let text = table(&["window", "what it is made of", "time-area"], rows.clone(), &[2], width);
            assert!(
                text.contains("transfer-main") && text.matches("transfer-main").count() == 2,
                "{width}: {text}"
            );
            assert!(text.contains("123.4 mm2") && text.contains("26.1 mm"), "{width}: {text}");
        }
    }

    #[test]
    fn a_table_without_room_on_a_narrow_screen_becomes_stanzas_that_keep_every_name() {
        assert_eq!(drawn(80).lines().count(), 3);
        for width in [30, 44, 59] {
            let text = drawn(width);
            assert!(text.lines().all(|line| line.chars().count() <= width), "{width}: {text}");
            for name in ["big-end-g1", "crankshaft-of-the-spare"] {
                assert!(text.lines().any(|line| line == name), "{width}: {text}");
            }
        }
        let first: Vec<String> = drawn(44).lines().take(2).map(str::to_owned).collect();
        assert_eq!(first, ["big-end-g1", "  run: 24.8 of 25 h, spare: buy"]);
    }
}
