//! A value as it was typed, checked as it would be when read from a file, and as it is written into one.

use toml_edit::{Array, Value as TomlValue};

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::toml::text::number;
use crate::notebook::fields::cylinder;
use crate::notebook::fields::names;
use crate::notebook::fields::node::{Leaf, Sort, out_of_range};
use crate::notebook::fields::value::Value;
use crate::quantity::{Quantity, trimmed};

/// Checks what was typed for a field against the catalogue and against what stands there now.
pub(super) fn checked(
    field: &str,
    typed: &str,
    leaf: &Leaf,
    now: Option<&Value>,
    refuse_bare_lengths: bool,
) -> Result<TomlValue, EditError> {
    let owned = || field.to_owned();
    match &leaf.sort {
        Sort::Quantity(dimensions, unit) => {
            let error = |error| EditError::BadQuantity { field: owned(), error };
            let quantity = leaf.quantity(to_one(typed), dimensions, unit).map_err(error)?;
            refuse_bare(field, &quantity, now, refuse_bare_lengths)?;
            match out_of_range(field, &quantity, leaf, unit) {
                Some((message, help)) => {
                    let step = Some(typed).filter(|typed| typed.starts_with('-'));
                    let step = step.and_then(|_| Some(format!(" {}", stepped(field, &quantity, now?)?)));
                    let help = format!("{help}{}", step.unwrap_or_default());
                    Err(EditError::OutOfRange { field: owned(), message, help })
                }
                None => Ok(written(&quantity)),
            }
        }
        Sort::Choice(words) => one_of(field, typed, words),
        Sort::Flag => {
            let words = ["true".to_owned(), "false".to_owned()];
            one_of(field, typed, &words).map(|_| TomlValue::from(typed == "true"))
        }
        Sort::Names => list_of_names(field, typed),
        Sort::Text | Sort::Date | Sort::Axis | Sort::Cells(_) | Sort::Numbers(_) => {
            Ok(TomlValue::from(typed.replace("\r\n", "\n")))
        }
    }
}

/// "26:1" as the number that it is.
pub fn to_one(typed: &str) -> &str {
    let ratio = typed.split_once(':').filter(|(_, one)| one.trim() == "1");
    ratio.map_or(typed, |(number, _)| number.trim_end())
}

/// Refuses "+1": it may be meant as a step from what is on the bike, and a value is never taken for one, nor a step for a value.
pub(super) fn refuse_step(
    field: &str,
    typed: &str,
    leaf: &Leaf,
    now: Option<&Value>,
) -> Result<(), EditError> {
    let Sort::Quantity(dimensions, unit) = &leaf.sort else { return Ok(()) };
    let typed = typed.trim();
    let Some(quantity) = Some(typed)
        .filter(|typed| typed.starts_with('+'))
        .and_then(|typed| leaf.quantity(typed, dimensions, unit).ok())
    else {
        return Ok(());
    };
    let help = now.and_then(|now| stepped(field, &quantity, now));
    let value = typed.trim_start_matches('+');
    Err(EditError::OutOfRange {
        field: field.to_owned(),
        message: format!("{field}={typed} may be a step or the value itself."),
        help: help.unwrap_or_else(|| format!("Type the value that it is to have, like {field}={value}.")),
    })
}

/// What to type where a step was meant: the value that it leads to. A step of a jet may be of sizes or of numbers, so that only what is
/// in it is said.
fn stepped(field: &str, step: &Quantity, now: &Value) -> Option<String> {
    let text = now.text();
    let now = now.quantity()?;
    let jet = ["main", "pilot", "power_jet"].iter().any(|jet| field.ends_with(&format!(".{jet}")));
    if jet {
        return Some(format!("Type the number of the jet itself; {text} is in it now."));
    }
    let by = if step.is_bare() { Some(step.value()) } else { step.in_unit(now.unit()) }?;
    let (to, by) =
        (trimmed(now.value() + by, 3), (trimmed(by.abs(), 3), if by < 0.0 { "less" } else { "more" }));
    let to = if now.is_bare() { to } else { format!("\"{to} {}\"", now.unit()) };
    Some(format!("Type the value itself: {field}={to} is {} {} than the {text} now.", by.0, by.1))
}

/// Names with commas or blanks between them, or a list as a file has it.
fn list_of_names(field: &str, typed: &str) -> Result<TomlValue, EditError> {
    let bare = typed.trim().trim_start_matches('[').trim_end_matches(']');
    let mut list = Array::new();
    for name in bare.split([',', ' ', '\n']).map(|name| name.trim().trim_matches('"')) {
        if name.is_empty() {
            continue;
        }
        if cylinder::SHARED.iter().any(|(shared, _)| *shared == field) {
            if let Some((message, help)) = name.split('+').find_map(cylinder::wrong_name) {
                return Err(EditError::OutOfRange { field: field.to_owned(), message, help });
            }
        } else if field == cylinder::NAMES {
            if let Some((message, help)) = cylinder::wrong_name(name) {
                return Err(EditError::OutOfRange { field: field.to_owned(), message, help });
            }
        } else {
            names::check(name).map_err(|_| EditError::BadName { field: format!("{field}={name}") })?;
        }
        list.push(name);
    }
    Ok(TomlValue::Array(list))
}

fn one_of(field: &str, typed: &str, words: &[String]) -> Result<TomlValue, EditError> {
    if words.iter().any(|word| word == typed) {
        return Ok(TomlValue::from(typed));
    }
    Err(EditError::NotAChoice { field: field.to_owned(), typed: typed.to_owned(), allowed: words.to_vec() })
}

/// A bare number is refused where it could be taken for another unit than the one meant.
fn refuse_bare(
    field: &str,
    quantity: &Quantity,
    now: Option<&Value>,
    refuse_bare_lengths: bool,
) -> Result<(), EditError> {
    if !quantity.is_bare() {
        return Ok(());
    }
    if let Some(now) = now.and_then(Value::quantity).filter(|now| now.unit() != quantity.unit()) {
        return Err(EditError::SayTheUnit {
            field: field.to_owned(),
            typed: quantity.text().to_owned(),
            now: now.with_unit(),
            units: [now.unit(), quantity.unit()],
        });
    }
    match quantity.dimension().meant_either_way().filter(|_| refuse_bare_lengths) {
        Some(units) => {
            Err(EditError::BareLength { field: field.to_owned(), typed: quantity.text().to_owned(), units })
        }
        None => Ok(()),
    }
}

/// A bare number stays a number with its digits; everything else is text.
fn written(quantity: &Quantity) -> TomlValue {
    number(quantity.text()).filter(|_| quantity.is_bare()).unwrap_or_else(|| TomlValue::from(quantity.text()))
}

/// For the free part: numbers as numbers, true and false as such, everything else as text.
pub(super) fn free(typed: &str) -> TomlValue {
    match typed {
        "true" => TomlValue::from(true),
        "false" => TomlValue::from(false),
        _ => number(typed).unwrap_or_else(|| TomlValue::from(typed)),
    }
}
