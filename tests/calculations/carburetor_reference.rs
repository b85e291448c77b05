//! The carburetor, the fuel and the injection against values from outside: `reference/carburetor.toml` and `reference/fuel.toml`.
//!
//! The elementary carburetor of the textbooks stands here, not in the program. It is first held against published
//! worked examples, and then serves as the judge: a jet scaled by the program's factor must keep its mixture.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use std::f64::consts::PI;

use groups::{Inputs, check_all, load};
use reedbook::engine::carburetor::circuits::FuelPath;
use reedbook::engine::carburetor::jets::{JetScale, Numbering, area_from_bore_m2};
use reedbook::engine::carburetor::needle::annulus_area_m2;
use reedbook::engine::fuel::{
    Component, MassPart, VolumePart, blend_stoichiometric_ratio, mass_parts, mixture_density,
    oil_mass_fraction, petrol_density, petrol_expansion_per_k,
};
use reedbook::engine::injection::{Compensation, InjectionConditions, duty_cycle, pulse_s, trim};
use reedbook::engine::metering::{MeteringConditions, metering_factor};

const CARBURETOR: &str = include_str!("../reference/carburetor.toml");
const FUEL: &str = include_str!("../reference/fuel.toml");

#[test]
fn the_fuel_meets_its_references() {
    assert_eq!(check_all(FUEL, fuel_value), 69);
}

#[test]
fn the_carburetor_meets_its_references() {
    assert_eq!(check_all(CARBURETOR, carburetor_value), 82);
}

fn fuel_value(kind: &str, inputs: &mut Inputs) -> f64 {
    match kind {
        "petrol density" => petrol_density(inputs.take("density_15c"), inputs.take("temperature_c")).unwrap(),
        "petrol expansion" => petrol_expansion_per_k(inputs.take("density_15c")).unwrap(),
        "oil mass fraction" => premix_oil(inputs, "ratio").0,
        "premix density" => {
            let (oil, petrol, oil_density) = premix_oil(inputs, "ratio");
            mixture_density(oil, petrol, oil_density).unwrap()
        }
        "blend by mass" => {
            let parts = [
                ("petrol", Component::Petrol),
                ("ethanol", Component::Ethanol),
                ("methanol", Component::Methanol),
                ("toluene", Component::Toluene),
            ]
            .map(|(name, component)| MassPart { component, share: inputs.take_or(name, 0.0) });
            blend_stoichiometric_ratio(&parts).unwrap()
        }
        "blend by volume" => {
            let parts = [
                ("petrol", "petrol_density", Component::Petrol),
                ("ethanol", "ethanol_density", Component::Ethanol),
            ]
            .map(|(name, density, component)| VolumePart {
                component,
                share: inputs.take(name),
                density: inputs.take(density),
            });
            blend_stoichiometric_ratio(&mass_parts(&parts).unwrap()).unwrap()
        }
        other => panic!("no calculation for {other}"),
    }
}

/// Oil mass fraction, petrol density and oil density of a premix; the densities are left to be read again.
fn premix_oil(inputs: &mut Inputs, ratio: &str) -> (f64, f64, f64) {
    let (petrol, oil) = (inputs.take("petrol_density"), inputs.take("oil_density"));
    let fraction = oil_mass_fraction(inputs.take(ratio), petrol, oil).unwrap();
    (fraction, petrol, oil)
}

