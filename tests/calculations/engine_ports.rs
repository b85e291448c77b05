//! Windows, timing and angle-areas against values from outside, `reference/ports.toml`, and against the laws of their geometry.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use std::f64::consts::PI;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::crank::Crank;
use reedbook::engine::ports::window::{Window, WindowShape};
use reedbook::engine::ports::{
    EqualWindows, Ports, blowdown, edge_for_duration_m, intake_timing, specific_time_area_s_m, speed_for_rpm,
    timing,
};

const REFERENCES: &str = include_str!("../reference/ports.toml");
const BORE: f64 = 0.054;

#[test]
fn the_ports_meet_their_references() {
    assert_eq!(check_all(REFERENCES, value), 57);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    if let Some(measure) = kind.strip_prefix("rectangle: ") {
        return rectangle_value(measure, inputs);
    }
    match kind {
        // An area of 1 m2 over a volume of 1 m3, in parts that lie in the range: the time alone is left.
        "time of an angle in s" => {
            specific_time_area_s_m(1e-3 * inputs.take("angle"), 1e-3, inputs.take("rpm")).unwrap()
        }
        "window full mm2" => 1e6 * window_of(inputs, "").full_area_m2(),
        "window open mm2" => {
            let depth = 1e-3 * inputs.take("depth");
            1e6 * window_of(inputs, "").open_area_m2(depth)
        }
        "window opens mm" => 1e3 * window_of(inputs, "").opens_below_m(),
        "window open from below mm2" => {
            let depth = 1e-3 * inputs.take("depth");
            1e6 * window_of(inputs, "").open_area_from_below_m2(depth)
        }
        other => ports_value(other, inputs),
    }
}

fn ports_value(kind: &str, inputs: &mut Inputs) -> f64 {
    let crank = crank_of(inputs);
    let first = windows_of(inputs, 'w');
    if kind.starts_with("intake") {
        let ports = Ports::uncovered_by_skirt(&first, 1e-3 * inputs.take("skirt"), &crank).unwrap();
        return match kind {
            "intake angle-area mm2 deg" => 1e6 * ports.angle_area_m2_deg(),
            "intake opens deg" => ports.timing().opens_deg,
            "intake closes deg" => ports.timing().closes_deg,
            other => panic!("no calculation for {other}"),
        };
    }
    let ports = Ports::uncovered_by_crown(&first, &crank).unwrap();
    if kind == "angle-area mm2 deg" {
        return 1e6 * ports.angle_area_m2_deg();
    }
    let transfers = Ports::uncovered_by_crown(&windows_of(inputs, 't'), &crank).unwrap();
    let found = blowdown(&ports, &transfers).unwrap();
    match kind {
        "blowdown deg" => found.degrees,
        "blowdown mm2 deg" => 1e6 * found.angle_area_m2_deg,
        other => panic!("no calculation for {other}"),
    }
}

/// Plain windows down to the crown at bottom dead centre.
fn rectangle_value(measure: &str, inputs: &mut Inputs) -> f64 {
    let crank = crank_of(inputs);
    let bore = 1e-3 * inputs.take("bore");
    let width = 1e-3 * inputs.take("width");
    let plain = |duration: f64, count: f64| {
        let top_m = edge_for_duration_m(duration, &crank).unwrap();
        let shape = WindowShape { width_m: width, top_m, floor_m: crank.stroke_m(), ..square() };
        let window = Window::new(&shape, bore, &crank).unwrap();
        Ports::uncovered_by_crown(&[EqualWindows { window, count: whole(count) }], &crank).unwrap()
    };
    let ports = plain(inputs.take("duration"), inputs.take_or("count", 1.0));
    let angle_area = if measure.starts_with("blowdown") {
        let found = blowdown(&ports, &plain(inputs.take("transfers_duration"), 1.0)).unwrap();
        if measure == "blowdown in degrees" {
            return found.degrees;
        }
        found.angle_area_m2_deg
    } else {
        ports.angle_area_m2_deg()
    };
    let swept = PI / 4.0 * bore * bore * crank.stroke_m();
    let specific = specific_time_area_s_m(angle_area, swept, inputs.take("rpm")).unwrap();
    // 1 s/m is 0.01 s cm2/cm3; 1 m2 s is 10 000 cm2 s.
    if measure.ends_with("s cm2/cm3") { specific / 100.0 } else { specific * swept * 1e4 }
}

