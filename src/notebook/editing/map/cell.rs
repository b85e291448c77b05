//! Changes one cell of a map, in the setup file or in its file under maps/, and puts breakpoints in where that is wanted.

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::files::{close, open, readings};
use crate::notebook::editing::map::array::InlineSheet;
use crate::notebook::editing::map::csv::CsvSheet;
use crate::notebook::editing::map::sheet::Sheet;
use crate::notebook::editing::toml::page::Page;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::SetupFiles;
use crate::notebook::fields::cylinder::{common, own_of};
use crate::notebook::fields::node::{MapShape, Sort};
use crate::notebook::maps::csv_read::parse_csv;
use crate::notebook::maps::rules::{check, is_map_file, no_file};
use crate::notebook::maps::table::{CellPlace, MapTable};
use crate::quantity::{Dimension, Quantity, fixed, nearly_equal, trimmed};

/// One cell to change.
pub(in crate::notebook) struct Cell<'a> {
    /// Field of the map.
    pub(in crate::notebook) field: &'a str,
    /// Which fields hold its axes.
    pub(in crate::notebook) shape: &'a MapShape,
    /// The cell.
    pub(in crate::notebook) place: CellPlace,
    /// What was typed for it.
    pub(in crate::notebook) value: &'a str,
}

/// Changes one cell.
pub(in crate::notebook) fn set_cell(
    files: &mut SetupFiles,
    cell: &Cell<'_>,
    insert: bool,
) -> Result<(), EditError> {
    let field = cell.field;
    let before =
        readings(files).map(field).cloned().ok_or_else(|| EditError::NoMap { field: field.to_owned() })?;
    check_axes(cell, &before)?;
    let error = |error| EditError::BadQuantity { field: field.to_owned(), error };
    let typed = Quantity::parse(cell.value, &[Dimension::Number], "").map_err(error)?;
    if cell.value.starts_with('+') {
        return Err(a_step(cell, &before, typed.value()));
    }
    let plan = CellPlan::make(cell, before, typed.value(), insert)?;
    // What was typed is to blame here, not the map's file.
    check(plan.map.clone(), cell.shape).map_err(|wrong| EditError::BadMap {
        field: field.to_owned(),
        file: None,
        wrong,
    })?;
    if let Some(name) = plan.map.file.clone() {
        let bytes = files.maps.get(&name).cloned().unwrap_or_default();
        let mut sheet = CsvSheet::new(String::from_utf8_lossy(&bytes).into_owned());
        plan.carry_out(&mut sheet, typed.text());
        files.maps.insert(name, sheet.into_text().into_bytes());
        return Ok(());
    }
    let mut page = open(files, DocumentKind::Setup, field)?;
    let missing = || EditError::NoMap { field: field.to_owned() };
    let path = page.find(field).ok_or_else(missing)?;
    let table = page.table_mut(&path[..path.len() - 1]).ok_or_else(missing)?;
    plan.carry_out(&mut InlineSheet::new(table, cell.shape, field), typed.text());
    close(files, DocumentKind::Setup, &page);
    Ok(())
}

/// "+1" may be a step from what is in the cell, and is not taken for a value.
fn a_step(cell: &Cell<'_>, map: &MapTable, by: f64) -> EditError {
    let (field, place, typed) = (cell.field, cell.place, cell.value);
    let now = map
        .column(place.rpm)
        .zip(map.row(place.throttle))
        .and_then(|(column, row)| map.rows.get(row)?.get(column).copied());
    let help = match now {
        Some(now) => format!(
            "Type the value itself: {field}@{place}={} is {} more than the {} now.",
            trimmed(now + by, 3),
            trimmed(by, 3),
            trimmed(now, 3)
        ),
        None => format!("Type the value that it is to have, like {field}@{place}={}.", trimmed(by, 3)),
    };
    let message = format!("{field}@{place}={typed} may be a step or the value itself.");
    EditError::OutOfRange { field: field.to_owned(), message, help }
}

fn check_axes(cell: &Cell<'_>, map: &MapTable) -> Result<(), EditError> {
    let field = cell.field.to_owned();
    match (cell.place.throttle, map.throttle.is_empty()) {
        (None, false) => {
            Err(EditError::WantsThrottle { field, place: cell.place, openings: map.throttle.clone() })
        }
        (Some(_), true) => Err(EditError::HasNoThrottle { field, place: cell.place }),
        _ => Ok(()),
    }
}

/// What is to be done to the cells: the breakpoints to put in, then the cell itself.
struct CellPlan {
    map: MapTable,
    new_column: Option<(usize, Vec<f64>)>,
    new_row: Option<(usize, Vec<f64>)>,
    row: usize,
    column: usize,
}

impl CellPlan {
    fn make(cell: &Cell<'_>, map: MapTable, value: f64, insert: bool) -> Result<Self, EditError> {
        let CellPlace { rpm, throttle } = cell.place;
        let mut plan = Self { map, new_column: None, new_row: None, row: 0, column: 0 };
        plan.column = match plan.map.column(rpm) {
            Some(column) => column,
            None if insert => plan.new_column(rpm),
            None => return Err(no_breakpoint(cell.field, &plan.map.rpm, rpm, "rpm")),
        };
        plan.row = match (plan.map.row(throttle), throttle) {
            (Some(row), _) => row,
            (None, Some(throttle)) if insert => plan.new_row(throttle),
            (None, throttle) => {
                return Err(no_breakpoint(
                    cell.field,
                    &plan.map.throttle,
                    throttle.unwrap_or_default(),
                    "% throttle",
                ));
            }
        };
        if let Some(cell) = plan.map.rows.get_mut(plan.row).and_then(|row| row.get_mut(plan.column)) {
            *cell = value;
        }
        Ok(plan)
    }