fn carburetor_value(kind: &str, inputs: &mut Inputs) -> f64 {
    match kind {
        "air fuel at altitude" => {
            // The mixture of an unchanged carburetor: what it had, over how much too rich it has become.
            let from = ideal_air(inputs.take("temperature_k"), inputs.take("pressure_bar"));
            let to = ideal_air(inputs.take("new_temperature_k"), inputs.take("new_pressure_bar"));
            let factor = metering_factor(&dry(from), &dry(to)).unwrap();
            inputs.take("air_fuel") / factor.unchanged_over_needed()
        }
        "textbook carburetor" => {
            let venturi = inputs.take("venturi_depression_pa");
            let jet = inputs.take("jet_depression_pa");
            TextbookCarburetor::from_inputs(inputs).air_fuel(venturi, jet, 1.0)
        }
        "textbook phi" => phi(inputs.take("pressure_ratio")),
        "dry air factor" => thinner(inputs),
        "unchanged jet" => metering_factor(&dry(1.2), &dry(1.2 * inputs.take("density_ratio")))
            .unwrap()
            .unchanged_over_needed(),
        "jet number by flow" => Numbering::Flow.number_for(inputs.take("number"), thinner(inputs)).unwrap(),
        "jet number by bore" => Numbering::Bore.number_for(inputs.take("number"), thinner(inputs)).unwrap(),
        "bore number factor" => Numbering::Bore.number_for(100.0, thinner(inputs)).unwrap() / 100.0,
        "moist air factor" => moist_factor(inputs),
        "moist air bore factor" => Numbering::Bore.number_for(100.0, moist_factor(inputs)).unwrap() / 100.0,
        "premix factor" | "fuel density factor" | "stoichiometric factor" => fuel_change(kind, inputs),
        "pulse ms" => {
            1e3 * pulse_s(
                1e-6 * inputs.take("fuel_mg"),
                1e-3 * inputs.take("flow_g_per_s"),
                1e-3 * inputs.take("dead_time_ms"),
            )
            .unwrap()
        }
        "duty" => duty_cycle(
            1e-3 * inputs.take("pulse_ms"),
            inputs.take("speed_rpm"),
            inputs.take("pulses_per_revolution"),
        )
        .unwrap(),
        "trim uncompensated" => trim_total(Compensation::None, inputs),
        "trim temperature" => trim_total(Compensation::Temperature, inputs),
        "trim pressure" => trim_total(Compensation::Pressure, inputs),
        "trim both" => trim_total(Compensation::TemperatureAndPressure, inputs),
        other => series_value(other, inputs),
    }
}

/// Main jet and annulus, in millimetres as the trade has them.
fn series_value(kind: &str, inputs: &mut Inputs) -> f64 {
    if kind == "simple bore mm" {
        let number = 100.0 * inputs.take("main_mm");
        let factor = inputs.take("factor");
        return Numbering::Bore.number_for(number, factor).unwrap() / 100.0;
    }
    let annulus =
        annulus_area_m2(1e-3 * inputs.take("needle_jet_mm"), 1e-3 * inputs.take("needle_mm")).unwrap();
    if kind == "annulus mm2" {
        return 1e6 * annulus;
    }
    let main_number = 100.0 * inputs.take("main_mm");
    let path = FuelPath::new(area_from_bore_m2(main_number).unwrap(), annulus, 1.0).unwrap();
    match kind {
        "effective area mm2" => 1e6 * path.effective_area_m2(),
        "main share" => 1.0 / path.main_exponent(),
        "main exponent" => path.main_exponent(),
        "series bore mm" => {
            let area = path.shift_main(inputs.take("factor")).unwrap();
            JetScale::Bore.number_for_area(area).unwrap() / 100.0
        }
        "simple rule delivered over needed" => {
            let factor = inputs.take("factor");
            let number = Numbering::Bore.number_for(main_number, factor).unwrap();
            let simple = FuelPath::new(area_from_bore_m2(number).unwrap(), annulus, 1.0).unwrap();
            simple.effective_area_m2() / (factor * path.effective_area_m2())
        }
        other => panic!("no calculation for {other}"),
    }
}

fn fuel_change(kind: &str, inputs: &mut Inputs) -> f64 {
    let (mut from, mut to) = (dry(1.2), dry(1.2));
    match kind {
        "premix factor" => {
            let (petrol, oil) = (inputs.take("petrol_density"), inputs.take("oil_density"));
            for (conditions, ratio) in [(&mut from, "from_ratio"), (&mut to, "to_ratio")] {
                let share = oil_mass_fraction(inputs.take(ratio), petrol, oil).unwrap();
                conditions.oil_mass_fraction = share;
                conditions.fuel_density = mixture_density(share, petrol, oil).unwrap();
            }
        }
        "fuel density factor" => {
            from.fuel_density = inputs.take("from_density");
            to.fuel_density = inputs.take("to_density");
        }
        _ => {
            from.stoichiometric_ratio = inputs.take("from_ratio");
            to.stoichiometric_ratio = inputs.take("to_ratio");
        }
    }
    metering_factor(&from, &to).unwrap().total
}

