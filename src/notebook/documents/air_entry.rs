//! Air as it is written down: in an outing, at a proven mark, on the command line, and in a commit's trailer. The field
//! names are the same everywhere.

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::air::{self, AirError, Called, Humidity, Metar, Pressure, Reading};
use crate::quantity::{self, Elevation, QuantityError, RelativeHumidity, Temperature};

/// A reading of the air as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AirEntry {
    /// Air temperature in the shade.
    #[schemars(extend("x-range" = [-60, 60]))]
    pub temp: Option<Temperature>,
    /// The barometer's actual reading at the track.
    #[schemars(extend("x-range" = [400, 1100]))]
    pub baro: Option<quantity::Pressure>,
    /// Altimeter setting (QNH); wants the track's elevation.
    #[schemars(extend("x-range" = [850, 1090]))]
    pub qnh: Option<quantity::Pressure>,
    /// Sea-level pressure from a weather service; wants the track's elevation.
    #[schemars(extend("x-range" = [850, 1090]))]
    pub sea_level: Option<quantity::Pressure>,
    /// Elevation of the track.
    #[schemars(extend("x-range" = [-500, 5000]))]
    pub elevation: Option<Elevation>,
    /// Relative humidity.
    #[schemars(extend("x-range" = [0, 100]))]
    pub humidity: Option<RelativeHumidity>,
    /// Dew point.
    #[schemars(extend("x-range" = [-80, 60]))]
    pub dew_point: Option<Temperature>,
    /// Wet-bulb temperature.
    #[schemars(extend("x-range" = [-60, 60]))]
    pub wet_bulb: Option<Temperature>,
    /// A whole METAR of a nearby airfield; wants the track's elevation. What is given beside it takes its place.
    pub metar: Option<String>,
}

