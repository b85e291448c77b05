//! The standard atmosphere, the altimeter setting that rests on it, and the reduction
//! to sea level that does not.
//!
//! ICAO Doc 7488 (1993), the same up to 11 km as the US Standard Atmosphere 1976 and
//! ISO 2533:1975. Heights are geopotential metres; at a race track they differ from the
//! surveyed height by less than a metre.

use super::density::ZERO_CELSIUS_K;

/// Sea-level temperature, K.
pub const SEA_LEVEL_TEMPERATURE_K: f64 = 288.15;
/// Sea-level pressure, Pa.
pub const SEA_LEVEL_PRESSURE_PA: f64 = 101_325.0;
/// Fall of temperature with height up to 11 km, K/m.
pub const LAPSE_RATE_K_PER_M: f64 = 0.0065;
/// Standard gravity, m/s².
const GRAVITY: f64 = 9.806_65;
/// Specific gas constant of dry air in the standard, J/(kg K).
const SPECIFIC_GAS_CONSTANT: f64 = 287.052_87;
/// Exponent of the pressure law, g/(R L) = 5.25588; its inverse is 0.190263.
const PRESSURE_EXPONENT: f64 = GRAVITY / (SPECIFIC_GAS_CONSTANT * LAPSE_RATE_K_PER_M);
/// Height at which the straight temperature law would reach absolute zero, 44 330.77 m.
const HEIGHT_SCALE_M: f64 = SEA_LEVEL_TEMPERATURE_K / LAPSE_RATE_K_PER_M;

/// Sea-level density of the standard, an ideal dry gas: 1.2250 kg/m³.
pub const SEA_LEVEL_DENSITY: f64 = SEA_LEVEL_PRESSURE_PA / (SPECIFIC_GAS_CONSTANT * SEA_LEVEL_TEMPERATURE_K);

/// Temperature in K at a geopotential height in m, -5 to 11 km.
pub fn temperature_k(height_m: f64) -> f64 {
    SEA_LEVEL_TEMPERATURE_K - LAPSE_RATE_K_PER_M * height_m
}

/// Pressure in Pa at a geopotential height in m, -5 to 11 km.
pub fn pressure_pa(height_m: f64) -> f64 {
    SEA_LEVEL_PRESSURE_PA * (1.0 - height_m / HEIGHT_SCALE_M).powf(PRESSURE_EXPONENT)
}

/// Density in kg/m³ at a geopotential height in m, -5 to 11 km.
pub fn density(height_m: f64) -> f64 {
    SEA_LEVEL_DENSITY * (1.0 - height_m / HEIGHT_SCALE_M).powf(PRESSURE_EXPONENT - 1.0)
}

/// Geopotential height in m with this pressure in Pa (pressure altitude).
pub fn height_of_pressure(pressure_pa: f64) -> f64 {
    HEIGHT_SCALE_M * (1.0 - (pressure_pa / SEA_LEVEL_PRESSURE_PA).powf(1.0 / PRESSURE_EXPONENT))
}

/// Geopotential height in m with this density in kg/m³ (density altitude).
pub fn height_of_density(density: f64) -> f64 {
    HEIGHT_SCALE_M * (1.0 - (density / SEA_LEVEL_DENSITY).powf(1.0 / (PRESSURE_EXPONENT - 1.0)))
}

/// Station pressure in Pa from an altimeter setting (QNH) in Pa and the height in m of the
/// place wanted, ICAO Doc 7488: the setting is the sea-level pressure of a *standard*
/// atmosphere, whatever the day's temperature.
///
/// The height is the track's, not the weather station's.
pub fn station_pressure_from_qnh(qnh_pa: f64, elevation_m: f64) -> f64 {
    pressure_pa(height_of_pressure(qnh_pa) + elevation_m)
}

/// Altimeter setting (QNH) in Pa from the station pressure in Pa and the height in m.
pub fn qnh_from_station(station_pa: f64, elevation_m: f64) -> f64 {
    pressure_pa(height_of_pressure(station_pa) - elevation_m)
}

/// Station pressure in Pa from a weather service's sea-level pressure in Pa, the height in m
/// and the day's temperature at the station in °C.
///
/// Hydrostatic, through a column of dry air whose mean temperature is the station's plus half
/// the standard lapse over the height: p = p0 exp(-g h / (R (T + L h/2))). 1020 hPa at 1655 m
/// gives 832.6 hPa at 0 °C and 849.2 hPa at 30 °C. Services reduce with a twelve-hour mean,
/// with the vapour counted in, or with local tables, so far from the sea this is only a
/// stopgap: [`SEA_LEVEL_COLUMN_DOUBT_K`](super::SEA_LEVEL_COLUMN_DOUBT_K) says how far.
pub fn station_pressure_from_sea_level(sea_level_pa: f64, elevation_m: f64, temperature_c: f64) -> f64 {
    let column_k = temperature_c + ZERO_CELSIUS_K + 0.5 * LAPSE_RATE_K_PER_M * elevation_m;
    sea_level_pa * (-GRAVITY * elevation_m / (SPECIFIC_GAS_CONSTANT * column_k)).exp()
}