fn crank_of(inputs: &mut Inputs) -> Crank {
    let (stroke, rod) = (1e-3 * inputs.take("stroke"), 1e-3 * inputs.take("rod"));
    Crank::new(stroke, rod, 1e-3 * inputs.take_or("offset", 0.0)).unwrap()
}

/// A window from the millimetres of a row. All of them belong to a stroke of 54.5.
fn window_of(inputs: &mut Inputs, prefix: &str) -> Window {
    let mut length = |name: &str| 1e-3 * inputs.take_or(&format!("{prefix}{name}"), 0.0);
    let shape = WindowShape {
        top_m: length("top"),
        floor_m: length("floor"),
        width_m: length("width"),
        bridge_m: length("bridge"),
        top_radius_m: length("top_radius"),
        floor_radius_m: length("floor_radius"),
    };
    Window::below_skirt(&shape, BORE, &usual_crank()).unwrap()
}

/// The windows of a row whose names begin with a letter and count from 1.
fn windows_of(inputs: &mut Inputs, letter: char) -> Vec<EqualWindows> {
    let mut windows = Vec::new();
    loop {
        let prefix = format!("{letter}{}_", windows.len() + 1);
        let count = whole(inputs.take_or(&format!("{prefix}count"), 0.0));
        if count == 0 {
            return windows;
        }
        windows.push(EqualWindows { window: window_of(inputs, &prefix), count });
    }
}

fn whole(count: f64) -> u32 {
    (0..=24).find(|whole| (f64::from(*whole) - count).abs() < 1e-9).expect("a whole number")
}

fn usual_crank() -> Crank {
    Crank::new(0.0545, 0.110, 0.0).unwrap()
}

fn square() -> WindowShape {
    WindowShape {
        top_m: 0.026,
        floor_m: 0.05,
        width_m: 0.04,
        bridge_m: 0.0,
        top_radius_m: 0.0,
        floor_radius_m: 0.0,
    }
}

fn exhaust() -> WindowShape {
    WindowShape { floor_m: 0.056, top_radius_m: 0.009, floor_radius_m: 0.012, ..square() }
}

fn transfer() -> WindowShape {
    WindowShape { top_m: 0.041, floor_m: 0.0545, width_m: 0.024, top_radius_m: 0.003, ..square() }
}

fn alone(shape: &WindowShape, crank: &Crank) -> Ports {
    let window = Window::new(shape, BORE, crank).unwrap();
    Ports::uncovered_by_crown(&[EqualWindows { window, count: 1 }], crank).unwrap()
}

fn close(found: f64, expected: f64, tolerance: f64) -> Result<(), TestCaseError> {
    prop_assert!((found - expected).abs() <= tolerance, "{found} is not {expected} +- {tolerance}");
    Ok(())
}

fn any_crank() -> impl Strategy<Value = Crank> {
    (0.09..0.16_f64, -0.008..0.008_f64).prop_map(|(rod, offset)| Crank::new(0.0545, rod, offset).unwrap())
}

/// Windows of every shape that fits, corners up to half circles that meet over a bridge, floors below the crown's lowest.
fn any_shape() -> impl Strategy<Value = WindowShape> {
    let edges = (0.001..0.053_f64, 0.002..0.03_f64, 0.004..0.054_f64);
    (edges, 0.0..0.9_f64, 0.0..=1.0_f64, 0.0..=1.0_f64).prop_map(
        |((top_m, height, width_m), bridge, first, second)| {
            let half = width_m / 2.0;
            let top_radius_m = first * half.min(height);
            let floor_radius_m = second * half.min(height - top_radius_m);
            let bridge_m = bridge * width_m;
            WindowShape { top_m, floor_m: top_m + height, width_m, bridge_m, top_radius_m, floor_radius_m }
        },
    )
}

