//! Blends and premix against values from outside (`reference/blend.toml`), the laws they keep, and what they refuse.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::fuel::blend::{blend_density_15c, blend_heating_value_j_kg, energy_per_air_j_kg};
use reedbook::engine::fuel::mixing::{Premix, ToAdd, correct_can, oil_for_petrol_m3};
use reedbook::engine::fuel::{
    Component, MassPart, VolumePart, blend_density, blend_stoichiometric_ratio, mass_parts,
};

const REFERENCE: &str = include_str!("../reference/blend.toml");

const COMPONENTS: [Component; 4] =
    [Component::Petrol, Component::Ethanol, Component::Methanol, Component::Toluene];

#[test]
fn blends_and_premix_meet_their_references() {
    assert_eq!(check_all(REFERENCE, value), 35);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    match kind {
        "heating value MJ/kg" => 1e-6 * blend_heating_value_j_kg(&parts(inputs)).unwrap(),
        "energy per air MJ/kg" => 1e-6 * energy_per_air_j_kg(&parts(inputs)).unwrap(),
        "density 15 C" => blend_density_15c(&parts(inputs), None).unwrap(),
        "premix petrol share" => {
            let can = Premix::of_total(0.005, inputs.take("ratio")).unwrap();
            can.petrol_m3 / can.total_m3()
        }
        "oil for petrol ml" => {
            1e6 * oil_for_petrol_m3(1e-3 * inputs.take("petrol_l"), inputs.take("ratio")).unwrap()
        }
        "oil to add ml" => match added(inputs) {
            ToAdd::Oil(volume) => 1e6 * volume,
            other => panic!("{other:?}"),
        },
        "petrol to add l" => match added(inputs) {
            ToAdd::Petrol(volume) => 1e3 * volume,
            other => panic!("{other:?}"),
        },
        other => panic!("no calculation for {other}"),
    }
}

fn added(inputs: &mut Inputs) -> ToAdd {
    correct_can(1e-3 * inputs.take("total_l"), inputs.take("ratio"), inputs.take("wanted")).unwrap().add
}

/// Every component takes part, most with nothing.
fn parts(inputs: &mut Inputs) -> Vec<MassPart> {
    COMPONENTS
        .iter()
        .zip(["petrol", "ethanol", "methanol", "toluene"])
        .map(|(&component, name)| MassPart { component, share: inputs.take_or(name, 0.0) })
        .collect()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

fn alone(component: Component) -> [MassPart; 1] {
    [MassPart { component, share: 1.0 }]
}

#[test]
fn a_blend_of_one_is_that_one() {
    for component in COMPONENTS {
        let blend = alone(component);
        let density = component.density_15c().unwrap_or(745.0);
        assert!(close(blend_density_15c(&blend, Some(745.0)).unwrap(), density));
        let heat = component.lower_heating_value_j_kg();
        assert!(close(blend_heating_value_j_kg(&blend).unwrap(), heat));
        let energy = heat / component.stoichiometric_ratio();
        assert!(close(energy_per_air_j_kg(&blend).unwrap(), energy));
    }
}

#[test]
fn fuels_of_half_the_heating_value_give_the_same_air_nearly_the_same_energy() {
    let petrol = energy_per_air_j_kg(&alone(Component::Petrol)).unwrap();
    for component in COMPONENTS {
        let ratio = energy_per_air_j_kg(&alone(component)).unwrap() / petrol;
        assert!((0.98..1.04).contains(&ratio), "{component:?}: {ratio}");
    }
}

#[test]
fn the_density_of_the_petrol_is_asked_only_where_there_is_petrol() {
    let with = |share| {
        [
            MassPart { component: Component::Petrol, share },
            MassPart { component: Component::Ethanol, share: 1.0 - share },
        ]
    };
    assert!(blend_density_15c(&with(0.0), None).is_ok());
    assert!(matches!(blend_density_15c(&with(0.1), None), Err(EngineError::NotKnown { .. })));
    assert!(matches!(blend_density_15c(&with(0.1), Some(0.745)), Err(EngineError::OutOfRange { .. })));
}

#[test]
fn shares_that_are_no_whole_or_no_shares_are_refused() {
    let with = |petrol, toluene| {
        vec![
            MassPart { component: Component::Petrol, share: petrol },
            MassPart { component: Component::Toluene, share: toluene },
        ]
    };
    for wrong in [Vec::new(), with(0.8, 0.1), with(85.0, 15.0), with(1.2, -0.2), with(f64::NAN, 1.0)] {
        assert!(blend_density_15c(&wrong, Some(745.0)).is_err(), "{wrong:?}");
        assert!(blend_heating_value_j_kg(&wrong).is_err(), "{wrong:?}");
        assert!(energy_per_air_j_kg(&wrong).is_err(), "{wrong:?}");
    }
}

#[test]
fn a_can_that_is_right_gets_nothing() {
    let correction = correct_can(0.005, 32.0, 32.0).unwrap();
    assert_eq!(correction.add, ToAdd::Nothing);
    assert_eq!(correction.after, Premix::of_total(0.005, 32.0).unwrap());
}

#[test]
fn nonsense_in_the_can_is_refused() {
    for wrong in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 0.0, 1e30] {
        for refused in [
            oil_for_petrol_m3(wrong, 32.0).err(),
            oil_for_petrol_m3(0.005, wrong).err(),
            Premix::of_total(wrong, 32.0).err(),
            Premix::of_total(0.005, wrong).err(),
            correct_can(wrong, 32.0, 20.0).err(),
            correct_can(0.005, wrong, 20.0).err(),
            correct_can(0.005, 32.0, wrong).err(),
        ] {
            assert!(matches!(refused, Some(EngineError::OutOfRange { .. })), "{wrong}: {refused:?}");
        }
    }
    // Litres where cubic metres are asked, and a ratio turned upside down.
    assert!(oil_for_petrol_m3(5.0, 32.0).is_err());
    assert!(Premix::of_total(0.005, 0.03).is_err());
}

