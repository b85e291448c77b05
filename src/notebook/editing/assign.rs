//! Changes a setup's files by field: `jetting.main=172`, `ignition.advance@9500/50=17`. Pure, on bytes: nothing is written
//! to disk, and comments, order and the way a number is written stay as they were.

use crate::notebook::editing::cylinders;
use crate::notebook::editing::error::EditError;
use crate::notebook::editing::field::{Home, home, misspelling_of, names_in, part_of};
use crate::notebook::editing::map::cell;
use crate::notebook::editing::toml::page::Page;
use crate::notebook::editing::value;
use crate::notebook::fields::catalogue::{DocumentKind, Leaf, Sort};
use crate::notebook::fields::meaning::Deed;
use crate::notebook::fields::names;
use crate::notebook::fields::value::FieldSet;
use crate::notebook::maps::table::CellPlace;
use crate::notebook::reading::combination::{Combination, SetupFiles};
use crate::notebook::reading::map::is_map_file;
use crate::quantity::{Dimension, Quantity, nearly_equal};

/// One thing to change.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Dotted field.
    pub field: String,
    /// The cell, for a map.
    pub at: Option<CellPlace>,
    /// What to write; `None` takes the field out.
    pub value: Option<String>,
}

/// How changes are made.
#[derive(Debug, Clone, Copy, Default)]
pub struct EditOptions {
    /// Put a breakpoint into a map where the cell's place has none.
    pub insert: bool,
    /// Refuse lengths without a unit (an imperial garage).
    pub refuse_bare_lengths: bool,
}

/// How the number of a jet counts, behind it as it is read off the jet: "172 bore".
const COUNTED_BY: [&str; 2] = [" flow", " bore"];

impl Assignment {
    /// Reads one that was typed. A jet with how its number counts, `main=172 bore`, says both.
    pub fn parse_typed(typed: &str) -> Result<Vec<Self>, EditError> {
        let whole = Self::parse(typed)?;
        let counted = || {
            let value = whole.value.as_deref()?;
            let by = COUNTED_BY.into_iter().find(|by| value.ends_with(by))?;
            let field = format!("{}_numbered_by", whole.field);
            Combination::leaf(&field)?;
            let number = Some(value.trim_end_matches(by).trim_end().to_owned());
            let counts = Self { field, at: None, value: Some(by.trim_start().to_owned()) };
            Some(vec![Self { value: number, ..whole.clone() }, counts])
        };
        Ok(counted().unwrap_or_else(|| vec![whole.clone()]))
    }

    /// Reads `FIELD=VALUE`, `FIELD@RPM=VALUE` or `FIELD@RPM/THROTTLE=VALUE`; an empty value takes the field out.
    pub fn parse(typed: &str) -> Result<Self, EditError> {
        let (left, right) =
            typed.split_once('=').ok_or_else(|| EditError::NotAnAssignment { typed: typed.to_owned() })?;
        let (field, place) = match left.split_once('@') {
            Some((field, place)) => (field.trim(), Some(place.trim())),
            None => (left.trim(), None),
        };
        if !field.split('.').all(is_name) {
            return Err(EditError::BadName { field: field.to_owned() });
        }
        let value = right.trim();
        let field = &match field {
            // Of a carburetor it is what is in the tank; a map of fuel has a cell or a file behind it.
            "fuel" if place.is_none() && !is_map_file(value) => "fuel.name".to_owned(),
            "spark" | "timing" if place.is_none() => spark(field, value)?,
            field => whole_name(field)?,
        };
        Ok(Self {
            field: field.clone(),
            at: place.map(|place| cell_place(field, place)).transpose()?,
            value: (!value.is_empty()).then(|| value.to_owned()),
        })
    }

    fn same_place(&self, other: &Self) -> bool {
        let opening = |place: &CellPlace| place.throttle.unwrap_or(-1.0);
        self.field == other.field
            && match (&self.at, &other.at) {
                (Some(a), Some(b)) => nearly_equal(a.rpm, b.rpm) && nearly_equal(opening(a), opening(b)),
                _ => true,
            }
    }
}

/// A field by its last name alone, "main" for jetting.main, where one field ends so, or by what it is called at the bike; any other name as
/// it is.
///
/// # Errors
///
/// Several fields end so.
pub fn whole_name(typed: &str) -> Result<String, EditError> {
    // As the file has it.
    let typed = typed.strip_prefix("cylinder.").unwrap_or(typed);
    if typed.contains('.') || Combination::leaf(typed).is_some() {
        return Ok(typed.to_owned());
    }
    let wanted = typed.to_lowercase().replace([' ', '-'], "_");
    let ends_so = |field: &&str| field.rsplit('.').next() == Some(wanted.as_str());
    let all = Combination::meanings().iter().map(|(field, _)| field.as_str());
    let mut fields: Vec<&str> = all.filter(ends_so).collect();
    if fields.is_empty() {
        fields = by_trade_words(&wanted);
    }
    match fields.as_slice() {
        [] => Ok(typed.to_owned()),
        [one] => Ok((*one).to_owned()),
        several => Err(EditError::Ambiguous { field: typed.to_owned(), fields: several.join(", ") }),
    }
}

