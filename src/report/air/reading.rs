//! The air, for a person and for a script.

use serde_json::{Map, Value, json};

use crate::air::{Air, AirError, Reading, Source, power_correction};
use crate::quantity::{Dimension, Quantity, Units, fixed};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, table};

/// Said of the density only: for a jet it does not matter. The figure is the worst of 140 points against CoolProp 8.0.0.
const EXTRAPOLATED: &str = "The density equation is stated for 15 to 27 C and 600 to 1100 hPa; here it is extrapolated \
    (still within 0.02 % from -8 to 42 C).";

/// The part of every power correction's caveat that stands in the heading.
const SAID_ABOVE: &str = "For comparing power only, never for jets; ";

/// Everything that follows from one reading.
pub struct AirReport {
    air: Air,
    reading: Reading,
    uncertainty: crate::air::Uncertainty,
    remarks: Vec<String>,
    /// Dry density of the air to compare with, and its name.
    reference: Option<f64>,
}

impl AirReport {
    /// Computes it. `reference` is the garage's reference air.
    pub fn new(
        reading: Reading,
        mut remarks: Vec<String>,
        reference: Option<&Air>,
    ) -> Result<Self, AirError> {
        remarks.extend(reading.remarks());
        let air = reading.air()?;
        if air.is_extrapolated() {
            remarks.push(EXTRAPOLATED.to_owned());
        }
        Ok(Self {
            air,
            uncertainty: reading.uncertainty()?,
            reading,
            remarks,
            reference: reference.map(Air::density),
        })
    }

    /// The figures for a script; the names are kept stable.
    pub fn json(&self) -> Value {
        let air = &self.air;
        let mut document = Map::new();
        let mut put = |name: &str, value: f64, decimals: usize| {
            document.insert(name.to_owned(), rounded(value, decimals));
        };
        put("density_kg_m3", air.density(), 6);
        put("dry_density_kg_m3", air.dry_density(), 6);
        put("relative_density_percent", air.relative_density_percent(), 4);
        put("relative_dry_density_percent", air.relative_dry_density_percent(), 4);
        put("density_altitude_m", air.density_altitude_m(), 1);
        put("station_pressure_hpa", air.pressure_pa() / 100.0, 3);
        put("temperature_c", air.temperature_c(), 3);
        put("dew_point_c", air.dew_point_c(), 3);
        put("relative_humidity_percent", air.relative_humidity() * 100.0, 3);
        put("vapour_pressure_hpa", air.vapour_pressure_pa() / 100.0, 4);
        put("standard_uncertainty_kg_m3", self.uncertainty.density, 6);
        put("dry_standard_uncertainty_kg_m3", self.uncertainty.dry_density, 6);
        let factors: Vec<_> = corrections(air)
            .iter()
            .map(|factor| {
                json!({
                    "standard": factor.standard,
                    "factor": rounded(factor.factor, 5),
                    "in_range": factor.in_range,
                    "caveat": factor.caveat,
                })
            })
            .collect();
        document.insert("power_correction".into(), Value::Array(factors));
        document.insert("remarks".into(), json!(self.remarks));
        Value::Object(document)
    }

    /// The figures for a person: what the jets feel first.
    pub fn text(&self, screen: &Screen) -> String {
        let units = screen.units();
        let air = &self.air;
        let mut lines = vec![screen.strong(&format!(
            "Air {} % of standard, dry {} %, density altitude {}",
            fixed(air.relative_density_percent(), 1),
            fixed(air.relative_dry_density_percent(), 1),
            height(air.density_altitude_m(), units)
        ))];
        if let Some(reference) = self.reference {
            let percent = 100.0 * (air.density() / reference - 1.0);
            lines.push(format!(
                "{} % against the garage's reference air",
                crate::report::words::layout::signed(percent, 1)
            ));
        }
        lines.push(String::new());
        lines.push(table(&[], self.rows(units), &[1], screen.width()));
        lines.push(String::new());
        lines.push(screen.wrap(&format!("Doubt from: {}.", self.sources()), 2));
        lines.push(String::new());
        lines.push("Power correction (of a dyno's power only, never of jets):".into());
        lines.push(table(&[], correction_rows(air), &[1], screen.width()));
        for remark in &self.remarks {
            lines.push(screen.wrap(&format!("note: {remark}"), 6));
        }
        lines.join("\n")
    }

