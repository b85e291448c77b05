//! `Air`: one state of moist air, and everything that follows from it.

use super::density;
use super::error::{AirError, Field};
use super::{check, standard_atmosphere, vapour};

/// Two airs are one where they differ by less than this part, of density or of the fuel that they want: two readings agree no better (common
/// practice, no source).
pub const SAME_AIR: f64 = 0.02;

/// A state of moist air: temperature, station pressure and the mole fraction of vapour.
///
/// Made from a reading by one of the constructors, each of which refuses what is
/// physically impossible; outside the range of the density equation it is computed all
/// the same and [`is_extrapolated`](Self::is_extrapolated) says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    temperature_c: f64,
    pressure_pa: f64,
    vapour_fraction: f64,
}

impl Air {
    /// Standard dry air, 15 °C and 1013.25 hPa: 100 % relative density by definition.
    pub const STANDARD: Self = Self {
        temperature_c: 15.0,
        pressure_pa: standard_atmosphere::SEA_LEVEL_PRESSURE_PA,
        vapour_fraction: 0.0,
    };

    /// Air from its relative humidity, 0 to 1. Temperature -60 to 60 °C, station pressure
    /// 400 to 1100 hPa.
    pub fn from_relative_humidity(
        temperature_c: f64,
        pressure_pa: f64,
        relative_humidity: f64,
    ) -> Result<Self, AirError> {
        check::temperature(temperature_c)?;
        check::station_pressure(Field::Barometer, pressure_pa)?;
        check::relative_humidity(relative_humidity)?;
        Ok(Self::with_relative_humidity(temperature_c, pressure_pa, relative_humidity))
    }

    /// Air from its dew point in °C, which is never above the temperature.
    pub fn from_dew_point(temperature_c: f64, pressure_pa: f64, dew_point_c: f64) -> Result<Self, AirError> {
        check::temperature(temperature_c)?;
        check::station_pressure(Field::Barometer, pressure_pa)?;
        check::dew_point(dew_point_c, temperature_c)?;
        Ok(Self::with_dew_point(temperature_c, pressure_pa, dew_point_c))
    }

    /// Air from the wet bulb in °C of a ventilated psychrometer (WMO-No. 8), never above
    /// the temperature and never below what perfectly dry air would show.
    pub fn from_wet_bulb(temperature_c: f64, pressure_pa: f64, wet_bulb_c: f64) -> Result<Self, AirError> {
        check::temperature(temperature_c)?;
        check::station_pressure(Field::Barometer, pressure_pa)?;
        check::wet_bulb(wet_bulb_c, temperature_c, pressure_pa)?;
        Ok(Self::with_wet_bulb(temperature_c, pressure_pa, wet_bulb_c))
    }

    // The three below check nothing: derivatives step a little past 100 % humidity.

    pub(super) fn with_relative_humidity(
        temperature_c: f64,
        pressure_pa: f64,
        relative_humidity: f64,
    ) -> Self {
        let saturated = vapour::saturated_air(pressure_pa, temperature_c);
        Self { temperature_c, pressure_pa, vapour_fraction: relative_humidity * saturated / pressure_pa }
    }

    pub(super) fn with_dew_point(temperature_c: f64, pressure_pa: f64, dew_point_c: f64) -> Self {
        Self {
            temperature_c,
            pressure_pa,
            vapour_fraction: vapour::saturated_air(pressure_pa, dew_point_c) / pressure_pa,
        }
    }

    pub(super) fn with_wet_bulb(temperature_c: f64, pressure_pa: f64, wet_bulb_c: f64) -> Self {
        let vapour = vapour::psychrometer_vapour_pressure(temperature_c, pressure_pa, wet_bulb_c);
        Self { temperature_c, pressure_pa, vapour_fraction: vapour / pressure_pa }
    }

    /// Temperature, °C.
    pub fn temperature_c(&self) -> f64 {
        self.temperature_c
    }

    /// Station pressure, the barometer's own, Pa.
    pub fn pressure_pa(&self) -> f64 {
        self.pressure_pa
    }

    /// Mole fraction of water vapour, 0 to 1.
    pub fn vapour_fraction(&self) -> f64 {
        self.vapour_fraction
    }

    /// Partial pressure of the vapour, Pa: mole fraction times pressure.
    pub fn vapour_pressure_pa(&self) -> f64 {
        self.vapour_fraction * self.pressure_pa
    }

    /// Partial pressure of the dry air, Pa.
    pub fn dry_pressure_pa(&self) -> f64 {
        (1.0 - self.vapour_fraction) * self.pressure_pa
    }

    /// Relative humidity over water, 0 to 1.
    pub fn relative_humidity(&self) -> f64 {
        self.vapour_pressure_pa() / vapour::saturated_air(self.pressure_pa, self.temperature_c)
    }

    /// Dew point over water, °C; minus infinity for perfectly dry air, which has none.
    pub fn dew_point_c(&self) -> f64 {
        vapour::dew_point(self.vapour_pressure_pa(), self.pressure_pa)
    }

    /// Density of the moist air, kg/m³ (CIPM-2007): what a venturi feels.
    pub fn density(&self) -> f64 {
        density::moist(self.temperature_c, self.pressure_pa, self.vapour_fraction)
    }

    /// Mass of dry air in a cubic metre, kg/m³ (CIPM-2007): what burns fuel.
    pub fn dry_density(&self) -> f64 {
        density::dry_part(self.temperature_c, self.pressure_pa, self.vapour_fraction)
    }

    /// Moist density in percent of standard dry air (15 °C, 1013.25 hPa) by the same equation.
    pub fn relative_density_percent(&self) -> f64 {
        100.0 * self.density() / density::STANDARD_AIR_DENSITY
    }

    /// Dry density in percent of standard dry air (15 °C, 1013.25 hPa) by the same equation.
    pub fn relative_dry_density_percent(&self) -> f64 {
        100.0 * self.dry_density() / density::STANDARD_AIR_DENSITY
    }

    /// Density altitude, geopotential m: where the standard atmosphere (ICAO Doc 7488) has
    /// the moist density. Standard dry air reads -4.4 m, because the standard treats air
    /// as an ideal gas of 1.2250 kg/m³ and the real gas weighs 1.22552.
    pub fn density_altitude_m(&self) -> f64 {
        standard_atmosphere::height_of_density(self.density())
    }

    /// Whether the density equation is used outside the range it is stated for,
    /// 15 to 27 °C and 600 to 1100 hPa.
    pub fn is_extrapolated(&self) -> bool {
        !(15.0..=27.0).contains(&self.temperature_c) || !(60_000.0..=110_000.0).contains(&self.pressure_pa)
    }
}
