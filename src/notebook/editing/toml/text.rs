//! Text and numbers as TOML has them.

use toml_edit::{RawString, Value as TomlValue};

/// A number as typed, digits and all; `None` for what TOML does not write as a number.
pub(in crate::notebook) fn number(text: &str) -> Option<TomlValue> {
    let value = text.parse::<TomlValue>().ok()?;
    let decimal =
        text.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+' | b'e' | b'E'));
    let finite = value.as_float().is_none_or(f64::is_finite);
    (decimal && finite && (value.is_integer() || value.is_float())).then_some(value)
}

/// The text of a decoration, where it is there.
pub(in crate::notebook) fn text_of(raw: Option<&RawString>) -> &str {
    raw.and_then(RawString::as_str).unwrap_or("")
}
