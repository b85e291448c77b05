//! The air against the outside: published tables, standards and worked examples.
//!
//! The values live in `tests/reference/air_*.toml`, each with its tolerance, the reason for
//! it, its source and how that was read. Our own output is never a reference.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a test fails by panicking, and is documented by its name"
)]

use std::collections::BTreeMap;
use std::path::PathBuf;

use reedbook::air::{
    Air, Humidity, Metar, Pressure, Reading, enhancement_factor, power_correction,
    psychrometer_vapour_pressure, saturation_vapour_pressure, standard_atmosphere,
};
use serde::Deserialize;

/// How well the source is known.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq)]
enum Flag {
    #[serde(rename = "READ")]
    Read,
    #[serde(rename = "READ-2nd")]
    ReadSecondHand,
    #[serde(rename = "COMPUTED")]
    Computed,
    #[serde(rename = "RECALLED")]
    Recalled,
}

/// One value to be met.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Check {
    name: String,
    quantity: String,
    inputs: BTreeMap<String, toml::Value>,
    expected: f64,
    tolerance: f64,
    why: String,
    source: String,
    flag: Flag,
}

/// One column of a table to be met.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    file: String,
    inputs: Vec<String>,
    expected: String,
    quantity: String,
    relative_tolerance: f64,
    /// Colder rows are left out, for the reason given in `why`.
    least_temperature_c: Option<f64>,
    why: String,
    source: String,
    flag: Flag,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Reference {
    #[serde(default)]
    check: Vec<Check>,
    #[serde(default)]
    table: Vec<Table>,
}

impl Reference {
    /// Reads a reference file; a row that does not say where it comes from, or how near is
    /// near enough and why, is refused.
    fn load(text: &str) -> Result<Self, String> {
        let reference: Self = toml::from_str(text).map_err(|error| error.to_string())?;
        let rows = reference
            .check
            .iter()
            .map(|row| {
                let finite = row.expected.is_finite() && !row.inputs.is_empty();
                (&row.name, row.tolerance, &row.why, &row.source, finite)
            })
            .chain(reference.table.iter().map(|row| {
                let named = !row.inputs.is_empty() && !row.file.is_empty();
                (&row.expected, row.relative_tolerance, &row.why, &row.source, named)
            }));
        let mut count = 0;
        for (name, tolerance, why, source, complete) in rows {
            count += 1;
            let said = [name, why, source].iter().all(|text| text.len() > 4);
            if !(complete && said && tolerance.is_finite() && tolerance > 0.0) {
                return Err(format!("row {name:?} is not complete"));
            }
        }
        if count == 0 {
            return Err("holds no row".to_owned());
        }
        Ok(reference)
    }
}

fn read(name: &str) -> String {
    let path: PathBuf = [env!("CARGO_MANIFEST_DIR"), "tests", "reference", name].iter().collect();
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Inputs of one check, by name.
struct Inputs<'a>(&'a BTreeMap<String, toml::Value>);

impl Inputs<'_> {
    fn number(&self, name: &str) -> f64 {
        self.0.get(name).and_then(toml::Value::as_float).unwrap_or_else(|| panic!("no number {name}"))
    }

    /// Air from whichever humidity is given.
    fn air(&self) -> Air {
        let (t, p) = (self.number("temperature_c"), self.number("pressure_pa"));
        if self.0.contains_key("dew_point_c") {
            Air::from_dew_point(t, p, self.number("dew_point_c"))
        } else if self.0.contains_key("wet_bulb_c") {
            Air::from_wet_bulb(t, p, self.number("wet_bulb_c"))
        } else {
            Air::from_relative_humidity(t, p, self.number("relative_humidity"))
        }
        .unwrap()
    }

    fn metar(&self) -> Metar {
        Metar::parse(self.0["report"].as_str().unwrap()).unwrap()
    }

    fn metar_reading(&self) -> Reading {
        self.metar().reading(self.number("elevation_m")).unwrap()
    }

    fn metar_air(&self) -> Air {
        self.metar_reading().air().unwrap()
    }

    /// A rectangular half-width that has the standard uncertainty given, zero if none is.
    fn half_width(&self, name: &str) -> f64 {
        self.0.get(name).and_then(toml::Value::as_float).unwrap_or(0.0) * 3.0_f64.sqrt()
    }

    /// The reading with the doubts given, and no others.
    fn doubtful(&self, mut reading: Reading) -> Reading {
        reading.doubts.temperature_k = self.half_width("standard_temperature_k");
        reading.doubts.pressure_pa = self.half_width("standard_pressure_pa");
        reading.doubts.relative_humidity = self.half_width("standard_relative_humidity");
        reading.doubts.dew_or_wet_bulb_k = self.half_width("standard_dew_point_k");
        reading.doubts.elevation_m = 0.0;
        reading
    }

    /// The report's air as a barometer and a dew-point meter at the same place would read it.
    fn doubtful_station(&self) -> Reading {
        let pa = self.metar_air().pressure_pa();
        self.doubtful(Reading { pressure: Pressure::Station { pa }, ..self.metar_reading() })
    }

    fn doubtful_instrument(&self) -> Reading {
        self.doubtful(Reading::new(
            self.number("temperature_c"),
            Pressure::Station { pa: self.number("pressure_pa") },
            Humidity::Relative(self.number("relative_humidity")),
        ))
    }
}

