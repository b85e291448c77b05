//! The columns of a session sheet by their heads: those of every run, and those of a single one of several cylinders ("right full").

use std::path::Path;

use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::names::visible;
use crate::notebook::fields::path::nearest_name;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    /// What says which run it is.
    Which,
    /// Somebody's words.
    Words,
    /// A figure, with its unit or without.
    Figure,
    /// A throttle zone's verdict.
    Verdict,
}

/// A column: its head, the outing's field, what it holds.
pub(super) type Column = (&'static str, &'static str, Holds);

/// A column of a sheet that was read: one of those, of all cylinders or of a single one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ColumnHead {
    /// The cylinder it is of; none of all.
    cylinder: Option<String>,
    /// The column of that kind.
    pub(super) column: Column,
}

impl ColumnHead {
    /// As it stands in the first line.
    pub(super) fn name(&self) -> String {
        let (head, _, _) = self.column;
        self.cylinder.as_ref().map_or_else(|| head.to_owned(), |name| format!("{name} {head}"))
    }

    /// The outing's field.
    pub(super) fn field(&self) -> String {
        let (_, field, _) = self.column;
        self.cylinder.as_ref().map_or_else(|| field.to_owned(), |name| format!("cylinder.{name}.{field}"))
    }
}

/// What is seen at single cylinders as well.
const OF_A_CYLINDER: [&str; 4] = ["verdict.", "plug", "piston", "exhaust_gas"];

/// The columns of a blank sheet that each of several cylinders has of its own, behind its name.
pub const BLANK_OF_A_CYLINDER: [&str; 3] = ["full", "plug", "piston"];

/// Every column that a sheet may have, in the order of the sheet.
pub(super) const COLUMNS: [Column; 36] = [
    ("bike", "bike", Holds::Which),
    ("date", "date", Holds::Which),
    ("time", "time", Holds::Which),
    ("place", "place", Holds::Words),
    ("session", "session", Holds::Words),
    ("setup", "setup", Holds::Which),
    ("kind", "kind", Holds::Words),
    ("hours", "hours", Holds::Figure),
    ("starts", "starts", Holds::Figure),
    ("meter", "meter", Holds::Figure),
    ("temp", "air.temp", Holds::Figure),
    ("baro", "air.baro", Holds::Figure),
    ("qnh", "air.qnh", Holds::Figure),
    ("sea level", "air.sea_level", Holds::Figure),
    ("elevation", "air.elevation", Holds::Figure),
    ("humidity", "air.humidity", Holds::Figure),
    ("dew point", "air.dew_point", Holds::Figure),
    ("wet bulb", "air.wet_bulb", Holds::Figure),
    ("metar", "air.metar", Holds::Words),
    ("full", "verdict.full", Holds::Verdict),
    ("three quarters", "verdict.three_quarters", Holds::Verdict),
    ("half", "verdict.half", Holds::Verdict),
    ("quarter", "verdict.quarter", Holds::Verdict),
    ("eighth", "verdict.eighth", Holds::Verdict),
    ("idle", "verdict.idle", Holds::Verdict),
    ("lap", "lap", Holds::Figure),
    ("coolant", "coolant", Holds::Figure),
    ("exhaust gas", "exhaust_gas", Holds::Figure),
    ("peak", "peak", Holds::Figure),
    ("fuel batch", "fuel_batch", Holds::Words),
    ("plug", "plug", Holds::Words),
    ("piston", "piston", Holds::Words),
    ("feel", "feel", Holds::Words),
    ("notes", "notes", Holds::Words),
    ("cause", "cause", Holds::Words),
    ("fixed", "mended", Holds::Words),
];

/// Heads of a blank sheet: what is written down at the track, in the order in which the page for the pen has it.
pub const BLANK_COLUMNS: [&str; 20] = [
    "bike",
    "date",
    "place",
    "time",
    "session",
    "temp",
    "baro",
    "humidity",
    "full",
    "three quarters",
    "half",
    "quarter",
    "eighth",
    "idle",
    "lap",
    "hours",
    "setup",
    "plug",
    "piston",
    "notes",
];

