//! The intake against values from outside (`reference/intake.toml`), the laws it keeps, and what it refuses.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::intake::{
    TractEnd, TractPiece, bore_area_m2, case_at_half_stroke_m3, end_correction_m, helmholtz_frequency_hz,
    reed_area_m2, reed_intake_speed_rpm, timed_intake_speed_rpm,
};

const REFERENCE: &str = include_str!("../reference/intake.toml");

#[test]
fn the_intake_meets_its_references() {
    assert_eq!(check_all(REFERENCE, value), 11);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    let radii = |inputs: &mut Inputs, end| {
        let bore = 1e-3 * inputs.take("bore_mm");
        end_correction_m(bore, end).unwrap() / (bore / 2.0)
    };
    match kind {
        "free end radii" => radii(inputs, TractEnd::Free),
        "flush end radii" => radii(inputs, TractEnd::Flush),
        "frequency" => frequency(inputs),
        "one swing a revolution" => reed_intake_speed_rpm(frequency(inputs)).unwrap(),
        "half a swing while open" => {
            timed_intake_speed_rpm(inputs.take("open_deg"), frequency(inputs)).unwrap()
        }
        other => panic!("no calculation for {other}"),
    }
}

fn frequency(inputs: &mut Inputs) -> f64 {
    let mut tract = vec![piece(inputs.take("length_mm"), inputs.take("bore_mm"))];
    for (length, bore) in [("length_2_mm", "bore_2_mm"), ("length_3_mm", "bore_3_mm")] {
        let length = inputs.take_or(length, 0.0);
        if length > 0.0 {
            tract.push(piece(length, inputs.take(bore)));
        }
    }
    helmholtz_frequency_hz(&tract, 1e-6 * inputs.take("case_cm3"), inputs.take("kelvin")).unwrap()
}

fn piece(length_mm: f64, bore_mm: f64) -> TractPiece {
    TractPiece { length_m: 1e-3 * length_mm, area_m2: bore_area_m2(1e-3 * bore_mm).unwrap() }
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

#[test]
fn the_case_counts_with_the_piston_at_half_stroke() {
    assert!(close(case_at_half_stroke_m3(4e-4, 1.25e-4).unwrap(), 4.625e-4));
}

#[test]
fn the_area_past_the_petals_is_tips_and_sides() {
    // Six petals 20 by 40 mm that lift 9 mm: 6 (180 + 360) mm2.
    assert!(close(reed_area_m2(6, 0.02, 0.04, 0.009).unwrap(), 3.24e-3));
    // The sides counted as the triangles that they are, two a petal.
    let triangle = 0.5 * 0.04 * 0.009;
    let tip = 0.02 * 0.009;
    assert!(close(reed_area_m2(1, 0.02, 0.04, 0.009).unwrap(), tip + 2.0 * triangle));
}

#[test]
fn a_tip_that_lifts_by_more_than_the_petal_is_long_is_a_contradiction() {
    assert!(reed_area_m2(4, 0.02, 0.03, 0.03).is_ok());
    assert!(matches!(
        reed_area_m2(4, 0.02, 0.03, 0.031),
        Err(EngineError::Contradiction { field: "height of the reed stop", .. })
    ));
}

#[test]
fn nonsense_is_refused_everywhere() {
    let good = TractPiece { length_m: 0.18, area_m2: 1e-3 };
    let note = |length_m, area_m2, case, kelvin| {
        // The wrong piece stands second, so that none but the first being looked at would show.
        helmholtz_frequency_hz(&[good, TractPiece { length_m, area_m2 }], case, kelvin).err()
    };
    for wrong in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1e4, 1e30] {
        for refused in [
            bore_area_m2(wrong).err(),
            end_correction_m(wrong, TractEnd::Free).err(),
            case_at_half_stroke_m3(wrong, 1.25e-4).err(),
            case_at_half_stroke_m3(4e-4, wrong).err(),
            note(wrong, 1e-3, 4.6e-4, 293.0),
            note(0.1, wrong, 4.6e-4, 293.0),
            note(0.1, 1e-3, wrong, 293.0),
            note(0.1, 1e-3, 4.6e-4, wrong),
            reed_intake_speed_rpm(wrong).err(),
            timed_intake_speed_rpm(wrong, 190.0).err(),
            timed_intake_speed_rpm(160.0, wrong).err(),
            reed_area_m2(6, wrong, 0.04, 0.009).err(),
            reed_area_m2(6, 0.02, wrong, 0.009).err(),
            reed_area_m2(6, 0.02, 0.04, wrong).err(),
        ] {
            assert!(matches!(refused, Some(EngineError::OutOfRange { .. })), "{wrong}: {refused:?}");
        }
    }
    assert!(reed_area_m2(0, 0.02, 0.04, 0.009).is_err());
    assert!(matches!(helmholtz_frequency_hz(&[], 4.6e-4, 293.0), Err(EngineError::TooFew { .. })));
    // Degrees Celsius where kelvin are asked.
    assert!(helmholtz_frequency_hz(&[good], 4.6e-4, 20.0).is_err());
}

