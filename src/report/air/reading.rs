//! The air, for a person and for a script.

use crate::notebook::When;
use schemars::JsonSchema;
use serde::Serialize;

use super::kept::{KeptAir, KeptNow};
use crate::advice::conditions::kept::Served;
use crate::air::{Air, AirError, Reading, Source, power_correction};
use crate::quantity::{Dimension, Units, fixed};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, signed, table};
use crate::report::words::sizes::{height, with_unit};
use crate::store::KeptAirRecord;

/// Said of the density only: for a jet it does not matter. The figure is the worst of 140 points against CoolProp 8.0.0.
const EXTRAPOLATED: &str = "The density equation is stated for 15 to 27 C and 600 to 1100 hPa; here it is extrapolated \
    (still within 0.02 % from -8 to 42 C).";

/// The part of every power correction's caveat that stands in the heading.
const SAID_ABOVE: &str = "For comparing power only, never for jets; ";

/// The air of one reading.
#[derive(Debug, Serialize, JsonSchema)]
pub struct AirReport {
    /// Density of the moist air, kg/m3, by CIPM-2007.
    density_kg_m3: Figure<6>,
    /// Density of the dry part, kg/m3: what burns.
    dry_density_kg_m3: Figure<6>,
    /// Moist density in percent of dry air at 15 C and 1013.25 hPa by the same equation.
    relative_density_percent: Figure<4>,
    /// Dry density in percent of the same.
    relative_dry_density_percent: Figure<4>,
    /// Geopotential height in the ICAO standard atmosphere that has this moist density, metres.
    density_altitude_m: Figure<1>,
    /// Actual pressure at the track, hPa.
    station_pressure_hpa: Figure<3>,
    /// Air temperature, degrees Celsius.
    temperature_c: Figure<3>,
    /// Dew point, degrees Celsius; null for dry air, which has none.
    dew_point_c: Option<Figure<3>>,
    /// Relative humidity, percent.
    relative_humidity_percent: Figure<3>,
    /// Partial pressure of the water vapour, hPa.
    vapour_pressure_hpa: Figure<4>,
    /// Standard uncertainty (one standard deviation) of the moist density, kg/m3.
    standard_uncertainty_kg_m3: Figure<6>,
    /// Standard uncertainty of the dry density, kg/m3.
    dry_standard_uncertainty_kg_m3: Figure<6>,
    /// Factors that compare the power measured in this air; never for jets.
    power_correction: [Correction; 3],
    /// Notes on the reading.
    remarks: Vec<String>,
    /// The kept air that it is, or that gave a part of it; null where all of it was typed.
    kept: Option<KeptAir>,
    /// What --keep wrote down; null without it.
    recorded: Option<KeptNow>,
    /// Where it is from, in words.
    #[serde(skip)]
    from: Option<String>,
    /// What the doubt comes from, with its standard uncertainty of the moist density, kg/m3.
    #[serde(skip)]
    contributions: Vec<(Source, f64)>,
    /// Density of the air to compare with.
    #[serde(skip)]
    reference: Option<f64>,
}

/// One factor on measured power.
#[derive(Debug, Serialize, JsonSchema)]
struct Correction {
    /// The standard.
    standard: &'static str,
    /// What measured power is multiplied by, without unit.
    factor: Figure<5>,
    /// Whether the standard is stated for this air.
    in_range: bool,
    /// What it is not good for.
    caveat: &'static str,
}

impl AirReport {
    /// Computes it. `reference` is the garage's reference air.
    ///
    /// # Errors
    /// A reading that no air can have.
    pub fn new(
        reading: &Reading,
        mut remarks: Vec<String>,
        reference: Option<&Air>,
    ) -> Result<Self, AirError> {
        remarks.extend(reading.remarks());
        let air = reading.air()?;
        if air.is_extrapolated() {
            remarks.push(EXTRAPOLATED.to_owned());
        }
        let uncertainty = reading.uncertainty()?;
        Ok(Self {
            density_kg_m3: Figure(air.density()),
            dry_density_kg_m3: Figure(air.dry_density()),
            relative_density_percent: Figure(air.relative_density_percent()),
            relative_dry_density_percent: Figure(air.relative_dry_density_percent()),
            density_altitude_m: Figure(air.density_altitude_m()),
            station_pressure_hpa: Figure(air.pressure_pa() / 100.0),
            temperature_c: Figure(air.temperature_c()),
            dew_point_c: Figure::finite(air.dew_point_c()),
            relative_humidity_percent: Figure(air.relative_humidity() * 100.0),
            vapour_pressure_hpa: Figure(air.vapour_pressure_pa() / 100.0),
            standard_uncertainty_kg_m3: Figure(uncertainty.density),
            dry_standard_uncertainty_kg_m3: Figure(uncertainty.dry_density),
            power_correction: corrections(&air),
            remarks,
            kept: None,
            recorded: None,
            from: None,
            contributions: uncertainty.contributions,
            reference: reference.map(Air::density),
        })
    }

