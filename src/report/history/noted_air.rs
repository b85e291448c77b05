//! Air as it was noted, in the answers that tell of it.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::AirEntry;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::sizes::whole_degrees;

/// Air as it was noted, and what follows from it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct NotedAir {
    /// What was typed: only what was given is there.
    read: AirAsTyped,
    /// Density of the moist air, kg/m3; null when the reading is no air.
    density_kg_m3: Option<Figure<6>>,
    /// Density of the dry part, kg/m3: what burns.
    dry_density_kg_m3: Option<Figure<6>>,
    /// Moist density in percent of dry air at 15 C and 1013.25 hPa.
    relative_density_percent: Option<Figure<4>>,
    /// Air temperature, degrees Celsius.
    temperature_c: Option<Figure<3>>,
    /// What was typed, on one line.
    #[serde(skip)]
    line: String,
}

/// An air as it was typed, each part with its unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
struct AirAsTyped {
    /// Air temperature as typed, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    temp: Option<String>,
    /// Barometer at the track as typed, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    baro: Option<String>,
    /// Altimeter setting as typed, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    qnh: Option<String>,
    /// Sea-level pressure as typed, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    sea_level: Option<String>,
    /// Elevation of the track as typed, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    elevation: Option<String>,
    /// Relative humidity as typed, in percent.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    humidity: Option<String>,
    /// Dew point as typed, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    dew_point: Option<String>,
    /// Wet-bulb temperature as typed, with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    wet_bulb: Option<String>,
    /// METAR as typed, on one line.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    metar: Option<String>,
}

impl AirAsTyped {
    fn of(entry: &AirEntry) -> Self {
        let mut typed: BTreeMap<_, _> = entry.parts().into_iter().collect();
        let mut part = |name: &str| typed.remove(name);
        Self {
            temp: part("temp"),
            baro: part("baro"),
            qnh: part("qnh"),
            sea_level: part("sea_level"),
            elevation: part("elevation"),
            humidity: part("humidity"),
            dew_point: part("dew_point"),
            wet_bulb: part("wet_bulb"),
            metar: part("metar"),
        }
    }
}

impl NotedAir {
    /// An entry, with the air that it is.
    pub fn of(entry: &AirEntry) -> Self {
        let air = entry.air().ok();
        Self {
            read: AirAsTyped::of(entry),
            density_kg_m3: air.map(|air| Figure(air.density())),
            dry_density_kg_m3: air.map(|air| Figure(air.dry_density())),
            relative_density_percent: air.map(|air| Figure(air.relative_density_percent())),
            temperature_c: air.map(|air| Figure(air.temperature_c())),
            line: entry.line(),
        }
    }

    /// The air in a few words: "93.4 % air, 24 C". The percentage is the relative density of the moist air.
    pub fn in_short(&self, screen: &Screen) -> String {
        match (self.relative_density_percent, self.temperature_c) {
            (Some(density), Some(temperature)) => {
                let degrees = whole_degrees(temperature.0, screen.units());
                format!("{} % air, {degrees}", fixed(density.0, 1))
            }
            _ => format!("air as noted: {}", visible(&self.line)),
        }
    }

    /// What was typed, on one line: "temp=24 C; baro=1008 hPa; humidity=55 %".
    pub(super) fn line(&self) -> &str {
        &self.line
    }
}

/// The air in a few words: "93.4 % air, 24 C". The percentage is the relative density of the moist air.
pub fn air_in_short(screen: &Screen, entry: &AirEntry) -> String {
    NotedAir::of(entry).in_short(screen)
}
