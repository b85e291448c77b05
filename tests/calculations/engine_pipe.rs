//! The pipe against values from outside (`reference/pipe.toml`), the laws it keeps, and what it refuses.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::pipe::{
    DiameterStep, HALF_WAY, JENNINGS_DIFFUSER_AREA_RATIO, JENNINGS_STINGER_RATIO, JENNINGS_WAVE_SPEED_M_S,
    Pipe, Section, Shape, cone_length_m, diffuser_outlet_m, gas_temperature_k, length_to_add_m,
    speed_per_kelvin, speed_when_hotter_rpm, stinger_ratio, tuned_length_m, tuned_speed_rpm, wave_speed_m_s,
};

const REFERENCE: &str = include_str!("../reference/pipe.toml");
const INCH_M: f64 = 0.0254;
const FOOT_M: f64 = 0.3048;

#[test]
fn the_pipe_meets_its_references() {
    assert_eq!(check_all(REFERENCE, value), 38);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    match kind {
        "tuned length in" => {
            let wave = inputs.take("wave_ft_s") * FOOT_M;
            tuned_length_m(inputs.take("exhaust_deg"), wave, inputs.take("rpm")).unwrap() / INCH_M
        }
        "tuned length mm" => {
            let wave = inputs.take("wave_m_s");
            1e3 * tuned_length_m(inputs.take("exhaust_deg"), wave, inputs.take("rpm")).unwrap()
        }
        "diffuser outlet in" => {
            let header = inputs.take("header_in") * INCH_M;
            diffuser_outlet_m(header, inputs.take("area_ratio")).unwrap() / INCH_M
        }
        "cone length in" => {
            let (inlet, outlet) = (inputs.take("inlet_in") * INCH_M, inputs.take("outlet_in") * INCH_M);
            cone_length_m(inlet, outlet, inputs.take("angle_deg")).unwrap() / INCH_M
        }
        "stinger in" => inputs.take("header_in") * JENNINGS_STINGER_RATIO,
        "wave speed" => wave_speed_m_s(kelvin(inputs.take("celsius"))).unwrap(),
        "gas temperature C" => gas_temperature_k(inputs.take("wave_m_s")).unwrap() - 273.15,
        "wave speed over real air" => {
            wave_speed_m_s(kelvin(inputs.take("celsius"))).unwrap() / inputs.take("frozen_m_s")
        }
        "section volume cm3" => 1e6 * section(inputs).volume_m3(),
        "included angle" => section(inputs).included_angle_deg(),
        other => tuned_value(other, inputs),
    }
}

fn tuned_value(kind: &str, inputs: &mut Inputs) -> f64 {
    let temperature = inputs.take("kelvin");
    let wave = wave_speed_m_s(temperature).unwrap();
    let speed = tuned_speed_rpm(inputs.take("exhaust_deg"), wave, inputs.take("length_m")).unwrap();
    match kind {
        "tuned speed" => speed,
        "speed per kelvin" => speed_per_kelvin(speed, temperature).unwrap(),
        "speed when hotter" => speed_when_hotter_rpm(speed, temperature, inputs.take("hotter_k")).unwrap(),
        other => panic!("no calculation for {other}"),
    }
}

fn kelvin(celsius: f64) -> f64 {
    celsius + 273.15
}

fn section(inputs: &mut Inputs) -> Section {
    mm(inputs.take("length_mm"), inputs.take("inlet_mm"), inputs.take("outlet_mm"))
}

fn mm(length: f64, inlet: f64, outlet: f64) -> Section {
    Section::new(1e-3 * length, 1e-3 * inlet, 1e-3 * outlet).unwrap()
}