    /// The same with where it is from.
    #[must_use]
    pub fn from(self, served: &Served) -> Self {
        Self { kept: KeptAir::of(served), from: served.words(), ..self }
    }

    /// The same once it is kept.
    #[must_use]
    pub fn kept(self, record: &KeptAirRecord, now: When) -> Self {
        Self { recorded: Some(KeptNow::of(record, now)), ..self }
    }

    /// The figures for a person: what the jets feel first; what a dyno's power is multiplied by where it was asked for.
    pub fn text(&self, screen: &Screen, dyno: bool) -> String {
        let units = screen.units();
        let mut lines: Vec<String> = self.recorded.iter().map(|kept| kept.words(screen)).collect();
        let worth = format!(
            "Air {} % of standard, dry {} %, density altitude {}",
            fixed(self.relative_density_percent.0, 1),
            fixed(self.relative_dry_density_percent.0, 1),
            height(self.density_altitude_m.0, units)
        );
        lines.push(screen.strong(&screen.wrap(&worth, 2)));
        lines.extend(self.from.iter().map(|words| screen.wrap(&format!("{}.", capital(words)), 2)));
        if let Some(reference) = self.reference {
            let percent = 100.0 * (self.density_kg_m3.0 / reference - 1.0);
            lines.push(screen.wrap(&format!("{} % on the garage's reference air", signed(percent, 1)), 2));
        }
        if self.recorded.is_some() && !screen.verbose() && !dyno {
            lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
            return lines.join("\n");
        }
        lines.push(String::new());
        lines.push(table(&[], self.rows(units), &[1], screen.width()));
        lines.push(String::new());
        lines.push(screen.wrap(&format!("Doubt from: {}.", self.sources()), 2));
        if dyno || screen.verbose() {
            lines.push(String::new());
            lines.push("Power correction (of a dyno's power only, never of jets):".into());
            lines.push(table(&[], self.correction_rows(), &[1], screen.width()));
        }
        for remark in &self.remarks {
            lines.push(screen.known(remark));
        }
        lines.join("\n")
    }

    fn rows(&self, units: Units) -> Vec<Vec<String>> {
        let row = |name: &str, value: String| vec![name.to_owned(), value];
        let density = |name: &str, density: f64, standard: f64| {
            vec![
                name.to_owned(),
                format!("{} kg/m3", fixed(density, 4)),
                format!("± {} ({} %)", fixed(2.0 * standard, 4), fixed(200.0 * standard / density, 1)),
            ]
        };
        let pressure = |hpa: f64| with_unit(100.0 * hpa, Dimension::Pressure, units, 0);
        let temperature = |celsius: f64| with_unit(celsius + 273.15, Dimension::Temperature, units, 0);
        vec![
            density("moist density", self.density_kg_m3.0, self.standard_uncertainty_kg_m3.0),
            density("dry density", self.dry_density_kg_m3.0, self.dry_standard_uncertainty_kg_m3.0),
            row("pressure at the track", pressure(self.station_pressure_hpa.0)),
            row("temperature", temperature(self.temperature_c.0)),
            row("dew point", self.dew_point_c.map_or("none: dry air".into(), |point| temperature(point.0))),
            row("relative humidity", format!("{} %", fixed(self.relative_humidity_percent.0, 0))),
            row("vapour pressure", pressure(self.vapour_pressure_hpa.0)),
        ]
    }

    fn correction_rows(&self) -> Vec<Vec<String>> {
        let row = |correction: &Correction| {
            let range = if correction.in_range { "" } else { "Outside its range. " };
            // The heading has said once for all three what is the same in each caveat.
            let caveat = capital(correction.caveat.trim_start_matches(SAID_ABOVE));
            vec![correction.standard.to_owned(), fixed(correction.factor.0, 3), format!("{range}{caveat}")]
        };
        self.power_correction.iter().map(row).collect()
    }

    /// What the doubt comes from, largest first, as shares of the standard uncertainty of the moist density.
    fn sources(&self) -> String {
        let mut parts = self.contributions.clone();
        parts.sort_by(|a, b| b.1.total_cmp(&a.1));
        let parts: Vec<_> = parts
            .iter()
            .map(|(source, value)| {
                format!("{} {} %", source_name(*source), fixed(200.0 * value / self.density_kg_m3.0, 2))
            })
            .collect();
        format!("{} (each at 95 %, as if alone)", parts.join(", "))
    }
}

fn source_name(source: Source) -> &'static str {
    match source {
        Source::Temperature => "thermometer",
        Source::Pressure => "pressure",
        Source::Humidity => "humidity",
        Source::Elevation => "elevation",
        Source::SeaLevelReduction => "sea-level reduction",
    }
}

fn corrections(air: &Air) -> [Correction; 3] {
    let factors =
        [power_correction::sae_j1349(air), power_correction::iso_1585(air), power_correction::din_70020(air)];
    factors.map(|found| Correction {
        standard: found.standard,
        factor: Figure(found.factor),
        in_range: found.in_range,
        caveat: found.caveat,
    })
}
