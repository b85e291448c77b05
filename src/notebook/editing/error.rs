//! What can be wrong with a change to a field, in words: what was found, and the way out.

use std::path::PathBuf;

use thiserror::Error;

use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::cylinder;
use crate::notebook::fields::date::DateError;
use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::names::{self, NameError};
use crate::notebook::maps::rules::Wrong;
use crate::notebook::maps::table::CellPlace;
use crate::quantity::QuantityError;

/// A change that cannot be made; nothing is written.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum EditError {
    /// No `=`.
    #[error("\"{}\" does not say what to change to what.", names::visible(.typed))]
    NotAnAssignment {
        /// As typed.
        typed: String,
    },
    /// A field name with an empty part or a sign that no name has.
    #[error("\"{}\" is not the name of a field.", names::visible(.field))]
    BadName {
        /// As typed.
        field: String,
    },
    /// What stands behind `@` is not a place in a map.
    #[error("{field}: \"{}\" is not a place in a map.", names::visible(.typed))]
    BadPlace {
        /// The map.
        field: String,
        /// As typed.
        typed: String,
    },
    /// No document has this field.
    #[error("{field} is not a field of a setup.")]
    UnknownField {
        /// As typed.
        field: String,
        /// The nearest name and the names that are known there.
        help: String,
    },
    /// No build or part has this field.
    #[error("{} is not a field of {}.", names::visible(.field), one_of_them(*.kind))]
    UnknownPaperField {
        /// As typed.
        field: String,
        /// What kind of document it is.
        kind: DocumentKind,
        /// The nearest name, where one is near.
        near: Option<String>,
    },
    /// A date that cannot be read.
    #[error("{field}: {error}")]
    BadDate {
        /// The field.
        field: String,
        /// What is wrong with it.
        error: DateError,
    },
    /// A field that is to be taken out and is not there.
    #[error("There is no {} to take out.", names::visible(.field))]
    NothingThere {
        /// The field.
        field: String,
    },
    /// A section or a part, not one value.
    #[error("{field} holds several values.")]
    NotOneValue {
        /// As typed.
        field: String,
        /// The fields in it.
        names: Vec<String>,
    },
    /// A quantity that cannot be read; worded as in reading a file.
    #[error("{field}: {error}")]
    BadQuantity {
        /// The field.
        field: String,
        /// What is wrong with it.
        error: QuantityError,
    },
    /// A bare number where the file has another unit than a bare number's.
    #[error("{field} is {now} now, and {typed} has no unit.")]
    SayTheUnit {
        /// The field.
        field: String,
        /// As typed.
        typed: String,
        /// The value on file, with its unit.
        now: String,
        /// Both units it could mean: the one on file and the one of a bare number.
        units: [&'static str; 2],
    },
    /// A length without a unit in an imperial garage.
    #[error("{field} is {typed} without a unit, and this garage is imperial.")]
    BareLength {
        /// The field.
        field: String,
        /// As typed.
        typed: String,
        /// The units it could be meant in.
        units: [&'static str; 2],
    },
    /// Outside the allowed range, worded as in reading a file; or what may be a step.
    #[error("{message}")]
    OutOfRange {
        /// The field.
        field: String,
        /// What was found.
        message: String,
        /// The range.
        help: String,
    },
    /// Not one of the allowed words.
    #[error("{field} cannot be \"{}\".", names::visible(.typed))]
    NotAChoice {
        /// The field.
        field: String,
        /// As typed.
        typed: String,
        /// The words.
        allowed: Vec<String>,
    },
    /// A name that no folder can have.
    #[error("{field}: {error}")]
    BadFolderName {
        /// The field.
        field: String,
        /// What is wrong with it.
        error: NameError,
    },
    /// The breakpoints of a map, which belong with their cells.
    #[error("{field} holds the breakpoints of {map}, which only change together with its cells.")]
    Breakpoints {
        /// The field.
        field: String,
        /// The map.
        map: String,
    },
    /// A cell of something that is no map.
    #[error("{field} is not a map and has no cells.")]
    NotAMap {
        /// The field.
        field: String,
    },
    /// A map that is not there, or that cannot be read as it stands.
    #[error("There is no {field} in this setup that could be read, so no cell of it can change.")]
    NoMap {
        /// The field.
        field: String,
    },
    /// A value for a whole map.
    #[error("{field} is a map: \"{}\" does not say which cell.", names::visible(.typed))]
    WhichCell {
        /// The field.
        field: String,
        /// As typed.
        typed: String,
        /// A cell, as an example.
        example: String,
    },
    /// A cell without a value.
    #[error("The cell of {field} at {place} cannot be left empty.")]
    EmptyCell {
        /// The map.
        field: String,
        /// The cell.
        place: CellPlace,
    },
    /// A map over the throttle wants an opening.
    #[error("{field} runs over the throttle too, and {place} names no opening.")]
    WantsThrottle {
        /// The map.
        field: String,
        /// As typed.
        place: CellPlace,
        /// The openings.
        openings: Vec<f64>,
    },
    /// A map over engine speed alone has no openings.
    #[error("{field} runs over engine speed alone, and {place} names a throttle opening.")]
    HasNoThrottle {
        /// The map.
        field: String,
        /// As typed.
        place: CellPlace,
    },
    /// A breakpoint that is not there.
    #[error("{field} has no breakpoint at {at} {unit}.")]
    NoBreakpoint {
        /// The map.
        field: String,
        /// The place asked for.
        at: f64,
        /// "rpm" or "% throttle".
        unit: &'static str,
        /// The breakpoints on either side.
        neighbours: Vec<f64>,
    },
    /// The map would be wrong; worded as in reading a file.
    #[error("{field}: {}", .wrong.message)]
    BadMap {
        /// The map.
        field: String,
        /// The map's own file in the garage, where that is to blame.
        file: Option<PathBuf>,
        /// What is wrong with it.
        wrong: Wrong,
    },
    /// Two values for one field or cell.
    #[error("{field} is given twice.")]
    Twice {
        /// The field.
        field: String,
    },
    /// A last name that several fields have.
    #[error("\"{field}\" can be several fields.")]
    Ambiguous {
        /// What was typed.
        field: String,
        /// The fields that end so.
        fields: String,
    },
    /// Another engine, and a field of an engine, in one go.
    #[error("{field} is kept with the engine, and another engine goes in with this change.")]
    TwoEngines {
        /// The field.
        field: String,
    },
    /// A field of an engine on a bike that has none.
    #[error("{field} is kept with the engine, and this setup has no engine that could be read.")]
    NoEngine {
        /// The field.
        field: String,
    },
    /// A single value stands where a table is needed.
    #[error("{field} cannot be written: {path} is a single value in the file.")]
    NotATable {
        /// The field.
        field: String,
        /// What stands in the way.
        path: String,
    },
    /// The file cannot be read, so it cannot be edited either; worded as in reading it.
    #[error("{}", .0.message)]
    Unreadable(Box<Finding>),
    /// A new window or section of the pipe whose name is nearly that of one that is there.
    #[error("There is no {part} in this setup.")]
    LikeAnother {
        /// As typed.
        field: String,
        /// The part, as typed.
        part: String,
        /// The field that was meant.
        meant: String,
        /// The field that tells what a new part is.
        telling: String,
    },
    /// A value for all where a cylinder has its own.
    #[error("{field} does not hold for every cylinder: {}.", own_it(.owners))]
    HasItsOwn {
        /// The field.
        field: String,
        /// The cylinders that have their own, each with it.
        owners: Vec<String>,
        /// What to write so that it holds for all.
        of_all: String,
        /// What to write so that the others get it, or where each has its own so that one does, with when to.
        kept: String,
    },
    /// A cylinder that the engine does not have.
    #[error("{field}: there is no cylinder \"{}\".", names::visible(.name))]
    NoCylinder {
        /// The field.
        field: String,
        /// The name.
        name: String,
        /// The cylinders that it has.
        names: Vec<String>,
    },
    /// A reading of one cylinder, without saying of which.
    #[error("{field} is read at each cylinder, and it is not said at which.")]
    AtWhichCylinder {
        /// The field.
        field: String,
        /// The cylinders that there are.
        names: Vec<String>,
    },
    /// A cell of a map of its own that a cylinder does not have.
    #[error("{name} has no {} of its own: its map is that of all.", cylinder::common(.field))]
    NoOwnMap {
        /// The field.
        field: String,
        /// The cylinder.
        name: String,
        /// The cell of the map of all.
        common: String,
    },
    /// A section that does not exist.
    #[error("There is no section \"{}\".", names::visible(.name))]
    UnknownSection {
        /// As typed.
        name: String,
        /// The sections that could be named.
        allowed: Vec<String>,
    },
}

impl EditError {
    /// The dotted field it is about.
    pub fn field(&self) -> Option<&str> {
        match self {
            Self::NotAnAssignment { .. } | Self::Unreadable(_) | Self::UnknownSection { .. } => None,
            Self::BadName { field }
            | Self::BadPlace { field, .. }
            | Self::UnknownField { field, .. }
            | Self::UnknownPaperField { field, .. }
            | Self::BadDate { field, .. }
            | Self::NothingThere { field }
            | Self::NotOneValue { field, .. }
            | Self::BadQuantity { field, .. }
            | Self::SayTheUnit { field, .. }
            | Self::BareLength { field, .. }
            | Self::OutOfRange { field, .. }
            | Self::NotAChoice { field, .. }
            | Self::BadFolderName { field, .. }
            | Self::Breakpoints { field, .. }
            | Self::NotAMap { field }
            | Self::NoMap { field }
            | Self::WhichCell { field, .. }
            | Self::EmptyCell { field, .. }
            | Self::WantsThrottle { field, .. }
            | Self::HasNoThrottle { field, .. }
            | Self::NoBreakpoint { field, .. }
            | Self::BadMap { field, .. }
            | Self::Twice { field }
            | Self::Ambiguous { field, .. }
            | Self::TwoEngines { field }
            | Self::NoEngine { field }
            | Self::LikeAnother { field, .. }
            | Self::HasItsOwn { field, .. }
            | Self::NoCylinder { field, .. }
            | Self::AtWhichCylinder { field, .. }
            | Self::NoOwnMap { field, .. }
            | Self::NotATable { field, .. } => Some(field),
        }
    }

    /// File and line, where a file is to blame and not what was typed, and the field.
    pub fn place(&self) -> Place {
        let field = self.field().map(str::to_owned);
        match self {
            Self::Unreadable(finding) => finding.place.clone(),
            Self::BadMap { file: Some(file), wrong, .. } => {
                Place { file: file.clone(), line: wrong.line, field }
            }
            _ => Place { field, ..Place::default() },
        }
    }

    /// The code of the finding that reading the file gives, where a file is to blame.
    pub fn code(&self) -> Option<Code> {
        match self {
            Self::Unreadable(finding) => Some(finding.code),
            Self::BadMap { file: Some(_), wrong, .. } => Some(wrong.code),
            _ => None,
        }
    }

    /// What is allowed and the way out, as sentences.
    pub fn help(&self) -> String {
        match self {
            Self::NotAnAssignment { .. } => "Write FIELD=VALUE, like jetting.main=172.".into(),
            Self::BadName { .. } => {
                "Write its sections with points between them, like jetting.main=172.".into()
            }
            Self::UnknownField { help, .. } | Self::OutOfRange { help, .. } => help.clone(),
            Self::UnknownPaperField { kind, near, .. } => paper_field(*kind, near.as_deref()),
            Self::BadDate { error, .. } => error.help(),
            Self::NothingThere { .. } => "Name a field that the file has.".into(),
            Self::NotOneValue { field, names } => not_one_value(field, names),
            Self::BadQuantity { error, .. } => error.help(),
            Self::SayTheUnit { typed, units: [now, bare], .. } => {
                let bare = format!("{typed} {bare}");
                format!("Say the unit: write \"{typed} {now}\" or \"{}\", whichever it is.", bare.trim_end())
            }
            Self::BareLength { typed, units: [one, other], .. } => {
                format!("Write \"{typed} {one}\" or \"{typed} {other}\", whichever it is.")
            }
            Self::NotAChoice { allowed, .. } => format!("Allowed: {}.", allowed.join(", ")),
            Self::BadFolderName { error, .. } => error.help(),
            Self::Twice { .. } => "Give each field once.".into(),
            Self::Ambiguous { fields, .. } => format!("Write the whole name: {fields}."),
            Self::TwoEngines { .. } => "Change the engine first, then what is on it.".into(),
            Self::NoEngine { .. } => "Put an engine in first, with engine=NAME.".into(),
            Self::NotATable { path, .. } => format!("Make {path} a table in the file, or take it out."),
            Self::Unreadable(finding) => finding.help.without_commands(),
            Self::LikeAnother { part, meant, telling, .. } => {
                format!("Did you mean {meant}? If {part} is a new one, give {telling} with it.")
            }
            Self::HasItsOwn { of_all, kept, .. } => {
                format!("For all alike write {of_all} (it takes their own away); {kept}.")
            }
            Self::NoCylinder { names, .. } if names.is_empty() => format!(
                "This engine has one cylinder. Where it has several, name them first: {}=\"left right\".",
                cylinder::NAMES
            ),
            Self::NoCylinder { names, .. } => format!("The cylinders are {}.", names.join(", ")),
            Self::AtWhichCylinder { field, names } => {
                let each = names.iter().map(|name| format!("{name}.{field}"));
                format!("Name it before the field: {}.", each.collect::<Vec<_>>().join(", "))
            }
            Self::NoOwnMap { field, common, .. } => format!(
                "For all write {common}=VALUE. For a map of its own put a file under maps/ and write {field}=maps/NAME.csv."
            ),
            Self::UnknownSection { allowed, .. } => format!("Sections: {}.", allowed.join(", ")),
            map => map.map_help(),
        }
    }

    fn map_help(&self) -> String {
        match self {
            Self::Breakpoints { map, .. } => {
                format!("Put one in with its cell, {map}@RPM=VALUE, or edit the file.")
            }
            Self::NotAMap { field } => format!("Write {field}=VALUE."),
            Self::NoMap { field } => {
                format!(
                    "Put the map in a file under maps/ and write {field}=maps/NAME.csv, or write it into setup.toml."
                )
            }
            Self::WhichCell { example, .. } => {
                format!(
                    "Write {example}=VALUE for one cell, or the name of a file like maps/ignition.csv for all."
                )
            }
            Self::EmptyCell { .. } => "Give it a value; a breakpoint is taken out in the file.".into(),
            Self::BadPlace { .. } => "Write @RPM, or @RPM/THROTTLE in percent, like @9500/50.".into(),
            Self::WantsThrottle { place, openings, .. } => {
                let shown: Vec<String> = openings.iter().map(f64::to_string).collect();
                let first = openings.first().copied().unwrap_or_default();
                format!("Write @{place}/{first}; its openings are {} %.", shown.join(", "))
            }
            Self::HasNoThrottle { place, .. } => format!("Write @{}.", place.rpm),
            Self::NoBreakpoint { neighbours, .. } => {
                let shown: Vec<String> = neighbours.iter().map(f64::to_string).collect();
                format!("Next to it: {}. Name one of these, or put a breakpoint in.", shown.join(" and "))
            }
            Self::BadMap { wrong, .. } => wrong.help.clone(),
            _ => String::new(),
        }
    }
}

fn paper_field(kind: DocumentKind, near: Option<&str>) -> String {
    match near {
        Some(near) => format!("Did you mean {near}?"),
        None if kind == DocumentKind::Part => {
            "Fields: title, kind, number, fits, for_bore, past_hours, past_starts, change_after, change_after_starts, \
             change_by, inspect_after, notes."
                .to_owned()
        }
        None => "Which field?".to_owned(),
    }
}

fn not_one_value(field: &str, names: &[String]) -> String {
    if names.is_empty() {
        return "Name one value in it.".into();
    }
    let shown: Vec<String> = names.iter().map(|name| format!("{field}.{name}")).collect();
    format!("Name one of them: {}.", shown.join(", "))
}

/// "a part", "an outing".
fn one_of_them(kind: DocumentKind) -> String {
    let name = kind.name();
    format!("{} {name}", if name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" })
}

/// "right (175) has its own", "left (172) and right (175) have their own".
fn own_it(owners: &[String]) -> String {
    match owners {
        [one] => format!("{one} has its own"),
        [first @ .., last] => format!("{} and {last} have their own", first.join(", ")),
        [] => "one has its own".to_owned(),
    }
}
