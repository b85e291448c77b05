//! What a reading may be: the limits, and the checks that refuse what lies beyond.

use super::error::{AirError, Field};
use super::{standard_atmosphere, vapour};

/// Temperatures at which anyone has raced, with room, °C.
const TEMPERATURE_C: (f64, f64) = (-60.0, 60.0);
/// Lowest dew point believed, °C: drier air is not found at the ground.
const LOWEST_DEW_POINT_C: f64 = -80.0;
/// Station pressures from the highest tracks to below the sea's level, Pa.
const STATION_PA: (f64, f64) = (40_000.0, 110_000.0);
/// Pressures reduced to sea level; the records are 870 and 1085 hPa, Pa.
const REDUCED_PA: (f64, f64) = (85_000.0, 109_000.0);
/// Heights of tracks, m.
const ELEVATION_M: (f64, f64) = (-500.0, 5_000.0);
/// How far weather moves a barometer from the standard atmosphere, Pa (common practice).
const WEATHER_PA: f64 = 6_000.0;

/// Units a pressure may have been typed in, and one of each in Pa.
const PRESSURE_UNITS: [(&str, f64); 6] = [
    ("hPa", 100.0),
    ("kPa", 1_000.0),
    ("inHg", 3_386.389),
    ("mmHg", 133.322_4),
    ("psi", 6_894.757),
    ("Pa", 1.0),
];

fn finite(field: Field, found: f64) -> Result<(), AirError> {
    if found.is_finite() { Ok(()) } else { Err(AirError::NotFinite { field, found }) }
}

fn within(
    field: Field,
    found: f64,
    (lowest, highest): (f64, f64),
    unit: &'static str,
) -> Result<(), AirError> {
    finite(field, found)?;
    if (lowest..=highest).contains(&found) {
        return Ok(());
    }
    Err(AirError::OutOfRange { field, found, lowest, highest, unit })
}

pub(super) fn temperature(celsius: f64) -> Result<(), AirError> {
    within(Field::Temperature, celsius, TEMPERATURE_C, "C")
}

pub(super) fn elevation(metres: f64) -> Result<(), AirError> {
    within(Field::Elevation, metres, ELEVATION_M, "m")
}

pub(super) fn relative_humidity(fraction: f64) -> Result<(), AirError> {
    within(Field::Humidity, fraction * 100.0, (0.0, 100.0), "%")
}

pub(super) fn dew_point(dew_point_c: f64, temperature_c: f64) -> Result<(), AirError> {
    finite(Field::DewPoint, dew_point_c)?;
    not_above(Field::DewPoint, dew_point_c, temperature_c)?;
    let range = (LOWEST_DEW_POINT_C, temperature_c);
    within(Field::DewPoint, dew_point_c, range, "C")
}

pub(super) fn wet_bulb(wet_bulb_c: f64, temperature_c: f64, pressure_pa: f64) -> Result<(), AirError> {
    finite(Field::WetBulb, wet_bulb_c)?;
    not_above(Field::WetBulb, wet_bulb_c, temperature_c)?;
    let lowest_c = vapour::lowest_wet_bulb(temperature_c, pressure_pa);
    if wet_bulb_c < lowest_c {
        return Err(AirError::WetBulbTooDry { wet_bulb_c, temperature_c, lowest_c });
    }
    Ok(())
}

fn not_above(field: Field, found_c: f64, temperature_c: f64) -> Result<(), AirError> {
    if found_c > temperature_c {
        return Err(AirError::AboveTemperature { field, found_c, temperature_c });
    }
    Ok(())
}

/// A pressure as a barometer at the place shows it; `field` is what it came from.
pub(super) fn station_pressure(field: Field, pascal: f64) -> Result<(), AirError> {
    pressure(field, pascal, STATION_PA)
}

/// A pressure reduced to sea level: altimeter setting or sea-level pressure.
pub(super) fn reduced_pressure(field: Field, pascal: f64) -> Result<(), AirError> {
    pressure(field, pascal, REDUCED_PA)
}

fn pressure(field: Field, pascal: f64, range: (f64, f64)) -> Result<(), AirError> {
    finite(field, pascal)?;
    if (range.0..=range.1).contains(&pascal) {
        return Ok(());
    }
    let (lowest, highest) = (range.0 / 100.0, range.1 / 100.0);
    let hectopascal = thousandths(pascal / 100.0);
    match likely_unit(pascal, range) {
        Some(likely) => Err(AirError::PressureUnit { field, hectopascal, lowest, highest, likely }),
        None => within(field, hectopascal, (lowest, highest), "hPa"),
    }
}

/// A number as someone would have typed it, freed of the dust of unit conversion.
fn thousandths(number: f64) -> f64 {
    (number * 1_000.0).round() / 1_000.0
}

/// What was probably meant by a pressure of the wrong magnitude. The number is taken as
/// typed in pascal, in hectopascal, or else in another unit, and every unit in which it would be believable is named.
fn likely_unit(pascal: f64, (lowest, highest): (f64, f64)) -> Option<String> {
    // A unit mistake is at least a factor of two; nearer than that it is a wrong reading.
    if pascal <= 0.0 || (lowest / 2.0..highest * 2.0).contains(&pascal) {
        return None;
    }
    let typed_in = PRESSURE_UNITS.iter().map(|(_, pascal_each)| pascal / pascal_each);
    [pascal, pascal / 100.0].into_iter().chain(typed_in).find_map(|number| {
        let typed = thousandths(number);
        let believable: Vec<String> = PRESSURE_UNITS
            .iter()
            .filter(|(_, pascal_each)| (lowest..=highest).contains(&(number * pascal_each)))
            .map(|(unit, _)| format!("{typed} {unit}"))
            .collect();
        (!believable.is_empty()).then(|| believable.join(" or "))
    })
}

/// Whether a barometer's own reading contradicts the height given with it: more than
/// 60 hPa from the standard atmosphere (common practice, no source; the deepest storms of
/// the middle latitudes come close to it and nobody races in them).
///
/// `station_pa` in Pa, `elevation_m` in m. This is the classic mistake: a sea-level pressure
/// taken as the barometer's, worth 22 % of the density at 1655 m. Below about 400 m the two
/// are too near to be told apart.
pub fn pressure_contradicts_elevation(station_pa: f64, elevation_m: f64) -> Option<AirError> {
    let standard_pa = standard_atmosphere::pressure_pa(elevation_m);
    ((station_pa - standard_pa).abs() > WEATHER_PA).then(|| AirError::PressureContradictsElevation {
        station_pa,
        elevation_m,
        standard_pa,
        allowed_pa: WEATHER_PA,
        if_setting_pa: standard_atmosphere::station_pressure_from_qnh(station_pa, elevation_m),
    })
}
