//! Writes a whole map into a setup's files, where it stands: in setup.toml or in its file under maps/. A map on the same
//! breakpoints changes cell by cell; with other breakpoints, what is in both keeps its digits.

use toml_edit::{Array, Value as TomlValue};

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::field::shape_of;
use crate::notebook::editing::files::{close, open, readings};
use crate::notebook::editing::map::array::InlineSheet;
use crate::notebook::editing::map::array_remove::{remove_column, remove_row};
use crate::notebook::editing::map::cell::{beside, set_file};
use crate::notebook::editing::map::csv::CsvSheet;
use crate::notebook::editing::map::sheet::Sheet;
use crate::notebook::editing::toml::page::Page;
use crate::notebook::editing::toml::text::number;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::SetupFiles;
use crate::notebook::fields::cylinder::{common, own_of};
use crate::notebook::fields::node::MapShape;
use crate::notebook::maps::csv::{csv_in_place_of, digits, map_csv};
use crate::notebook::maps::rules::{check, is_map_file};
use crate::notebook::maps::table::MapTable;
use crate::quantity::nearly_equal;

/// The files with `table` as the map at `field` ("ignition.advance", "injection.fuel"). The map stays where it stands,
/// whatever file the table came from; one that is not there yet goes into setup.toml when it is a single row, else into a
/// file under maps/ (that of the table, where no file of that name is there). It is checked like one that is read; a table
/// that is the map already changes nothing.
pub fn replace_map(files: &SetupFiles, field: &str, table: &MapTable) -> Result<SetupFiles, EditError> {
    let shape = shape_of(field)?;
    let bad = |wrong| EditError::BadMap { field: field.to_owned(), file: None, wrong };
    let table = check(table.clone(), shape).map_err(bad)?;
    let now = readings(files);
    let Some(before) = now.map(field) else {
        return Replace { files, field, shape, table: &table }.created();
    };
    if before.same_as(&table) {
        return Ok(files.clone());
    }
    let replace = Replace { files, field, shape, table: &table };
    match &before.file {
        Some(name) => Ok(replace.in_file(before, name)),
        None => replace.in_setup(before),
    }
}

struct Replace<'a> {
    files: &'a SetupFiles,
    field: &'a str,
    shape: &'a MapShape,
    table: &'a MapTable,
}

impl Replace<'_> {
    /// In the map's own file; the setup file only names it.
    fn in_file(&self, before: &MapTable, name: &str) -> SetupFiles {
        let bytes = self.files.maps.get(name).map(Vec::as_slice).unwrap_or_default();
        let text = String::from_utf8_lossy(bytes).into_owned();
        let text = if same_axes(before, self.table) {
            let mut sheet = CsvSheet::new(text);
            put_cells(&mut sheet, before, self.table);
            sheet.into_text()
        } else {
            csv_in_place_of(&text, before, self.table)
        };
        let mut files = self.files.clone();
        files.maps.insert(name.to_owned(), text.into_bytes());
        files
    }

    /// In the setup file. Arrays of an odd make that cannot be changed in place are written anew.
    fn in_setup(&self, before: &MapTable) -> Result<SetupFiles, EditError> {
        if before.throttle.is_empty() == self.table.throttle.is_empty() {
            let edited = self.in_its_arrays(before)?;
            if readings(&edited).map(self.field).is_some_and(|map| map.same_as(self.table)) {
                return Ok(edited);
            }
        }
        self.in_new_arrays()
    }

    /// Breakpoints go in before others go out, so that there is always a row to take the style from.
    fn in_its_arrays(&self, before: &MapTable) -> Result<SetupFiles, EditError> {
        let missing = || EditError::NoMap { field: self.field.to_owned() };
        let mut files = self.files.clone();
        let mut page = open(&files, DocumentKind::Setup, self.field)?;
        let path = page.find(self.field).ok_or_else(missing)?;
        let (cells, above) = path.split_last().ok_or_else(missing)?;
        let table = page.table_mut(above).ok_or_else(missing)?;
        let gone = {
            let mut sheet = InlineSheet::new(&mut *table, self.shape, self.field);
            put_breakpoints_in(&mut sheet, before, self.table)
        };
        gone.columns.iter().for_each(|at| remove_column(&mut *table, self.shape, cells, *at));
        gone.rows.iter().for_each(|at| remove_row(&mut *table, self.shape, cells, *at));
        let mut sheet = InlineSheet::new(table, self.shape, self.field);
        put_cells(&mut sheet, before, self.table);
        close(&mut files, DocumentKind::Setup, &page);
        Ok(files)
    }

    /// As new arrays in the setup file, in the place of those that are there.
    fn in_new_arrays(&self) -> Result<SetupFiles, EditError> {
        let mut files = self.files.clone();
        let mut page = open(&files, DocumentKind::Setup, self.field)?;
        let (across, down) = (beside(self.field, &self.shape.across), beside(self.field, &self.shape.down));
        set(&mut page, &across, row_of(&self.table.rpm))?;
        if self.table.throttle.is_empty() {
            if let Some(path) = page.find(&down) {
                page.remove(&path);
            }
        } else {
            set(&mut page, &down, row_of(&self.table.throttle))?;
        }
        set(&mut page, self.field, cells_of(self.table))?;
        close(&mut files, DocumentKind::Setup, &page);
        Ok(files)
    }

    /// Where there was no map.
    fn created(&self) -> Result<SetupFiles, EditError> {
        let page = open(self.files, DocumentKind::Setup, self.field)?;
        if page.find(self.field).is_some() {
            // Something stands there that cannot be read, and it may be the only copy of a map.
            return Err(EditError::NoMap { field: self.field.to_owned() });
        }
        if self.table.throttle.is_empty() {
            return self.in_new_arrays();
        }
        let name = self.free_name();
        let mut files = self.files.clone();
        files.maps.insert(name.clone(), map_csv(self.table).into_bytes());
        set_file(&mut files, self.field, self.shape, &name)?;
        Ok(files)
    }

    /// maps/ignition.csv, maps/fuel.csv, or the next of that name that is not taken.
    fn free_name(&self) -> String {
        let usual = match common(self.field).split_once('.') {
            Some(("ignition", _)) => "ignition",
            Some((_, name)) => name,
            None => self.field,
        };
        let usual = own_of(self.field).map_or(usual.to_owned(), |(name, _)| format!("{usual}-{name}"));
        let own = self.table.file.clone().filter(|name| is_map_file(name));
        let numbered = (2..).map(|number| format!("maps/{usual}-{number}.csv"));
        let mut names = own.into_iter().chain([format!("maps/{usual}.csv")]).chain(numbered);
        names.find(|name| !self.files.maps.contains_key(name)).unwrap_or_default()
    }
}

