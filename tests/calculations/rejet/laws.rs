//! What holds for every bike and every air.

use proptest::prelude::*;
use reedbook::advice::{ClipAdvice, Method, Rejet, rejet};
use reedbook::air::{Air, Doubts, Humidity, Pressure, Reading};
use reedbook::notebook::{Circuit, Setup};

use crate::bikes::{
    CARBURETORS, FLOW_BIKE, NEEDLE_BIKE, SIMPLE_BIKE, Tables, agree, jet, main_jet, mild, number, setup,
    with, without,
};

const INJECTED: [&str; 4] = ["none", "temperature", "pressure", "both"];

fn any_air() -> impl Strategy<Value = Air> {
    (-5.0..40.0, 70_000.0..104_000.0, 0.0..1.0).prop_map(|(temperature, pressure, humidity)| {
        Air::from_relative_humidity(temperature, pressure, humidity).unwrap()
    })
}

fn any_carburetor() -> impl Strategy<Value = &'static str> {
    prop::sample::select(CARBURETORS.as_slice())
}

fn answer(setup: &Setup, baseline: Air, air: Air) -> Rejet {
    let tables = Tables::as_shipped();
    rejet(&tables.request(setup, baseline, air)).unwrap()
}

/// Needle and groove with what is advised, as far as they are known.
fn hangs(answer: &Rejet) -> (Option<String>, Option<u8>) {
    let clip = match answer.clip {
        ClipAdvice::Move { to, .. } => Some(to),
        ClipAdvice::Stays { clip, .. } => Some(clip),
        ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. } => None,
    };
    (answer.needle.as_ref().map(|needle| needle.to.clone()), clip)
}

fn one(value: f64) -> bool {
    value.to_bits() == 1.0_f64.to_bits()
}