prop_compose! {
    fn any_blend()(a in 0.01..1.0_f64, b in 0.0..1.0_f64, c in 0.0..1.0_f64, d in 0.0..1.0_f64) -> Vec<MassPart> {
        let sum = a + b + c + d;
        COMPONENTS
            .iter()
            .zip([a, b, c, d])
            .map(|(&component, share)| MassPart { component, share: share / sum })
            .collect()
    }
}

proptest! {
    #[test]
    fn volumes_add(blend in any_blend(), petrol in 700.0..800.0_f64) {
        let volume: f64 = blend
            .iter()
            .map(|part| part.share / part.component.density_15c().unwrap_or(petrol))
            .sum();
        prop_assert!(close(blend_density_15c(&blend, Some(petrol)).unwrap() * volume, 1.0));
    }

    /// Measured out by volume and turned into masses, a blend has the density that its volumes gave.
    #[test]
    fn by_volume_and_by_mass_agree(ethanol in 0.0..1.0_f64, toluene in 0.0..1.0_f64, petrol in 700.0..800.0_f64) {
        let sum = 1.0 + ethanol + toluene;
        let by_volume = [(Component::Petrol, 1.0), (Component::Ethanol, ethanol), (Component::Toluene, toluene)]
            .map(|(component, volume)| VolumePart {
                component,
                share: volume / sum,
                density: component.density_15c().unwrap_or(petrol),
            });
        let by_mass = mass_parts(&by_volume).unwrap();
        let density = blend_density_15c(&by_mass, Some(petrol)).unwrap();
        prop_assert!(close(density, blend_density(&by_volume).unwrap()));
    }

    #[test]
    fn a_blend_lies_between_its_parts(blend in any_blend()) {
        let heat = blend_heating_value_j_kg(&blend).unwrap();
        prop_assert!((19.9e6..=44.0e6 + 1.0).contains(&heat));
        let energy = energy_per_air_j_kg(&blend).unwrap();
        prop_assert!(close(energy * blend_stoichiometric_ratio(&blend).unwrap(), heat));
        let each = COMPONENTS.map(|one| energy_per_air_j_kg(&alone(one)).unwrap());
        let low = each.iter().copied().fold(f64::INFINITY, f64::min);
        let high = each.iter().copied().fold(0.0, f64::max);
        prop_assert!(low * (1.0 - 1e-12) <= energy && energy <= high * (1.0 + 1e-12));
    }

    /// Shares are allowed to miss the whole by rounding; what comes out must not notice.
    #[test]
    fn shares_rounded_in_the_sum_change_nothing(blend in any_blend(), off in -0.0009..0.0009_f64) {
        prop_assume!(blend.iter().all(|part| part.share * (1.0 + off) <= 1.0));
        let scaled: Vec<MassPart> =
            blend.iter().map(|part| MassPart { share: part.share * (1.0 + off), ..*part }).collect();
        let density = |parts: &[MassPart]| blend_density_15c(parts, Some(745.0)).unwrap();
        prop_assert!(close(density(&blend), density(&scaled)));
        let heat = |parts: &[MassPart]| blend_heating_value_j_kg(parts).unwrap();
        prop_assert!(close(heat(&blend), heat(&scaled)));
    }

    #[test]
    fn oil_for_petrol_makes_the_ratio(petrol in 0.001..0.2_f64, ratio in 10.0..100.0_f64) {
        prop_assert!(close(petrol / oil_for_petrol_m3(petrol, ratio).unwrap(), ratio));
    }

    #[test]
    fn a_full_can_holds_what_was_asked_at_the_ratio_asked(total in 0.001..0.2_f64, ratio in 10.0..100.0_f64) {
        let can = Premix::of_total(total, ratio).unwrap();
        prop_assert!(close(can.total_m3(), total));
        prop_assert!(close(can.ratio(), ratio));
        prop_assert!(close(oil_for_petrol_m3(can.petrol_m3, ratio).unwrap(), can.oil_m3));
    }

    /// What was poured in is all that the can has more, it is one liquid only, and the ratio is the wanted one.
    #[test]
    fn a_corrected_can_has_the_wanted_ratio_and_loses_nothing(
        total in 0.001..0.2_f64, ratio in 10.0..100.0_f64, wanted in 10.0..100.0_f64,
    ) {
        let before = Premix::of_total(total, ratio).unwrap();
        let correction = correct_can(total, ratio, wanted).unwrap();
        let after = correction.after;
        prop_assert!(close(after.ratio(), wanted));
        let (oil, petrol) = match correction.add {
            ToAdd::Oil(volume) => {
                prop_assert!(wanted < ratio && volume > 0.0);
                (volume, 0.0)
            }
            ToAdd::Petrol(volume) => {
                prop_assert!(wanted > ratio && volume > 0.0);
                (0.0, volume)
            }
            ToAdd::Nothing => (0.0, 0.0),
        };
        prop_assert!(close(after.oil_m3, before.oil_m3 + oil));
        prop_assert!(close(after.petrol_m3, before.petrol_m3 + petrol));
        prop_assert!(close(after.total_m3(), total + oil + petrol));
    }
}