/// Any of them that the crown uncovers.
fn any_window() -> impl Strategy<Value = (Crank, Window)> {
    (any_crank(), any_shape()).prop_filter_map("never opens", |(crank, shape)| {
        Window::new(&shape, BORE, &crank).ok().map(|window| (crank, window))
    })
}

/// Open area below the upper edge and above a depth, by adding strips: slow, plain and nothing but the outline.
fn strips(shape: &WindowShape, depth: f64) -> f64 {
    const STRIPS: u32 = 20_000;
    let to = depth.clamp(shape.top_m, shape.floor_m);
    let strip = (to - shape.top_m) / f64::from(STRIPS);
    let lost = |radius: f64, away: f64| {
        let short = (radius - away).max(0.0);
        radius - (radius * radius - short * short).sqrt()
    };
    (0..STRIPS)
        .map(|number| {
            let from_top = (f64::from(number) + 0.5) * strip;
            let from_floor = shape.floor_m - shape.top_m - from_top;
            let corners = lost(shape.top_radius_m, from_top).max(lost(shape.floor_radius_m, from_floor));
            (shape.width_m - shape.bridge_m - 2.0 * corners).max(0.0) * strip
        })
        .sum()
}

proptest! {
    #[test]
    fn a_window_is_the_sum_of_its_strips(shape in any_shape(), share in 0.0..=1.0_f64) {
        let crank = usual_crank();
        let depth = shape.top_m + share * (shape.floor_m - shape.top_m);
        let window = Window::below_skirt(&shape, BORE, &crank).unwrap();
        // A strip at a corner is wrong by its height to the power of three halves.
        close(window.full_area_m2() - window.open_area_from_below_m2(depth), strips(&shape, depth), 1e-9)?;
    }

    #[test]
    fn square_corners_leave_a_rectangle(shape in any_shape(), crown in 0.0..0.0545_f64) {
        let plain = WindowShape { top_radius_m: 0.0, floor_radius_m: 0.0, ..shape };
        let window = Window::new(&plain, BORE, &usual_crank()).unwrap();
        let width = plain.width_m - plain.bridge_m;
        let height = (crown.min(plain.floor_m) - plain.top_m).max(0.0);
        close(window.open_area_m2(crown), width * height, 1e-17)?;
        close(window.full_area_m2(), width * (plain.floor_m - plain.top_m), 1e-17)?;
    }

    #[test]
    fn areas_grow_with_the_crown_and_shrink_with_the_skirt(
        (_, window) in any_window(), depth in 0.0..0.09_f64, more in 0.0..0.02_f64,
    ) {
        let (open, later) = (window.open_area_m2(depth), window.open_area_m2(depth + more));
        prop_assert!(open >= 0.0 && later >= open - 1e-18, "{open} {later}");
        prop_assert!(later <= window.full_area_m2() + 1e-18);
        let (left, less) = (window.open_area_from_below_m2(depth), window.open_area_from_below_m2(depth + more));
        prop_assert!(less >= 0.0 && left >= less - 1e-18, "{left} {less}");
        close(window.open_area_m2(0.0545 + depth), window.open_area_m2(0.0545), 1e-30)?;
        let growth = (window.width_m() + 1e-12) * more;
        prop_assert!(later - open <= growth + 1e-17, "more than the width lets in");
    }

    #[test]
    fn what_is_open_and_what_is_covered_make_the_window((_, window) in any_window(), crown in 0.0..=0.0545_f64) {
        let parts = window.open_area_m2(crown) + window.open_area_from_below_m2(crown);
        close(parts, window.full_area_m2(), 1e-17)?;
    }

    #[test]
    fn a_window_upside_down_opens_the_same_from_below(shape in any_shape(), share in 0.0..=1.0_f64) {
        let crank = usual_crank();
        let turned =
            WindowShape { top_radius_m: shape.floor_radius_m, floor_radius_m: shape.top_radius_m, ..shape };
        let (one, other) = (
            Window::below_skirt(&shape, BORE, &crank).unwrap(),
            Window::below_skirt(&turned, BORE, &crank).unwrap(),
        );
        let down = share * (shape.floor_m - shape.top_m);
        let covered = one.full_area_m2() - one.open_area_from_below_m2(shape.top_m + down);
        close(other.open_area_from_below_m2(shape.floor_m - down), covered, 1e-16)?;
        close(one.opens_below_m() - shape.top_m, shape.floor_m - other.opens_above_m(), 1e-15)?;
    }

    #[test]
    fn nothing_is_open_outside_the_timing_and_something_inside((crank, window) in any_window(), share in 0.001..0.999_f64) {
        let times = timing(&window, &crank).unwrap();
        let ports = Ports::uncovered_by_crown(&[EqualWindows { window, count: 2 }], &crank).unwrap();
        prop_assert_eq!(ports.timing(), times);
        prop_assert!(ports.area_m2(times.opens_deg + share * times.duration_deg()) > 0.0);
        prop_assert!(ports.area_m2(share * times.opens_deg) <= 0.0);
        prop_assert!(ports.area_m2(times.closes_deg + share * (360.0 - times.closes_deg)) <= 0.0);
    }

    #[test]
    fn an_offset_to_the_other_side_mirrors_the_timing((crank, window) in any_window()) {
        // So near the bottom an angle has lost half its digits.
        prop_assume!(window.opens_below_m() < 0.0544);
        let moved = |offset: f64| Crank::new(crank.stroke_m(), crank.rod_m(), offset).unwrap();
        let (one, other) = (moved(0.006), moved(-0.006));
        let (first, second) = (timing(&window, &one).unwrap(), timing(&window, &other).unwrap());
        close(first.opens_deg, 360.0 - second.closes_deg, 1e-8)?;
        close(first.closes_deg, 360.0 - second.opens_deg, 1e-8)?;
        let area = |crank| Ports::uncovered_by_crown(&[EqualWindows { window, count: 1 }], crank).unwrap().angle_area_m2_deg();
        close(area(&one) / area(&other), 1.0, 1e-9)?;
    }

    #[test]
    fn angle_areas_add_up_over_time_and_over_windows(
        (crank, window) in any_window(), shape in any_shape(), count in 1..4_u32, cut in 0.0..360.0_f64,
    ) {
        let Ok(second) = Window::new(&shape, BORE, &crank) else { return Ok(()) };
        let of = |windows: &[EqualWindows]| Ports::uncovered_by_crown(windows, &crank).unwrap();
        let (one, other) = (EqualWindows { window, count }, EqualWindows { window: second, count: 1 });
        let both = of(&[one, other]);
        let whole = both.angle_area_m2_deg();
        close(of(&[one]).angle_area_m2_deg() + of(&[other]).angle_area_m2_deg(), whole, 1e-10 * whole)?;
        let between = |from, to| both.angle_area_between_m2_deg(from, to).unwrap();
        close(between(0.0, cut) + between(cut, 360.0), whole, 1e-10 * whole)?;
        close(between(cut - 360.0, cut), whole, 1e-10 * whole)?;
        let single = f64::from(count) * of(&[EqualWindows { window, count: 1 }]).angle_area_m2_deg();
        close(of(&[one]).angle_area_m2_deg(), single, 1e-14)?;
    }

    #[test]
    fn angle_area_is_the_sum_of_many_narrow_strips((crank, window) in any_window(), count in 1..3_u32) {
        let ports = Ports::uncovered_by_crown(&[EqualWindows { window, count }], &crank).unwrap();
        let times = ports.timing();
        let step = times.duration_deg() / 20_000.0;
        let strips: f64 =
            (0..20_000).map(|number| step * ports.area_m2(times.opens_deg + (f64::from(number) + 0.5) * step)).sum();
        close(ports.angle_area_m2_deg(), strips, 1e-6 * strips + 1e-15)?;
    }

    #[test]
    fn twice_the_speed_halves_the_time(angle_area in 1e-4..0.5_f64, swept in 4e-5..5e-4_f64, rpm in 1000.0..15_000.0_f64) {
        let time_area = |rpm| specific_time_area_s_m(angle_area, swept, rpm).unwrap();
        close(time_area(2.0 * rpm), time_area(rpm) / 2.0, 1e-15 * time_area(rpm))?;
        prop_assume!(time_area(rpm) <= 1.0);
        close(speed_for_rpm(angle_area, swept, time_area(rpm)).unwrap(), rpm, 1e-11 * rpm)?;
    }

    #[test]
    fn an_intake_opens_while_its_skirt_is_above_the_floor(
        crank in any_crank(), high in any_shape(), travel in 0.001..0.05_f64, share in 0.001..0.999_f64,
    ) {
        let shape = WindowShape { top_m: high.top_m + 0.06, floor_m: high.floor_m + 0.06, ..high };
        let window = Window::below_skirt(&shape, BORE, &crank).unwrap();
        let skirt = window.opens_above_m() - travel;
        let ports = Ports::uncovered_by_skirt(&[EqualWindows { window, count: 1 }], skirt, &crank).unwrap();
        let times = ports.timing();
        prop_assert!(times.opens_deg < 0.0 && times.closes_deg > 0.0);
        prop_assert!(ports.area_m2(times.opens_deg + share * times.duration_deg()) > 0.0);
        prop_assert!(ports.area_m2(times.closes_deg + share * (360.0 - times.duration_deg())) <= 1e-18);
        close(crank.depth_m(times.opens_deg), travel, 1e-14)?;
        close(crank.depth_m(times.closes_deg), travel, 1e-14)?;
    }

    #[test]
    fn a_shut_valve_takes_area_and_time((crank, window) in any_window(), share in 0.0..1.0_f64) {
        let top = window.top_m() + share * (window.floor_m() - window.top_m());
        let Ok(shut) = window.with_top_m(top) else { return Ok(()) };
        prop_assert!(shut.top_radius_m() <= window.top_radius_m());
        prop_assert!(timing(&shut, &crank).unwrap().duration_deg() <= timing(&window, &crank).unwrap().duration_deg() + 1e-9);
        for depth in [0.3, 0.6, 0.9, 1.0].map(|part| part * crank.stroke_m()) {
            prop_assert!(shut.open_area_m2(depth) <= window.open_area_m2(depth) + 1e-17);
        }
    }
}