/// Why an entry is no air.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AirEntryError {
    /// A value that cannot be.
    #[error(transparent)]
    Air(#[from] AirError),
    /// A value that cannot be read.
    #[error("{1}")]
    Quantity(&'static str, QuantityError),
    /// Something is missing.
    #[error("{message}")]
    Missing {
        /// The field that would supply it.
        field: &'static str,
        /// What is missing.
        message: String,
    },
    /// Two values for one thing.
    #[error("{first} and {second} both give {what}.")]
    Twice {
        /// One field.
        first: &'static str,
        /// The other.
        second: &'static str,
        /// What both give.
        what: &'static str,
    },
    /// A field name in a line of air that is not known.
    #[error("\"{0}\" is not a part of the air.")]
    Unknown(String),
}

impl AirEntryError {
    /// The field concerned.
    pub fn field(&self) -> &str {
        match self {
            Self::Air(error) => error.field(),
            Self::Quantity(field, _) | Self::Missing { field, .. } => field,
            Self::Twice { first, .. } => first,
            Self::Unknown(name) => name,
        }
    }

    /// The way out; `called` says what the place where it is told calls a field.
    pub fn help(&self, called: Called) -> String {
        match self {
            Self::Air(error) => error.help(called),
            Self::Quantity(_, error) => error.help(),
            Self::Missing { field, .. } => supplied_by(field, called),
            Self::Twice { .. } => "Give only one of them.".into(),
            Self::Unknown(_) => format!("Parts of the air are {}.", FIELDS.join(", ")),
        }
    }
}

/// How what is missing can be given.
fn supplied_by(field: &str, called: Called) -> String {
    match field {
        "temp" => format!("Give {}, or a {}.", called("temp"), called("metar")),
        "baro" => format!(
            "Give {}, {} or {}, or a {}.",
            called("baro"),
            called("qnh"),
            called("sea_level"),
            called("metar")
        ),
        "humidity" => {
            format!("Give {}, {} or {}.", called("humidity"), called("dew_point"), called("wet_bulb"))
        }
        field => format!(
            "Give {} of the track (not of the airfield); 100 m wrong is 1 % of the density.",
            called(field)
        ),
    }
}

/// The names of the fields.
pub const FIELDS: [&str; 9] =
    ["temp", "baro", "qnh", "sea_level", "elevation", "humidity", "dew_point", "wet_bulb", "metar"];

impl AirEntry {
    /// Whether nothing was given.
    pub fn is_empty(&self) -> bool {
        self.parts().is_empty()
    }

    /// What was given, as typed and with its unit, in the order of the fields; a humidity typed as a fraction is in percent.
    pub fn parts(&self) -> Vec<(&'static str, String)> {
        let texts = [
            self.temp.as_ref().map(ToString::to_string),
            self.baro.as_ref().map(ToString::to_string),
            self.qnh.as_ref().map(ToString::to_string),
            self.sea_level.as_ref().map(ToString::to_string),
            self.elevation.as_ref().map(ToString::to_string),
            self.humidity.as_ref().map(ToString::to_string),
            self.dew_point.as_ref().map(ToString::to_string),
            self.wet_bulb.as_ref().map(ToString::to_string),
            self.metar.as_ref().map(|text| text.split_whitespace().collect::<Vec<_>>().join(" ")),
        ];
        FIELDS.iter().zip(texts).filter_map(|(name, text)| Some((*name, text?))).collect()
    }

    /// On one line, "temp=24 C; baro=1008 hPa; humidity=55 %", as [`AirEntry::parse`] reads it.
    pub fn line(&self) -> String {
        let parts: Vec<_> = self.parts().iter().map(|(name, text)| format!("{name}={text}")).collect();
        parts.join("; ")
    }

    /// Reads a line as [`AirEntry::line`] writes it.
    pub fn parse(line: &str) -> Result<Self, AirEntryError> {
        let mut entry = Self::default();
        for part in line.split(';').map(str::trim).filter(|part| !part.is_empty()) {
            let (name, text) = part.split_once('=').unwrap_or((part, ""));
            entry.set(name.trim(), text.trim())?;
        }
        Ok(entry)
    }

    /// Gives one part, by the name of its field.
    pub fn set(&mut self, name: &str, text: &str) -> Result<(), AirEntryError> {
        let plain = if name.contains('-') { Cow::Owned(name.replace('-', "_")) } else { Cow::Borrowed(name) };
        match plain.as_ref() {
            "temp" => self.temp = Some(read("temp", text)?),
            "baro" => self.baro = Some(read("baro", text)?),
            "qnh" => self.qnh = Some(read("qnh", text)?),
            "sea_level" => self.sea_level = Some(read("sea_level", text)?),
            "elevation" => self.elevation = Some(read("elevation", text)?),
            "humidity" => self.humidity = Some(read("humidity", text)?),
            "dew_point" => self.dew_point = Some(read("dew_point", text)?),
            "wet_bulb" => self.wet_bulb = Some(read("wet_bulb", text)?),
            "metar" => self.metar = Some(text.to_owned()),
            _ => return Err(AirEntryError::Unknown(name.to_owned())),
        }
        Ok(())
    }

    /// These parts over those of another reading: what was typed takes the place of what gave the same.
    #[must_use]
    pub fn over(&self, kept: &Self) -> Self {
        let mut whole = kept.clone();
        if self.baro.is_some() || self.qnh.is_some() || self.sea_level.is_some() {
            (whole.baro, whole.qnh, whole.sea_level) =
                (self.baro.clone(), self.qnh.clone(), self.sea_level.clone());
        }
        if self.humidity.is_some() || self.dew_point.is_some() || self.wet_bulb.is_some() {
            (whole.humidity, whole.dew_point, whole.wet_bulb) =
                (self.humidity.clone(), self.dew_point.clone(), self.wet_bulb.clone());
        }
        whole.temp = self.temp.clone().or(whole.temp);
        whole.elevation = self.elevation.clone().or(whole.elevation);
        whole
    }

    /// The reading these entries stand for, with its doubts.
    pub fn reading(&self) -> Result<Reading, AirEntryError> {
        let pressure = self.pressure()?;
        let temperature = self.temp.as_ref().map(|temp| temp.si() - 273.15);
        let humidity = self.humidity()?;
        let reading = match &self.metar {
            Some(text) => {
                let elevation = self.elevation.as_ref().map(quantity::Measure::si);
                let elevation = match pressure {
                    Some(_) => elevation.unwrap_or(0.0),
                    None => elevation
                        .ok_or_else(|| elevation_missing("The METAR's pressure is an altimeter setting"))?,
                };
                Metar::parse(text)?.reading_with(elevation, pressure, temperature, humidity)?
            }
            None => Reading::new(
                temperature.ok_or_else(|| missing("temp", "The air temperature is missing."))?,
                pressure.ok_or_else(|| missing("baro", "The pressure is missing."))?,
                humidity.ok_or_else(|| missing("humidity", "The humidity is missing."))?,
            ),
        };
        self.check_elevation(&reading)?;
        Ok(reading)
    }

    /// The air these entries stand for.
    pub fn air(&self) -> Result<air::Air, AirEntryError> {
        Ok(self.reading()?.air()?)
    }

    fn pressure(&self) -> Result<Option<Pressure>, AirEntryError> {
        one_of(
            "the pressure",
            &[
                ("baro", self.baro.is_some()),
                ("qnh", self.qnh.is_some()),
                ("sea_level", self.sea_level.is_some()),
            ],
        )?;
        let elevation = |what| {
            let elevation = self.elevation.as_ref().map(quantity::Measure::si);
            elevation.ok_or_else(|| elevation_missing(what))
        };
        Ok(if let Some(baro) = &self.baro {
            Some(Pressure::Station { pa: baro.si() })
        } else if let Some(qnh) = &self.qnh {
            Some(Pressure::AltimeterSetting {
                pa: qnh.si(),
                elevation_m: elevation("An altimeter setting (QNH) is not the pressure at the track")?,
            })
        } else if let Some(sea_level) = &self.sea_level {
            Some(Pressure::SeaLevel {
                pa: sea_level.si(),
                elevation_m: elevation("A sea-level pressure is not the pressure at the track")?,
            })
        } else {
            None
        })
    }

    fn humidity(&self) -> Result<Option<Humidity>, AirEntryError> {
        one_of(
            "the humidity",
            &[
                ("humidity", self.humidity.is_some()),
                ("dew_point", self.dew_point.is_some()),
                ("wet_bulb", self.wet_bulb.is_some()),
            ],
        )?;
        let celsius = |temperature: &Temperature| temperature.si() - 273.15;
        Ok(self
            .humidity
            .as_ref()
            .map(|share| Humidity::Relative(share.si()))
            .or_else(|| self.dew_point.as_ref().map(|t| Humidity::DewPoint(celsius(t))))
            .or_else(|| self.wet_bulb.as_ref().map(|t| Humidity::WetBulb(celsius(t)))))
    }

    fn check_elevation(&self, reading: &Reading) -> Result<(), AirEntryError> {
        let (Some(elevation), Some(_)) = (&self.elevation, &self.baro) else {
            return Ok(());
        };
        let air = reading.air()?;
        match air::pressure_contradicts_elevation(air.pressure_pa(), elevation.si()) {
            Some(error) => Err(error.into()),
            None => Ok(()),
        }
    }
}

fn read<T: std::str::FromStr<Err = QuantityError>>(
    field: &'static str,
    text: &str,
) -> Result<T, AirEntryError> {
    text.parse().map_err(|error| AirEntryError::Quantity(field, error))
}

fn missing(field: &'static str, message: &str) -> AirEntryError {
    AirEntryError::Missing { field, message: message.to_owned() }
}

fn elevation_missing(what: &str) -> AirEntryError {
    missing("elevation", &format!("{what}: the track's elevation is needed."))
}

fn one_of(what: &'static str, given: &[(&'static str, bool)]) -> Result<(), AirEntryError> {
    let named: Vec<_> = given.iter().filter(|(_, is)| *is).map(|(name, _)| *name).collect();
    match named.as_slice() {
        [first, second, ..] => Err(AirEntryError::Twice { first, second, what }),
        _ => Ok(()),
    }
}