    fn rows(&self, units: Units) -> Vec<Vec<String>> {
        let air = &self.air;
        let row = |name: &str, value: String| vec![name.to_owned(), value];
        let doubt = |standard: f64, density: f64| {
            format!("± {} ({} %)", fixed(2.0 * standard, 4), fixed(200.0 * standard / density, 1))
        };
        let show = |si: f64, dimension: Dimension| shown(si, dimension, units);
        vec![
            vec![
                "moist density".into(),
                format!("{} kg/m3", fixed(air.density(), 4)),
                doubt(self.uncertainty.density, air.density()),
            ],
            vec![
                "dry density".into(),
                format!("{} kg/m3", fixed(air.dry_density(), 4)),
                doubt(self.uncertainty.dry_density, air.dry_density()),
            ],
            row("pressure at the track", show(air.pressure_pa(), Dimension::Pressure)),
            row("temperature", show(air.temperature_c() + 273.15, Dimension::Temperature)),
            row(
                "dew point",
                if air.dew_point_c().is_finite() {
                    show(air.dew_point_c() + 273.15, Dimension::Temperature)
                } else {
                    "none: dry air".into()
                },
            ),
            row("relative humidity", format!("{} %", fixed(air.relative_humidity() * 100.0, 0))),
            row("vapour pressure", show(air.vapour_pressure_pa(), Dimension::Pressure)),
        ]
    }

    /// What the doubt comes from, largest first, as shares of the standard uncertainty of the moist density.
    fn sources(&self) -> String {
        let mut parts = self.uncertainty.contributions.clone();
        parts.sort_by(|a, b| b.1.total_cmp(&a.1));
        let parts: Vec<_> = parts
            .iter()
            .map(|(source, value)| {
                format!("{} {} %", source_name(*source), fixed(200.0 * value / self.air.density(), 2))
            })
            .collect();
        format!("{} (each at 95 %, as if alone)", parts.join(", "))
    }

    /// The reading it was computed from.
    pub fn reading(&self) -> &Reading {
        &self.reading
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

fn corrections(air: &Air) -> [power_correction::PowerCorrection; 3] {
    [power_correction::sae_j1349(air), power_correction::iso_1585(air), power_correction::din_70020(air)]
}

fn correction_rows(air: &Air) -> Vec<Vec<String>> {
    corrections(air)
        .iter()
        .map(|factor| {
            let range = if factor.in_range { "" } else { "Outside its range. " };
            // The heading has said once for all three what is the same in each caveat.
            let caveat = capital(factor.caveat.trim_start_matches(SAID_ABOVE));
            vec![factor.standard.to_owned(), fixed(factor.factor, 3), format!("{range}{caveat}")]
        })
        .collect()
}

/// A computed quantity in the display units.
pub(super) fn shown(si: f64, dimension: Dimension, units: Units) -> String {
    let (unit, decimals) = dimension.display(units);
    Quantity::computed(si, unit, decimals).map_or_else(String::new, |quantity| quantity.text().to_owned())
}

/// A height above the sea in whole metres or feet.
pub(super) fn height(metres: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{} m", crate::report::words::layout::grouped(metres)),
        Units::Imperial => format!("{} ft", crate::report::words::layout::grouped(metres / 0.3048)),
    }
}

/// A JSON number with no more decimals than it is worth; not-finite becomes null.
pub(in crate::report) fn rounded(value: f64, decimals: usize) -> Value {
    fixed(value, decimals)
        .parse::<f64>()
        .map_or(Value::Null, |number| if number.is_finite() { json!(number) } else { Value::Null })
}