/// "spark=1.6mm" is the base of the ignition; what is no length and no angle may be a plug.
fn spark(typed: &str, value: &str) -> Result<String, EditError> {
    let base = Quantity::parse(value, &[Dimension::Length, Dimension::Angle], "mm");
    if base.is_ok_and(|base| !base.is_bare()) {
        return Ok("ignition.base".to_owned());
    }
    let fields = "ignition.base (a length or degrees, with the unit), head.plug".to_owned();
    Err(EditError::Ambiguous { field: typed.to_owned(), fields })
}

/// The fields that a trade's word is said for: as it is called at the bike ("petrol to oil"), or the end of a field's name or of that
/// ("ratio", "screw").
fn by_trade_words(wanted: &str) -> Vec<&'static str> {
    let called = |name: &str| name.to_lowercase().replace([' ', '-'], "_");
    let ends_so = |name: &str| name == wanted || name.ends_with(&format!("_{wanted}"));
    let mut exact = Vec::new();
    let mut near = Vec::new();
    for (field, meaning) in Combination::meanings() {
        let (Deed::Set(name) | Deed::Fit(name) | Deed::ScrewIn(name)) = &meaning.hands.deed else { continue };
        let (name, last) = (called(name), field.rsplit('.').next().unwrap_or_default());
        if field.contains('*') || name.ends_with('*') {
            continue;
        }
        if name == wanted {
            exact.push(field.as_str());
        } else if ends_so(last) || ends_so(&name) {
            near.push(field.as_str());
        }
    }
    if exact.is_empty() { near } else { exact }
}

fn is_name(part: &str) -> bool {
    let allowed = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_' | ' ');
    !part.is_empty() && part.trim() == part && part.chars().all(allowed)
}

fn cell_place(field: &str, typed: &str) -> Result<CellPlace, EditError> {
    let wrong = || EditError::BadPlace { field: field.to_owned(), typed: typed.to_owned() };
    let read = |text: &str, dimension, unit| {
        let quantity = Quantity::parse(text, &[dimension], unit).ok()?;
        quantity.in_unit(unit).filter(|value| *value >= 0.0)
    };
    let (rpm, throttle) = match typed.split_once('/') {
        Some((rpm, throttle)) => (rpm, Some(throttle)),
        None => (typed, None),
    };
    let throttle = throttle.map(|text| read(text, Dimension::Share, "%").ok_or_else(wrong)).transpose()?;
    let rpm = read(rpm, Dimension::EngineSpeed, "rpm").ok_or_else(wrong)?;
    Ok(CellPlace { rpm, throttle })
}

/// Makes the changes, in order, and gives the files as they would be; the first thing that is wrong stops all of them.
pub fn apply(
    files: &SetupFiles,
    assignments: &[Assignment],
    options: EditOptions,
) -> Result<SetupFiles, EditError> {
    let assignments = &cylinders::of_all(files, &cylinders::whole_names(files, assignments)?)?;
    refuse_doubles(assignments)?;
    refuse_two_engines(files, assignments)?;
    refuse_misspelt_parts(files, assignments)?;
    cylinders::refuse_unclear(files, assignments)?;
    let mut edited = files.clone();
    for assignment in assignments {
        apply_one(&mut edited, assignment, options)?;
    }
    Ok(edited)
}

fn refuse_doubles(assignments: &[Assignment]) -> Result<(), EditError> {
    let again = assignments
        .iter()
        .enumerate()
        .find(|(index, one)| assignments[..*index].iter().any(|before| one.same_place(before)));
    match again {
        Some((_, one)) => Err(EditError::Twice { field: named(one) }),
        None => Ok(()),
    }
}

fn named(assignment: &Assignment) -> String {
    match assignment.at {
        Some(place) => format!("{}@{place}", assignment.field),
        None => assignment.field.clone(),
    }
}

/// Once another engine is named, its file is not in hand, and the one in hand is not its file.
fn refuse_two_engines(files: &SetupFiles, assignments: &[Assignment]) -> Result<(), EditError> {
    let other =
        |one: &Assignment| one.field == "engine" && one.value.as_deref() != files.engine_name.as_deref();
    let kept_there =
        |one: &&Assignment| matches!(home(&one.field), Ok(home) if home.document() == DocumentKind::Engine);
    match assignments.iter().find(kept_there) {
        Some(one) if assignments.iter().any(other) => Err(EditError::TwoEngines { field: one.field.clone() }),
        _ => Ok(()),
    }
}