#[test]
fn a_curve_begins_and_ends_shut_with_round_angles_between() {
    let crank = Crank::new(0.0545, 0.110, 0.002).unwrap();
    let ports = alone(&exhaust(), &crank);
    let curve = ports.area_curve(2.5).unwrap();
    let times = ports.timing();
    let (first, last) = (curve.first().unwrap(), curve.last().unwrap());
    assert!((first.0 - times.opens_deg).abs() < 1e-12 && first.1.abs() < 1e-15);
    assert!((last.0 - times.closes_deg).abs() < 1e-12 && last.1.abs() < 1e-15);
    for point in &curve[1..curve.len() - 1] {
        assert!((point.0 / 2.5 - (point.0 / 2.5).round()).abs() < 1e-12, "{}", point.0);
        assert!((point.1 - ports.area_m2(point.0)).abs() < 1e-18);
    }
    assert!(curve.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[1].0 - pair[0].0 < 2.5 + 1e-9));

    let window = Window::below_skirt(&WindowShape { floor_m: 0.086, ..exhaust() }, BORE, &crank).unwrap();
    let intake = Ports::uncovered_by_skirt(&[EqualWindows { window, count: 1 }], 0.060, &crank).unwrap();
    let curve = intake.area_curve(1.0).unwrap();
    assert!(curve.first().unwrap().0 < -70.0 && curve.iter().any(|point| point.0.abs() < 1e-12));
}

