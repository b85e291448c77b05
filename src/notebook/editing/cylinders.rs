//! Changes of an engine with several cylinders: what is meant where a cylinder has its own, and which cylinder is meant.

use crate::notebook::editing::assignment::{Assignment, whole_name};
use crate::notebook::editing::entered::Entered;
use crate::notebook::editing::error::EditError;
use crate::notebook::editing::files::readings;
use crate::notebook::fields::combination::{Combination, SetupFiles};
use crate::notebook::fields::cylinder::{NAMES, can_be_own, own_of, with_place};
use crate::notebook::fields::value::{FieldSet, Value};
use crate::notebook::rules::build::{READINGS, fits};

/// What stands for every cylinder in place of a name: none can be called so.
const ALL: &str = "all";

/// "all.main=178" as what is written for all, without what a cylinder has of its own there; one cell of a map is set in their own maps too.
/// What is said of a cylinder beside it holds for that one. Where all have the same of their own, "main=178" is of all as well.
pub(super) fn of_all(files: &SetupFiles, assignments: &[Assignment]) -> Result<Vec<Assignment>, EditError> {
    let now = readings(files);
    let said = |own: &String| assignments.iter().any(|other| other.field == *own);
    let for_all = |one: &Assignment| {
        let typed = one.field.strip_prefix(ALL).and_then(|rest| rest.strip_prefix('.')).map(str::to_owned);
        typed.or_else(|| are_alike(one, &now).then(|| one.field.clone()))
    };
    if !assignments.iter().any(|one| for_all(one).is_some()) {
        return Ok(assignments.to_vec());
    }
    let mut whole = Vec::new();
    for one in assignments {
        let Some(field) = for_all(one) else {
            whole.push(one.clone());
            continue;
        };
        let field = whole_name(&field)?;
        let own = now.owners(&field).into_iter().map(|(name, _)| format!("{name}.{field}"));
        let own: Vec<String> = own.filter(|own| !said(own)).collect();
        whole.push(Assignment { field, ..one.clone() });
        let value = one.value.clone().filter(|_| one.at.is_some());
        whole.extend(own.into_iter().map(|field| Assignment { field, at: one.at, value: value.clone() }));
    }
    Ok(whole)
}

/// Whether what is written for all is held by none, and each cylinder has the same of its own: nobody can mean one of them.
fn are_alike(one: &Assignment, now: &FieldSet) -> bool {
    let Ok(field) = whole_name(&one.field) else { return false };
    let owners = now.owners(&field);
    let alike = |(_, own): &(String, &Value)| own.same_as(owners[0].1) && !matches!(own, Value::Map(_));
    one.value.is_some()
        && one.at.is_none()
        && !owners.is_empty()
        && owners.len() == now.cylinders().len()
        && owners.iter().all(alike)
}

/// A cylinder's field by its last name alone: "right.main" is right.jetting.main.
pub(super) fn whole_names(
    files: &SetupFiles,
    assignments: &[Assignment],
) -> Result<Vec<Assignment>, EditError> {
    let short = |one: &Assignment| {
        let (name, last) = one.field.split_once('.')?;
        (!last.contains('.') && Combination::leaf(&one.field).is_none())
            .then(|| (name.to_owned(), last.to_owned()))
    };
    let mut whole = assignments.to_vec();
    if !whole.iter().any(|one| short(one).is_some()) {
        return Ok(whole);
    }
    let names = readings(files).cylinders();
    for one in &mut whole {
        let Some((name, last)) = short(one).filter(|(name, _)| !names.is_empty() && name != ALL) else {
            continue;
        };
        let is_there = names.contains(&name);
        let field = match whole_name(&last) {
            Ok(field) => field,
            Err(error) if is_there => return Err(error),
            Err(_) => continue,
        };
        let own = format!("{name}.{field}");
        if !is_there && field.contains('.') && own_of(&own).is_some() {
            return Err(EditError::NoCylinder { field: one.field.clone(), name, names });
        }
        if is_there && can_be_own(&field) && !field.contains('*') {
            one.field = own;
        }
    }
    Ok(whole)
}

/// Refuses what is written for all where a cylinder has its own, unless what becomes of that is said with it; a cylinder that the
/// engine does not have; and a cell of a map that a cylinder has no own one of.
pub(super) fn refuse_unclear(files: &SetupFiles, assignments: &[Assignment]) -> Result<(), EditError> {
    let now = readings(files);
    let names = now.cylinders();
    let renames = assignments.iter().any(|one| one.field == NAMES);
    for one in assignments {
        match own_of(&one.field) {
            Some((name, _)) if !renames && !names.iter().any(|known| known == name) => {
                return Err(EditError::NoCylinder { field: one.field.clone(), name: name.to_owned(), names });
            }
            Some((name, rest)) if one.at.is_some() && now.get(&one.field).is_none() => {
                return Err(EditError::NoOwnMap {
                    field: one.field.clone(),
                    name: name.to_owned(),
                    common: with_place(rest, one.at.as_ref()),
                });
            }
            Some(_) => {}
            None => refuse_hidden(one, assignments, &now)?,
        }
    }
    Ok(())
}

