//! The air a bike breathes: moist-air density, station pressure, airport
//! weather reports, the standard atmosphere, and how far a reading can be trusted.
//!
//! Pure functions of numbers: no file, clock or terminal. Pressures are in
//! pascal, temperatures in degrees Celsius (`_c`) or kelvin (`_k`), densities in
//! kg/m³, humidities and mole fractions from 0 to 1.
//!
//! Sources, each cited again where it is used:
//! - moist air: Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149-155 (CIPM-2007);
//! - standard atmosphere and altimeter setting: ICAO Doc 7488 (1993);
//! - wet bulb: WMO-No. 8 (2008), Annex 4.B;
//! - weather reports: WMO-No. 306 FM 15 (METAR), ICAO Annex 3, AFMAN 15-111 for the US remarks;
//! - uncertainty: JCGM 100:2008 (GUM), equation 10.

mod check;
mod density;
mod error;
mod metar;
pub mod power_correction;
mod reading;
pub mod standard_atmosphere;
mod state;
#[cfg(test)]
mod tests;
mod uncertainty;
mod vapour;

pub use check::pressure_contradicts_elevation;
pub use density::STANDARD_AIR_DENSITY;
pub use error::{AirError, Called, Field};
pub use metar::{Metar, ReportKind};
pub use reading::{Doubts, Humidity, Pressure, Reading, SEA_LEVEL_COLUMN_DOUBT_K};
pub use state::{Air, SAME_AIR};
pub use uncertainty::{Source, Uncertainty};
pub use vapour::{enhancement_factor, psychrometer_vapour_pressure, saturation_vapour_pressure};
