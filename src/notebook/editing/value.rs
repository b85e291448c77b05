//! A value as it was typed, checked as it would be when read from a file, and as it is written into one.

use toml_edit::{Array, Value as TomlValue};

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::toml::page::number;
use crate::notebook::fields::catalogue::{Leaf, Sort};
use crate::notebook::fields::cylinder;
use crate::notebook::fields::names;
use crate::notebook::fields::value::Value;
use crate::notebook::reading::document::out_of_range;
use crate::quantity::Quantity;

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
            let quantity = leaf.quantity(typed, dimensions, unit).map_err(error)?;
            refuse_bare(field, &quantity, now, refuse_bare_lengths)?;
            match out_of_range(field, &quantity, leaf, unit) {
                Some((message, help)) => Err(EditError::OutOfRange { field: owned(), message, help }),
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

/// Names with commas or blanks between them, or a list as a file has it.
fn list_of_names(field: &str, typed: &str) -> Result<TomlValue, EditError> {
    let bare = typed.trim().trim_start_matches('[').trim_end_matches(']');
    let mut list = Array::new();
    for name in bare.split([',', ' ', '\n']).map(|name| name.trim().trim_matches('"')) {
        if name.is_empty() {
            continue;
        }
        if field == cylinder::NAMES {
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
