//! What cannot be is refused: nonsense numbers, contradictions, and corrections that no jet can make.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use reedbook::engine::EngineError;
use reedbook::engine::carburetor::circuits::{FuelPath, main_circuit_factor, pilot_share};
use reedbook::engine::carburetor::jets::{JetScale, Numbering, nearest};
use reedbook::engine::carburetor::needle::{
    Needle, NeedleInJet, NeedlePoint, NeedleSetting, annulus_area_m2,
};
use reedbook::engine::fuel::{
    Component, MassPart, VolumePart, blend_density, blend_stoichiometric_ratio, mass_parts, mixture_density,
    oil_mass_fraction, petrol_density, petrol_expansion_per_k,
};
use reedbook::engine::injection::{
    Compensation, InjectionConditions, duty_cycle, pulse_s, trim, trimmed_pulse_s,
};
use reedbook::engine::metering::{MeteringConditions, metering_factor};

/// A needle of five grooves in a needle jet of 2.60 mm.
fn racing_needle() -> NeedleInJet {
    let points = Needle::straight_and_taper(0.002_515, 0.027, 1.5, 0.062).unwrap();
    NeedleInJet::new(Needle::new(&points, 0.001, 5).unwrap(), 0.0026, 0.024).unwrap()
}

#[test]
fn what_cannot_be_is_refused_and_named() {
    let path = FuelPath::new(2e-6, 2e-6, 1.0).unwrap();
    // Equal areas in series: an endless main jet gives the root of two.
    let error = path.shift_main(1.415).unwrap_err();
    let EngineError::MainJetCannotReach { needed, limit } = error else {
        panic!("{error}");
    };
    assert!((needed - 1.415).abs() < 1e-12 && (limit - 2_f64.sqrt()).abs() < 1e-12);
    assert!(path.shift_main(1.414).is_ok());
    let mostly_power_jet = path.with_parallel(20e-6).unwrap();
    assert!(matches!(
        mostly_power_jet.shift_main(0.9).unwrap_err(),
        EngineError::ParallelJetsTooLarge { .. }
    ));
    assert!(matches!(annulus_area_m2(0.0026, 0.0026).unwrap_err(), EngineError::NeedleFillsJet { .. }));
    assert!(matches!(JetScale::FlowOnly.area_m2(150.0).unwrap_err(), EngineError::NotKnown { .. }));
    assert!(matches!(nearest(&[], 150.0).unwrap_err(), EngineError::TooFew { .. }));
    let point = |position_m, diameter_m| NeedlePoint { position_m, diameter_m };
    assert!(matches!(Needle::new(&[point(0.0, 0.002)], 0.001, 5).unwrap_err(), EngineError::TooFew { .. }));
    let turned = [point(0.02, 0.0025), point(0.01, 0.002)];
    assert!(matches!(
        Needle::new(&turned, 0.001, 5).unwrap_err(),
        EngineError::NotAscending { entry: 2, .. }
    ));
    let fit = racing_needle();
    let sixth = NeedleSetting { lift_m: 0.0, clip: 6, shim_m: 0.0 };
    assert!(fit.position_at_mouth_m(sixth).is_err());
    assert!(fit.position_at_mouth_m(NeedleSetting { clip: 0, ..sixth }).is_err());
}

/// What no quantity of these calculations may be.
const NONSENSE: [f64; 5] = [f64::NAN, -1.0, f64::INFINITY, f64::NEG_INFINITY, 1e30];

const GOOD: MeteringConditions = MeteringConditions {
    moist_density: 1.2,
    dry_density: 1.19,
    fuel_density: 745.0,
    stoichiometric_ratio: 14.7,
    oil_mass_fraction: 0.03,
    lambda: 0.9,
};