/// Compressibility, recovered from the dry density and the constants of CIPM-2007.
fn compressibility(air: &Air) -> f64 {
    let ideal = air.dry_pressure_pa() * 28.965_46e-3 / (8.314_472 * (air.temperature_c() + 273.15));
    ideal / air.dry_density()
}

fn mixing_ratio(air: &Air) -> f64 {
    0.621_98 * air.vapour_fraction() / (1.0 - air.vapour_fraction())
}

fn relative_ppm(reading: &Reading) -> f64 {
    1e6 * reading.uncertainty().unwrap().density / reading.air().unwrap().density()
}

/// The value our code gives for a quantity.
fn compute(quantity: &str, inputs: &Inputs) -> f64 {
    let number = |name: &str| inputs.number(name);
    match quantity {
        "density" => inputs.air().density(),
        "dry_density" => inputs.air().dry_density(),
        "relative_density" => inputs.air().relative_density_percent(),
        "compressibility" => compressibility(&inputs.air()),
        "vapour_fraction" => inputs.air().vapour_fraction(),
        "dry_pressure" => inputs.air().dry_pressure_pa(),
        "density_altitude" => inputs.air().density_altitude_m(),
        "dew_point" => inputs.air().dew_point_c(),
        "mixing_ratio" | "mixing_ratio_from_wet_bulb" => mixing_ratio(&inputs.air()),
        "humidity_from_wet_bulb" => inputs.air().relative_humidity(),
        "vapour_pressure_from_wet_bulb" => {
            psychrometer_vapour_pressure(number("temperature_c"), number("pressure_pa"), number("wet_bulb_c"))
        }
        "saturation_pressure" => saturation_vapour_pressure(number("temperature_c")),
        "enhancement" => enhancement_factor(number("pressure_pa"), number("temperature_c")),
        "standard_temperature" => standard_atmosphere::temperature_k(height(inputs)),
        "standard_pressure" => standard_atmosphere::pressure_pa(height(inputs)),
        "standard_density" => standard_atmosphere::density(height(inputs)),
        "height_of_pressure" => standard_atmosphere::height_of_pressure(number("pressure_pa")),
        "station_from_qnh" => {
            standard_atmosphere::station_pressure_from_qnh(number("qnh_pa"), number("elevation_m"))
        }
        "qnh_from_station" => {
            standard_atmosphere::qnh_from_station(number("station_pa"), number("elevation_m"))
        }
        "station_from_sea_level" => standard_atmosphere::station_pressure_from_sea_level(
            number("sea_level_pa"),
            number("elevation_m"),
            number("temperature_c"),
        ),
        "sae_j1349" => power_correction::sae_j1349(&inputs.air()).factor,
        "iso_1585" => power_correction::iso_1585(&inputs.air()).factor,
        "din_70020" => power_correction::din_70020(&inputs.air()).factor,
        "metar_temperature" => inputs.metar().temperature_c.unwrap(),
        "metar_dew_point" => inputs.metar().dew_point_c.unwrap(),
        "metar_setting" => inputs.metar().altimeter_setting_pa.unwrap(),
        "metar_sea_level" => inputs.metar().sea_level_pa.unwrap(),
        "metar_station_pressure" => inputs.metar_air().pressure_pa(),
        "metar_humidity" => inputs.metar_air().relative_humidity(),
        "metar_vapour_pressure" => inputs.metar_air().vapour_pressure_pa(),
        "metar_density" => inputs.metar_air().density(),
        "metar_dry_density" => inputs.metar_air().dry_density(),
        "uncertainty" => inputs.doubtful_instrument().uncertainty().unwrap().density,
        "relative_uncertainty_ppm" => relative_ppm(&inputs.doubtful_instrument()),
        "station_uncertainty_ppm" => relative_ppm(&inputs.doubtful_station()),
        other => panic!("no such quantity: {other}"),
    }
}

