//! How far the density may be off, from how far the instruments may be.
//!
//! First-order propagation, JCGM 100:2008 (GUM) equation 10 for independent inputs:
//! u² = Σ (∂ρ/∂x)² u(x)², each doubt a rectangular half-width a with u = a/√3 (4.3.7).
//! Slopes are central differences through the whole chain from reading to density.

use super::error::{AirError, Field};
use super::reading::{Doubts, Humidity, Pressure, Reading, SEA_LEVEL_COLUMN_DOUBT_K};

/// Where a doubt comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// The thermometer.
    Temperature,
    /// The pressure, of whichever kind.
    Pressure,
    /// Relative humidity, dew point or wet bulb.
    Humidity,
    /// The height of the track.
    Elevation,
    /// How a weather service reduced its pressure to the sea.
    SeaLevelReduction,
}

/// The doubt of the densities that follow from a reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertainty {
    /// Standard uncertainty of the moist density, kg/m³. Twice it holds about 95 %.
    pub density: f64,
    /// Standard uncertainty of the dry density, kg/m³.
    pub dry_density: f64,
    /// Correlation of the two, -1 to 1: needed for a ratio of them. 1 when neither is in doubt.
    pub correlation: f64,
    /// What each source alone would make of the moist density: standard, kg/m³, not negative.
    /// Only sources that this kind of reading has.
    pub contributions: Vec<(Source, f64)>,
    /// The same for the dry density.
    pub dry_contributions: Vec<(Source, f64)>,
}

impl Reading {
    /// The doubt of the densities, or why the reading cannot be true.
    pub fn uncertainty(&self) -> Result<Uncertainty, AirError> {
        self.air()?;
        self.doubts.check(self)?;
        let (mut moist_square, mut dry_square, mut product) = (0.0, 0.0, 0.0);
        let mut contributions = Vec::new();
        let mut dry_contributions = Vec::new();
        for (source, half_width) in self.doubts.by_source(self) {
            let standard = half_width / 3.0_f64.sqrt();
            let (moist_slope, dry_slope) = self.slopes(source);
            let (moist, dry) = (moist_slope * standard, dry_slope * standard);
            moist_square += moist * moist;
            dry_square += dry * dry;
            product += moist * dry;
            contributions.push((source, moist.abs()));
            dry_contributions.push((source, dry.abs()));
        }
        let (density, dry_density) = (moist_square.sqrt(), dry_square.sqrt());
        let scale = density * dry_density;
        Ok(Uncertainty {
            density,
            dry_density,
            correlation: if scale > 0.0 { product / scale } else { 1.0 },
            contributions,
            dry_contributions,
        })
    }

    /// Slopes of the moist and the dry density to one source, per its unit.
    fn slopes(&self, source: Source) -> (f64, f64) {
        // Small beside any weather, large beside rounding: the chain is smooth in all of them.
        let step = match source {
            Source::Temperature | Source::SeaLevelReduction => 1e-2,
            Source::Pressure => 1.0,
            Source::Elevation => 0.1,
            Source::Humidity => match self.humidity {
                Humidity::Relative(_) => 1e-4,
                Humidity::DewPoint(_) | Humidity::WetBulb(_) => 1e-2,
            },
        };
        let above = self.moved(source, step);
        let below = self.moved(source, -step);
        let slope = |high: f64, low: f64| (high - low) / (2.0 * step);
        (slope(above.0, below.0), slope(above.1, below.1))
    }

    /// Moist and dry density with one source moved by `shift`, in its unit.
    fn moved(&self, source: Source, shift: f64) -> (f64, f64) {
        let mut reading = *self;
        let mut column_offset_k = 0.0;
        match source {
            Source::Temperature => reading.temperature_c += shift,
            Source::Pressure => match &mut reading.pressure {
                Pressure::Station { pa }
                | Pressure::AltimeterSetting { pa, .. }
                | Pressure::SeaLevel { pa, .. } => *pa += shift,
            },
            Source::Humidity => match &mut reading.humidity {
                Humidity::Relative(value) | Humidity::DewPoint(value) | Humidity::WetBulb(value) => {
                    *value += shift;
                }
            },
            Source::Elevation => match &mut reading.pressure {
                Pressure::Station { .. } => {}
                Pressure::AltimeterSetting { elevation_m, .. } | Pressure::SeaLevel { elevation_m, .. } => {
                    *elevation_m += shift;
                }
            },
            Source::SeaLevelReduction => column_offset_k = shift,
        }
        let air = reading.unchecked_air(column_offset_k);
        (air.density(), air.dry_density())
    }
}

impl Doubts {
    /// The half-widths that matter to this kind of reading.
    fn by_source(&self, reading: &Reading) -> Vec<(Source, f64)> {
        let humidity = match reading.humidity {
            Humidity::Relative(_) => self.relative_humidity,
            Humidity::DewPoint(_) | Humidity::WetBulb(_) => self.dew_or_wet_bulb_k,
        };
        let mut doubts = vec![
            (Source::Temperature, self.temperature_k),
            (Source::Pressure, self.pressure_pa),
            (Source::Humidity, humidity),
        ];
        match reading.pressure {
            Pressure::Station { .. } => {}
            Pressure::AltimeterSetting { .. } => {
                doubts.push((Source::Elevation, self.elevation_m));
            }
            Pressure::SeaLevel { .. } => {
                doubts.push((Source::Elevation, self.elevation_m));
                doubts.push((Source::SeaLevelReduction, SEA_LEVEL_COLUMN_DOUBT_K));
            }
        }
        doubts
    }

    /// Refuses a half-width that is negative or not a number.
    fn check(&self, reading: &Reading) -> Result<(), AirError> {
        for (source, found) in self.by_source(reading) {
            if found.is_finite() && found >= 0.0 {
                continue;
            }
            let field = match source {
                Source::Temperature => Field::Temperature,
                Source::Humidity => match reading.humidity {
                    Humidity::Relative(_) => Field::Humidity,
                    Humidity::DewPoint(_) => Field::DewPoint,
                    Humidity::WetBulb(_) => Field::WetBulb,
                },
                Source::Elevation => Field::Elevation,
                Source::Pressure | Source::SeaLevelReduction => match reading.pressure {
                    Pressure::Station { .. } => Field::Barometer,
                    Pressure::AltimeterSetting { .. } => Field::AltimeterSetting,
                    Pressure::SeaLevel { .. } => Field::SeaLevel,
                },
            };
            return Err(AirError::BadDoubt { field, found });
        }
        Ok(())
    }
}
