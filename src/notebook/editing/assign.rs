//! Changes a setup's files by field: `jetting.main=172`, `ignition.advance@9500/50=17`. Pure, on bytes: nothing is written
//! to disk, and comments, order and the way a number is written stay as they were.

use crate::notebook::editing::assignment::Assignment;
use crate::notebook::editing::cylinders;
use crate::notebook::editing::error::EditError;
use crate::notebook::editing::field::{Home, home, misspelling_of, names_in, part_of};
use crate::notebook::editing::files::{close, open, readings};
use crate::notebook::editing::map::cell;
use crate::notebook::editing::value;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::SetupFiles;
use crate::notebook::fields::names;
use crate::notebook::fields::node::{Leaf, Sort};

/// How changes are made.
#[derive(Debug, Clone, Copy, Default)]
pub struct EditOptions {
    /// Put a breakpoint into a map where the cell's place has none.
    pub insert: bool,
    /// Refuse lengths without a unit (an imperial garage).
    pub refuse_bare_lengths: bool,
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

/// Another engine's file is not in hand: whoever has the garage reads it again.
fn follow_engine(files: &mut SetupFiles, field: &str, name: Option<&str>) {
    if field == "engine" && files.engine_name.as_deref() != name {
        files.engine_name = name.map(str::to_owned);
        files.engine = None;
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
