//! Spark: values from outside (`reference/spark.toml`), laws, and what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::crank::Crank;
use reedbook::engine::spark::{MapAngles, Timing, lag_deg, retard_corner, rim_angle_deg, steepest_step};

const SPARK: &str = include_str!("../reference/spark.toml");

#[test]
fn the_spark_meets_its_references() {
    assert_eq!(check_all(SPARK, value), 24);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    let crank = Crank::new(0.0545, 0.110, 0.0).unwrap();
    match kind {
        "lag" => lag_deg(1e-6 * inputs.take("lag_us"), inputs.take("rpm")).unwrap(),
        "firing absolute" => {
            let assumed_base_deg = inputs.take("assumed");
            firing(MapAngles::Absolute { assumed_base_deg }, inputs)
        }
        "firing relative" => firing(MapAngles::Relative, inputs),
        "rim angle" => {
            rim_angle_deg(1e-3 * inputs.take("length_mm"), 1e-3 * inputs.take("diameter_mm")).unwrap()
        }
        "degrees before top" => crank.before_top_deg(1e-3 * inputs.take("travel_mm")).unwrap(),
        "millimetres before top" => 1e3 * crank.travel_before_top_m(inputs.take("before_top_deg")),
        other => panic!("no calculation for {other}"),
    }
}

