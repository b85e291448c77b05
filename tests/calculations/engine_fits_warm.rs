//! Fits when they get warm: a bearing's rings, where a fit is nought, sleeves, ceramic balls
//! (`reference/fits_warm.toml`), laws, and what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::fits::bearing::{
    FittedBearing, InternalClearance, Ring, gain_of_ceramic_balls_m, usual_ball_m,
};
use reedbook::engine::fits::bearing_size::{bore_limits, outside_limits};
use reedbook::engine::fits::warm::{by_heat_alone, nought_at_c};
use reedbook::engine::fits::zone::{HoleOrShaft, ToleranceZone};
use reedbook::engine::fits::{Interference, Material, Seat, Sleeve, drops_in_at_c, interference_at};

const FITS: &str = include_str!("../reference/fits_warm.toml");
const ALUMINIUM: f64 = Material::Aluminium.expansion_per_k();
const STEEL: f64 = Material::Steel.expansion_per_k();

#[test]
fn warm_fits_meet_their_references() {
    assert_eq!(check_all(FITS, value), 60);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    match kind {
        "mean bore" | "mean outside" => {
            let limits = if kind == "mean bore" { bore_limits } else { outside_limits };
            let limits = limits(mm(inputs, "nominal_mm")).unwrap();
            1e6 * if inputs.take("side") > 0.0 { limits.upper_deviation_m } else { limits.lower_deviation_m }
        }
        "drops in" => {
            let (hole, shaft) = (seat(inputs, "hole"), seat(inputs, "shaft"));
            drops_in_at_c(&hole, &shaft, inputs.take_or("shaft_c", 20.0), 1e-6 * inputs.take("slip_um"))
                .unwrap()
        }
        "nought" => nought_at_c(&seat(inputs, "hole"), &seat(inputs, "shaft")).mean_c.unwrap(),
        "nought in a sleeve" => {
            let (case, bearing, sleeve) = (seat(inputs, "case"), seat(inputs, "bearing"), sleeve(inputs));
            sleeve.nought_at_c(&case, &bearing).mean_c.unwrap()
        }
        "drops into a sleeve" => {
            let (case, bearing, sleeve) = (seat(inputs, "case"), seat(inputs, "bearing"), sleeve(inputs));
            let (bearing_c, slip) = (inputs.take("bearing_c"), 1e-6 * inputs.take("slip_um"));
            sleeve.drops_in_at_c(&case, &bearing, bearing_c, slip).unwrap()
        }
        "ceramic gain" => {
            1e6 * gain_of_ceramic_balls_m(mm(inputs, "ball_mm"), inputs.take("inner_c")).unwrap()
        }
        "warm clearance" => warm_um(inputs),
        "usual ball" => 1e3 * usual_ball_m(mm(inputs, "bore_mm"), mm(inputs, "outside_mm")).unwrap(),
        other => panic!("{other} is not computed here"),
    }
}

fn mm(inputs: &mut Inputs, name: &str) -> f64 {
    1e-3 * inputs.take(name)
}

fn seat(inputs: &mut Inputs, part: &str) -> Seat {
    let diameter = mm(inputs, &format!("{part}_mm"));
    Seat::measured(diameter, 1e-6 * inputs.take(&format!("{part}_expansion"))).unwrap()
}

fn sleeve(inputs: &mut Inputs) -> Sleeve {
    let (outside, bore) = (mm(inputs, "outside_mm"), mm(inputs, "bore_mm"));
    let (expansion, share) = (1e-6 * inputs.take("sleeve_expansion"), inputs.take("passed_on"));
    let sleeve = Sleeve::new((outside, outside), (bore, bore), expansion, share).unwrap();
    if inputs.take("in_place") > 0.0 { sleeve.bored_in_place() } else { sleeve }
}

/// A bearing that sits loose on both sides, so that only heat is at work.
fn warm_um(inputs: &mut Inputs) -> f64 {
    let initial = InternalClearance::measured(1e-6 * inputs.take("initial_um")).unwrap();
    let loose = Ring { interference: Interference { least_m: 0.0, mean_m: 0.0, most_m: 0.0 }, share: 0.8 };
    let (inner_c, outer_c) = (inputs.take("inner_c"), inputs.take("outer_c"));
    let (bore_m, outside_m) = (mm(inputs, "bore_mm"), mm(inputs, "outside_mm"));
    let inner_warmer_k = inner_c - outer_c;
    let fitted = FittedBearing { bore_m, outside_m, on_shaft: loose, in_case: loose, inner_warmer_k };
    let left = initial.left_when_fitted(&fitted).unwrap();
    let gain = gain_of_ceramic_balls_m(mm(inputs, "ball_mm"), inner_c).unwrap() * inputs.take("ceramic");
    1e6 * left.with_gain(gain).unwrap().mean_m
}

fn span(least_mm: f64, most_mm: f64, expansion: f64) -> Seat {
    Seat::between(1e-3 * least_mm, 1e-3 * most_mm, expansion).unwrap()
}

