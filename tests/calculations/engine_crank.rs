//! The crank drive, and the angles at which edges pass, against values from outside, `reference/crank.toml`, and against the laws of its geometry.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::crank::Crank;
use reedbook::engine::ports::{edge_for_duration_m, edge_timing, rotary_timing};

const REFERENCES: &str = include_str!("../reference/crank.toml");

#[test]
fn the_crank_meets_its_references() {
    assert_eq!(check_all(REFERENCES, value), 134);
}

/// A crank from the millimetres of a row.
fn crank_of(inputs: &mut Inputs) -> Crank {
    let (stroke, rod) = (1e-3 * inputs.take("stroke"), 1e-3 * inputs.take("rod"));
    Crank::new(stroke, rod, 1e-3 * inputs.take_or("offset", 0.0)).unwrap()
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    let crank = crank_of(inputs);
    match kind {
        "throw mm" => 1e3 * crank.radius_m(),
        "bottom deg" => crank.bottom_deg(),
        "depth mm" => 1e3 * crank.depth_m(inputs.take("angle")),
        "before top deg" => crank.before_top_deg(1e-3 * inputs.take("travel")).unwrap(),
        "before top mm" => 1e3 * crank.travel_before_top_m(inputs.take("angle")),
        "down deg" => crank.angle_going_down_deg(1e-3 * inputs.take("depth")).unwrap(),
        "up deg" => crank.angle_going_up_deg(1e-3 * inputs.take("depth")).unwrap(),
        "duration deg" => edge_timing(1e-3 * inputs.take("depth"), &crank).unwrap().duration_deg(),
        "edge mm" => 1e3 * edge_for_duration_m(inputs.take("duration"), &crank).unwrap(),
        "edge above bottom mm" => {
            1e3 * (crank.stroke_m() - edge_for_duration_m(inputs.take("duration"), &crank).unwrap())
        }
        "speed m/s" => crank.piston_speed_m_s(inputs.take("angle"), inputs.take("rpm")).unwrap(),
        "mean speed m/s" => crank.mean_piston_speed_m_s(inputs.take("rpm")).unwrap(),
        "peak speed m/s" => crank.peak_piston_speed(inputs.take("rpm")).unwrap().0,
        "peak speed at deg" => crank.peak_piston_speed(inputs.take("rpm")).unwrap().1,
        other => panic!("no calculation for {other}"),
    }
}

/// Cranks of every engine one could meet, some with a long throw or offset for their rod.
fn any_crank() -> impl Strategy<Value = Crank> {
    (0.03..0.1_f64, 1.2..3.0_f64, -0.1..0.1_f64).prop_map(|(stroke, rod_per_stroke, offset_per_stroke)| {
        Crank::new(stroke, rod_per_stroke * stroke, offset_per_stroke * stroke).unwrap()
    })
}

fn close(found: f64, expected: f64, tolerance: f64) -> Result<(), TestCaseError> {
    prop_assert!((found - expected).abs() <= tolerance, "{found} is not {expected} +- {tolerance}");
    Ok(())
}

