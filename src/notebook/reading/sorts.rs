//! What sort a value of a TOML file is, and what was typed for it.

use toml_edit::{Item, Value as TomlValue};

use crate::notebook::fields::value::Value;
use crate::quantity::{Dimension, Quantity};

/// What was typed for a single value that is not in quotes.
pub(super) fn as_typed(value: &TomlValue) -> Option<String> {
    match value {
        TomlValue::Integer(_) | TomlValue::Float(_) => typed_text(value),
        TomlValue::Boolean(flag) => Some(flag.value().to_string()),
        TomlValue::Datetime(date) => Some(date.value().to_string()),
        _ => None,
    }
}

/// A number as typed or a text; nothing else can be a quantity.
pub(super) fn typed_text(value: &TomlValue) -> Option<String> {
    match value {
        TomlValue::String(text) => Some(text.value().clone()),
        TomlValue::Integer(number) => Some(number.display_repr().replace('_', "")),
        TomlValue::Float(number) => Some(number.display_repr().replace('_', "")),
        _ => None,
    }
}

pub(super) fn free_value(value: &TomlValue) -> Value {
    if let TomlValue::Boolean(flag) = value {
        return Value::Flag(*flag.value());
    }
    let number = typed_text(value);
    let parsed = number.as_deref().and_then(|text| Quantity::parse(text, Dimension::ANY, "").ok());
    match (parsed, value) {
        (Some(quantity), TomlValue::Integer(_) | TomlValue::Float(_)) => Value::Quantity(quantity),
        (Some(quantity), _) if !quantity.is_bare() => Value::Quantity(quantity),
        (_, TomlValue::String(text)) => Value::Text(text.value().clone()),
        _ => Value::Text(value.to_string().trim().to_owned()),
    }
}

pub(super) fn sort_of(item: &Item) -> &'static str {
    match item {
        Item::None => "nothing",
        Item::Table(_) | Item::Value(TomlValue::InlineTable(_)) => "a table",
        Item::ArrayOfTables(_) => "a list of tables",
        Item::Value(TomlValue::Array(_)) => "a list",
        Item::Value(TomlValue::String(_)) => "text",
        Item::Value(TomlValue::Integer(_) | TomlValue::Float(_)) => "a number",
        Item::Value(TomlValue::Boolean(_)) => "true or false",
        Item::Value(TomlValue::Datetime(_)) => "a date",
    }
}
