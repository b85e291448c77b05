//! A session sheet that was typed into a spreadsheet: CSV, one run a line, each column a field of an outing by its trade name. What a
//! spreadsheet makes of it is understood where it can only be meant one way (a byte-order mark, semicolons or tabs, decimal
//! commas, 16.05.2026), and refused with its line and column where it cannot.

mod heads;

use std::collections::HashMap;
use std::path::Path;

use jiff::tz::Offset;
use toml::{Table, Value};

pub use heads::{BLANK_COLUMNS, BLANK_OF_A_CYLINDER, column_of};
use heads::{ColumnHead, Holds, heads};

use crate::notebook::documents::outing::Mixture;
use crate::notebook::fields::date::When;
use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::names::visible;

/// Columns that a blank sheet has filled in already: a line with nothing beside them was not used.
const FILLED_IN: [&str; 3] = ["bike", "date", "place"];

/// A run of a sheet.
#[derive(Debug, Clone)]
pub struct SheetRun {
    /// Its line in the file.
    pub line: usize,
    /// The bike.
    pub bike: String,
    /// The setup that is named, as typed.
    pub setup: Option<String>,
    /// When it was.
    pub date: When,
    /// The outing's fields.
    pub fields: Table,
}

/// What could be read of a line that is wrong: the rest of it is looked at all the same.
#[derive(Debug, Clone)]
pub struct HalfRun {
    /// Its line in the file.
    pub line: usize,
    /// The bike, where it is said.
    pub bike: Option<String>,
    /// The setup that is named, as typed.
    pub setup: Option<String>,
    /// The outing's fields that are right so far.
    pub fields: Table,
}

/// A sheet that was read.
#[derive(Debug, Default)]
pub struct SessionSheet {
    /// Its runs, in the order of the file.
    pub runs: Vec<SheetRun>,
    /// Lines in which something is wrong already, with what could be read of them.
    pub halves: Vec<HalfRun>,
    /// Lines that nothing was written in.
    pub blank: usize,
    /// What is wrong, line by line.
    pub findings: Vec<Finding>,
}

/// What holds for every line that does not say otherwise.
#[derive(Debug, Clone, Copy)]
pub struct SheetOptions<'a> {
    /// The bike.
    pub bike: Option<&'a str>,
    /// The offset from universal time.
    pub here: Offset,
}

impl SheetRun {
    /// What tells it from every other run: bike, moment, place and session, whatever their capitals and blanks.
    pub fn identity(&self) -> String {
        let bare = |field: &str| -> String {
            let text = self.fields.get(field).and_then(Value::as_str).unwrap_or_default();
            text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
        };
        format!("{}\n{}\n{}\n{}", self.bike, self.date.unix(), bare("place"), bare("session"))
    }
}

/// Reads a sheet with everything that is wrong with it.
pub fn read_session_sheet(file: &Path, bytes: &[u8], options: SheetOptions<'_>) -> SessionSheet {
    let mut sheet = SessionSheet::default();
    let whole = |code, line, message: &str, help: &str| {
        let place = Place { line: Some(line), ..Place::file(file) };
        Finding::new(code, place, message, help)
    };
    let Ok(text) = std::str::from_utf8(bytes) else {
        let help = "Save it from the spreadsheet as CSV in UTF-8.";
        sheet.findings.push(whole(Code::NotText, 1, "The sheet is not text in UTF-8.", help));
        return sheet;
    };
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n").replace('\r', "\n");
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(divider(&text))
        .has_headers(false)
        .from_reader(text.as_bytes());
    let mut head: Option<Vec<Option<ColumnHead>>> = None;
    let mut record = csv::StringRecord::new();
    let mut seen: HashMap<String, usize> = HashMap::new();
    let mut above = Above::default();
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                let message = format!("The sheet cannot be read as CSV: {error}.");
                let help = "Its first line names the columns, and every other line is one run.";
                sheet.findings.push(whole(Code::Syntax, 1, &message, help));
                break;
            }
        }
        let line = line_of(&record, reader.position().line());
        let Some(columns) = &head else {
            if record.iter().all(str::is_empty) {
                continue;
            }
            let (found, wrong) = heads(file, line, &record);
            sheet.findings.extend(wrong);
            head = Some(found);
            continue;
        };
        let row = SheetLine { file, line, columns, record: &record, options };
        let before = above.clone();
        above.take(&row);
        if row.is_blank() {
            sheet.blank += 1;
            continue;
        }
        match row.run(&before) {
            Ok(run) => match seen.insert(run.identity(), line) {
                Some(first) => {
                    let message =
                        format!("It is line {first} again: same bike, date, time, place and session.");
                    let help =
                        "Take one of them out, or write down the time or the session that tells them apart.";
                    sheet.findings.push(row.wrong(Code::Contradiction, "session", &message, help));
                }
                None => sheet.runs.push(run),
            },
            Err((wrong, half)) => {
                sheet.findings.extend(wrong);
                sheet.halves.push(half);
            }
        }
    }
    if head.is_none() {
        let help =
            "Its first line names the columns, such as bike,date,session,full; the blank sheet has them.";
        sheet.findings.push(whole(Code::Syntax, 1, "The sheet is empty.", help));
    }
    sheet
}

