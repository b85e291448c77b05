//! What was typed of an outing, read as its fields are written.

use std::str::FromStr;

use super::air::refuse_bare;
use crate::advice::runs::lap_fault;
use crate::notebook::When;
use crate::notebook::guidance::CommandOption;
use crate::quantity::{QuantityError, Temperature};
use crate::report::Trouble;

/// Refuses a lap that is no time, or can be two.
pub fn require_lap(lap: &str) -> Result<(), Trouble> {
    match lap_fault(lap) {
        None => Ok(()),
        Some(fault) => {
            let help = fault.help(|lap| CommandOption::Lap(lap).into());
            Err(Trouble::request(Some("lap"), fault.message(), help))
        }
    }
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

/// A date as typed; a time alone, "9:40", is of the day that it is now.
pub fn when(typed: &str, now: When) -> Result<When, Trouble> {
    let typed = typed.trim();
    let is_time = typed.split_once(':').is_some_and(|(hour, minute)| {
        let digits = |part: &str| (1..=2).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
        digits(hour) && minute.len() == 2 && digits(minute)
    });
    let text = if is_time { format!("{} {typed:0>5}", now.day()) } else { typed.to_owned() };
    Ok(When::parse(&text, now.offset())?)
}