/// The same for readings of a build, in an engine with cylinders of these names. What was read at one cylinder holds for no other, so
/// it is asked at which; a depth, a gauge or a gasket may be that of all.
pub fn refuse_unclear_readings(
    entered: &[Entered],
    names: &[String],
    now: &FieldSet,
) -> Result<(), EditError> {
    for one in entered {
        match own_of(&one.field) {
            Some((name, _)) if !names.iter().any(|known| known == name) => {
                let names = names.to_vec();
                return Err(EditError::NoCylinder { field: one.field.clone(), name: name.to_owned(), names });
            }
            Some(_) => {}
            None if one.value.is_none() || names.is_empty() => {}
            None if is_read_at_one(&one.field) => {
                return Err(EditError::AtWhichCylinder { field: one.field.clone(), names: names.to_vec() });
            }
            None => {
                let as_change = Assignment { field: one.field.clone(), at: None, value: one.value.clone() };
                let said = |field: &str| entered.iter().any(|other| other.field == field);
                let own = |name: &String| {
                    let field = format!("{name}.{}", one.field);
                    Some((name.clone(), now.get(&field).filter(|_| !said(&field))?))
                };
                let owners: Vec<_> = names.iter().filter_map(own).collect();
                let taken = owners.iter().map(|(name, _)| format!("{name}.{}=", one.field));
                let taken: Vec<String> = taken.collect();
                refuse_owned(&as_change, &owners, |first| format!("{first} {}", taken.join(" ")))?;
            }
        }
    }
    Ok(())
}

/// Whether a field of a build is a reading of one cylinder: what a gauge read at a thing that each of them has.
fn is_read_at_one(field: &str) -> bool {
    let read = || READINGS.iter().flat_map(|(_, patterns)| *patterns).any(|pattern| fits(field, pattern));
    // A common case has common reeds.
    can_be_own(field) && !field.starts_with("reed.") && (field == "chamber.volume" || read())
}

/// What is written for all does not hold where a cylinder has its own.
fn refuse_hidden(one: &Assignment, all: &[Assignment], now: &FieldSet) -> Result<(), EditError> {
    let said = |field: &str| all.iter().any(|other| other.field == field);
    let mut owners = now.owners(&one.field);
    owners.retain(|(name, _)| !said(&format!("{name}.{}", one.field)));
    let (place, value) = (with_place(&one.field, one.at.as_ref()), one.value.clone().unwrap_or_default());
    let refused = refuse_owned(one, &owners, |_| quoted(&format!("{ALL}.{place}={value}")));
    // Where each has its own nothing would hold what is written for all beside them.
    let first = owners.first().filter(|_| owners.len() == now.cylinders().len());
    refused.map_err(|error| match (error, first) {
        (EditError::HasItsOwn { field, owners, of_all, .. }, Some((name, _))) => EditError::HasItsOwn {
            kept: format!("for one of them {}", quoted(&format!("{name}.{place}={value}"))),
            field,
            owners,
            of_all,
        },
        (error, _) => error,
    })
}

fn quoted(text: &str) -> String {
    if text.contains(' ') { format!("\"{text}\"") } else { text.to_owned() }
}

/// `for_all` is what to write so that it holds for all, by what was typed.
fn refuse_owned(
    one: &Assignment,
    owners: &[(String, &Value)],
    for_all: impl Fn(&str) -> String,
) -> Result<(), EditError> {
    if owners.is_empty() || one.value.is_none() {
        return Ok(());
    }
    let value = one.value.clone().unwrap_or_default();
    let place = with_place(&one.field, one.at.as_ref());
    let kept: Vec<String> = owners
        .iter()
        .map(|(name, own)| match own {
            Value::Map(map) => {
                let file = map.file.clone().unwrap_or_else(|| "maps/NAME.csv".to_owned());
                format!("{name}.{}={file}", one.field)
            }
            own => quoted(&format!("{name}.{}={}", one.field, own.text())),
        })
        .collect();
    let first = quoted(&format!("{place}={value}"));
    Err(EditError::HasItsOwn {
        field: one.field.clone(),
        owners: owners.iter().map(|(name, own)| format!("{name} ({})", own.text())).collect(),
        of_all: for_all(&first),
        kept: format!("where they keep their own, {first} {}", kept.join(" ")),
    })
}
