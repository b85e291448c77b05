//! What was typed into a form, as the documents say it.

use std::collections::BTreeMap;

use toml::{Table, Value};

use crate::acts::air::refuse_bare_parts;
use crate::acts::typed::{quantity, require_lap, temperature, when};
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Doubted, Mixture, Outing, When, ZONES};
use crate::quantity::{Dimension, Hours, Units};
use crate::report::Trouble;
use crate::report::page::live::{CONFIRM, DOUBTED, FormFields, OF_A_CYLINDER};
use crate::store::{Book, Garage, OpenJob};

/// Fields of a form, by what the documents and the air call them: what the form calls them, the label that stands there, and the way out
/// that a form has.
const LABELS: [(&str, &str, &str, Option<&str>); 16] = [
    ("temp", "temp", "Temperature", None),
    ("baro", "pressure", "Pressure", None),
    ("qnh", "pressure", "Pressure", None),
    ("pressure", "pressure", "Pressure", None),
    ("humidity", "humidity", "Humidity", None),
    ("elevation", "elevation", "Elevation", None),
    ("hours", "minutes", "Ran, min", Some("A bare number is minutes; hours are written like \"0.3 h\".")),
    ("exhaust_gas", "exhaust_gas", "Exhaust gas", None),
    ("lap", "lap", "Best lap", None),
    ("date", "date", "When", None),
    ("place", "place", "Place", None),
    ("session", "session", "Session", None),
    ("plug", "plug", "Plug", None),
    ("piston", "piston", "Piston", None),
    ("cause", "cause", "What made it lean", None),
    ("mended", "mended", "Fixed: what was done", None),
];

/// What is wrong, said of the field of the form that it is of.
pub(super) fn of_form(trouble: Trouble) -> Trouble {
    let Some(field) = trouble.field().map(str::to_owned) else { return trouble };
    let known = field.strip_prefix("air.").unwrap_or(&field);
    let Some((_, name, label, help)) = LABELS.iter().find(|(of, ..)| *of == known) else { return trouble };
    // A form has no other way to give an air than its fields.
    let is_missing =
        trouble.offers("metar") || trouble.offers("dew-point") || trouble.offers("not of the airfield");
    let help = if is_missing { Some("Type it in its field below, beside the others.") } else { *help };
    trouble.at_field(name, label, help)
}

/// The air that was typed; none where nothing was. A bare number has the unit that stands at its field.
pub(super) fn air(typed: &FormFields, garage: &Garage, units: Units) -> Result<Option<AirEntry>, Trouble> {
    typed_air(typed, garage, units).map_err(of_form)
}

fn typed_air(typed: &FormFields, garage: &Garage, units: Units) -> Result<Option<AirEntry>, Trouble> {
    let unit = |dimension: Dimension| dimension.display(units).0;
    let height = garage.is_imperial();
    let kind = typed.get("kind");
    let pressure = match kind {
        "" | "baro" => "baro",
        "qnh" => "qnh",
        _ => {
            let message = format!("\"{}\" is not a kind of pressure.", visible(kind));
            return Err(Trouble::request(Some("kind"), message, "It is of a barometer, or QNH."));
        }
    };
    let fields = [
        ("temp", "temp", unit(Dimension::Temperature)),
        (pressure, "pressure", unit(Dimension::Pressure)),
        ("elevation", "elevation", if height { "ft" } else { "m" }),
        ("humidity", "humidity", ""),
    ];
    let mut air = AirEntry::default();
    for (name, field, unit) in fields {
        if let Some(text) = typed.said(field) {
            air.set(name, &with_unit(text, unit))?;
        }
    }
    if garage.is_imperial() {
        refuse_bare_parts(&air)?;
    }
    Ok((!air.is_empty()).then_some(air))
}

/// A bare number with the unit of its field; a decimal comma is a point.
fn with_unit(text: &str, unit: &str) -> String {
    let number = text.replacen(',', ".", 1);
    if number.parse::<f64>().is_err() {
        return text.to_owned();
    }
    format!("{number} {unit}").trim_end().to_owned()
}

/// A run as it was typed, and whether the clock dates it.
pub(super) fn outing(
    typed: &FormFields,
    garage: &Garage,
    (now, units): (When, Units),
) -> Result<(Outing, bool), Trouble> {
    let mut table = table(typed, garage, (now, units))?;
    if table.keys().all(|field| ["place", "date"].contains(&field.as_str())) {
        return Err(Trouble::request(
            Some("verdict"),
            "No verdict yet.",
            "Press how it was at one throttle opening at least, or type a note.",
        ));
    }
    let dated_by_clock = !table.contains_key("date");
    table.entry("date").or_insert_with(|| now.to_string().into());
    let mut outing: Outing = table.try_into().map_err(|error| {
        Trouble::request(None, format!("{error}."), "Fix it and send it again: what was typed stands below.")
    })?;
    outing.doubted = said_to_be_doubted(typed)?;
    Ok((outing, dated_by_clock))
}

/// What is to be recorded as doubted.
pub(super) fn said_to_be_doubted(typed: &FormFields) -> Result<Vec<Doubted>, Trouble> {
    typed.all(DOUBTED).filter(|said| !said.is_empty()).map(doubted).collect()
}

/// What is doubted no more.
pub(super) fn said_to_be_right(typed: &FormFields) -> Result<Vec<Doubted>, Trouble> {
    typed.all(CONFIRM).filter(|said| !said.is_empty()).map(doubted).collect()
}