#[test]
fn auxiliaries_that_open_first_begin_the_blowdown() {
    let crank = usual_crank();
    let main = Window::new(&exhaust(), BORE, &crank).unwrap();
    let early = Window::new(&WindowShape { top_m: 0.024, width_m: 0.01, ..square() }, BORE, &crank).unwrap();
    let both = [EqualWindows { window: main, count: 1 }, EqualWindows { window: early, count: 2 }];
    let together = Ports::uncovered_by_crown(&both, &crank).unwrap();
    let transfers = alone(&transfer(), &crank);
    let (single, earlier) =
        (blowdown(&alone(&exhaust(), &crank), &transfers).unwrap(), blowdown(&together, &transfers).unwrap());
    assert!((together.timing().opens_deg - timing(&early, &crank).unwrap().opens_deg).abs() < 1e-12);
    assert!(earlier.degrees > single.degrees + 3.0);
    assert!(earlier.angle_area_m2_deg > single.angle_area_m2_deg);
}

#[test]
fn transfers_that_open_first_leave_a_negative_blowdown_without_area() {
    let crank = usual_crank();
    let found = blowdown(&alone(&transfer(), &crank), &alone(&exhaust(), &crank)).unwrap();
    let right = blowdown(&alone(&exhaust(), &crank), &alone(&transfer(), &crank)).unwrap();
    assert!(found.degrees < 0.0 && (found.degrees + right.degrees).abs() < 1e-12);
    assert!(found.angle_area_m2_deg.abs() < 1e-30);
}