proptest! {
    #[test]
    fn the_same_air_changes_nothing(air in any_air(), bike in any_carburetor(), main in 150.0..220.0) {
        let mut setup = setup(bike);
        // Any size that the series reaches around, in the box or not.
        if bike != FLOW_BIKE {
            setup.jetting.as_mut().unwrap().main = Some(number(main));
        }
        let answer = answer(&setup, air, air);
        let factor = answer.factor;
        prop_assert!(one(factor.total) && one(factor.air) && one(factor.dry_air) && one(factor.venturi.unwrap()));
        prop_assert!(one(factor.fuel_air) && one(factor.lambda) && one(factor.fuel_density) && one(factor.oil));
        for jet in &answer.jets {
            prop_assert_eq!(jet.exact.unwrap().to_bits(), jet.current.to_bits());
            prop_assert!(!jet.is_changed() && agree(jet.advised.unwrap(), jet.current));
            prop_assert_eq!(jet.sizes_richer, Some(0));
        }
        let moved = matches!(answer.clip, ClipAdvice::Move { .. });
        prop_assert!(!moved);
        prop_assert_eq!(answer.screw.unwrap().words, "stays");
        prop_assert_eq!(answer.assignments, []);
    }

    #[test]
    fn the_same_air_leaves_the_trim(air in any_air(), kind in prop::sample::select(INJECTED.as_slice())) {
        let setup = setup(&format!("[injection]\ncompensation = \"{kind}\"\ntrim = 3.14"));
        let answer = answer(&setup, air, air);
        prop_assert!(one(answer.factor.total));
        prop_assert_eq!(answer.assignments, []);
    }

    #[test]
    fn there_and_back_is_where_it_began(here in any_air(), there in any_air(), bike in any_carburetor()) {
        let mut bike = setup(bike);
        let out = answer(&bike, here, there);
        prop_assume!(out.jets.iter().all(|jet| jet.exact.is_some()));
        let jetting = bike.jetting.as_mut().unwrap();
        for advice in &out.jets {
            let exact = Some(number(advice.exact.unwrap()));
            match advice.circuit {
                Circuit::Main => jetting.main = exact,
                Circuit::Pilot => jetting.pilot = exact,
                Circuit::Power => jetting.power_jet = exact,
            }
        }
        // A power jet that cannot be moved is made up for by the main jet, on the safe side: not the same both ways.
        prop_assume!(out.jets.iter().all(|jet| jet.advised.is_some()));
        let back = answer(&bike, there, here);
        prop_assert!(agree(out.factor.total * back.factor.total, 1.0));
        for advice in &out.jets {
            let returned = jet(&back, advice.circuit).exact.unwrap();
            prop_assert!((returned - advice.current).abs() < 1e-6, "{returned} from {}", advice.current);
        }
    }

    #[test]
    fn thinner_air_is_never_richer(
        air in any_air(),
        temperature in -5.0..40.0,
        thin in 70_000.0..104_000.0_f64,
        more in 0.0..20_000.0_f64,
        humidity in 0.0..1.0,
        bike in any_carburetor(),
    ) {
        let at = |pressure| Air::from_relative_humidity(temperature, pressure, humidity).unwrap();
        let bike = setup(bike);
        let thinner = answer(&bike, air, at(thin));
        let denser = answer(&bike, air, at((thin + more).min(109_000.0)));
        prop_assert!(thinner.factor.total <= denser.factor.total);
        for (thin, dense) in thinner.jets.iter().zip(&denser.jets) {
            // None is richer than any: no jet is rich enough.
            let never_richer = |thin: Option<f64>, dense: Option<f64>| {
                dense.is_none_or(|dense| thin.is_some_and(|thin| thin <= dense))
            };
            prop_assert!(never_richer(thin.exact, dense.exact));
            // A needle hung richer takes a smaller main jet, and the screw may take what a pilot jet brings.
            let alike = thin.circuit != Circuit::Pilot && hangs(&thinner) == hangs(&denser);
            prop_assert!(!alike || never_richer(thin.advised, dense.advised));
        }
    }

    #[test]
    fn full_throttle_is_never_lean(here in any_air(), there in any_air(), bike in any_carburetor()) {
        let tables = Tables::as_shipped();
        let answer = answer(&setup(bike), here, there);
        for advice in answer.jets.iter().filter(|jet| jet.circuit != Circuit::Pilot) {
            // The exact main jet is for the needle as it hangs.
            let moved = answer.needle.is_some() || matches!(answer.clip, ClipAdvice::Move { .. });
            if advice.circuit == Circuit::Main && moved {
                prop_assert!(advice.advised_percent.unwrap() >= -1e-6);
                continue;
            }
            if let (Some(advised), Some(exact)) = (advice.advised, advice.exact) {
                prop_assert!(advised >= exact * (1.0 - 1e-9));
                // The simple rule does not know how rich it is where more fuel is wanted, and goes further up instead.
                let further = advice.method == Method::Simple && exact > advice.current;
                match advice.advised_percent {
                    Some(percent) => prop_assert!(percent >= -1e-6),
                    None => prop_assert!(further),
                }
                let series = &tables.jets.series[advice.series.as_ref().unwrap()];
                prop_assert!(agree(advised, advice.current) || series.sizes.contains(&advised));
                // The next size down would be lean: nothing richer than needed is advised, but for the sizes further up.
                let by_rule = series.sizes.iter().copied().chain([advice.current]).filter(|size| *size >= exact * (1.0 - 1e-9));
                let by_rule = by_rule.reduce(f64::min).unwrap();
                let as_ruled = if further { advised >= by_rule } else { agree(advised, by_rule) };
                prop_assert!(as_ruled, "{advised} {by_rule}");
            }
        }
        if let Some(full) = answer.zones.iter().find(|zone| zone.zone == "full") {
            prop_assert!(main_jet(&answer).advised.is_none() || full.fitted_percent >= -1e-6);
        }
    }

    #[test]
    fn the_needle_makes_the_main_jet_move_further(here in any_air(), there in any_air()) {
        let series = answer(&setup(NEEDLE_BIKE), here, there);
        let simple = answer(&setup(SIMPLE_BIKE), here, there);
        prop_assume!(main_jet(&series).exact.is_some());
        let moved = |answer: &Rejet| (main_jet(answer).exact.unwrap() / 172.0).ln();
        let (series, simple) = (moved(&series), moved(&simple));
        prop_assert!(series.abs() >= simple.abs());
        prop_assert!(series * simple >= 0.0);
    }

    #[test]
    fn flow_and_bore_numbers_of_one_hole_agree(here in any_air(), there in any_air(), bore in 140.0..200.0_f64) {
        // In the shipped series 100 by flow is a bore of 1.00 mm.
        let by_flow = 100.0 * (bore / 100.0).powi(2);
        for bike in [NEEDLE_BIKE, SIMPLE_BIKE] {
            let bike = without(&with(bike, &format!("main = {bore}")), "pilot");
            let bike = bike.replace("main_series = \"main-bore\"", "");
            let flow = with(&with(&bike, "main_numbered_by = \"flow\""), &format!("main = {by_flow}"));
            let mut tables = Tables::as_shipped();
            // A box that holds the hole, whatever its number.
            tables.jets.series.get_mut("main-flow").unwrap().sizes.extend([50.0, 900.0]);
            let exact = |text: &str| {
                let setup = setup(text);
                let answer = rejet(&tables.request(&setup, here, there)).unwrap();
                main_jet(&answer).exact
            };
            match (exact(&bike), exact(&flow)) {
                (Some(bore), Some(flow)) => prop_assert!(agree(flow, 100.0 * (bore / 100.0).powi(2))),
                (bore, flow) => prop_assert_eq!(bore, flow),
            }
        }
    }

    #[test]
    fn the_parts_make_up_the_factor(
        here in any_air(),
        there in any_air(),
        lambda in 0.8..1.2,
        kind in prop::sample::select(INJECTED.as_slice()),
    ) {
        let fuels = "[fuel]\ndensity = 745\nstoichiometric_ratio = 14.6\noil_ratio = 32\noil_density = 880\ntemperature = 20";
        let other = crate::bikes::fuel("density = 760\nstoichiometric_ratio = 14.2\noil_ratio = 20\ntemperature = 31");
        let tables = Tables::as_shipped();
        for system in ["[jetting]".to_owned(), format!("[injection]\ncompensation = \"{kind}\"")] {
            let setup = setup(&format!("{system}\n{fuels}"));
            let mut request = tables.request(&setup, here, there);
            request.fuel = Some(&other);
            request.lambda_ratio = lambda;
            let factor = rejet(&request).unwrap().factor;
            let air = factor.dry_air * factor.venturi.unwrap_or(1.0) * factor.box_correction.unwrap_or(1.0);
            prop_assert!(agree(factor.air, air));
            let total = air * factor.fuel_air * factor.lambda * factor.fuel_density * factor.oil;
            prop_assert!(agree(factor.total, total));
            prop_assert!(agree(factor.lambda, 1.0 / lambda) && agree(factor.fuel_air, 14.6 / 14.2));
        }
    }
}

