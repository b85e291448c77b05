//! Laws that hold for every carburetor, whatever its numbers: nothing changes nothing, there and back again, step by step or at once,
//! denser air is never leaner.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::carburetor::circuits::{FuelPath, main_circuit_factor};
use reedbook::engine::carburetor::jets::{AmongSizes, JetScale, Numbering, nearest};
use reedbook::engine::fuel::{
    Component, MassPart, VolumePart, blend_density, blend_stoichiometric_ratio, mass_parts, mixture_density,
    oil_mass_fraction, petrol_density, petrol_expansion_per_k,
};
use reedbook::engine::injection::{Compensation, InjectionConditions, trim, trimmed_pulse_s};
use reedbook::engine::metering::{MeteringConditions, metering_factor};

const COMPENSATIONS: [Compensation; 4] = [
    Compensation::None,
    Compensation::Temperature,
    Compensation::Pressure,
    Compensation::TemperatureAndPressure,
];

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

/// The very same number, to the last bit.
fn exactly(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits()
}

prop_compose! {
    fn conditions()(
        moist_density in 0.6..1.45_f64,
        vapour in 0.0..0.04_f64,
        fuel_density in 650.0..900.0_f64,
        stoichiometric_ratio in 6.0..15.5_f64,
        oil_mass_fraction in 0.0..0.08_f64,
        lambda in 0.75..1.1_f64,
    ) -> MeteringConditions {
        MeteringConditions {
            moist_density,
            dry_density: moist_density * (1.0 - vapour),
            fuel_density,
            stoichiometric_ratio,
            oil_mass_fraction,
            lambda,
        }
    }
}

prop_compose! {
    /// Air whose density, temperature and pressure belong together.
    fn injection()(
        mixture in conditions(),
        temperature_c in -10.0..45.0_f64,
        pressure_pa in 65_000.0..105_000.0_f64,
        dry_share in 0.92..1.0004_f64,
    ) -> InjectionConditions {
        let dry_density = dry_share * pressure_pa / (287.05 * (temperature_c + 273.15));
        InjectionConditions {
            mixture: MeteringConditions {
                dry_density,
                moist_density: dry_density * 1.01,
                ..mixture
            },
            temperature_c,
            pressure_pa,
        }
    }
}

prop_compose! {
    fn paths()(
        main_m2 in 0.5e-6..6e-6_f64,
        annulus_m2 in 1e-6..8e-6_f64,
        coefficients in 0.7..1.4_f64,
        parallel_m2 in prop_oneof![Just(0.0), 0.05e-6..0.3e-6_f64],
    ) -> FuelPath {
        FuelPath::new(main_m2, annulus_m2, coefficients)
            .unwrap()
            .with_parallel(parallel_m2)
            .unwrap()
    }
}