#[test]
fn a_valve_keeps_the_radius_while_it_fits() {
    let crank = usual_crank();
    let open = Window::new(&exhaust(), BORE, &crank).unwrap();
    let shut = open.with_top_m(0.030).unwrap();
    assert!((shut.top_m() - 0.030).abs() < 1e-15 && (shut.top_radius_m() - 0.009).abs() < 1e-15);
    // 56 less 37 less a floor radius of 12 leaves 7 for the corners.
    assert!((open.with_top_m(0.037).unwrap().top_radius_m() - 0.007).abs() < 1e-12);
    assert_eq!(open.with_top_m(open.top_m()).unwrap(), open);
    let field = |found: Result<Window, EngineError>| match found {
        Err(EngineError::Contradiction { field, .. } | EngineError::OutOfRange { field, .. }) => field,
        other => panic!("{other:?}"),
    };
    assert_eq!(field(open.with_top_m(0.025)), "depth of the open window's upper edge");
    assert_eq!(field(open.with_top_m(0.050)), "upper and lower corner radius of a window together");
    assert_eq!(field(open.with_top_m(0.060)), "depth of a window's upper edge");
    assert_eq!(field(open.with_top_m(30.0)), "depth of a window's edge");
    let low = Window::new(&WindowShape { floor_m: 0.06, ..square() }, BORE, &crank).unwrap();
    assert_eq!(field(low.with_top_m(0.055)), "depth at which a window opens");
}