/// The doubt of K, when only one barometer is in doubt, is what the barometer's doubt does to K itself.
#[test]
fn the_doubt_of_the_factor_is_what_the_reading_does_to_it() {
    let nothing = Doubts {
        temperature_k: 0.0,
        pressure_pa: 0.0,
        relative_humidity: 0.0,
        dew_or_wet_bulb_k: 0.0,
        elevation_m: 0.0,
    };
    let reading = |pa: f64, humidity: f64, doubts: Doubts| {
        let mut reading = Reading::new(28.0, Pressure::Station { pa }, Humidity::Relative(humidity));
        reading.doubts = doubts;
        reading
    };
    let setup = setup(NEEDLE_BIKE);
    let factor = |air: Air| answer(&setup, mild(), air).factor.total;
    let at = |pa, humidity| reading(pa, humidity, nothing).air().unwrap();
    let one_source = |doubts: Doubts| {
        let (exact, doubtful) = (reading(101_325.0, 0.5, nothing), reading(99_000.0, 0.6, doubts));
        let (before, after) = (exact.uncertainty().unwrap(), doubtful.uncertainty().unwrap());
        let tables = Tables::as_shipped();
        let mut request = tables.request(&setup, exact.air().unwrap(), doubtful.air().unwrap());
        request.baseline_doubt = Some(&before);
        assert_eq!(rejet(&request).unwrap().factor_uncertainty, None);
        request.doubt = Some(&after);
        rejet(&request).unwrap().factor_uncertainty.unwrap()
    };
    // Rectangular half-widths: standard is the half-width over the root of 3 (JCGM 100:2008, 4.3.7).
    let pressure = one_source(Doubts { pressure_pa: 200.0, ..nothing });
    let slope = (factor(at(99_200.0, 0.6)) / factor(at(98_800.0, 0.6))).ln() / 2.0;
    assert!((pressure - slope / 3.0_f64.sqrt()).abs() < 1e-6, "{pressure}");
    // Humidity lowers the dry density and the moist one: here the correlation decides.
    let humidity = one_source(Doubts { relative_humidity: 0.05, ..nothing });
    let slope = (factor(at(99_000.0, 0.65)) / factor(at(99_000.0, 0.55))).ln() / 2.0;
    assert!((humidity - slope.abs() / 3.0_f64.sqrt()).abs() < 1e-6, "{humidity}");
}