/// Header, two diffusers, belly, two baffle cones of 80 and 100 mm, stinger.
fn racing_sections() -> Vec<Section> {
    vec![
        mm(260.0, 38.0, 44.0),
        mm(150.0, 44.0, 80.0),
        mm(90.0, 80.0, 120.0),
        mm(60.0, 120.0, 120.0),
        mm(80.0, 120.0, 70.0),
        mm(100.0, 70.0, 24.0),
        mm(220.0, 24.0, 24.0),
    ]
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

#[test]
fn a_section_is_what_its_diameters_make_it() {
    assert_eq!(mm(100.0, 40.0, 60.0).shape(), Shape::Widening);
    assert_eq!(mm(100.0, 60.0, 40.0).shape(), Shape::Narrowing);
    assert_eq!(mm(100.0, 60.0, 60.0).shape(), Shape::Parallel);
    // What callipers cannot tell on a belly is no cone, either way.
    assert_eq!(mm(100.0, 120.05, 120.0).shape(), Shape::Parallel);
    assert_eq!(mm(100.0, 120.0, 120.05).shape(), Shape::Parallel);
    assert_eq!(mm(100.0, 120.2, 120.0).shape(), Shape::Narrowing);
}

#[test]
fn the_point_of_mean_reflection_lies_in_the_whole_last_run_of_narrowing_sections() {
    let pipe = Pipe::new(racing_sections(), 0.04).unwrap();
    assert_eq!(pipe.baffle().unwrap().len(), 2);
    assert!(close(pipe.length_m(), 0.96));
    // Duct 40, up to the baffle 560, half of 180.
    assert!(close(pipe.length_to_reflection_m(HALF_WAY).unwrap(), 0.69));
    assert!(close(pipe.length_to_reflection_m(0.0).unwrap(), 0.60));
    assert!(close(pipe.length_to_reflection_m(1.0).unwrap(), 0.78));

    // A waist before the belly is not the baffle.
    let mut waisted = racing_sections();
    waisted.insert(1, mm(30.0, 44.0, 40.0));
    let waisted = Pipe::new(waisted, 0.0).unwrap();
    assert_eq!(waisted.baffle().unwrap(), pipe.baffle().unwrap());
    assert!(close(waisted.length_to_reflection_m(HALF_WAY).unwrap(), 0.68));

    // A parallel piece between two cones ends the run.
    let mut parted = racing_sections();
    parted.insert(5, mm(10.0, 70.0, 70.0));
    let parted = Pipe::new(parted, 0.0).unwrap();
    assert_eq!(parted.baffle().unwrap().len(), 1);
    assert!(close(parted.length_to_reflection_m(HALF_WAY).unwrap(), 0.70));

    // A pipe that is all baffle has nothing before it.
    let only = Pipe::new(vec![mm(200.0, 60.0, 30.0)], 0.0).unwrap();
    assert!(close(only.length_to_reflection_m(HALF_WAY).unwrap(), 0.1));
}

#[test]
fn a_pipe_without_a_baffle_or_without_sections_is_refused() {
    let open = Pipe::new(vec![mm(260.0, 38.0, 44.0), mm(300.0, 44.0, 100.0)], 0.0).unwrap();
    assert!(matches!(open.baffle(), Err(EngineError::NotKnown { field: "baffle", .. })));
    assert!(matches!(
        open.length_to_reflection_m(HALF_WAY),
        Err(EngineError::NotKnown { field: "baffle", .. })
    ));
    assert!(matches!(Pipe::new(Vec::new(), 0.0), Err(EngineError::TooFew { found: 0, needed: 1, .. })));
}

#[test]
fn steps_at_the_joints_are_told_and_do_not_stop_anything() {
    let mut sections = racing_sections();
    assert_eq!(Pipe::new(sections.clone(), 0.0).unwrap().steps(0.0005).unwrap(), []);
    sections[1] = mm(150.0, 46.0, 79.0);
    let steps = Pipe::new(sections, 0.0).unwrap().steps(0.0005).unwrap();
    let [into, out_of] = steps.as_slice() else { panic!("{steps:?}") };
    assert!(
        matches!(into, DiameterStep { after_section: 1, difference_m } if (difference_m - 0.002).abs() < 1e-12)
    );
    assert!(
        matches!(out_of, DiameterStep { after_section: 2, difference_m } if (difference_m - 0.001).abs() < 1e-12)
    );

    let closing = Pipe::new(vec![mm(100.0, 40.0, 44.0), mm(100.0, 42.0, 30.0)], 0.0).unwrap();
    assert!(closing.steps(0.0019).unwrap().iter().all(|step| step.difference_m < 0.0));
    assert_eq!(closing.steps(0.0019).unwrap().len(), 1);
    assert_eq!(closing.steps(0.0021).unwrap().len(), 0);
}

#[test]
fn the_ratios_of_a_pipe_are_those_of_its_ends_and_belly() {
    let pipe = Pipe::new(racing_sections(), 0.0).unwrap();
    assert!(close(pipe.header_inlet_m(), 0.038));
    assert!(close(pipe.widest_m(), 0.120));
    assert!(close(stinger_ratio(0.024, pipe.header_inlet_m()).unwrap(), 24.0 / 38.0));
    let belly = diffuser_outlet_m(0.038, JENNINGS_DIFFUSER_AREA_RATIO).unwrap();
    assert!(close(belly, 2.5 * 0.038));
    assert!(close(JENNINGS_WAVE_SPEED_M_S, 1700.0 * FOOT_M));
}

#[test]
fn nonsense_is_refused_everywhere() {
    for wrong in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1e4, 1e30] {
        for refused in [
            Section::new(wrong, 0.04, 0.05).err(),
            Section::new(0.1, wrong, 0.05).err(),
            Section::new(0.1, 0.04, wrong).err(),
            Pipe::new(racing_sections(), wrong).err(),
            Pipe::new(racing_sections(), 0.0).unwrap().length_to_reflection_m(wrong).err(),
            Pipe::new(racing_sections(), 0.0).unwrap().steps(wrong).err(),
            cone_length_m(wrong, 0.1, 8.0).err(),
            cone_length_m(0.04, wrong, 8.0).err(),
            cone_length_m(0.04, 0.1, wrong).err(),
            diffuser_outlet_m(wrong, 6.25).err(),
            diffuser_outlet_m(0.04, wrong).err(),
            stinger_ratio(wrong, 0.04).err(),
            stinger_ratio(0.024, wrong).err(),
            wave_speed_m_s(wrong).err(),
            gas_temperature_k(wrong).err(),
            tuned_speed_rpm(wrong, 520.0, 0.7).err(),
            tuned_speed_rpm(195.0, wrong, 0.7).err(),
            tuned_speed_rpm(195.0, 520.0, wrong).err(),
            tuned_length_m(wrong, 520.0, 12_000.0).err(),
            tuned_length_m(195.0, wrong, 12_000.0).err(),
            tuned_length_m(195.0, 520.0, wrong).err(),
            length_to_add_m(wrong, 520.0, 0.7, 12_000.0).err(),
            length_to_add_m(195.0, wrong, 0.7, 12_000.0).err(),
            length_to_add_m(195.0, 520.0, wrong, 12_000.0).err(),
            length_to_add_m(195.0, 520.0, 0.7, wrong).err(),
            speed_per_kelvin(wrong, 700.0).err(),
            speed_per_kelvin(12_000.0, wrong).err(),
            speed_when_hotter_rpm(wrong, 700.0, 20.0).err(),
            speed_when_hotter_rpm(12_000.0, wrong, 20.0).err(),
            speed_when_hotter_rpm(12_000.0, 700.0, wrong).err(),
        ] {
            assert!(matches!(refused, Some(EngineError::OutOfRange { .. })), "{wrong}: {refused:?}");
        }
    }
    // Lengths in millimetres, and a change that leaves the range though each value lies in it.
    assert!(Section::new(260.0, 38.0, 44.0).is_err());
    assert!(tuned_speed_rpm(195.0, 520.0, 700.0).is_err());
    assert!(speed_when_hotter_rpm(12_000.0, 700.0, -500.0).is_err());
}