/// The head of the column that a field of an outing stands in.
pub fn column_of(field: &str) -> String {
    let of_all = |field: &str| COLUMNS.iter().find(|(_, own, _)| *own == field).map(|(head, _, _)| *head);
    let own = field.strip_prefix("cylinder.").and_then(|rest| rest.split_once('.'));
    match own.and_then(|(name, field)| Some(format!("{name} {}", of_all(field)?))) {
        Some(head) => head,
        None => of_all(field).unwrap_or(field).to_owned(),
    }
}

/// The column that a head names: `name` is it in lower case without hyphens, `typed` as it stands.
fn head_of(name: &str, typed: &str) -> Option<ColumnHead> {
    let known = |name: &str| COLUMNS.iter().find(|(own, _, _)| *own == as_kept(name)).copied();
    if let Some(column) = known(name) {
        return Some(ColumnHead { cylinder: None, column });
    }
    // "right full", "right.plug": names and heads may have several words.
    name.match_indices([' ', '.']).find_map(|(at, _)| {
        let of_a_cylinder = |field: &str| OF_A_CYLINDER.iter().any(|own| field.starts_with(own));
        let column = known(name.get(at + 1..)?).filter(|(_, field, _)| of_a_cylinder(field))?;
        Some(ColumnHead { cylinder: Some(typed.get(..at)?.to_owned()), column })
    })
}

/// Other words for a column.
fn as_kept(name: &str) -> &str {
    match name {
        "3/4" => "three quarters",
        "1/2" => "half",
        "1/4" => "quarter",
        "1/8" => "eighth",
        "temperature" => "temp",
        "note" => "notes",
        "mended" => "fixed",
        other => other,
    }
}

/// The columns by their heads, whatever capitals, hyphens and units in brackets they have; those that are unknown or doubled are
/// wrong.
pub(super) fn heads(
    file: &Path,
    line: usize,
    record: &csv::StringRecord,
) -> (Vec<Option<ColumnHead>>, Vec<Finding>) {
    let (mut found, mut wrong): (Vec<Option<ColumnHead>>, Vec<Finding>) = (Vec::new(), Vec::new());
    let finding = |code, name: &str, message: &str, help: &str| {
        let place = Place { line: Some(line), field: Some(name.to_owned()), ..Place::file(file) };
        Finding::new(code, place, message, help)
    };
    for head in record {
        let typed = head.split('(').next().unwrap_or_default().trim();
        let name = typed.to_lowercase().replace(['-', '_'], " ");
        let known = head_of(&name, typed);
        let name = as_kept(&name);
        if known.is_none() && !name.is_empty() {
            let near = nearest_name(name, COLUMNS.iter().map(|(own, _, _)| *own));
            let all = COLUMNS.map(|(own, _, _)| own).join(", ");
            let help = near
                .map_or_else(|| format!("Columns: {all}."), |near| format!("Is it {near}? Columns: {all}."));
            let message = format!("\"{}\" is not a column of a session sheet.", visible(head));
            wrong.push(finding(Code::UnknownField, head, &message, &help));
        }
        if let Some(known) =
            known.as_ref().filter(|known| found.iter().flatten().any(|other| other == *known))
        {
            let name = known.name();
            let message = format!("The column {name} stands there twice.");
            wrong.push(finding(Code::Contradiction, &name, &message, "Take one of them out."));
        }
        found.push(known);
    }
    for needed in ["date"] {
        if !found.iter().flatten().any(|head| head.column.0 == needed) {
            let help = "Name it in the first line: a run without its date cannot be put in order.";
            wrong.push(finding(Code::MissingField, needed, &format!("No column is named {needed}."), help));
        }
    }
    (found, wrong)
}