/// Density of a perfect gas; its constant drops out of every ratio.
fn ideal_air(temperature_k: f64, pressure_bar: f64) -> f64 {
    1e5 * pressure_bar / (287.0 * temperature_k)
}

/// Conditions that differ in nothing but their air.
fn air(moist_density: f64, dry_density: f64) -> MeteringConditions {
    MeteringConditions {
        moist_density,
        dry_density,
        fuel_density: 750.0,
        stoichiometric_ratio: 14.7,
        oil_mass_fraction: 0.0,
        lambda: 0.9,
    }
}

fn dry(density: f64) -> MeteringConditions {
    air(density, density)
}

fn thinner(inputs: &mut Inputs) -> f64 {
    metering_factor(&dry(1.2), &dry(1.2 * inputs.take("density_ratio"))).unwrap().total
}

fn moist_pair(inputs: &mut Inputs) -> (MeteringConditions, MeteringConditions) {
    (
        air(inputs.take("moist_density"), inputs.take("dry_density")),
        air(inputs.take("new_moist_density"), inputs.take("new_dry_density")),
    )
}

fn moist_factor(inputs: &mut Inputs) -> f64 {
    let (from, to) = moist_pair(inputs);
    metering_factor(&from, &to).unwrap().total
}

fn trim_total(compensation: Compensation, inputs: &mut Inputs) -> f64 {
    let (from, to) = moist_pair(inputs);
    let from = InjectionConditions {
        mixture: from,
        temperature_c: inputs.take("temperature_c"),
        pressure_pa: inputs.take("pressure_pa"),
    };
    let to = InjectionConditions {
        mixture: to,
        temperature_c: inputs.take("new_temperature_c"),
        pressure_pa: inputs.take("new_pressure_pa"),
    };
    trim(compensation, &from, &to).unwrap().total
}

/// The elementary carburetor: a venturi, a jet, a float bowl a little below the mouth.
struct TextbookCarburetor {
    venturi_coefficient: f64,
    jet_coefficient: f64,
    venturi_bore_m: f64,
    jet_bore_m: f64,
    air_density: f64,
    fuel_density: f64,
    bowl_head_m: f64,
}

impl TextbookCarburetor {
    fn from_inputs(inputs: &mut Inputs) -> Self {
        Self {
            venturi_coefficient: inputs.take("venturi_coefficient"),
            jet_coefficient: inputs.take("jet_coefficient"),
            venturi_bore_m: 1e-3 * inputs.take("venturi_bore_mm"),
            jet_bore_m: 1e-3 * inputs.take("jet_bore_mm"),
            air_density: inputs.take("air_density"),
            fuel_density: inputs.take("fuel_density"),
            bowl_head_m: inputs.take("bowl_head_m"),
        }
    }

    /// Air flow, kg/s, at a depression in Pa; `compressibility` is Phi, 1 for none.
    fn air_flow(&self, depression_pa: f64, compressibility: f64) -> f64 {
        let area = PI / 4.0 * self.venturi_bore_m.powi(2);
        self.venturi_coefficient * area * (2.0 * self.air_density * depression_pa).sqrt() * compressibility
    }

    /// Fuel flow, kg/s, at a depression in Pa.
    fn fuel_flow(&self, depression_pa: f64) -> f64 {
        let area = PI / 4.0 * self.jet_bore_m.powi(2);
        let head = self.fuel_density * 9.80665 * self.bowl_head_m;
        self.jet_coefficient * area * (2.0 * self.fuel_density * (depression_pa - head)).sqrt()
    }

    fn air_fuel(&self, venturi_pa: f64, jet_pa: f64, compressibility: f64) -> f64 {
        self.air_flow(venturi_pa, compressibility) / self.fuel_flow(jet_pa)
    }
}

/// What compressibility takes off the flow through a venturi, gamma 1.4.
fn phi(pressure_ratio: f64) -> f64 {
    let gamma = 1.4;
    let difference = pressure_ratio.powf(2.0 / gamma) - pressure_ratio.powf((gamma + 1.0) / gamma);
    (gamma / (gamma - 1.0) * difference / (1.0 - pressure_ratio)).sqrt()
}