/// What divides the cells: whatever the first line has most of.
fn divider(text: &str) -> u8 {
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let times = |sign: &u8| first.bytes().filter(|byte| byte == sign).count();
    // The last of those that are as many wins.
    [b'\t', b';', b','].into_iter().max_by_key(times).unwrap_or(b',')
}

/// The line of the file in which a record begins; blank lines may stand before it.
fn line_of(record: &csv::StringRecord, after: u64) -> usize {
    let inside: usize = record.iter().map(|cell| cell.matches('\n').count()).sum();
    usize::try_from(after).unwrap_or(usize::MAX).saturating_sub(1 + inside).max(1)
}

/// Day and place of the lines above: a page is of one day at one place, and nobody writes it down line by line.
#[derive(Debug, Clone, Default)]
struct Above {
    date: Option<String>,
    /// Whether that is no day: said once, in its own line.
    is_wrong: bool,
    place: Option<String>,
}

impl Above {
    /// Another day may have been elsewhere.
    fn take(&mut self, row: &SheetLine<'_>) {
        for (head, cell) in row.cells() {
            match head.column.0 {
                "date" => {
                    let is_wrong = row.date(Some(cell), None).is_err();
                    *self = Self { date: Some(cell.to_owned()), is_wrong, place: None };
                }
                "place" => self.place = Some(cell.to_owned()),
                _ => {}
            }
        }
    }
}

/// A line of the sheet.
struct SheetLine<'a> {
    file: &'a Path,
    line: usize,
    columns: &'a [Option<ColumnHead>],
    record: &'a csv::StringRecord,
    options: SheetOptions<'a>,
}

