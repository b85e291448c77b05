//! What was typed of an outing, read as its fields are written.

use std::str::FromStr;

use super::air::refuse_bare;
use crate::advice::runs::{NO_LAP, lap_seconds};
use crate::quantity::{QuantityError, Temperature};
use crate::report::Trouble;

/// Refuses a lap that is no time.
pub fn require_lap(lap: &str) -> Result<(), Trouble> {
    if lap_seconds(lap).is_some() {
        return Ok(());
    }
    Err(Trouble::request(
        Some("lap"),
        format!("\"{}\" is no time.", crate::notebook::fields::names::visible(lap)),
        NO_LAP,
    ))
}

/// A quantity as typed, with its unit.
pub fn quantity<T: FromStr<Err = QuantityError> + ToString>(
    field: &str,
    text: Option<&str>,
) -> Result<Option<String>, Trouble> {
    text.map(|text| text.parse::<T>().map(|quantity| quantity.to_string()))
        .transpose()
        .map_err(|error| Trouble::request(Some(field), error.to_string(), error.help()))
}

/// A temperature as typed; in an imperial garage its unit is wanted.
pub fn temperature(field: &str, text: Option<&str>, imperial: bool) -> Result<Option<String>, Trouble> {
    let shown = quantity::<Temperature>(field, text)?;
    if imperial && let Some(read) = text.and_then(|text| text.parse::<Temperature>().ok()) {
        refuse_bare(field, Some(read.quantity()))?;
    }
    Ok(shown)
}