/// The depression, Pa, at which the venturi passes this volume of air, m3/s; air compressible when its pressure is given.
fn depression_for(carburetor: &TextbookCarburetor, volume: f64, pressure_pa: Option<f64>) -> f64 {
    let (mut low, mut high) = (0.0, 20_000.0);
    for _ in 0..100 {
        let middle = f64::midpoint(low, high);
        let phi = pressure_pa.map_or(1.0, |pressure| phi(1.0 - middle / pressure));
        if carburetor.air_flow(middle, phi) < volume * carburetor.air_density {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// An engine swallows the same volume in four airs. A jet scaled by the factor keeps its mixture exactly where the textbook
/// leaves out compressibility and the head of the bowl, and to 0.3 percent where it has them.
#[test]
fn a_scaled_jet_keeps_the_mixture_of_the_textbook_carburetor() {
    // Moist and dry density, with the pressure they belong to.
    let airs = [
        (1.199_314, 1.190_631, 101_325.0),
        (1.134_777, 1.110_381, 100_000.0),
        (0.989_247, 0.982_309, 85_000.0),
        (1.280_748, 1.274_604, 102_500.0),
    ];
    for (real, tolerance) in [(false, 1e-12), (true, 3e-3)] {
        let dry_air_over_fuel = |index: usize, jet_area_factor: f64| {
            let (moist, dry, pressure): (f64, f64, f64) = airs[index];
            let carburetor = TextbookCarburetor {
                venturi_coefficient: 0.8,
                jet_coefficient: 0.65,
                venturi_bore_m: 0.02,
                jet_bore_m: 1.14e-3 * jet_area_factor.sqrt(),
                air_density: moist,
                fuel_density: 750.0,
                bowl_head_m: if real { 0.005 } else { 0.0 },
            };
            let volume = 0.025;
            let depression = depression_for(&carburetor, volume, real.then_some(pressure));
            // An ordinary depression, or the test would show nothing.
            assert!((3_000.0..12_000.0).contains(&depression), "{depression}");
            volume * dry / carburetor.fuel_flow(depression)
        };
        let proven = dry_air_over_fuel(0, 1.0);
        for (index, &(moist, dry, _)) in airs.iter().enumerate().skip(1) {
            let factor = metering_factor(&air(airs[0].0, airs[0].1), &air(moist, dry)).unwrap();
            let scaled = dry_air_over_fuel(index, factor.total);
            assert!((scaled / proven - 1.0).abs() < tolerance, "{scaled} {proven}");
            // Left alone it would not have kept it, but gone the way the factor says.
            let rich = proven / dry_air_over_fuel(index, 1.0);
            assert!((rich / factor.unchanged_over_needed() - 1.0).abs() < tolerance);
            assert!((rich - 1.0).abs() > 0.03, "{rich}");
        }
    }
}

#[test]
fn the_loader_refuses_a_row_without_its_source_reason_tolerance_or_flag() {
    let whole = r#"
[[group]]
kind = "duty"
tolerance = 0.1
tolerance_reason = "arithmetic"
source = "arithmetic, from memory"
flag = "RECALLED"
rows = [ { name = "one", expected = 1.0, inputs = { a = 1.0 } } ]
"#;
    assert!(load(whole).is_ok());
    for needed in [
        "tolerance = 0.1\n",
        "tolerance_reason = \"arithmetic\"\n",
        "source = \"arithmetic, from memory\"\n",
        "flag = \"RECALLED\"\n",
        "kind = \"duty\"\n",
        "name = \"one\", ",
        "expected = 1.0, ",
        ", inputs = { a = 1.0 }",
        ", from memory",
        "a = 1.0",
    ] {
        let cut = whole.replacen(needed, "", 1);
        assert_ne!(cut, whole);
        assert!(load(&cut).is_err(), "accepted without {needed:?}");
    }
    for (from, to) in [
        ("\"RECALLED\"", "\"OWN OUTPUT\""),
        ("tolerance = 0.1", "tolerance = 0.0"),
        ("\"arithmetic\"", "\" \""),
        ("kind = \"duty\"", "kind = \"duty\"\nunknown = 1"),
    ] {
        assert!(load(&whole.replacen(from, to, 1)).is_err(), "accepted {to}");
    }
}
