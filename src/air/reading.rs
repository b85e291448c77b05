//! A reading of the air as it was taken, with the doubt in each instrument.

use super::error::{AirError, Field};
use super::state::Air;
use super::{check, standard_atmosphere};

/// Half-width in K of the doubt about the mean temperature of the air column between track
/// and sea, by which a sea-level pressure was reduced (common practice): half a day's swing
/// of temperature. At 1655 m it is worth 6 hPa, at 100 m less than half a hectopascal.
pub const SEA_LEVEL_COLUMN_DOUBT_K: f64 = 10.0;

/// Height from which a sea-level pressure is worth a warning, m (common practice).
const SEA_LEVEL_WARNING_M: f64 = 500.0;
/// Altimeter settings outside this are rare enough to ask about, Pa (common practice).
const USUAL_SETTING_PA: std::ops::RangeInclusive<f64> = 95_000.0..=105_000.0;

/// A pressure, and which of the three kinds it is. They are never interchangeable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pressure {
    /// What a barometer at the track shows, not corrected to sea level.
    Station {
        /// The reading, Pa, 400 to 1100 hPa.
        pa: f64,
    },
    /// An airport's altimeter setting (QNH): station pressure brought to sea level through
    /// the *standard* atmosphere.
    AltimeterSetting {
        /// The setting, Pa, 850 to 1090 hPa.
        pa: f64,
        /// The height of the track, m, -500 to 5000.
        elevation_m: f64,
    },
    /// A weather service's sea-level pressure: station pressure brought to sea level with the
    /// *day's* temperature. In wide doubt above 500 m.
    SeaLevel {
        /// The pressure, Pa, 850 to 1090 hPa.
        pa: f64,
        /// The height of the track, m, -500 to 5000.
        elevation_m: f64,
    },
}

/// A humidity as it was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Humidity {
    /// Relative humidity over water, 0 to 1.
    Relative(f64),
    /// Dew point over water, °C.
    DewPoint(f64),
    /// Wet bulb of a ventilated psychrometer, °C.
    WetBulb(f64),
}

/// How far each instrument may be off: half-widths within which the true value is sure to
/// lie, any value in them being equally likely (a rectangular distribution, JCGM 100, 4.3.7).
///
/// The defaults are common practice for paddock instruments, without a source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubts {
    /// Temperature, K; 0.5 by default.
    pub temperature_k: f64,
    /// Pressure of whichever kind, Pa; 100 by default.
    pub pressure_pa: f64,
    /// Relative humidity where that was read, as a fraction; 0.05 by default.
    pub relative_humidity: f64,
    /// Dew point or wet bulb where that was read, K; 0.5 by default.
    pub dew_or_wet_bulb_k: f64,
    /// Elevation where the pressure needs one, m; 10 by default.
    pub elevation_m: f64,
}

impl Default for Doubts {
    fn default() -> Self {
        Self {
            temperature_k: 0.5,
            pressure_pa: 100.0,
            relative_humidity: 0.05,
            dew_or_wet_bulb_k: 0.5,
            elevation_m: 10.0,
        }
    }
}

/// One reading of the air: what was read, and how far it may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Temperature in the shade, °C, -60 to 60.
    pub temperature_c: f64,
    /// Pressure and its kind.
    pub pressure: Pressure,
    /// Humidity as it was read.
    pub humidity: Humidity,
    /// Half-widths of doubt.
    pub doubts: Doubts,
}

impl Reading {
    /// A reading with the usual doubts of paddock instruments.
    pub fn new(temperature_c: f64, pressure: Pressure, humidity: Humidity) -> Self {
        Self { temperature_c, pressure, humidity, doubts: Doubts::default() }
    }

    /// The state of the air, or why the reading cannot be true.
    pub fn air(&self) -> Result<Air, AirError> {
        check::temperature(self.temperature_c)?;
        match self.pressure {
            Pressure::Station { pa } => check::station_pressure(Field::Barometer, pa)?,
            Pressure::AltimeterSetting { pa, elevation_m } => {
                check::reduced_pressure(Field::AltimeterSetting, pa)?;
                check::elevation(elevation_m)?;
            }
            Pressure::SeaLevel { pa, elevation_m } => {
                check::reduced_pressure(Field::SeaLevel, pa)?;
                check::elevation(elevation_m)?;
            }
        }
        match self.humidity {
            Humidity::Relative(fraction) => check::relative_humidity(fraction)?,
            Humidity::DewPoint(celsius) => check::dew_point(celsius, self.temperature_c)?,
            Humidity::WetBulb(celsius) => {
                check::wet_bulb(celsius, self.temperature_c, self.station_pressure_pa(0.0))?;
            }
        }
        Ok(self.unchecked_air(0.0))
    }

    /// The state of the air without any check, the air column down to the sea being warmer
    /// than assumed by `column_offset_k` (only a sea-level pressure notices).
    pub(super) fn unchecked_air(&self, column_offset_k: f64) -> Air {
        let temperature_c = self.temperature_c;
        let pressure_pa = self.station_pressure_pa(column_offset_k);
        match self.humidity {
            Humidity::Relative(fraction) => Air::with_relative_humidity(temperature_c, pressure_pa, fraction),
            Humidity::DewPoint(celsius) => Air::with_dew_point(temperature_c, pressure_pa, celsius),
            Humidity::WetBulb(celsius) => Air::with_wet_bulb(temperature_c, pressure_pa, celsius),
        }
    }

    /// The pressure a barometer at the track would show, Pa.
    fn station_pressure_pa(&self, column_offset_k: f64) -> f64 {
        match self.pressure {
            Pressure::Station { pa } => pa,
            Pressure::AltimeterSetting { pa, elevation_m } => {
                standard_atmosphere::station_pressure_from_qnh(pa, elevation_m)
            }
            Pressure::SeaLevel { pa, elevation_m } => standard_atmosphere::station_pressure_from_sea_level(
                pa,
                elevation_m,
                self.temperature_c + column_offset_k,
            ),
        }
    }

    /// What a person should know about this reading, each a sentence; empty when there is
    /// nothing to say.
    pub fn remarks(&self) -> Vec<String> {
        let mut remarks = Vec::new();
        match self.pressure {
            Pressure::SeaLevel { elevation_m, .. } if elevation_m > SEA_LEVEL_WARNING_M => {
                remarks.push(format!(
                    "A sea-level pressure at {elevation_m:.0} m is in wide doubt: it depends on \
                     how the weather service reduced it. A barometer at the track is better."
                ));
            }
            Pressure::AltimeterSetting { pa, .. } if !USUAL_SETTING_PA.contains(&pa) => {
                remarks.push(format!(
                    "An altimeter setting of {:.1} hPa is rare. If a barometer at the track shows \
                     it, give it as the barometer's pressure.",
                    pa / 100.0
                ));
            }
            _ => {}
        }
        if let Humidity::WetBulb(celsius) = self.humidity
            && celsius < 0.0
        {
            remarks.push(
                "A wet bulb below 0 C is taken as wet, not iced; an iced wick reads differently.".to_owned(),
            );
        }
        remarks
    }
}