/// The fields of a run that were typed, as its document writes them.
pub(super) fn table(
    typed: &FormFields,
    garage: &Garage,
    now_and_units: (When, Units),
) -> Result<Table, Trouble> {
    typed_table(typed, garage, now_and_units).map_err(of_form)
}

fn typed_table(typed: &FormFields, garage: &Garage, (now, units): (When, Units)) -> Result<Table, Trouble> {
    let mut table = Table::new();
    let date = typed.said("date").map(|text| when(text, now)).transpose();
    let date = date.map_err(|trouble| trouble.at_field("date", "When", None))?;
    table.extend(date.map(|date| ("date".to_owned(), Value::from(date.to_string()))));
    for name in ["place", "session", "plug", "piston", "lap", "feel", "notes", "cause", "mended"] {
        table.extend(typed.said(name).map(|text| (name.to_owned(), Value::from(text))));
    }
    typed.said("lap").map_or(Ok(()), require_lap)?;
    let hours = typed.said("minutes").map(|text| with_unit(text, "min"));
    let hours = quantity::<Hours>("hours", hours.as_deref())?;
    table.extend(hours.map(|hours| ("hours".to_owned(), Value::from(hours))));
    let gas = typed.said("exhaust_gas").map(|text| exhaust_gas(text, garage, units)).transpose()?;
    table.extend(gas.map(|gas| ("exhaust_gas".to_owned(), Value::from(gas))));
    if let Some(air) = air(typed, garage, units)? {
        let parts = air.parts().into_iter().map(|(name, text)| (name.to_owned(), Value::String(text)));
        table.insert("air".to_owned(), Value::Table(parts.collect()));
    }
    let mut own: BTreeMap<String, Table> = BTreeMap::new();
    for (name, said) in typed.fields().filter(|(_, said)| !said.is_empty()) {
        if let Some((reading, cylinder)) = of_a_cylinder(name) {
            let said = match reading {
                "exhaust_gas" => exhaust_gas(said, garage, units)
                    .map_err(|trouble| trouble.at_field(name, "Exhaust gas, there", None))?,
                _ => said.to_owned(),
            };
            own.entry(cylinder.to_owned()).or_default().insert(reading.to_owned(), Value::from(said));
        }
        let Some(zone) = name.strip_prefix("z.") else { continue };
        let (of, zone) = match zone.rsplit_once('.') {
            Some((cylinder, zone)) => (own.entry(cylinder.to_owned()).or_default(), zone),
            None => (&mut table, zone),
        };
        let word = judged(zone, said)?;
        let verdict = of.entry("verdict").or_insert_with(|| Value::Table(Table::new()));
        if let Some(verdict) = verdict.as_table_mut() {
            verdict.insert(zone.to_owned(), Value::from(word));
        }
    }
    if !own.is_empty() {
        let own = own.into_iter().map(|(name, own)| (name, Value::Table(own)));
        table.insert("cylinder".to_owned(), Value::Table(own.collect()));
    }
    Ok(table)
}

/// The reading and the cylinder that a field of a form is of; none where it is of all of them.
pub(super) fn of_a_cylinder(name: &str) -> Option<(&'static str, &str)> {
    OF_A_CYLINDER
        .iter()
        .find_map(|(reading, _)| Some((*reading, name.strip_prefix(reading)?.strip_prefix('.')?)))
}

/// A temperature of the exhaust gas, with the unit of its field where it was typed bare.
fn exhaust_gas(text: &str, garage: &Garage, units: Units) -> Result<String, Trouble> {
    let said = with_unit(text, Dimension::Temperature.display(units).0);
    let read = temperature("exhaust_gas", Some(&said), garage.is_imperial())?;
    Ok(read.unwrap_or_default())
}

/// The word of a verdict, of a throttle zone that there is.
fn judged(zone: &str, said: &str) -> Result<&'static str, Trouble> {
    if !ZONES.iter().any(|(known, _, _)| *known == zone) {
        let message = format!("\"{}\" is not a throttle zone.", visible(zone));
        return Err(Trouble::request(
            Some("verdict"),
            message,
            "Zones are idle, 1/8, 1/4, 1/2, 3/4 and full.",
        ));
    }
    let known = Mixture::ALL.into_iter().find(|mixture| mixture.word() == said);
    known.map(Mixture::word).ok_or_else(|| {
        let message = format!("\"{}\" is not a verdict.", visible(said));
        let help = "Verdicts are lean, slightly lean, right, slightly rich and rich.";
        Trouble::request(Some("verdict"), message, help)
    })
}

fn doubted(said: &str) -> Result<Doubted, Trouble> {
    [Doubted::Air, Doubted::Hours].into_iter().find(|what| what.word() == said).ok_or_else(|| {
        let message = format!("\"{}\" cannot be doubted here.", visible(said));
        Trouble::request(Some("doubted"), message, "Air or hours can be.")
    })
}

/// The number of a job that was pressed, where it still is what stood on the page.
pub(super) fn job(book: &Book<'_>, bike: &str, pressed: &str) -> Result<u32, Trouble> {
    let jobs = book.open_jobs_of(bike)?;
    let (number, what) = pressed.split_once(' ').unwrap_or((pressed, ""));
    let is_it = |job: &&OpenJob| number.parse() == Ok(job.number) && job.item.what.trim() == what.trim();
    jobs.jobs.iter().find(is_it).map(|job| job.number).ok_or_else(|| {
        Trouble::request(
            Some("job"),
            format!(
                "\"{}\" is not a job of {} any more. Nothing was recorded.",
                visible(what),
                visible(bike)
            ),
            "The list has moved on: look at it again.",
        )
    })
}
