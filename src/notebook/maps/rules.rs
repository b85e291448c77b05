//! The rules that every map keeps, wherever it was read from, and what is wrong where one does not.

use crate::notebook::fields::finding::Code;
use crate::notebook::fields::names;
use crate::notebook::fields::node::MapShape;
use crate::notebook::maps::table::MapTable;

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

    pub(in crate::notebook) fn of_axis(self, name: &str) -> Self {
        Self { axis: Some(name.to_owned()), ..self }
    }

    pub(in crate::notebook) fn in_row(self, row: usize) -> Self {
        Self { row: Some(row), ..self }
    }

    pub(in crate::notebook) fn on_line(self, line: usize) -> Self {
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

pub(in crate::notebook) fn ragged(message: &str) -> Wrong {
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
pub(in crate::notebook) fn ascending(
    axis: &[f64],
    name: &str,
    (low, high): (f64, f64),
) -> Result<(), (Wrong, usize)> {
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