proptest! {
    /// At the temperature where a fit is nought, each pair has no interference.
    #[test]
    fn a_fit_is_nought_where_it_says(
        hole in 61.9..62.0_f64, wide in 0.0..0.03_f64, shaft in 61.99..62.0_f64, narrow in 0.0..0.013_f64,
    ) {
        let (hole, shaft) = (span(hole, hole + wide, ALUMINIUM), span(shaft - narrow, shaft, STEEL));
        let nought = nought_at_c(&hole, &shaft);
        let at = |celsius: Option<f64>| interference_at(&hole, celsius.unwrap(), &shaft, celsius.unwrap()).unwrap();
        prop_assert!(at(nought.least_c).least_m.abs() < 1e-11);
        prop_assert!(at(nought.mean_c).mean_m.abs() < 1e-11);
        prop_assert!(at(nought.most_c).most_m.abs() < 1e-11);
        prop_assert!(nought.least_c <= nought.mean_c && nought.mean_c <= nought.most_c);
    }

    /// The same of a bearing in a sleeve, free on the bench or bored in place.
    #[test]
    fn a_fit_in_a_sleeve_is_nought_where_it_says(
        press in 0.0..0.09_f64, wide in 0.0..0.03_f64, bore in 61.96..62.03_f64, in_place in any::<bool>(),
        aluminium in any::<bool>(), share in 0.0..1.0_f64,
    ) {
        let case = span(68.0 - press, 68.0 - press + wide, Material::Magnesium.expansion_per_k());
        let bearing = span(61.987, 62.0, STEEL);
        let expansion = if aluminium { ALUMINIUM } else { STEEL };
        let sleeve = Sleeve::new((0.067_99, 0.068_01), (1e-3 * bore, 1e-3 * (bore + 0.02)), expansion, share).unwrap();
        let sleeve = if in_place { sleeve.bored_in_place() } else { sleeve };
        let at = |c: f64| sleeve.fit_at(&case, c, &bearing, c).unwrap().on_bearing;
        let nought = sleeve.nought_at_c(&case, &bearing);
        for (celsius, found) in [
            (nought.least_c, nought.least_c.map(|c| at(c).least_m)),
            (nought.mean_c, nought.mean_c.map(|c| at(c).mean_m)),
            (nought.most_c, nought.most_c.map(|c| at(c).most_m)),
        ] {
            // Below 20 C the pair of a bore cut in place is another one; above it pairs that are pressed open
            // alike but for their own size: 50 um of difference by 25e-6/K.
            if celsius.is_some_and(|c| c >= 20.0) {
                let above_k = celsius.unwrap() - 20.0;
                prop_assert!(found.unwrap().abs() < 2e-9 * above_k + 1e-10, "{celsius:?} {found:?}");
            }
        }
        // What is tight cold and loose at 300 C is nought between.
        if at(20.0).mean_m > 0.0 && at(300.0).mean_m < 0.0 {
            prop_assert!(nought.mean_c.is_some_and(|c| (20.0..300.0).contains(&c)));
        }
        let cold = at(20.0);
        prop_assert!(cold.least_m <= cold.mean_m && cold.mean_m <= cold.most_m);
    }

    /// Heated as told, every pair drops in with the room asked for, and the tightest with just that.
    #[test]
    fn a_bearing_drops_into_a_sleeve_as_told(
        press in 0.0..0.06_f64, bore in 61.97..62.01_f64, in_place in any::<bool>(), slip in 0.0..0.05_f64,
    ) {
        let case = span(68.0 - press, 68.02 - press, ALUMINIUM);
        let bearing = span(61.987, 62.0, STEEL);
        let sleeve = Sleeve::new((0.067_99, 0.068), (1e-3 * bore, 1e-3 * (bore + 0.02)), STEEL, 0.8).unwrap();
        let sleeve = if in_place { sleeve.bored_in_place() } else { sleeve };
        let to = sleeve.drops_in_at_c(&case, &bearing, -18.0, 1e-3 * slip).unwrap();
        let room = -sleeve.fit_at(&case, to, &bearing, -18.0).unwrap().on_bearing.most_m;
        // Below 20 C, where no heat is needed, another pair of a bore cut in place is the tightest.
        prop_assert!(to < 20.0 || (room - 1e-3 * slip).abs() < 2e-9 * (to - 20.0) + 1e-10, "{room} {slip}");
    }

    /// A sleeve with the same bore in place is the free one that was so much wider.
    #[test]
    fn a_bore_cut_in_place_is_a_wider_one_on_the_bench(press in 0.0..0.08_f64, at in -20.0..150.0_f64, share in 0.0..1.0_f64) {
        let case = span(68.0 - press, 68.0 - press, ALUMINIUM);
        let bearing = span(62.0, 62.0, STEEL);
        let outside = (0.068, 0.068);
        let in_place = Sleeve::new(outside, (0.062, 0.062), STEEL, share).unwrap().bored_in_place();
        prop_assert!(in_place.fit_at(&case, 20.0, &bearing, 20.0).unwrap().on_bearing.mean_m.abs() < 1e-12);
        let wider = 0.062 + 1e-3 * share * press;
        let free = Sleeve::new(outside, (wider, wider), STEEL, share).unwrap();
        let fit = |sleeve: &Sleeve| sleeve.fit_at(&case, at, &bearing, at).unwrap().on_bearing.mean_m;
        // The extra width grows too, far below what a gauge shows.
        prop_assert!((fit(&in_place) - fit(&free)).abs() < 2e-7);
    }

    #[test]
    fn ceramic_balls_leave_more_the_larger_and_the_warmer(ball in 0.004..0.02_f64, at in 20.0..200.0_f64) {
        let gain = |ball: f64, at: f64| gain_of_ceramic_balls_m(ball, at).unwrap();
        prop_assert!(gain(ball, at + 1.0) > gain(ball, at) && gain(ball * 1.1, at + 1.0) > gain(ball, at + 1.0));
        prop_assert!(gain(ball, at) >= 0.0 && (gain(ball, at) + gain(ball, 40.0 - at)).abs() < 1e-15);
    }

    #[test]
    fn a_ring_is_never_above_its_size(nominal in 0.002_51..0.12_f64) {
        for limits in [bore_limits(nominal).unwrap(), outside_limits(nominal).unwrap()] {
            prop_assert!(limits.upper_deviation_m.abs() < 1e-15 && (limits.most_m - nominal).abs() < 1e-15);
            prop_assert!((8e-6 - 1e-12..=20e-6 + 1e-12).contains(&(limits.most_m - limits.least_m)));
        }
        let wider = bore_limits(nominal + 0.02).map_or(f64::INFINITY, |limits| -limits.lower_deviation_m);
        prop_assert!(wider >= -bore_limits(nominal).unwrap().lower_deviation_m);
    }
}