/// A value for a window or a section of the pipe that is not there would make a new one. Where its name is nearly that of one
/// that is there, it is taken for a slip, unless what tells such a part (the window's kind) is given with it.
fn refuse_misspelt_parts(files: &SetupFiles, assignments: &[Assignment]) -> Result<(), EditError> {
    for assignment in assignments.iter().filter(|one| one.value.is_some()) {
        let Some(part) = part_of(&assignment.field) else { continue };
        let Ok(page) = open(files, part.kind, &assignment.field) else { continue };
        let known = page.names_in(&part.above);
        let whole = format!("{}.{}", part.above, part.name);
        let telling = format!("{whole}.{}", part.telling);
        let told = assignments.iter().any(|one| one.field == telling && one.value.is_some());
        if told || known.contains(&part.name) {
            continue;
        }
        if let Some(near) = misspelling_of(part.name, known.into_iter()) {
            let meant = format!("{}.{near}.{}", part.above, part.field);
            return Err(EditError::LikeAnother {
                field: assignment.field.clone(),
                part: whole,
                meant,
                telling,
            });
        }
    }
    Ok(())
}

fn apply_one(files: &mut SetupFiles, assignment: &Assignment, options: EditOptions) -> Result<(), EditError> {
    let field = assignment.field.as_str();
    match (home(field)?, assignment.at) {
        (Home::Leaf(_, leaf), Some(place)) => {
            let Sort::Cells(shape) = &leaf.sort else {
                return Err(EditError::NotAMap { field: field.to_owned() });
            };
            let value = assignment.value.as_deref();
            let value = value.ok_or_else(|| EditError::EmptyCell { field: field.to_owned(), place })?;
            cell::set_cell(files, &cell::Cell { field, shape, place, value }, options.insert)
        }
        (Home::Free | Home::Part(_), Some(_)) => Err(EditError::NotAMap { field: field.to_owned() }),
        (Home::Leaf(kind, leaf), None) => set_leaf(files, kind, leaf, assignment, options),
        (Home::Part(kind), None) if assignment.value.is_none() => take_out(files, kind, field),
        (Home::Part(kind), None) => {
            Err(EditError::NotOneValue { field: field.to_owned(), names: names_in(kind, field) })
        }
        (Home::Free, None) => match &assignment.value {
            Some(text) => write(files, DocumentKind::Setup, field, value::free(text)),
            None => take_out(files, DocumentKind::Setup, field),
        },
    }
}

fn set_leaf(
    files: &mut SetupFiles,
    kind: DocumentKind,
    leaf: &Leaf,
    assignment: &Assignment,
    options: EditOptions,
) -> Result<(), EditError> {
    let field = assignment.field.as_str();
    match (&leaf.sort, &assignment.value) {
        (Sort::Axis, _) => {
            Err(EditError::Breakpoints { field: field.to_owned(), map: cell::map_beside(field) })
        }
        (Sort::Cells(shape), Some(text)) => cell::set_file(files, field, shape, text),
        (Sort::Cells(shape), None) => cell::take_out(files, field, shape),
        (_, None) => {
            take_out(files, kind, field)?;
            follow_engine(files, field, None);
            Ok(())
        }
        (_, Some(text)) => {
            if field == "engine" {
                let wrong = |error| EditError::BadFolderName { field: field.to_owned(), error };
                names::check(text).map_err(wrong)?;
            }
            let now = readings(files);
            value::refuse_step(field, text, leaf, now.get(field))?;
            let value = value::checked(field, text, leaf, now.get(field), options.refuse_bare_lengths)?;
            write(files, kind, field, value)?;
            follow_engine(files, field, Some(text));
            Ok(())
        }
    }
}

/// The values on file, as far as they can be read.
pub(super) fn readings(files: &SetupFiles) -> FieldSet {
    Combination::read(files, false).fields
}

/// Another engine's file is not in hand: whoever has the garage reads it again.
fn follow_engine(files: &mut SetupFiles, field: &str, name: Option<&str>) {
    if field == "engine" && files.engine_name.as_deref() != name {
        files.engine_name = name.map(str::to_owned);
        files.engine = None;
    }
}

/// Opens the file that keeps fields of a kind of document.
pub(in crate::notebook) fn open(
    files: &SetupFiles,
    kind: DocumentKind,
    field: &str,
) -> Result<Page, EditError> {
    if kind == DocumentKind::Setup {
        return Page::open(&SetupFiles::setup_path(&files.bike), files.setup.as_deref());
    }
    match (&files.engine_name, &files.engine) {
        (Some(name), Some(bytes)) => Page::open(&SetupFiles::engine_path(name), Some(bytes)),
        _ => Err(EditError::NoEngine { field: field.to_owned() }),
    }
}

/// Puts an edited file back in its place.
pub(in crate::notebook) fn close(files: &mut SetupFiles, kind: DocumentKind, page: &Page) {
    let bytes = Some(page.bytes());
    if kind == DocumentKind::Setup {
        files.setup = bytes;
    } else {
        files.engine = bytes;
    }
}

fn write(
    files: &mut SetupFiles,
    kind: DocumentKind,
    field: &str,
    value: toml_edit::Value,
) -> Result<(), EditError> {
    let mut page = open(files, kind, field)?;
    page.write(field, value, kind.catalogue())?;
    close(files, kind, &page);
    Ok(())
}

fn take_out(files: &mut SetupFiles, kind: DocumentKind, field: &str) -> Result<(), EditError> {
    let mut page = open(files, kind, field)?;
    if page.take_out(field) {
        close(files, kind, &page);
    }
    Ok(())
}