fn height(inputs: &Inputs) -> f64 {
    let name = if inputs.0.contains_key("height_m") { "height_m" } else { "geopotential_m" };
    inputs.number(name)
}

/// Every row of a file, all misses reported together.
fn meet(file: &str) {
    let reference = Reference::load(&read(file)).unwrap_or_else(|why| panic!("{file}: {why}"));
    assert!(!reference.check.is_empty(), "{file} holds no check");
    let misses: Vec<String> = reference
        .check
        .iter()
        .filter_map(|row| {
            let found = compute(&row.quantity, &Inputs(&row.inputs));
            let miss = (found - row.expected).abs();
            // Written so that a NaN is a miss.
            let met = miss <= row.tolerance;
            (!met).then(|| {
                format!(
                    "{}: found {found}, expected {} within {} ({}); {:?}, {}",
                    row.name, row.expected, row.tolerance, row.why, row.flag, row.source
                )
            })
        })
        .collect();
    assert!(misses.is_empty(), "{file}:\n{}", misses.join("\n"));
}

#[test]
fn density_meets_its_sources() {
    meet("air_density.toml");
}

#[test]
fn vapour_meets_its_sources() {
    meet("air_vapour.toml");
}

#[test]
fn atmosphere_meets_its_sources() {
    meet("air_atmosphere.toml");
}

#[test]
fn reports_meet_their_sources() {
    meet("air_metar.toml");
}

#[test]
fn power_corrections_meet_their_sources() {
    meet("air_power_correction.toml");
}

#[test]
fn uncertainty_meets_its_sources() {
    meet("air_uncertainty.toml");
}

#[test]
fn tables_meet_their_sources() {
    let reference = Reference::load(&read("air_tables.toml")).unwrap();
    let mut misses = Vec::new();
    for table in &reference.table {
        let text = read(&table.file);
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let mut rows = 0;
        for row in reader.deserialize::<BTreeMap<String, f64>>() {
            let row = row.unwrap();
            if table.least_temperature_c.is_some_and(|least| row["temperature_c"] < least) {
                continue;
            }
            rows += 1;
            let inputs =
                table.inputs.iter().map(|name| (name.clone(), toml::Value::Float(row[name]))).collect();
            let found = compute(&table.quantity, &Inputs(&inputs));
            let expected = row[&table.expected];
            let met = (found / expected - 1.0).abs() <= table.relative_tolerance;
            if !met {
                misses.push(format!(
                    "{} {inputs:?}: found {found}, expected {expected} ({}; {:?}, {})",
                    table.expected, table.why, table.flag, table.source
                ));
            }
        }
        assert!(rows >= 10, "{} has only {rows} rows", table.file);
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

#[test]
fn the_loader_refuses_a_row_that_does_not_say_where_it_comes_from() {
    let complete = [
        ("name", "name = \"a named row\""),
        ("quantity", "quantity = \"density\""),
        ("inputs", "inputs = { temperature_c = 20.0 }"),
        ("expected", "expected = 1.2"),
        ("tolerance", "tolerance = 1e-3"),
        ("why", "why = \"printed to three decimals\""),
        ("source", "source = \"a handbook, page 1\""),
        ("flag", "flag = \"READ\""),
    ];
    let row = |replaced: &str, with: &str| {
        let lines = complete.map(|(key, line)| if key == replaced { with } else { line });
        format!("[[check]]\n{}", lines.join("\n"))
    };
    assert!(Reference::load(&row("nothing", "")).is_ok());
    for (key, _) in complete {
        assert!(Reference::load(&row(key, "")).is_err(), "accepted without {key}");
    }
    for (key, line) in [
        ("why", "why = \"\""),
        ("source", "source = \"\""),
        ("tolerance", "tolerance = 0.0"),
        ("tolerance", "tolerance = nan"),
        ("expected", "expected = nan"),
        ("inputs", "inputs = {}"),
        ("flag", "flag = \"HEARSAY\""),
        ("flag", "flag = \"READ\"\nnote = \"unknown key\""),
    ] {
        assert!(Reference::load(&row(key, line)).is_err(), "accepted {line}");
    }
    assert!(Reference::load("").is_err(), "accepted an empty file");
}