proptest! {
    #[test]
    fn an_angle_comes_back_from_its_depth(crank in any_crank(), share in 0.0005..0.9995_f64) {
        let down = share * crank.bottom_deg();
        close(crank.angle_going_down_deg(crank.depth_m(down)).unwrap(), down, 1e-9)?;
        let up = crank.bottom_deg() + share * (360.0 - crank.bottom_deg());
        close(crank.angle_going_up_deg(crank.depth_m(up)).unwrap(), up, 1e-9)?;
    }

    #[test]
    fn a_depth_comes_back_from_its_angles(crank in any_crank(), share in 0.0..=1.0_f64) {
        let depth = share * crank.stroke_m();
        close(crank.depth_m(crank.angle_going_down_deg(depth).unwrap()), depth, 1e-15)?;
        close(crank.depth_m(crank.angle_going_up_deg(depth).unwrap()), depth, 1e-15)?;
        close(crank.travel_before_top_m(crank.before_top_deg(depth).unwrap()), depth, 1e-15)?;
    }

    #[test]
    fn every_depth_found_at_an_angle_may_be_looked_up_again(crank in any_crank(), near in -1e-6..1e-6_f64) {
        for angle in [near, crank.bottom_deg() + near, crank.bottom_deg(), 180.0, 0.0, 360.0] {
            prop_assert!(crank.angle_going_down_deg(crank.depth_m(angle)).is_ok());
            prop_assert!(crank.angle_going_up_deg(crank.depth_m(angle)).is_ok());
        }
    }

    #[test]
    fn the_piston_goes_down_all_the_way_and_up_all_the_way(crank in any_crank(), first in 0.0..1.0_f64, more in 1e-4..0.5_f64) {
        let second = (first + more).min(1.0);
        let (down, rest) = (crank.bottom_deg(), 360.0 - crank.bottom_deg());
        // The last digits of a depth are rounding, which is all that is left of the differences at the dead centres.
        prop_assert!(crank.depth_m(second * down) >= crank.depth_m(first * down) - 1e-15);
        prop_assert!(crank.depth_m(down + second * rest) <= crank.depth_m(down + first * rest) + 1e-15);
        prop_assert!((0.0..=crank.stroke_m()).contains(&crank.depth_m(720.0 * first - 360.0)));
    }

    #[test]
    fn the_ends_of_the_travel_are_the_dead_centres(crank in any_crank()) {
        close(crank.depth_m(0.0), 0.0, 1e-15)?;
        close(crank.depth_m(360.0), 0.0, 1e-15)?;
        close(crank.depth_m(crank.bottom_deg()), crank.stroke_m(), 1e-15)?;
        close(crank.angle_going_down_deg(0.0).unwrap(), 0.0, 1e-12)?;
        close(crank.angle_going_up_deg(0.0).unwrap(), 360.0, 1e-12)?;
        close(crank.angle_going_down_deg(crank.stroke_m()).unwrap(), crank.bottom_deg(), 1e-12)?;
        close(crank.angle_going_up_deg(crank.stroke_m()).unwrap(), crank.bottom_deg(), 1e-12)?;
        close(crank.piston_speed_m_s(0.0, 12_000.0).unwrap(), 0.0, 1e-11)?;
        close(crank.piston_speed_m_s(crank.bottom_deg(), 12_000.0).unwrap(), 0.0, 1e-11)?;
    }

    #[test]
    fn an_offset_to_the_other_side_mirrors_the_motion(crank in any_crank(), offset in 0.0..0.004_f64, angle in 0.0..360.0_f64) {
        let (one, other) = (
            Crank::new(crank.stroke_m(), crank.rod_m(), offset).unwrap(),
            Crank::new(crank.stroke_m(), crank.rod_m(), -offset).unwrap(),
        );
        close(one.depth_m(angle), other.depth_m(360.0 - angle), 1e-15)?;
        close(one.bottom_deg(), 360.0 - other.bottom_deg(), 1e-11)?;
        let depth = one.depth_m(angle);
        prop_assume!((0.001 * one.stroke_m()..0.999 * one.stroke_m()).contains(&depth));
        close(one.angle_going_down_deg(depth).unwrap(), 360.0 - other.angle_going_up_deg(depth).unwrap(), 1e-9)?;
    }

    #[test]
    fn the_speed_is_the_slope_of_the_depth_and_its_peak_is_the_highest(crank in any_crank(), share in 0.001..0.999_f64, rpm in 100.0..15_000.0_f64) {
        let angle = share * 360.0;
        let step = 0.01;
        let time = 2.0 * step / (6.0 * rpm);
        let slope = (crank.depth_m(angle + step) - crank.depth_m(angle - step)) / time;
        let (peak, at) = crank.peak_piston_speed(rpm).unwrap();
        close(crank.piston_speed_m_s(angle, rpm).unwrap(), slope, 1e-7 * peak)?;
        let down = crank.piston_speed_m_s(share * crank.bottom_deg(), rpm).unwrap();
        prop_assert!(down <= peak * (1.0 + 1e-12), "{down} beyond {peak}");
        prop_assert!(at > 0.0 && at < crank.bottom_deg());
        prop_assert!(peak > crank.mean_piston_speed_m_s(rpm).unwrap());
    }

    #[test]
    fn a_higher_edge_opens_longer(crank in any_crank(), share in 0.001..0.97_f64, nearer in 0.001..0.999_f64) {
        let depth = share * crank.stroke_m();
        let (low, high) = (edge_timing(depth, &crank).unwrap(), edge_timing(depth * nearer, &crank).unwrap());
        prop_assert!(high.duration_deg() > low.duration_deg());
        prop_assert!(high.opens_deg < low.opens_deg && high.closes_deg > low.closes_deg);
    }

    #[test]
    fn an_edge_comes_back_from_its_duration(crank in any_crank(), duration in 1.0..359.0_f64) {
        let edge = edge_for_duration_m(duration, &crank).unwrap();
        close(edge_timing(edge, &crank).unwrap().duration_deg(), duration, 1e-9)?;
    }

    #[test]
    fn the_throw_makes_the_stroke(crank in any_crank(), offset in -0.004..0.004_f64) {
        let moved = Crank::new(crank.stroke_m(), crank.rod_m(), offset).unwrap();
        let reach = |length: f64| (length * length - offset * offset).sqrt();
        let stroke = reach(moved.rod_m() + moved.radius_m()) - reach(moved.rod_m() - moved.radius_m());
        close(stroke, moved.stroke_m(), 1e-15)?;
        prop_assert!(moved.radius_m() <= moved.stroke_m() / 2.0);
    }
}