proptest! {
    #[test]
    fn equal_conditions_change_nothing_at_all(same in conditions()) {
        let factor = metering_factor(&same, &same).unwrap();
        for part in [
            factor.total, factor.dry_air, factor.venturi, factor.fuel_air, factor.lambda,
            factor.fuel_density, factor.oil, factor.unchanged_over_needed(),
        ] {
            prop_assert!(exactly(part, 1.0));
        }
    }

    #[test]
    fn the_parts_multiply_to_the_total(from in conditions(), to in conditions()) {
        let f = metering_factor(&from, &to).unwrap();
        let product = f.dry_air * f.venturi * f.fuel_air * f.lambda * f.fuel_density * f.oil;
        prop_assert!(exactly(f.total, product));
        // And the total is the formula written out at once, which shares no part with the program.
        let need = |c: &MeteringConditions| {
            c.dry_density
                / (c.lambda * c.stoichiometric_ratio * (1.0 - c.oil_mass_fraction))
                / (c.fuel_density * c.moist_density).sqrt()
        };
        prop_assert!(close(f.total, need(&to) / need(&from)));
    }

    #[test]
    fn each_part_answers_to_its_own_cause_alone(from in conditions(), other in conditions()) {
        let only_oil = MeteringConditions { oil_mass_fraction: other.oil_mass_fraction, ..from };
        let f = metering_factor(&from, &only_oil).unwrap();
        prop_assert!(exactly(f.total, f.oil));
        let only_lambda = MeteringConditions { lambda: other.lambda, ..from };
        let f = metering_factor(&from, &only_lambda).unwrap();
        prop_assert!(exactly(f.total, f.lambda));
        let only_fuel = MeteringConditions { fuel_density: other.fuel_density, ..from };
        let f = metering_factor(&from, &only_fuel).unwrap();
        prop_assert!(exactly(f.total, f.fuel_density));
    }

    #[test]
    fn there_and_back_is_nothing(from in conditions(), to in conditions()) {
        let there = metering_factor(&from, &to).unwrap().total;
        let back = metering_factor(&to, &from).unwrap().total;
        prop_assert!(close(there * back, 1.0));
    }

    #[test]
    fn two_steps_are_one(a in conditions(), b in conditions(), c in conditions()) {
        let steps = metering_factor(&a, &b).unwrap().total * metering_factor(&b, &c).unwrap().total;
        prop_assert!(close(steps, metering_factor(&a, &c).unwrap().total));
    }

    /// Denser air of the same make-up wants more fuel, so no circuit and no numbering may come out smaller.
    #[test]
    fn denser_air_is_never_leaner(
        from in conditions(), denser in 1.0..1.3_f64, path in paths(), number in 60.0..400.0_f64,
    ) {
        let to = MeteringConditions {
            moist_density: from.moist_density * denser,
            dry_density: from.dry_density * denser,
            ..from
        };
        let factor = metering_factor(&from, &to).unwrap().total;
        prop_assert!(factor >= 1.0);
        for numbering in [Numbering::Flow, Numbering::Bore] {
            prop_assert!(numbering.number_for(number, factor).unwrap() >= number);
        }
        match path.shift_main(factor) {
            Ok(main) => prop_assert!(main >= path.main_area_m2()),
            Err(error) => {
                let reached = matches!(error, EngineError::MainJetCannotReach { .. });
                prop_assert!(reached);
            }
        }
    }

    /// More oil, a lighter fuel, a richer lambda or a fuel that needs less air: each wants a larger jet.
    #[test]
    fn every_cause_pulls_its_own_way(from in conditions(), step in 0.001..0.1_f64) {
        let total = |to| metering_factor(&from, &to).unwrap().total;
        let f = from;
        let larger = [
            MeteringConditions { oil_mass_fraction: f.oil_mass_fraction + step, ..f },
            MeteringConditions { fuel_density: f.fuel_density * (1.0 - step), ..f },
            MeteringConditions { lambda: f.lambda * (1.0 - step), ..f },
            MeteringConditions { stoichiometric_ratio: f.stoichiometric_ratio * (1.0 - step), ..f },
            // Drier air at the same density holds more oxygen.
            MeteringConditions { dry_density: f.moist_density * 1.000_1, moist_density: f.moist_density * 1.000_1, ..f },
        ];
        for to in larger {
            prop_assert!(total(to) > 1.0);
        }
    }

    #[test]
    fn a_flow_number_moves_twice_as_far_as_a_bore_number(
        number in 50.0..500.0_f64, factor in 0.6..1.6_f64,
    ) {
        let by_flow = Numbering::Flow.number_for(number, factor).unwrap() / number;
        let by_bore = Numbering::Bore.number_for(number, factor).unwrap() / number;
        prop_assert!(close(by_flow, by_bore * by_bore));
        for (numbering, ratio) in [(Numbering::Flow, by_flow), (Numbering::Bore, by_bore)] {
            let area = numbering.area_factor(number, number * ratio).unwrap();
            prop_assert!(close(area, factor));
            prop_assert!(exactly(numbering.number_for(number, 1.0).unwrap(), number));
        }
    }

    #[test]
    fn a_number_goes_to_an_area_and_back(number in 50.0..500.0_f64, bore_m in 5e-4..4e-3_f64) {
        let flow = JetScale::Flow { reference_number: 150.0, reference_bore_m: bore_m };
        for scale in [JetScale::Bore, flow] {
            let area = scale.area_m2(number).unwrap();
            prop_assert!(close(scale.number_for_area(area).unwrap(), number));
            // Doubling the area must agree with what the numbering says of it.
            let doubled = scale.number_for_area(2.0 * area).unwrap();
            prop_assert!(close(doubled, scale.numbering().number_for(number, 2.0).unwrap()));
        }
    }

    #[test]
    fn the_main_jet_moves_at_least_as_far_as_the_whole(path in paths(), factor in 0.8..1.25_f64) {
        prop_assert!(path.main_exponent() >= 1.0);
        if let Ok(main) = path.shift_main(factor) {
            let moved = (main / path.main_area_m2()).ln().abs();
            prop_assert!(moved >= factor.ln().abs() - 1e-12);
        }
    }

    #[test]
    fn the_main_exponent_is_the_slope_of_the_shift(path in paths()) {
        let h = 1e-6_f64;
        let (up, down) = (path.shift_main(h.exp()), path.shift_main((-h).exp()));
        if let (Ok(up), Ok(down)) = (up, down) {
            let slope = (up / down).ln() / (2.0 * h);
            prop_assert!((slope / path.main_exponent() - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn a_shifted_main_jet_delivers_the_factor_and_shifts_back(
        main in 0.5e-6..5e-6_f64, annulus in 1e-6..8e-6_f64, coefficients in 0.7..1.4_f64,
        parallel in 0.0..0.3e-6_f64, factor in 0.75..1.3_f64,
    ) {
        let fit = |main| FuelPath::new(main, annulus, coefficients).unwrap().with_parallel(parallel).unwrap();
        let path = fit(main);
        prop_assert!(exactly(path.shift_main(1.0).unwrap(), main));
        match path.shift_main(factor) {
            // A jet hundreds of times the annulus is no jet: there the way back is ill-conditioned.
            Ok(new) if new < 50.0 * annulus => {
                let shifted = fit(new);
                let delivered = shifted.effective_area_m2() / path.effective_area_m2();
                prop_assert!((delivered / factor - 1.0).abs() < 1e-9);
                let back = shifted.shift_main(1.0 / factor).unwrap();
                prop_assert!((back / main - 1.0).abs() < 1e-6);
            }
            Ok(_) => {}
            Err(_) => {
                // Refused only where an endless main jet would not do.
                let most = coefficients * annulus + parallel;
                prop_assert!(factor * path.effective_area_m2() >= most * (1.0 - 1e-12));
            }
        }
    }

    #[test]
    fn the_advised_jet_is_never_leaner_than_the_exact_one(
        sizes in prop::collection::vec(50.0..300.0_f64, 1..20), exact in 40.0..320.0_f64,
    ) {
        let choice = nearest(&sizes, exact).unwrap();
        let has = |size: f64| sizes.iter().any(|s| exactly(*s, size));
        let largest = sizes.iter().copied().fold(f64::MIN, f64::max);
        if let Some(advised) = choice.advised {
            prop_assert!(advised >= exact * (1.0 - 2e-9) && has(advised));
            // No other size lies between.
            prop_assert!(!sizes.iter().any(|s| *s >= exact && *s < advised));
            prop_assert!(choice.richer.is_none_or(|r| r > advised && has(r)));
            prop_assert!(choice.leaner.is_none_or(|l| l < advised && has(l)));
        } else {
            prop_assert!(largest < exact);
            prop_assert_eq!(choice.place, AmongSizes::AboveLargest);
            prop_assert!(choice.leaner.is_some_and(|l| exactly(l, largest)));
        }
        let error = (choice.nearest - exact).abs();
        prop_assert!(has(choice.nearest));
        prop_assert!(sizes.iter().all(|s| (s - exact).abs() >= error - 1e-6));
        // The order in which the box was listed does not matter.
        let mut turned = sizes.clone();
        turned.reverse();
        turned.extend_from_slice(&sizes);
        prop_assert_eq!(nearest(&turned, exact).unwrap(), choice);
    }

    #[test]
    fn a_map_in_equal_air_keeps_every_cell(same in injection()) {
        for compensation in COMPENSATIONS {
            prop_assert!(exactly(trim(compensation, &same, &same).unwrap().total, 1.0));
        }
    }

    #[test]
    fn trims_go_back_and_join(a in injection(), b in injection(), c in injection()) {
        for compensation in COMPENSATIONS {
            let total = |from, to| trim(compensation, from, to).unwrap().total;
            prop_assert!(close(total(&a, &b) * total(&b, &a), 1.0));
            prop_assert!(close(total(&a, &b) * total(&b, &c), total(&a, &c)));
        }
    }

    /// What the control unit corrects and what is left make together the whole.
    #[test]
    fn correction_times_trim_is_the_whole(a in injection(), b in injection()) {
        let air = |compensation| trim(compensation, &a, &b).unwrap().air;
        let whole = air(Compensation::None);
        let temperature = (a.temperature_c + 273.15) / (b.temperature_c + 273.15);
        let pressure = b.pressure_pa / a.pressure_pa;
        prop_assert!(close(air(Compensation::Temperature) * temperature, whole));
        prop_assert!(close(air(Compensation::Pressure) * pressure, whole));
        prop_assert!(close(air(Compensation::TemperatureAndPressure) * temperature * pressure, whole));
        prop_assert!(close(whole, b.mixture.dry_density / a.mixture.dry_density));
    }

    /// An injector and a jet answer alike to the fuel; the jet alone feels the venturi.
    #[test]
    fn a_trim_is_a_metering_factor_without_the_venturi(a in injection(), b in injection()) {
        let trim = trim(Compensation::None, &a, &b).unwrap();
        let jet = metering_factor(&a.mixture, &b.mixture).unwrap();
        prop_assert!(close(trim.total, jet.total / jet.venturi));
        prop_assert!(close(trim.total, trim.air * trim.fuel_air * trim.lambda * trim.fuel_density * trim.oil));
    }

    #[test]
    fn only_the_open_time_is_trimmed(open in 0.0..0.02_f64, dead in 0.0..0.003_f64, by in 0.7..1.4_f64) {
        let pulse = open + dead;
        prop_assert!(exactly(trimmed_pulse_s(pulse, dead, 1.0).unwrap(), pulse));
        let trimmed = trimmed_pulse_s(pulse, dead, by).unwrap();
        prop_assert!((trimmed - dead - open * by).abs() < 1e-15);
    }

    #[test]
    fn petrol_lightens_as_it_warms(density in 660.0..800.0_f64, cold in -15.0..85.0_f64) {
        prop_assert!(petrol_density(density, cold + 1.0).unwrap() < petrol_density(density, cold).unwrap());
        prop_assert!(close(petrol_density(density, 15.0).unwrap(), density));
        // Each group hands over to the next within half a percent of the expansion.
        let edge = |at: f64| petrol_expansion_per_k(at - 1e-6).unwrap() / petrol_expansion_per_k(at + 1e-6).unwrap();
        for at in [770.25, 787.75, 838.75] {
            prop_assert!((edge(at) - 1.0).abs() < 0.005);
        }
    }

    #[test]
    fn more_oil_is_a_larger_share_and_the_mixture_lies_between(
        ratio in 10.0..100.0_f64, petrol in 690.0..790.0_f64, oil in 850.0..980.0_f64,
    ) {
        let x = oil_mass_fraction(ratio, petrol, oil).unwrap();
        prop_assert!(oil_mass_fraction(ratio - 1.0, petrol, oil).unwrap() > x);
        let mixed = mixture_density(x, petrol, oil).unwrap();
        prop_assert!(petrol < mixed && mixed < oil);
        prop_assert!((mixed / ((ratio * petrol + oil) / (ratio + 1.0)) - 1.0).abs() < 1e-12);
        prop_assert!(close(mixture_density(0.0, petrol, oil).unwrap(), petrol));
    }

    #[test]
    fn a_blend_keeps_its_mass(ethanol in 0.0..1.0_f64) {
        let by_volume = [
            VolumePart { component: Component::Petrol, share: 1.0 - ethanol, density: 745.0 },
            VolumePart { component: Component::Ethanol, share: ethanol, density: 789.3 },
        ];
        let by_mass = mass_parts(&by_volume).unwrap();
        prop_assert!((by_mass.iter().map(|part| part.share).sum::<f64>() - 1.0).abs() < 1e-12);
        let density = blend_density(&by_volume).unwrap();
        prop_assert!((745.0 - 1e-9..789.3 + 1e-9).contains(&density));
        let air = blend_stoichiometric_ratio(&by_mass).unwrap();
        prop_assert!((Component::Ethanol.stoichiometric_ratio() - 1e-9..14.7 + 1e-9).contains(&air));
        // Shares written to three digits may miss the whole by one: the blend is still the same fuel.
        let rounded = by_mass.iter().map(|part| MassPart { share: part.share * 0.9995, ..*part });
        let air_rounded = blend_stoichiometric_ratio(&rounded.collect::<Vec<_>>()).unwrap();
        prop_assert!(close(air, air_rounded));
    }

    #[test]
    fn the_pilot_and_the_main_circuit_make_up_the_factor(
        factor in 0.85..1.2_f64, share in 0.0..0.6_f64, pilot in 0.9..1.1_f64,
    ) {
        let main = main_circuit_factor(factor, share, pilot).unwrap();
        prop_assert!((share * pilot + (1.0 - share) * main - factor).abs() < 1e-12);
        prop_assert!(exactly(main_circuit_factor(1.0, share, 1.0).unwrap(), 1.0));
    }

}

#[test]
fn the_jets_in_the_box() {
    let box_of_jets = [178.0, 170.0, 172.0, 175.0, 180.0, 172.0];
    let choice = nearest(&box_of_jets, 173.5).unwrap();
    assert_eq!(choice.place, AmongSizes::Within);
    assert_eq!(
        (choice.leaner, choice.at_or_below, choice.advised, choice.richer),
        (Some(172.0), Some(172.0), Some(175.0), Some(178.0))
    );
    // Midway: rich.
    assert!(exactly(choice.nearest, 175.0));
    assert!(exactly(nearest(&box_of_jets, 173.0).unwrap().nearest, 172.0));
    // On a size, and on a size but for rounding.
    for exact in [175.0, 175.0 * (1.0 + 1e-13), 175.0 * (1.0 - 1e-13)] {
        let choice = nearest(&box_of_jets, exact).unwrap();
        assert_eq!(
            (choice.leaner, choice.at_or_below, choice.advised, choice.richer),
            (Some(172.0), Some(175.0), Some(175.0), Some(178.0))
        );
    }
    // Above the largest nothing can be advised; below the smallest the smallest is rich.
    let above = nearest(&box_of_jets, 181.0).unwrap();
    assert_eq!((above.place, above.advised), (AmongSizes::AboveLargest, None));
    assert_eq!((above.leaner, above.richer), (Some(180.0), None));
    let below = nearest(&box_of_jets, 169.0).unwrap();
    assert_eq!((below.place, below.advised), (AmongSizes::BelowSmallest, Some(170.0)));
    assert_eq!((below.at_or_below, below.richer), (None, Some(172.0)));
}

#[test]
fn a_power_jet_leaves_less_for_the_main_jet_to_do_it_with() {
    let path = FuelPath::new(2.3e-6, 3.5e-6, 1.0).unwrap();
    let with_power_jet = path.with_parallel(0.2e-6).unwrap();
    assert!(with_power_jet.main_exponent() > path.main_exponent());
    assert!(with_power_jet.shift_main(1.05).unwrap() > path.shift_main(1.05).unwrap());
    assert!(with_power_jet.shift_main(0.95).unwrap() < path.shift_main(0.95).unwrap());
}
