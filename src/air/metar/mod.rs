//! Airport weather reports (METAR and SPECI): temperature, dew point and altimeter setting.
//!
//! Code form: WMO-No. 306, FM 15, and ICAO Annex 3; the remarks (tenths of a degree,
//! sea-level pressure) are those of the US instruction AFMAN 15-111 (2019).

mod groups;
mod parse;
#[cfg(test)]
mod tests;

use super::error::{AirError, Field};
use super::reading::{Doubts, Humidity, Pressure, Reading};

/// Half-width in K by which the paddock may differ from the airport, in temperature and in
/// dew point alike (common practice, no source).
pub(super) const AIRPORT_TEMPERATURE_DOUBT_K: f64 = 2.0;
/// Half-width in Pa by which the pressure moves between airport and track and since the
/// report (common practice, no source).
pub(super) const AIRPORT_PRESSURE_DOUBT_PA: f64 = 50.0;

/// Half of the last printed digit: whole degrees, or tenths from the remarks, K.
const WHOLE_DEGREE_HALF_K: f64 = 0.5;
const TENTH_DEGREE_HALF_K: f64 = 0.05;

/// Whether a report is the hourly one or was sent between, when the weather changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReportKind {
    /// METAR.
    Routine,
    /// SPECI.
    Special,
}

/// What an airport weather report says about the air. A group that is missing, or written
/// with slashes, is `None`.
#[derive(Clone, Debug, PartialEq)]
pub struct Metar {
    /// Routine or special.
    pub kind: ReportKind,
    /// The station's four letters.
    pub station: String,
    /// Day of the month, 1 to 31, in UTC.
    pub day: u8,
    /// Hour, 0 to 23, in UTC.
    pub hour: u8,
    /// Minute, 0 to 59.
    pub minute: u8,
    /// Whether a machine made it without an observer (AUTO).
    pub automatic: bool,
    /// Whether it corrects an earlier one (COR).
    pub corrected: bool,
    /// Temperature, °C; from the remarks' tenths where they are given.
    pub temperature_c: Option<f64>,
    /// Dew point over water, °C; from the remarks' tenths where they are given.
    pub dew_point_c: Option<f64>,
    /// Whether the temperature is rounded to whole degrees (no tenths in the remarks).
    pub whole_degrees: bool,
    /// Altimeter setting (QNH) as printed, Pa. Printed values are always rounded down.
    pub altimeter_setting_pa: Option<f64>,
    /// One step of the printed setting, Pa: 100 (Q group) or 33.9 (A group).
    pub altimeter_step_pa: f64,
    /// Sea-level pressure of the remarks, Pa. It is no altimeter setting and is never used.
    pub sea_level_pa: Option<f64>,
}

impl Metar {
    /// Reads one report. Lower case, line breaks, repeated blanks and a closing "=" are
    /// accepted; a trend after the observation is not data.
    pub fn parse(text: &str) -> Result<Self, AirError> {
        parse::parse(text)
    }

    /// The reading this report makes at a track `elevation_m` metres high, with the doubts
    /// of its rounding and of the way from airport to paddock.
    pub fn reading(&self, elevation_m: f64) -> Result<Reading, AirError> {
        self.reading_with(elevation_m, None, None, None)
    }

    /// The same with the pressure, the temperature in °C or the humidity read at the track put in place of
    /// the airport's; what was read there has an instrument's doubt, not the airport's.
    pub fn reading_with(
        &self,
        elevation_m: f64,
        pressure: Option<Pressure>,
        temperature_c: Option<f64>,
        humidity: Option<Humidity>,
    ) -> Result<Reading, AirError> {
        let instrument = Doubts::default();
        let airport_k = AIRPORT_TEMPERATURE_DOUBT_K
            + if self.whole_degrees { WHOLE_DEGREE_HALF_K } else { TENTH_DEGREE_HALF_K };
        let (pressure, pressure_pa) = match (pressure, self.altimeter_setting_pa) {
            (Some(own), _) => (own, instrument.pressure_pa),
            // The true setting lies up to one step above the print; the doubt reaches there.
            (None, Some(pa)) => (
                Pressure::AltimeterSetting { pa, elevation_m },
                self.altimeter_step_pa + AIRPORT_PRESSURE_DOUBT_PA,
            ),
            (None, None) => return Err(self.without("altimeter setting", Field::Barometer)),
        };
        let (temperature_c, temperature_k) = match (temperature_c, self.temperature_c) {
            (Some(own), _) => (own, instrument.temperature_k),
            (None, Some(airport)) => (airport, airport_k),
            (None, None) => return Err(self.without("temperature", Field::Temperature)),
        };
        let (humidity, dew_or_wet_bulb_k) = match (humidity, self.dew_point_c) {
            (Some(own), _) => (own, instrument.dew_or_wet_bulb_k),
            (None, Some(airport)) => (Humidity::DewPoint(airport), airport_k),
            (None, None) => return Err(self.without("dew point", Field::Humidity)),
        };
        Ok(Reading {
            temperature_c,
            pressure,
            humidity,
            doubts: Doubts { temperature_k, pressure_pa, dew_or_wet_bulb_k, ..instrument },
        })
    }

    /// What a person should know about this report, each a sentence; of the temperature and the dew point only where they are
    /// taken from it and were not read at the track.
    pub fn remarks(&self, own_temperature: bool, own_humidity: bool) -> Vec<String> {
        let of_airport = match (own_temperature, own_humidity) {
            (false, false) => "Temperature and dew point are those",
            (false, true) => "The temperature is that",
            (true, false) => "The dew point is that",
            (true, true) => return Vec::new(),
        };
        let mut remarks = vec![format!(
            "{of_airport} of the airport {}, not of the paddock; read your own if you can.",
            self.station
        )];
        if self.whole_degrees && self.temperature_c.is_some() {
            remarks.push("The report rounds to whole degrees.".to_owned());
        }
        if let Some(pascal) = self.sea_level_pa {
            remarks.push(format!(
                "Its sea-level pressure of {:.1} hPa is not an altimeter setting and is not used.",
                pascal / 100.0
            ));
        }
        remarks
    }

    fn without(&self, missing: &'static str, field: Field) -> AirError {
        AirError::MetarWithout { station: self.station.clone(), missing, field }
    }
}