prop_compose! {
    fn any_section()(length in 0.001..2.0_f64, inlet in 0.005..0.25_f64, outlet in 0.005..0.25_f64) -> Section {
        Section::new(length, inlet, outlet).unwrap()
    }
}

proptest! {
    #[test]
    fn tuned_length_and_tuned_speed_undo_each_other(
        exhaust in 120.0..220.0_f64, wave in 400.0..650.0_f64, rpm in 5_000.0..18_000.0_f64,
    ) {
        let length = tuned_length_m(exhaust, wave, rpm).unwrap();
        prop_assert!(close(tuned_speed_rpm(exhaust, wave, length).unwrap(), rpm));
    }

    #[test]
    fn wave_speed_and_temperature_undo_each_other(temperature in 300.0..1400.0_f64) {
        let wave = wave_speed_m_s(temperature).unwrap();
        prop_assert!(close(gas_temperature_k(wave).unwrap(), temperature));
    }

    #[test]
    fn what_is_cut_gives_the_wanted_speed_and_a_higher_one_is_a_cut(
        exhaust in 150.0..210.0_f64, wave in 450.0..620.0_f64,
        length in 0.5..1.2_f64, share in 0.8..1.25_f64,
    ) {
        let now = tuned_speed_rpm(exhaust, wave, length).unwrap();
        let wanted = share * now;
        let add = length_to_add_m(exhaust, wave, length, wanted).unwrap();
        prop_assert!(close(tuned_speed_rpm(exhaust, wave, length + add).unwrap(), wanted));
        prop_assert!((wanted > now) == (add < 0.0) || add.abs() < 1e-12);
    }

    #[test]
    fn a_shorter_header_moves_the_reflection_by_what_was_cut(cut in 0.001..0.2_f64, share in 0.0..1.0_f64) {
        let long = Pipe::new(racing_sections(), 0.03).unwrap();
        let mut sections = racing_sections();
        sections[0] = Section::new(0.26 - cut, 0.038, 0.044).unwrap();
        let short = Pipe::new(sections, 0.03).unwrap();
        let moved = long.length_to_reflection_m(share).unwrap() - short.length_to_reflection_m(share).unwrap();
        prop_assert!((moved - cut).abs() < 1e-12);
    }

    #[test]
    fn hotter_gas_is_what_a_pipe_computed_hot_would_be(
        temperature in 500.0..1000.0_f64, hotter in -100.0..200.0_f64, length in 0.5..1.2_f64,
    ) {
        let speed = |kelvin| tuned_speed_rpm(195.0, wave_speed_m_s(kelvin).unwrap(), length).unwrap();
        let moved = speed_when_hotter_rpm(speed(temperature), temperature, hotter).unwrap();
        prop_assert!(close(moved, speed(temperature + hotter)));
        // The slope is the limit for a small change.
        let slope = speed_per_kelvin(speed(temperature), temperature).unwrap();
        let straight = slope * hotter;
        let bend = (moved - speed(temperature) - straight).abs();
        prop_assert!(bend <= speed(temperature) * (hotter / temperature).powi(2) / 6.0 + 1e-9);
    }

    #[test]
    fn a_section_cut_in_two_keeps_its_volume_its_angle_and_its_length(
        whole in any_section(), at in 0.1..0.9_f64,
    ) {
        prop_assume!(whole.length_m() > 0.02);
        let middle = whole.inlet_m() + at * (whole.outlet_m() - whole.inlet_m());
        let first = Section::new(at * whole.length_m(), whole.inlet_m(), middle).unwrap();
        let second = Section::new((1.0 - at) * whole.length_m(), middle, whole.outlet_m()).unwrap();
        let pipe = Pipe::new(vec![first, second], 0.0).unwrap();
        prop_assert!((pipe.volume_m3() / whole.volume_m3() - 1.0).abs() < 1e-11);
        prop_assert!((pipe.length_m() / whole.length_m() - 1.0).abs() < 1e-12);
        prop_assert!((first.included_angle_deg() - whole.included_angle_deg()).abs() < 1e-9);
        prop_assert!((second.included_angle_deg() - whole.included_angle_deg()).abs() < 1e-9);
        prop_assert_eq!(pipe.steps(1e-12).unwrap(), vec![]);
    }

    #[test]
    fn a_section_turned_round_has_the_other_angle_and_the_same_volume(whole in any_section()) {
        let turned = Section::new(whole.length_m(), whole.outlet_m(), whole.inlet_m()).unwrap();
        prop_assert!(close(turned.volume_m3(), whole.volume_m3()));
        prop_assert!(close(turned.included_angle_deg(), -whole.included_angle_deg()));
    }

    #[test]
    fn a_cone_made_to_an_angle_has_it(
        inlet in 0.02..0.05_f64, growth in 0.01..0.1_f64, angle in 4.0..40.0_f64,
    ) {
        let length = cone_length_m(inlet, inlet + growth, angle).unwrap();
        let cone = Section::new(length, inlet, inlet + growth).unwrap();
        prop_assert!((cone.included_angle_deg() - angle).abs() < 1e-9);
        prop_assert!(close(cone_length_m(inlet + growth, inlet, angle).unwrap(), length));
    }
}