#[test]
fn a_rotary_valve_counts_from_the_real_bottom() {
    let usual = Crank::new(0.0545, 0.110, 0.0).unwrap();
    let plain = rotary_timing(45.0, 80.0, &usual).unwrap();
    assert!((plain.opens_deg + 135.0).abs() < 1e-12 && (plain.closes_deg - 80.0).abs() < 1e-12);
    assert!((plain.duration_deg() - 215.0).abs() < 1e-12);
    let crank = Crank::new(0.0545, 0.110, 0.002).unwrap();
    let offset = rotary_timing(45.0, 80.0, &crank).unwrap();
    assert!((offset.opens_deg - (crank.bottom_deg() + 45.0 - 360.0)).abs() < 1e-12);
    assert!(rotary_timing(200.0, 80.0, &crank).is_err() && rotary_timing(45.0, -5.0, &crank).is_err());
    assert!(rotary_timing(f64::NAN, 80.0, &crank).is_err() && rotary_timing(45.0, f64::NAN, &crank).is_err());
}

#[test]
fn even_a_rod_that_barely_turns_gives_numbers() {
    for offset in [-0.012, 0.0, 0.012_f64] {
        let crank = Crank::new(0.05, (0.025 + offset.abs()) * (1.0 + 1e-9), offset).unwrap();
        for angle in 0..=720 {
            assert!(crank.depth_m(f64::from(angle) / 2.0).is_finite());
            assert!(crank.piston_speed_m_s(f64::from(angle) / 2.0, 12_000.0).unwrap().is_finite());
        }
        assert!(crank.peak_piston_speed(12_000.0).unwrap().0.is_finite());
    }
}

#[test]
fn what_no_crank_can_be_is_refused_by_name() {
    let range = |field| move |error: EngineError| matches!(error, EngineError::OutOfRange { field: named, .. } if named == field);
    for (stroke, rod, offset, field) in [
        (54.5, 0.11, 0.0, "stroke"),
        (f64::NAN, 0.11, 0.0, "stroke"),
        (0.0545, 110.0, 0.0, "rod"),
        (0.0545, f64::INFINITY, 0.0, "rod"),
        (0.0545, 0.11, 1.5, "pin offset"),
        (0.0545, 0.11, f64::NAN, "pin offset"),
    ] {
        assert!(Crank::new(stroke, rod, offset).is_err_and(range(field)), "{stroke} {rod} {offset}");
    }
    let short = |error| matches!(error, EngineError::Contradiction { other: "rod", .. });
    assert!(Crank::new(0.0545, 0.0272, 0.0).is_err_and(short));
    assert!(Crank::new(0.0545, 0.035, -0.008).is_err_and(short));

    let crank = Crank::new(0.0545, 0.11, 0.0).unwrap();
    for depth in [-1e-9, 0.0546, 25.5, f64::NAN] {
        assert!(crank.angle_going_down_deg(depth).is_err_and(range("depth below top dead centre")));
        assert!(crank.angle_going_up_deg(depth).is_err_and(range("depth below top dead centre")));
        assert!(crank.before_top_deg(depth).is_err_and(range("depth below top dead centre")));
    }
    for rpm in [-1.0, 30_001.0, f64::NAN] {
        assert!(crank.piston_speed_m_s(90.0, rpm).is_err_and(range("engine speed")));
        assert!(crank.mean_piston_speed_m_s(rpm).is_err_and(range("engine speed")));
        assert!(crank.peak_piston_speed(rpm).is_err_and(range("engine speed")));
    }
}
