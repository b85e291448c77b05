//! The air that an answer is asked for: what was typed over what was kept.

use crate::advice::conditions::kept::{Served, serve, type_a_new_one};
use crate::advice::today::place_of_the_day;
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, When};
use crate::quantity::{Measure, Quantity};
use crate::report::Trouble;
use crate::report::worded;
use crate::store::Book;

/// The air for a moment: what was typed, over what was kept at the place that is named, or else where the day is spent.
pub fn served(
    book: &Book<'_>,
    typed: Option<AirEntry>,
    place: Option<&str>,
    at: When,
) -> Result<Served, Trouble> {
    let of_the_day = if place.is_none() { place_of_the_day(book, at)? } else { None };
    let served = serve(book, typed, place.or(of_the_day.as_deref()), at)?;
    if let Some(Err(error)) = served.entry.as_ref().map(AirEntry::air) {
        let trouble = Trouble::from(error);
        return Err(match (&served.refused, served.unreadable.is_empty()) {
            (_, false) => Trouble::findings(served.unreadable),
            (Some(refused), _) if refused.of_the_day => {
                trouble.and(&refused.words).or(&worded(&type_a_new_one(refused)))
            }
            _ => trouble,
        });
    }
    Ok(served)
}

/// Refuses the parts of an entry that an imperial garage wants a unit for.
pub fn refuse_bare_parts(entry: &AirEntry) -> Result<(), Trouble> {
    let temperatures =
        [("temp", &entry.temp), ("dew_point", &entry.dew_point), ("wet_bulb", &entry.wet_bulb)];
    for (name, temperature) in temperatures {
        refuse_bare(name, temperature.as_ref().map(Measure::quantity))?;
    }
    refuse_bare("elevation", entry.elevation.as_ref().map(Measure::quantity))
}

/// In an imperial garage a length or a temperature without a unit could be meant either way. An elevation is in feet or
/// metres, whatever small lengths are in.
pub fn refuse_bare(field: &str, quantity: Option<&Quantity>) -> Result<(), Trouble> {
    let Some(quantity) = quantity.filter(|quantity| quantity.is_bare()) else {
        return Ok(());
    };
    let units =
        if field == "elevation" { Some(["ft", "m"]) } else { quantity.dimension().meant_either_way() };
    let Some([one, other]) = units else {
        return Ok(());
    };
    let digits = quantity.text();
    let message = format!("{} {digits} has no unit, and this garage is imperial.", field.replace('_', " "));
    let help = format!("Write \"{digits} {one}\" or \"{digits} {other}\", whichever it is.");
    Err(Trouble::request(Some(field), message, help))
}

/// An air as it is said in a hurry, "19 1003 60" (C, hPa, %), or as a METAR or parts of it are written.
pub fn read_air(said: &str, imperial: bool) -> Result<AirEntry, Trouble> {
    let words: Vec<&str> = said.split_whitespace().collect();
    let line = match words.as_slice() {
        [temp, baro, humidity] if !said.contains('=') => {
            format!("temp={temp}; baro={baro}; humidity={humidity}")
        }
        _ if said.contains('=') || words.len() > 3 => said.to_owned(),
        _ => {
            return Err(Trouble::request(
                Some("air"),
                format!("\"{}\" is not an air.", visible(said)),
                "Three numbers: temperature, barometer and humidity, like 19 1003 60.",
            ));
        }
    };
    let air = AirEntry::parse(&line)?;
    if imperial {
        refuse_bare_parts(&air)?;
    }
    air.air()?;
    Ok(air)
}