fn same_axes(a: &MapTable, b: &MapTable) -> bool {
    let same =
        |a: &[f64], b: &[f64]| a.len() == b.len() && a.iter().zip(b).all(|(a, b)| nearly_equal(*a, *b));
    same(&a.rpm, &b.rpm) && same(&a.throttle, &b.throttle)
}

/// Writes the cells that are not as they were; the sheet has the breakpoints of `table` by now.
fn put_cells(sheet: &mut dyn Sheet, before: &MapTable, table: &MapTable) {
    let decimals = sheet.decimals();
    for (row, cells) in table.rows.iter().enumerate() {
        let row_before = before.row(table.throttle.get(row).copied());
        for (column, (rpm, cell)) in table.rpm.iter().zip(cells).enumerate() {
            let old = row_before.zip(before.column(*rpm));
            let old = old.and_then(|(row, column)| before.rows.get(row)?.get(column));
            if !old.is_some_and(|old| nearly_equal(*old, *cell)) {
                sheet.put(row, column, &digits(*cell, decimals));
            }
        }
    }
}

/// Columns and rows that have to go, from the last to the first.
struct Gone {
    columns: Vec<usize>,
    rows: Vec<usize>,
}

/// Puts in the breakpoints that are new, with zeros for cells, and says which are to go out.
fn put_breakpoints_in(sheet: &mut dyn Sheet, before: &MapTable, table: &MapTable) -> Gone {
    let zeros = |count: usize| vec!["0".to_owned(); count];
    let (mut rpm, mut throttle) = (before.rpm.clone(), before.throttle.clone());
    for new in missing_in(&before.rpm, &table.rpm) {
        let at = rpm.partition_point(|point| *point < new);
        rpm.insert(at, new);
        sheet.insert_column(at, &digits(new, 0), &zeros(before.rows.len()));
    }
    for new in missing_in(&before.throttle, &table.throttle) {
        let at = throttle.partition_point(|point| *point < new);
        throttle.insert(at, new);
        sheet.insert_row(at, &digits(new, 0), &zeros(rpm.len()));
    }
    let gone = |all: &[f64], kept: &[f64]| {
        let all = all.iter().enumerate().rev();
        all.filter(|(_, point)| !has(kept, **point)).map(|(at, _)| at).collect()
    };
    Gone { columns: gone(&rpm, &table.rpm), rows: gone(&throttle, &table.throttle) }
}

fn has(axis: &[f64], at: f64) -> bool {
    axis.iter().any(|point| nearly_equal(*point, at))
}

fn missing_in(here: &[f64], there: &[f64]) -> Vec<f64> {
    there.iter().copied().filter(|point| !has(here, *point)).collect()
}

fn set(page: &mut Page, field: &str, value: TomlValue) -> Result<(), EditError> {
    let path = page.path_of(field);
    page.reveal(&path);
    page.set(&path, value, DocumentKind::Setup.catalogue())
}

fn row_of(numbers: &[f64]) -> TomlValue {
    let written = |value: &f64| number(&digits(*value, 0)).unwrap_or_else(|| TomlValue::from(*value));
    TomlValue::Array(numbers.iter().map(written).collect())
}

/// One row as a list, several as a list with one of them a line.
fn cells_of(table: &MapTable) -> TomlValue {
    let mut rows = Array::new();
    match (table.rows.as_slice(), table.throttle.is_empty()) {
        ([only], true) => return row_of(only),
        (several, _) => {
            for row in several {
                let mut row = row_of(row);
                row.decor_mut().set_prefix("\n  ");
                rows.push_formatted(row);
            }
        }
    }
    rows.set_trailing("\n");
    rows.set_trailing_comma(true);
    TomlValue::Array(rows)
}