fn firing(angles: MapAngles, inputs: &mut Inputs) -> f64 {
    let timing = Timing::new(angles, inputs.take("base"), 1e-6 * inputs.take_or("lag_us", 0.0)).unwrap();
    timing.firing(inputs.take("map"), inputs.take("rpm")).unwrap().firing_deg
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

proptest! {
    #[test]
    fn an_absolute_map_on_its_own_base_fires_where_it_says_but_for_the_lag(
        map in -10.0..40.0_f64, base in 0.0..40.0_f64, lag in 0.0..50e-6_f64, rpm in 0.0..16_000.0_f64,
    ) {
        let timing = Timing::new(MapAngles::Absolute { assumed_base_deg: base }, base, lag).unwrap();
        let sum = timing.firing(map, rpm).unwrap();
        prop_assert!(near(sum.firing_deg, map - lag_deg(lag, rpm).unwrap()));
        prop_assert!(near(sum.base_deg, 0.0));
    }

    #[test]
    fn the_parts_make_the_sum(
        map in -10.0..40.0_f64,
        base in 0.0..30.0_f64,
        assumed in proptest::option::of(0.0..30.0_f64),
        lag in 0.0..50e-6_f64,
        rpm in 0.0..16_000.0_f64,
    ) {
        let angles =
            assumed.map_or(MapAngles::Relative, |assumed_base_deg| MapAngles::Absolute { assumed_base_deg });
        let timing = Timing::new(angles, base, lag).unwrap();
        let sum = timing.firing(map, rpm).unwrap();
        prop_assert!(near(sum.firing_deg, sum.map_deg + sum.base_deg - sum.lag_deg));
        prop_assert!(sum.lag_deg >= 0.0);
        // Turning the pickup turns the spark by as much, whatever the map's kind.
        let turned = Timing::new(angles, base + 1.5, lag).unwrap().firing(map, rpm).unwrap();
        prop_assert!(near(turned.firing_deg - sum.firing_deg, 1.5));
    }

    #[test]
    fn the_two_kinds_of_map_differ_by_the_base_that_is_assumed(
        map in -10.0..30.0_f64, base in 0.0..30.0_f64, assumed in 0.0..30.0_f64,
    ) {
        let of = |angles| Timing::new(angles, base, 0.0).unwrap().firing(map, 9000.0).unwrap().firing_deg;
        let absolute = of(MapAngles::Absolute { assumed_base_deg: assumed });
        prop_assert!(near(of(MapAngles::Relative) - absolute, assumed));
    }

    #[test]
    fn a_length_along_the_rim_is_its_share_of_a_turn(angle in -360.0..360.0_f64, diameter in 0.04..0.2_f64) {
        let length = std::f64::consts::PI * diameter * angle * 0.999_999 / 360.0;
        prop_assert!(near(rim_angle_deg(length, diameter).unwrap(), angle * 0.999_999));
    }

    #[test]
    fn the_dial_gauge_goes_there_and_back(
        advance in 1.0..60.0_f64, stroke in 0.035..0.08_f64, offset in -0.002..0.002_f64,
    ) {
        let crank = Crank::new(stroke, 2.0 * stroke, offset).unwrap();
        let found = crank.before_top_deg(crank.travel_before_top_m(advance)).unwrap();
        prop_assert!((found - advance).abs() < 1e-7, "{} for {}", found, advance);
    }

    #[test]
    fn no_point_is_above_the_retard_corner_and_every_later_one_is_below(
        advances in proptest::collection::vec(5_u32..30, 2..12),
    ) {
        let points: Vec<(f64, f64)> =
            (1_u32..).zip(&advances).map(|(k, &advance)| (1000.0 * f64::from(k), f64::from(advance))).collect();
        let greatest = points.iter().map(|point| point.1).fold(f64::MIN, f64::max);
        match retard_corner(&points).unwrap() {
            Some(corner) => {
                prop_assert!(near(corner.advance_deg, greatest));
                let later: Vec<f64> = points.iter().filter(|p| p.0 > corner.rpm).map(|p| p.1).collect();
                prop_assert!(!later.is_empty() && later.iter().all(|&advance| advance < greatest));
                prop_assert_eq!(corner.rises_again, !later.is_sorted_by(|a, b| a >= b));
            }
            None => prop_assert!(near(points.last().unwrap().1, greatest)),
        }
        let step = steepest_step(&points).unwrap();
        for pair in points.windows(2) {
            let slope = 1000.0 * (pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0);
            prop_assert!(slope.abs() <= step.deg_per_1000_rpm.abs() + 1e-12);
        }
    }
}

#[test]
fn the_retard_corner_of_curves_of_each_shape() {
    let corner = |points: &[(f64, f64)]| retard_corner(points).unwrap();
    let straight_down = corner(&[(4000.0, 28.0), (12_000.0, 12.0)]).unwrap();
    assert!(near(straight_down.rpm, 4000.0) && near(straight_down.advance_deg, 28.0));
    assert_eq!(corner(&[(4000.0, 20.0), (12_000.0, 20.0)]), None, "flat");
    assert_eq!(corner(&[(4000.0, 20.0), (8000.0, 18.0), (12_000.0, 20.0)]), None, "a dip");
    let dip_after = corner(&[(4000.0, 25.0), (8000.0, 18.0), (9000.0, 22.0), (12_000.0, 12.0)]).unwrap();
    assert!(near(dip_after.rpm, 4000.0) && dip_after.rises_again);
    let held_late = corner(&[(9000.0, 25.0), (11_000.0, 16.0), (13_000.0, 16.0)]).unwrap();
    assert!(near(held_late.rpm, 9000.0) && !held_late.rises_again);
}

#[test]
fn the_steepest_step_counts_per_rpm_not_per_point() {
    let points = [(2000.0, 10.0), (8000.0, 26.0), (9000.0, 26.0), (9500.0, 22.0), (12_000.0, 14.0)];
    let step = steepest_step(&points).unwrap();
    assert!(near(step.deg_per_1000_rpm, -8.0) && near(step.from_rpm, 9000.0) && near(step.to_rpm, 9500.0));
    let equal = steepest_step(&[(1000.0, 10.0), (2000.0, 12.0), (3000.0, 10.0)]).unwrap();
    assert!(near(equal.from_rpm, 1000.0) && equal.deg_per_1000_rpm > 0.0, "the first of equals");
    let flat = steepest_step(&[(1000.0, 10.0), (2000.0, 10.0)]).unwrap();
    assert!(
        near(flat.to_rpm, 2000.0) && near(flat.deg_per_1000_rpm, 0.0),
        "a flat curve has a step of nothing"
    );
}

#[test]
fn curves_that_are_none_are_refused_and_named() {
    for few in [&[][..], &[(4000.0, 20.0)]] {
        let TooFew { found, needed, .. } = too_few(retard_corner(few).unwrap_err());
        assert_eq!((found, needed), (few.len(), 2));
        assert!(steepest_step(few).is_err());
    }
    for speeds in [[9000.0, 9000.0], [9000.0, 8000.0]] {
        let points = speeds.map(|rpm| (rpm, 20.0));
        assert!(matches!(
            retard_corner(&points).unwrap_err(),
            EngineError::NotAscending { entry: 2, unit: "rpm", .. }
        ));
        assert!(steepest_step(&points).is_err());
    }
    for point in [(f64::NAN, 20.0), (9000.0, f64::NAN), (-1.0, 20.0), (9000.0, 200.0)] {
        assert!(retard_corner(&[point, (10_000.0, 18.0)]).is_err(), "{point:?}");
        assert!(steepest_step(&[(0.0, 18.0), point]).is_err(), "{point:?}");
    }
}

struct TooFew {
    found: usize,
    needed: usize,
}

fn too_few(error: EngineError) -> TooFew {
    match error {
        EngineError::TooFew { found, needed, .. } => TooFew { found, needed },
        other => panic!("{other}"),
    }
}

#[test]
fn nonsense_is_refused_everywhere() {
    let timing = Timing::new(MapAngles::Relative, 16.0, 10e-6).unwrap();
    for bad in [f64::NAN, -100.0, f64::INFINITY, f64::NEG_INFINITY, 1e30] {
        assert!(Timing::new(MapAngles::Relative, bad, 0.0).is_err());
        assert!(Timing::new(MapAngles::Absolute { assumed_base_deg: bad }, 16.0, 0.0).is_err());
        assert!(Timing::new(MapAngles::Relative, 16.0, bad).is_err());
        assert!(timing.firing(bad, 9000.0).is_err() && timing.firing(8.0, bad).is_err());
        assert!(lag_deg(bad, 9000.0).is_err() && lag_deg(1e-5, bad).is_err());
        assert!(rim_angle_deg(bad, 0.1).is_err() && rim_angle_deg(0.001, bad).is_err());
    }
    assert!(rim_angle_deg(0.315, 0.1).is_err(), "more than once around");
    let EngineError::OutOfRange { field, help, .. } =
        Timing::new(MapAngles::Relative, 50.0, 0.0).unwrap().firing(50.0, 9000.0).unwrap_err()
    else {
        panic!("a spark 100 degrees before the top passed as something else");
    };
    assert!(field == "firing angle" && help.contains("absolute or relative"));
}
