//! Whole answers against values from outside: `reference/rejet.toml`.

use reedbook::advice::{Method, Rejet, rejet};
use reedbook::air::Air;
use reedbook::notebook::{NeedleBox, NeedleEntry};
use reedbook::quantity::{Length, Number};

use crate::bikes::{NEEDLE_BIKE, Tables, fuel, main_jet, mild, setup, with};
use crate::groups::{Inputs, check_all};

#[test]
fn rejets_meet_their_references() {
    assert_eq!(check_all(include_str!("../../reference/rejet.toml"), value), 26);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    match kind {
        "exact main jet by bore" => {
            let factor = inputs.take("factor");
            main_jet(&with_tip(inputs, factor)).exact.unwrap()
        }
        "series exponent" => match main_jet(&with_tip(inputs, 1.01)).method {
            Method::Series { exponent } => exponent,
            other => panic!("not the series form: {other:?}"),
        },
        "jet alone by flow" => alone_at_height(inputs, "flow"),
        "jet alone by bore" => alone_at_height(inputs, "bore"),
        "weather factor" => {
            let air = Air::from_relative_humidity(
                inputs.take("temperature_c"),
                inputs.take("pressure_pa"),
                inputs.take("humidity"),
            );
            let setup = setup(NEEDLE_BIKE);
            let tables = Tables::as_shipped();
            rejet(&tables.request(&setup, mild(), air.unwrap())).unwrap().factor.total
        }
        "premix part" => {
            let bike = format!(
                "[jetting]\n[fuel]\ndensity = {}\noil_density = {}\noil_ratio = {}",
                inputs.take("density"),
                inputs.take("oil_density"),
                inputs.take("oil_ratio")
            );
            other_fuel(&bike, &format!("oil_ratio = {}", inputs.take("new_oil_ratio"))).factor.total
        }
        "fuel density part" => {
            let bike = format!(
                "[jetting]\n[fuel]\ndensity = {}\ntemperature = {}",
                inputs.take("density"),
                inputs.take("temperature_c")
            );
            let warm = format!("temperature = {}", inputs.take("new_temperature_c"));
            other_fuel(&bike, &warm).factor.fuel_density
        }
        "fuel air part" => {
            let bike = format!("[jetting]\n[fuel]\nstoichiometric_ratio = {}", inputs.take("ratio"));
            let other = format!("stoichiometric_ratio = {}", inputs.take("new_ratio"));
            other_fuel(&bike, &other).factor.fuel_air
        }
        "injection trim percent" => {
            let compensation = match (inputs.take("temperature") > 0.5, inputs.take("pressure") > 0.5) {
                (false, false) => "none",
                (true, false) => "temperature",
                (false, true) => "pressure",
                (true, true) => "both",
            };
            let setup = setup(&format!("[injection]\ncompensation = \"{compensation}\""));
            let wet = Air::from_relative_humidity(30.0, 100_000.0, 0.8).unwrap();
            let tables = Tables::as_shipped();
            let answer = rejet(&tables.request(&setup, mild(), wet)).unwrap();
            answer.injection.unwrap().trim_percent
        }
        other => panic!("no calculation for {other}"),
    }
}

/// A carburetor whose needle is at its tip at full lift.
fn with_tip(inputs: &mut Inputs, factor: f64) -> Rejet {
    let entry = NeedleEntry {
        grooves: Number::parse("5").unwrap(),
        groove_spacing: Length::parse("1 mm").unwrap(),
        points: vec![[0.0, 2.50], [30.0, 2.50], [55.0, inputs.take("needle_mm")]],
        source: None,
    };
    let tables =
        Tables { needles: NeedleBox { needles: [("n2".to_owned(), entry)].into() }, ..Tables::as_shipped() };
    let bike = with(NEEDLE_BIKE, &format!("main = {}", inputs.take("main")));
    let bike = with(&bike, &format!("needle_jet = {}", inputs.take("needle_jet_mm")));
    tables.by_factor(&setup(&bike), factor)
}

/// A main jet by the simple rule from dry standard air to the air at a height.
fn alone_at_height(inputs: &mut Inputs, numbering: &str) -> f64 {
    let bike = format!("[jetting]\nmain = {}\nmain_numbered_by = \"{numbering}\"", inputs.take("number"));
    let air = Air::from_relative_humidity(inputs.take("temperature_c"), inputs.take("pressure_pa"), 0.0);
    let setup = setup(&bike);
    let tables = Tables::as_shipped();
    let answer = rejet(&tables.request(&setup, Air::STANDARD, air.unwrap())).unwrap();
    main_jet(&answer).exact.unwrap()
}

fn other_fuel(bike: &str, other: &str) -> Rejet {
    let (setup, other) = (setup(bike), fuel(other));
    let tables = Tables::as_shipped();
    let mut request = tables.request(&setup, mild(), mild());
    request.fuel = Some(&other);
    rejet(&request).unwrap()
}