impl SheetLine<'_> {
    fn wrong(&self, code: Code, column: &str, message: &str, help: &str) -> Finding {
        let place = Place { line: Some(self.line), field: Some(column.to_owned()), ..Place::file(self.file) };
        Finding::new(code, place, message, help)
    }

    /// Cells that something is written in, with their columns. An apostrophe before a sign is what keeps a spreadsheet from
    /// taking it for a formula.
    fn cells(&self) -> impl Iterator<Item = (&ColumnHead, &str)> {
        let bare = |cell: &'_ str| -> usize {
            usize::from(
                cell.starts_with('\'')
                    && cell.get(1..).is_some_and(|rest| rest.starts_with(['=', '+', '-', '@'])),
            )
        };
        let cells =
            self.columns.iter().zip(self.record).filter_map(|(column, cell)| Some((column.as_ref()?, cell)));
        cells.map(move |(column, cell)| (column, &cell[bare(cell)..])).filter(|(_, cell)| !cell.is_empty())
    }

    fn is_blank(&self) -> bool {
        self.record.iter().skip(self.columns.len()).all(str::is_empty)
            && self.cells().all(|(head, _)| FILLED_IN.contains(&head.column.0))
    }

    /// The run, or everything that is wrong with its line.
    fn run(&self, above: &Above) -> Result<SheetRun, (Vec<Finding>, HalfRun)> {
        let mut wrong = Vec::new();
        let (mut fields, mut which) = (Table::new(), HashMap::new());
        if self.record.iter().skip(self.columns.len()).any(|cell| !cell.is_empty()) {
            let message =
                format!("{} cells, where the first line names {}.", self.record.len(), self.columns.len());
            let help = "Put a text that has the dividing sign in it into quotes.";
            wrong.push(self.wrong(Code::WrongSort, "line", &message, help));
        }
        for (column, cell) in self.cells() {
            let (head, _, holds) = column.column;
            let value = match holds {
                Holds::Which => {
                    which.insert(head, cell);
                    continue;
                }
                Holds::Words => Ok(cell.to_owned()),
                Holds::Figure => with_a_point(cell).ok_or_else(|| {
                    let message = format!("\"{}\" can be read in two ways.", visible(cell));
                    let help = "Write it with a decimal point, and without a sign between the thousands.";
                    self.wrong(Code::BadQuantity, &column.name(), &message, help)
                }),
                Holds::Verdict => verdict(cell).map(|mixture| mixture.word().to_owned()).ok_or_else(|| {
                    let message = Mixture::why_none(cell, &visible(cell));
                    let help = "Verdicts are lean, slightly lean (sl), right, slightly rich (sr) and rich, or << < = > >>.";
                    self.wrong(Code::NotAChoice, &column.name(), &message, help)
                }),
            };
            match value {
                Ok(text) => put(&mut fields, &column.field(), text),
                Err(finding) => wrong.push(finding),
            }
        }
        if let Some(place) = above.place.as_ref().filter(|_| !which.contains_key("date")) {
            fields.entry("place").or_insert_with(|| place.as_str().into());
        }
        let date = which.get("date").copied().or(above.date.as_deref());
        // What is wrong with the day of a line above is said there.
        let is_said_above = above.is_wrong && !which.contains_key("date");
        let date = self.date(date, which.get("time").copied());
        let bike = which.get("bike").copied().or(self.options.bike).map(str::to_owned);
        let bike = bike.ok_or_else(|| {
            self.wrong(Code::MissingField, "bike", "No bike named.", "Write the bike's name into the line.")
        });
        let setup = which.get("setup").map(|text| (*text).to_owned());
        match (date, bike) {
            (Ok(date), Ok(bike)) if wrong.is_empty() => {
                put(&mut fields, "date", date.to_string());
                Ok(SheetRun { line: self.line, bike, setup, date, fields })
            }
            (date, bike) => {
                if let Ok(date) = &date {
                    put(&mut fields, "date", date.to_string());
                }
                wrong.extend(date.err().filter(|_| !is_said_above));
                let half = HalfRun { line: self.line, bike: bike.clone().ok(), setup, fields };
                wrong.extend(bike.err());
                Err((wrong, half))
            }
        }
    }

    /// When it was. A day with points is day, month, year (DIN 1355, from memory); one with strokes can be meant in
    /// two ways.
    fn date(&self, date: Option<&str>, time: Option<&str>) -> Result<When, Finding> {
        let help = "Write it like 2026-05-16, with the time in its own column like 9:40.";
        let Some(typed) = date else {
            let help =
                "Write it like 2026-05-16 into the first line of a day: the lines below it are of that day.";
            return Err(self.wrong(Code::MissingField, "date", "It has no date.", help));
        };
        if typed.contains('/') {
            let message = format!("\"{}\" can be day or month first.", visible(typed));
            return Err(self.wrong(Code::BadDate, "date", &message, help));
        }
        let parts: Vec<&str> = typed.split('.').collect();
        let day = match parts.as_slice() {
            [day, month, year] if year.len() == 4 => format!("{year}-{month:0>2}-{day:0>2}"),
            _ => typed.to_owned(),
        };
        let at = match time {
            None => day,
            Some(time)
                if time.split(':').all(|part| part.bytes().all(|byte| byte.is_ascii_digit()))
                    && time.contains(':') =>
            {
                let in_two_digits = if time.find(':') == Some(1) { "0" } else { "" };
                format!("{day} {in_two_digits}{time}")
            }
            Some(time) => {
                let message = format!("\"{}\" is not a time of day.", visible(time));
                return Err(self.wrong(Code::BadDate, "time", &message, "Write it like 9:40."));
            }
        };
        When::parse(&at, self.options.here)
            .map_err(|error| self.wrong(Code::BadDate, "date", &error.to_string(), help))
    }
}

/// Puts a text into a table, below another where the field is dotted.
fn put(fields: &mut Table, field: &str, text: String) {
    match field.split_once('.') {
        None => {
            fields.insert(field.to_owned(), Value::String(text));
        }
        Some((above, name)) => {
            let inner = fields.entry(above).or_insert_with(|| Value::Table(Table::new()));
            if let Value::Table(inner) = inner {
                put(inner, name, text);
            }
        }
    }
}

/// A verdict by its word, its beginning or its sign.
fn verdict(cell: &str) -> Option<Mixture> {
    let signs = ["<<", "<", "=", ">", ">>"];
    let sign = signs.iter().position(|sign| *sign == cell).and_then(|at| Mixture::ALL.get(at).copied());
    sign.or_else(|| Mixture::typed(cell))
}

/// A figure with a decimal point; none where a comma may stand between thousands as well.
fn with_a_point(cell: &str) -> Option<String> {
    let Some((before, after)) = cell.split_once(',') else {
        return Some(cell.to_owned());
    };
    let whole: String = before.chars().rev().take_while(char::is_ascii_digit).collect();
    let decimals = after.chars().take_while(char::is_ascii_digit).count();
    if after.contains(',') || before.contains('.') || whole.is_empty() || decimals == 0 {
        return None;
    }
    let in_thousands = decimals == 3 && whole.len() <= 3 && !whole.trim_matches('0').is_empty();
    (!in_thousands).then(|| format!("{before}.{after}"))
}

#[cfg(test)]
mod tests;
