//! A map that stands in a CSV file: cells change in place, everything else keeps its bytes.

use std::ops::Range;

use crate::notebook::editing::map::sheet::Sheet;

/// The text of a map file.
pub(in crate::notebook) struct CsvSheet {
    text: String,
}

impl CsvSheet {
    /// A file's text.
    pub(in crate::notebook) fn new(text: String) -> Self {
        Self { text }
    }

    /// The text as it is now.
    pub(super) fn into_text(self) -> String {
        self.text
    }

    /// Where each cell stands between its separators, record by record; empty lines are none, as in reading.
    fn records(&self) -> Vec<Vec<Range<usize>>> {
        let mut records = Vec::new();
        let (mut record, mut start, mut quoted) = (Vec::new(), 0, false);
        for (at, byte) in self.text.bytes().chain(std::iter::once(b'\n')).enumerate() {
            match byte {
                b'"' => quoted = !quoted,
                b',' if !quoted => {
                    record.push(start..at);
                    start = at + 1;
                }
                b'\r' | b'\n' if !quoted => {
                    if at > start || !record.is_empty() {
                        record.push(start..at);
                        records.push(std::mem::take(&mut record));
                    }
                    start = at + 1;
                }
                _ => {}
            }
        }
        records
    }

    /// The line, from 1, on which each record begins.
    pub(in crate::notebook) fn lines(&self) -> Vec<usize> {
        let starts = self.records().into_iter().map(|record| record.first().map_or(0, |cell| cell.start));
        let before = |start: usize| self.text.get(..start).unwrap_or_default();
        starts.map(|start| 1 + before(start).matches('\n').count()).collect()
    }

    fn line_end(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }

    /// The space that stands before a cell, so that a file with ", " keeps it.
    fn space_before(&self, cell: &Range<usize>) -> String {
        let raw = &self.text[cell.clone()];
        raw[..raw.len() - raw.trim_start().len()].to_owned()
    }

    fn insert_in_record(&mut self, record: &[Range<usize>], at: usize, digits: &str) {
        let Some(last) = record.last() else {
            return;
        };
        let space = self.space_before(record.get(at).unwrap_or(last));
        match record.get(at) {
            Some(cell) => self.text.insert_str(cell.start, &format!("{space}{digits},")),
            None => self.text.insert_str(last.end, &format!(",{space}{digits}")),
        }
    }
}

impl Sheet for CsvSheet {
    fn decimals(&self) -> usize {
        let decimals = |cell: &Range<usize>| {
            let text = self.text[cell.clone()].trim();
            text.split_once('.').map_or(0, |(_, after)| after.bytes().take_while(u8::is_ascii_digit).count())
        };
        let records = self.records();
        records
            .iter()
            .skip(1)
            .flat_map(|record| record.iter().skip(1))
            .map(decimals)
            .max()
            .unwrap_or_default()
    }

    fn put(&mut self, row: usize, column: usize, digits: &str) {
        let records = self.records();
        let Some(cell) = records.get(row + 1).and_then(|record| record.get(column + 1)) else {
            return;
        };
        let raw = &self.text[cell.clone()];
        let start = cell.start + raw.len() - raw.trim_start().len();
        let end = start + raw.trim().len();
        self.text.replace_range(start..end, digits);
    }

    fn insert_column(&mut self, at: usize, rpm: &str, cells: &[String]) {
        // from the last line up, so that the places found stay true
        for (index, record) in self.records().iter().enumerate().rev() {
            let digits = index.checked_sub(1).map_or(Some(rpm), |row| cells.get(row).map(String::as_str));
            if let Some(digits) = digits {
                self.insert_in_record(record, at + 1, digits);
            }
        }
    }

    fn insert_row(&mut self, at: usize, throttle: &str, cells: &[String]) {
        let records = self.records();
        let space = records.last().and_then(|record| record.get(1)).map(|cell| self.space_before(cell));
        let comma = format!(",{}", space.unwrap_or_default());
        let line = format!("{throttle}{comma}{}", cells.join(&comma));
        let end = self.line_end();
        if let Some(next) = records.get(at + 1).and_then(|record| record.first()) {
            self.text.insert_str(next.start, &format!("{line}{end}"));
        } else {
            let last = records.last().and_then(|record| record.last()).map_or(0, |cell| cell.end);
            self.text.insert_str(last, &format!("{end}{line}"));
        }
    }
}