#[test]
fn parts_that_grow_alike_are_never_nought() {
    let (hole, shaft) = (span(25.0, 25.0, STEEL), span(25.01, 25.01, STEEL));
    let nought = nought_at_c(&hole, &shaft);
    assert_eq!((nought.least_c, nought.mean_c, nought.most_c), (None, None, None));
    let same = nought_at_c(&hole, &hole);
    assert_eq!((same.least_c, same.mean_c), (None, None));
    // Iron grows less than a bearing: heat makes it tighter, and the fit is nought only in the cold.
    let iron = span(61.998, 61.998, Material::CastIron.expansion_per_k());
    let nought = nought_at_c(&iron, &span(62.0, 62.0, STEEL));
    assert!(nought.mean_c.is_some_and(|c| c < 20.0), "{nought:?}");
}

#[test]
fn what_heat_alone_cannot_do_has_no_temperature() {
    let (hole, shaft) = (span(25.0, 25.0, STEEL), span(25.2, 25.2, STEEL));
    assert_eq!(by_heat_alone(drops_in_at_c(&hole, &shaft, 20.0, 0.0)).unwrap(), None);
    let freezing = by_heat_alone(drops_in_at_c(&hole, &span(25.01, 25.01, STEEL), -18.0, 0.0)).unwrap();
    assert!(freezing.is_some_and(|c| (15.0..20.0).contains(&c)), "{freezing:?}");
    // Any other refusal stays one.
    assert!(by_heat_alone(drops_in_at_c(&hole, &shaft, 20.0, -1.0)).is_err());
    assert!(by_heat_alone(drops_in_at_c(&hole, &shaft, f64::NAN, 0.0)).is_err());
    let sleeve = Sleeve::new((0.068, 0.068), (0.0615, 0.0615), STEEL, 0.8).unwrap();
    let case = span(67.9, 67.9, ALUMINIUM);
    let far = sleeve.drops_in_at_c(&case, &span(62.0, 62.0, STEEL), 20.0, 0.0);
    assert_eq!(by_heat_alone(far).unwrap(), None);
}

#[test]
fn sizes_and_sides_outside_the_tables_are_refused() {
    for bad in [0.0025, 0.002, 0.0, -0.025, 0.150_01, 25.0, f64::NAN, f64::INFINITY] {
        assert!(bore_limits(bad).is_err() && outside_limits(bad).is_err(), "{bad}");
    }
    assert!(bore_limits(0.12).is_ok() && bore_limits(0.120_01).is_err() && outside_limits(0.15).is_ok());
    let said = bore_limits(0.2).unwrap_err().to_string();
    assert!(said.starts_with("The bore of the bearing is 200 mm; allowed is 2.5 mm to 120 mm."), "{said}");
    for bad in [f64::NAN, 0.0, -0.01, 1.0] {
        assert!(
            gain_of_ceramic_balls_m(bad, 90.0).is_err() && gain_of_ceramic_balls_m(0.01, 1e3 + bad).is_err()
        );
        assert!(InternalClearance::measured(1e-5).unwrap().with_gain(bad + 0.001).is_err());
    }
    let EngineError::Contradiction { field, .. } = usual_ball_m(0.052, 0.025).unwrap_err() else {
        panic!("a bore above its outside passed");
    };
    assert_eq!(field, "bore of the bearing");
    let k5 = ToleranceZone::parse("k5").unwrap();
    assert!(k5.on(HoleOrShaft::Shaft).is_ok() && k5.on(HoleOrShaft::Hole).is_err());
}