#[test]
fn nonsense_conditions_are_refused() {
    assert!(metering_factor(&GOOD, &GOOD).is_ok());
    for bad in NONSENSE {
        let broken = [
            MeteringConditions { moist_density: bad, ..GOOD },
            MeteringConditions { dry_density: bad, ..GOOD },
            MeteringConditions { fuel_density: bad, ..GOOD },
            MeteringConditions { stoichiometric_ratio: bad, ..GOOD },
            MeteringConditions { oil_mass_fraction: bad, ..GOOD },
            MeteringConditions { lambda: bad, ..GOOD },
        ];
        for conditions in broken {
            assert!(metering_factor(&GOOD, &conditions).is_err(), "{conditions:?}");
            assert!(metering_factor(&conditions, &GOOD).is_err(), "{conditions:?}");
        }
    }
    // Dry air heavier than the air it is in.
    let too_dry = MeteringConditions { dry_density: 1.21, ..GOOD };
    assert!(matches!(metering_factor(&GOOD, &too_dry).unwrap_err(), EngineError::Contradiction { .. }));
}

#[test]
fn nonsense_fuel_is_refused() {
    for bad in NONSENSE {
        let petrol = |share| [MassPart { component: Component::Petrol, share }];
        let measured = |share, density| [VolumePart { component: Component::Petrol, share, density }];
        refuse(
            bad,
            &[
                petrol_density(bad, 20.0).is_err(),
                petrol_density(745.0, bad - 18.0).is_err(),
                petrol_expansion_per_k(bad).is_err(),
                oil_mass_fraction(bad, 745.0, 880.0).is_err(),
                oil_mass_fraction(32.0, bad, 880.0).is_err(),
                oil_mass_fraction(32.0, 745.0, bad).is_err(),
                mixture_density(bad, 745.0, 880.0).is_err(),
                mixture_density(0.03, bad, 880.0).is_err(),
                mixture_density(0.03, 745.0, bad).is_err(),
                blend_stoichiometric_ratio(&petrol(bad)).is_err(),
                blend_density(&measured(bad, 745.0)).is_err(),
                mass_parts(&measured(1.0, bad)).is_err(),
            ],
        );
    }
    // Out of the table's range in temperature.
    assert!(petrol_density(745.0, 120.0).is_err() && petrol_density(745.0, -40.0).is_err());
    // Shares that do not make a whole.
    let half = MassPart { component: Component::Ethanol, share: 0.5 };
    assert!(blend_stoichiometric_ratio(&[half]).is_err());
    assert!(blend_stoichiometric_ratio(&[]).is_err());
}

#[test]
fn nonsense_jets_and_needles_are_refused() {
    let path = FuelPath::new(2e-6, 2e-6, 1.0).unwrap();
    let fit = racing_needle();
    for bad in NONSENSE {
        let flow = |reference_number, reference_bore_m| JetScale::Flow { reference_number, reference_bore_m };
        let at = |lift_m, shim_m| fit.annulus_area_m2(NeedleSetting { lift_m, clip: 1, shim_m });
        let thick = |position_m, diameter_m| {
            let top = NeedlePoint { position_m: 0.0, diameter_m: 0.0025 };
            Needle::new(&[top, NeedlePoint { position_m, diameter_m }], 0.001, 5)
        };
        refuse(
            bad,
            &[
                Numbering::Flow.number_for(bad, 1.0).is_err(),
                Numbering::Bore.number_for(150.0, bad).is_err(),
                Numbering::Bore.area_factor(150.0, bad).is_err(),
                Numbering::Bore.area_factor(bad, 150.0).is_err(),
                JetScale::Bore.area_m2(bad).is_err(),
                JetScale::Bore.number_for_area(bad).is_err(),
                flow(150.0, bad).area_m2(150.0).is_err(),
                flow(bad, 0.0015).area_m2(150.0).is_err(),
                nearest(&[150.0, bad], 150.0).is_err(),
                nearest(&[150.0], bad).is_err(),
                annulus_area_m2(bad, 0.002).is_err(),
                annulus_area_m2(0.0026, bad).is_err(),
                thick(bad, 0.002).is_err(),
                thick(0.02, bad).is_err(),
                Needle::straight_and_taper(0.0025, 0.02, bad, 0.06).is_err(),
                NeedleInJet::new(fit.needle().clone(), bad, 0.02).is_err(),
                NeedleInJet::new(fit.needle().clone(), 0.0026, bad).is_err(),
                at(bad, 0.0).is_err(),
                at(0.01, bad).is_err(),
                FuelPath::new(bad, 2e-6, 1.0).is_err(),
                FuelPath::new(2e-6, bad, 1.0).is_err(),
                FuelPath::new(2e-6, 2e-6, bad).is_err(),
                path.with_parallel(bad).is_err(),
                path.shift_main(bad).is_err(),
                pilot_share(bad, &[(0.0, 0.5)]).is_err(),
                main_circuit_factor(bad, 0.1, 1.0).is_err(),
                main_circuit_factor(1.0, bad, 1.0).is_err(),
                main_circuit_factor(1.0, 0.1, bad).is_err(),
            ],
        );
    }
    // All the fuel from the pilot: nothing is left to the main circuit.
    assert!(main_circuit_factor(1.05, 1.0, 1.0).is_err());
}