#[test]
fn no_window_is_built_from_measures_that_do_not_fit() {
    let crank = usual_crank();
    let field = |shape: &WindowShape| match Window::new(shape, BORE, &crank) {
        Err(EngineError::Contradiction { field, .. } | EngineError::OutOfRange { field, .. }) => field,
        other => panic!("{other:?}"),
    };
    for (shape, named) in [
        (WindowShape { floor_m: 0.026, ..square() }, "depth of a window's upper edge"),
        (WindowShape { floor_m: 0.020, ..square() }, "depth of a window's upper edge"),
        (WindowShape { width_m: 0.0541, ..square() }, "width of a window"),
        (WindowShape { bridge_m: 0.040, ..square() }, "width of a bridge"),
        (WindowShape { top_radius_m: 0.021, ..square() }, "corner radius of a window"),
        (WindowShape { floor_radius_m: 0.021, ..square() }, "corner radius of a window"),
        (
            WindowShape { top_radius_m: 0.013, floor_radius_m: 0.012, ..square() },
            "upper and lower corner radius of a window together",
        ),
        (WindowShape { top_m: 0.0545, floor_m: 0.06, ..square() }, "depth at which a window opens"),
        (WindowShape { top_m: -0.001, ..square() }, "depth of a window's edge"),
        (WindowShape { floor_m: f64::NAN, ..square() }, "depth of a window's edge"),
        (WindowShape { width_m: 40.0, ..square() }, "width of a window"),
        (WindowShape { bridge_m: f64::NAN, ..square() }, "width of a bridge"),
        (WindowShape { top_radius_m: -0.001, ..square() }, "corner radius of a window"),
        (WindowShape { floor_radius_m: f64::NAN, ..square() }, "corner radius of a window"),
    ] {
        assert_eq!(field(&shape), named, "{shape:?}");
    }
    assert!(Window::new(&square(), f64::NAN, &crank).is_err());
    assert!(alone(&exhaust(), &crank).area_m2(f64::NAN).is_nan());
    // The same upper edge is right for an intake, and a bridge may hide the highest part of an oval.
    let deep = WindowShape { top_m: 0.0545, floor_m: 0.06, ..square() };
    assert!(Window::below_skirt(&deep, BORE, &crank).is_ok());
    let oval = WindowShape { top_m: 0.0535, floor_m: 0.0935, bridge_m: 0.03, top_radius_m: 0.02, ..square() };
    assert!(Window::new(&oval, BORE, &crank).is_err());
    assert!(Window::new(&WindowShape { bridge_m: 0.001, ..oval }, BORE, &crank).is_ok());
}

#[test]
fn a_skirt_that_never_opens_or_never_shuts_is_refused() {
    let crank = usual_crank();
    let named = |error, wanted| matches!(error, EngineError::Contradiction { field, .. } if field == wanted);
    assert!(intake_timing(0.06, 0.06, &crank).is_err_and(|error| named(error, "skirt length")));
    assert!(
        intake_timing(0.12, 0.06, &crank).is_err_and(|error| named(error, "depth of the intake's floor"))
    );
    assert!(intake_timing(0.08, 0.5, &crank).is_err() && intake_timing(0.08, f64::NAN, &crank).is_err());
    assert!(intake_timing(f64::NAN, 0.06, &crank).is_err());
}

#[test]
fn sums_and_steps_that_make_no_sense_are_refused() {
    let crank = usual_crank();
    assert!(matches!(Ports::uncovered_by_crown(&[], &crank), Err(EngineError::TooFew { .. })));
    let window = Window::new(&square(), BORE, &crank).unwrap();
    assert!(Ports::uncovered_by_crown(&[EqualWindows { window, count: 0 }], &crank).is_err());
    // Cut for this stroke, the window stays shut on a shorter one.
    let deep = Window::new(&WindowShape { top_m: 0.05, floor_m: 0.054, ..square() }, BORE, &crank).unwrap();
    let short = Crank::new(0.045, 0.1, 0.0).unwrap();
    assert!(timing(&deep, &short).is_err());
    assert!(Ports::uncovered_by_crown(&[EqualWindows { window: deep, count: 1 }], &short).is_err());

    let ports = alone(&square(), &crank);
    for step in [0.0, -1.0, 31.0, f64::NAN] {
        assert!(ports.area_curve(step).is_err());
    }
    assert!(ports.angle_area_between_m2_deg(200.0, 100.0).is_err());
    assert!(ports.angle_area_between_m2_deg(f64::NAN, 100.0).is_err());
    assert!(ports.angle_area_between_m2_deg(100.0, 721.0).is_err());
    for (angle_area, swept, rpm) in
        [(-0.1, 1e-4, 1e4), (0.1, 125.0, 1e4), (0.1, 1e-4, 0.0), (f64::NAN, 1e-4, 1e4)]
    {
        assert!(specific_time_area_s_m(angle_area, swept, rpm).is_err());
    }
    assert!(speed_for_rpm(0.1, 1e-4, 0.0).is_err() && speed_for_rpm(0.1, 1e-4, f64::NAN).is_err());
    assert!(edge_for_duration_m(0.0, &crank).is_err() && edge_for_duration_m(360.0, &crank).is_err());
}