    /// Puts an engine speed in, each row's cell on its curve.
    fn new_column(&mut self, rpm: f64) -> usize {
        let map = &mut self.map;
        let openings = if map.throttle.is_empty() { vec![0.0] } else { map.throttle.clone() };
        let cells: Vec<f64> = openings.iter().filter_map(|throttle| map.value_at(rpm, *throttle)).collect();
        let at = map.rpm.partition_point(|point| *point < rpm);
        map.rpm.insert(at, rpm);
        for (row, cell) in map.rows.iter_mut().zip(&cells) {
            row.insert(at.min(row.len()), *cell);
        }
        self.new_column = Some((at, cells));
        at
    }

    /// Puts a throttle opening in, each column's cell between its neighbours.
    fn new_row(&mut self, throttle: f64) -> usize {
        let map = &mut self.map;
        let cells: Vec<f64> = map.rpm.iter().filter_map(|rpm| map.value_at(*rpm, throttle)).collect();
        let at = map.throttle.partition_point(|point| *point < throttle);
        map.throttle.insert(at, throttle);
        map.rows.insert(at, cells.clone());
        self.new_row = Some((at, cells));
        at
    }

    fn carry_out(&self, sheet: &mut dyn Sheet, typed: &str) {
        let decimals = sheet.decimals();
        let digits =
            |cells: &[f64]| cells.iter().map(|cell| on_the_curve(*cell, decimals)).collect::<Vec<_>>();
        if let Some((at, cells)) = &self.new_column {
            sheet.insert_column(*at, &trimmed(self.map.rpm[*at], 3), &digits(cells));
        }
        if let Some((at, cells)) = &self.new_row {
            sheet.insert_row(*at, &trimmed(self.map.throttle[*at], 3), &digits(cells));
        }
        sheet.put(self.row, self.column, typed);
    }
}

/// A cell between its neighbours: with the decimals of the map where they say it, to a thousandth otherwise.
fn on_the_curve(value: f64, decimals: usize) -> String {
    let most = decimals.max(3);
    let exact = |decimals: &usize| {
        fixed(value, *decimals).parse::<f64>().is_ok_and(|shown| nearly_equal(shown, value))
    };
    let chosen = (decimals..most).find(exact).unwrap_or(most);
    fixed(value, chosen)
}

fn no_breakpoint(field: &str, axis: &[f64], at: f64, unit: &'static str) -> EditError {
    let next = axis.partition_point(|point| *point < at);
    let neighbours = axis[next.saturating_sub(1)..axis.len().min(next + 1)].to_vec();
    EditError::NoBreakpoint { field: field.to_owned(), at, unit, neighbours }
}

/// Takes the whole map from a file under maps/; breakpoints that stood in the setup file go out with the cells.
pub(in crate::notebook) fn set_file(
    files: &mut SetupFiles,
    field: &str,
    shape: &MapShape,
    typed: &str,
) -> Result<(), EditError> {
    if !is_map_file(typed) {
        let example = example(files, field);
        return Err(EditError::WhichCell { field: field.to_owned(), typed: typed.to_owned(), example });
    }
    let bad = |file, wrong| EditError::BadMap { field: field.to_owned(), file, wrong };
    let text = files.maps.get(typed).and_then(|bytes| std::str::from_utf8(bytes).ok());
    let text = text.ok_or_else(|| bad(None, no_file(typed)))?;
    parse_csv(text, shape).map_err(|wrong| bad(Some(SetupFiles::map_path(&files.bike, typed)), wrong))?;
    let mut page = open(files, DocumentKind::Setup, field)?;
    let path = page.path_of(field);
    page.reveal(&path);
    page.set(&path, toml_edit::Value::from(typed), DocumentKind::Setup.catalogue())?;
    remove_axes(&mut page, field, shape);
    close(files, DocumentKind::Setup, &page);
    Ok(())
}

/// Takes a map out, breakpoints and all.
pub(in crate::notebook) fn take_out(
    files: &mut SetupFiles,
    field: &str,
    shape: &MapShape,
) -> Result<(), EditError> {
    let mut page = open(files, DocumentKind::Setup, field)?;
    if let Some(path) = page.find(field) {
        remove_axes(&mut page, field, shape);
        page.remove(&path);
        close(files, DocumentKind::Setup, &page);
    }
    Ok(())
}

fn remove_axes(page: &mut Page, field: &str, shape: &MapShape) {
    for axis in [&shape.across, &shape.down] {
        if let Some(path) = page.find(&beside(field, axis)) {
            page.remove(&path);
        }
    }
}

/// The field called `name` in the same table as `field`.
pub(in crate::notebook) fn beside(field: &str, name: &str) -> String {
    field.rsplit_once('.').map_or_else(|| name.to_owned(), |(above, _)| format!("{above}.{name}"))
}

fn example(files: &SetupFiles, field: &str) -> String {
    let first = readings(files).map(field).and_then(|map| map.cells().next().map(|(place, _)| place));
    first.map_or_else(|| format!("{field}@9500"), |place| format!("{field}@{place}"))
}

/// The map whose breakpoints a field holds.
pub(in crate::notebook) fn map_beside(axis: &str) -> String {
    let leaves = DocumentKind::Setup.catalogue().leaves();
    let map = leaves.into_iter().find(|(field, leaf)| match &leaf.sort {
        Sort::Cells(shape) => {
            beside(field, &shape.across) == common(axis) || beside(field, &shape.down) == common(axis)
        }
        _ => false,
    });
    let map = map.map(|(field, _)| field).unwrap_or_default();
    own_of(axis).map_or(map.clone(), |(name, _)| format!("{name}.{map}"))
}