#[test]
fn nonsense_injection_is_refused() {
    let air = |temperature_c, pressure_pa| InjectionConditions { mixture: GOOD, temperature_c, pressure_pa };
    let proven = air(20.0, 101_325.0);
    for bad in NONSENSE {
        refuse(
            bad,
            &[
                trim(Compensation::None, &proven, &air(bad * 1e3, 101_325.0)).is_err(),
                trim(Compensation::None, &air(20.0, bad), &proven).is_err(),
                pulse_s(bad, 0.0025, 0.001).is_err(),
                pulse_s(8e-6, bad, 0.001).is_err(),
                pulse_s(8e-6, 0.0025, bad).is_err(),
                trimmed_pulse_s(bad, 0.001, 1.0).is_err(),
                trimmed_pulse_s(0.004, bad, 1.0).is_err(),
                trimmed_pulse_s(0.004, 0.001, bad).is_err(),
                duty_cycle(bad, 12_000.0, 1.0).is_err(),
                duty_cycle(0.004, bad, 1.0).is_err(),
                duty_cycle(0.004, 12_000.0, bad).is_err(),
            ],
        );
    }
    // A dead time longer than its pulse.
    assert!(trimmed_pulse_s(0.001, 0.002, 1.1).is_err());
    // Density, temperature and pressure of different airs: hectopascals, a temperature in Fahrenheit, another place.
    assert!(trim(Compensation::None, &proven, &proven).is_ok());
    let thin = InjectionConditions { mixture: MeteringConditions { dry_density: 0.8, ..GOOD }, ..proven };
    for wrong in [air(20.0, 1_013.25), air(68.0, 101_325.0), air(20.0, 60_000.0), thin] {
        assert!(trim(Compensation::None, &proven, &wrong).is_err(), "{wrong:?}");
    }
}

/// Every one of them must have refused the bad value.
fn refuse(bad: f64, refused: &[bool]) {
    for (which, refused) in refused.iter().enumerate() {
        assert!(refused, "number {which} took {bad}");
    }
}

#[test]
fn an_error_says_what_was_found_what_is_allowed_and_the_way_out() {
    let error = petrol_density(0.745, 20.0).unwrap_err().to_string();
    assert_eq!(
        error,
        "The fuel density at 15 C is 0.745 kg/m3; allowed is 653 kg/m3 to 1075 kg/m3. \
         Give the density from the fuel's data sheet in kg/m3; race petrol is 720 to 775."
    );
    let errors = [
        nearest(&[], 150.0).unwrap_err(),
        JetScale::FlowOnly.area_m2(150.0).unwrap_err(),
        annulus_area_m2(0.0026, 0.003).unwrap_err(),
        pilot_share(0.1, &[(0.5, 0.2), (0.5, 0.1)]).unwrap_err(),
        FuelPath::new(2e-6, 2e-6, 1.0).unwrap().shift_main(1.5).unwrap_err(),
        trimmed_pulse_s(0.001, 0.002, 1.1).unwrap_err(),
    ];
    for error in errors.map(|error| error.to_string()) {
        assert!(error.starts_with(char::is_uppercase) && error.ends_with('.'), "{error}");
    }
}