proptest! {
    #[test]
    fn a_tract_told_in_two_pieces_of_one_bore_swings_as_one(
        length in 0.08..0.4_f64, at in 0.05..0.95_f64, area in 3e-4..2e-3_f64, case in 1e-4..1e-3_f64,
    ) {
        let piece = |share: f64| TractPiece { length_m: share * length, area_m2: area };
        let one = helmholtz_frequency_hz(&[piece(1.0)], case, 293.15).unwrap();
        let two = helmholtz_frequency_hz(&[piece(at), piece(1.0 - at)], case, 293.15).unwrap();
        prop_assert!(close(one, two));
    }

    #[test]
    fn four_times_the_length_or_the_case_halves_the_note_and_four_times_the_area_doubles_it(
        length in 0.05..0.25_f64, area in 2e-4..1e-3_f64, case in 5e-5..7e-4_f64, kelvin in 250.0..350.0_f64,
    ) {
        let note = |length_m, area_m2, case| {
            helmholtz_frequency_hz(&[TractPiece { length_m, area_m2 }], case, kelvin).unwrap()
        };
        let now = note(length, area, case);
        prop_assert!(close(note(4.0 * length, area, case), now / 2.0));
        prop_assert!(close(note(length, area, 4.0 * case), now / 2.0));
        prop_assert!(close(note(length, 4.0 * area, case), now * 2.0));
    }

    #[test]
    fn the_note_goes_as_the_root_of_the_temperature(first in 230.0..390.0_f64, second in 230.0..390.0_f64) {
        let note = |kelvin| {
            helmholtz_frequency_hz(&[TractPiece { length_m: 0.2, area_m2: 1e-3 }], 4e-4, kelvin).unwrap()
        };
        prop_assert!(close(note(first) / note(second), (first / second).sqrt()));
    }

    #[test]
    fn open_for_half_a_revolution_a_timed_intake_is_a_reed_intake(frequency in 20.0..400.0_f64) {
        let reed = reed_intake_speed_rpm(frequency).unwrap();
        prop_assert!(close(timed_intake_speed_rpm(180.0, frequency).unwrap(), reed));
    }

    #[test]
    fn at_its_speed_a_timed_intake_is_open_for_half_a_swing(
        open in 100.0..220.0_f64, frequency in 20.0..400.0_f64,
    ) {
        let rpm = timed_intake_speed_rpm(open, frequency).unwrap();
        let open_for_s = open / 360.0 / (rpm / 60.0);
        prop_assert!(close(open_for_s, 0.5 / frequency));
    }

    #[test]
    fn the_air_outside_an_end_makes_the_note_lower(bore in 0.02..0.05_f64, length in 0.08..0.4_f64) {
        let area_m2 = bore_area_m2(bore).unwrap();
        let note = |length_m| helmholtz_frequency_hz(&[TractPiece { length_m, area_m2 }], 4e-4, 293.15).unwrap();
        let free = end_correction_m(bore, TractEnd::Free).unwrap();
        let flush = end_correction_m(bore, TractEnd::Flush).unwrap();
        prop_assert!(note(length + flush) < note(length + free));
        prop_assert!(note(length + free) < note(length));
    }
}
