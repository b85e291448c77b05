//! Whole fits: which part meets which, what is assumed, what is refused, and seats measured on the bench.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use proptest::prelude::*;
use reedbook::advice::fit::seat::{MeasuredSeats, bench_seats};
use reedbook::advice::fit::{
    CASE_RUNS_C, Diameter, FitAsked, FitFigures, Initial, SHAFT_WARMER_K, SleeveAsked, fit_figures,
    running_c, usual_case_share,
};
use reedbook::engine::fits::bearing::ClearanceGroup;
use reedbook::engine::fits::zone::ToleranceZone;
use reedbook::engine::fits::{FitClass, Material};
use reedbook::report::building::fit::part_name;

fn zone(text: &str, size_m: f64) -> Diameter {
    Diameter::Zone(ToleranceZone::parse(text).unwrap(), size_m)
}

/// A bearing of 25 x 62 mm, C3, in N7 of aluminium, on k5.
fn asked() -> FitAsked {
    FitAsked {
        bore_m: 0.025,
        outside_m: 0.062,
        measured_bore_m: None,
        measured_outside_m: None,
        case: Some(zone("N7", 0.062)),
        case_material: Material::Aluminium,
        shaft: Some(zone("k5", 0.025)),
        sleeve: None,
        clearance: Some(Initial::Group(ClearanceGroup::C3)),
        ceramic_balls: false,
        ball_m: None,
        case_c: 90.0,
        shaft_c: 100.0,
        bearing_cooled_c: 20.0,
        shaft_cooled_c: 20.0,
        slip_m: 0.03e-3,
        shaft_slip_m: 0.01e-3,
        shaft_share: 0.8,
        case_share: 0.6,
    }
}

fn figures(change: impl FnOnce(&mut FitAsked)) -> FitFigures {
    let mut asked = asked();
    change(&mut asked);
    fit_figures(&asked).unwrap()
}

fn refused(change: impl FnOnce(&mut FitAsked)) -> (&'static str, String) {
    let mut asked = asked();
    change(&mut asked);
    let error = fit_figures(&asked).unwrap_err();
    (part_name(error.part), error.error.to_string())
}

fn um(found: f64, expected: f64) {
    assert!((found * 1e6 - expected).abs() < 0.1, "{} um, not {expected}", found * 1e6);
}

/// By hand from the tables: N7 at 62 is -39 to -9, the outside 0 to -13; k5 +2 to +11, the bore 0 to -10; C3 13 to 28.
#[test]
fn limits_meet_as_on_paper() {
    let found = figures(|_| ());
    let (case, shaft, left) = (found.case.unwrap(), found.shaft.unwrap(), found.clearance.unwrap());
    um(case.cold.least_m, -4.0);
    um(case.cold.most_m, 39.0);
    um(shaft.cold.least_m, 2.0);
    um(shaft.cold.most_m, 21.0);
    assert_eq!((case.cold.kind(), shaft.cold.kind()), (FitClass::Transition, FitClass::Interference));
    // 70 K warmer aluminium opens by (23 - 11.5)e-6 x 62 mm x 70 K = 49.9 um; the zones' own growth is below 0.1 um.
    um(case.running.mean_m, 17.5 - 49.87);
    um(shaft.running.mean_m, 11.5);
    um(left.boxed.least_m, 13.0);
    um(left.cold.least_m, 13.0 - 0.8 * 21.0 - 0.6 * 39.0);
    um(left.cold.most_m, 28.0 - 0.8 * 2.0);
    // Warm the case holds nothing; 10 K between the rings take 12.5e-6 x 54.6 mm x 10 K = 6.8 um.
    um(left.running.most_m, 28.0 - 0.8 * 2.0 - 6.825);
    um(left.running.least_m, 13.0 - 0.8 * 21.0 - 6.825);
    assert!(left.ceramic.is_none() && found.sleeve.is_none());
    // The room at the most heat: (120 - 20) K x 11.5e-6 x 24.99 mm - 21 um.
    um(shaft.room_at_most_m, 28.74 - 21.0);
}

#[test]
fn ceramic_balls_change_the_running_clearance_only() {
    let (steel, ceramic) = (figures(|_| ()), figures(|asked| asked.ceramic_balls = true));
    let (steel, ceramic) = (steel.clearance.unwrap(), ceramic.clearance.unwrap());
    assert_eq!((steel.boxed, steel.cold), (ceramic.boxed, ceramic.cold));
    let gain = ceramic.ceramic.unwrap();
    // 0.3 x 37 mm; 2 x 11.1 mm x 9.5e-6 x 80 K.
    um(gain.ball_m, 11_100.0);
    um(gain.gain_m, 16.872);
    um(ceramic.running.mean_m - steel.running.mean_m, 16.872);
    let given = figures(|asked| (asked.ceramic_balls, asked.ball_m) = (true, Some(0.0115)));
    um(given.clearance.unwrap().ceramic.unwrap().gain_m, 17.48);
}

#[test]
fn what_is_measured_takes_the_place_of_the_tables() {
    let found = figures(|asked| {
        (asked.measured_bore_m, asked.measured_outside_m) = (Some(0.024_996), Some(0.061_995));
        (asked.case, asked.shaft) =
            (Some(Diameter::Measured(0.061_985)), Some(Diameter::Measured(0.025_008)));
        asked.clearance = Some(Initial::Measured(20e-6));
    });
    um(found.case.unwrap().cold.mean_m, 10.0);
    um(found.shaft.unwrap().cold.mean_m, 12.0);
    um(found.clearance.unwrap().cold.mean_m, 20.0 - 0.8 * 12.0 - 0.6 * 10.0);
    assert!(found.case.unwrap().cold.is_of_measured_parts());
}

#[test]
fn a_sleeve_comes_between() {
    let sleeve = SleeveAsked {
        outside: zone("r6", 0.068),
        bore: zone("N7", 0.062),
        material: Material::Steel,
        passed_on: 0.8,
        bored_in_place: false,
    };
    let with = |bored_in_place, passed_on| {
        figures(|asked| {
            asked.case = Some(zone("H7", 0.068));
            asked.sleeve = Some(SleeveAsked { bored_in_place, passed_on, ..sleeve });
        })
    };
    let (bench, in_place, nothing) = (with(false, 0.8), with(true, 0.8), with(false, 0.0));
    // r6 at 68 is +43 to +62, H7 0 to +30.
    um(bench.sleeve.unwrap().cold.least_m, 13.0);
    um(bench.sleeve.unwrap().cold.most_m, 62.0);
    um(bench.case.unwrap().cold.most_m, 39.0 + 0.8 * 62.0);
    // Bored in place it is what the zones say cold, and opens when the warm case lets it go.
    um(in_place.case.unwrap().cold.most_m, 39.0);
    um(nothing.case.unwrap().cold.most_m, 39.0);
    assert!(in_place.case.unwrap().running.least_m < nothing.case.unwrap().running.least_m - 10e-6);
}

#[test]
fn what_is_not_given_leaves_its_figures_out() {
    let only_case = figures(|asked| asked.shaft = None);
    assert!(only_case.case.is_some() && only_case.shaft.is_none() && only_case.clearance.is_none());
    let only_shaft = figures(|asked| asked.case = None);
    assert!(only_shaft.case.is_none() && only_shaft.shaft.is_some() && only_shaft.clearance.is_none());
    assert!(figures(|asked| asked.clearance = None).clearance.is_none());
    assert_eq!(running_c(None, None), (CASE_RUNS_C, CASE_RUNS_C + SHAFT_WARMER_K));
    assert_eq!(running_c(None, Some(120.0)), (110.0, 120.0));
    assert_eq!(running_c(Some(70.0), None), (70.0, 80.0));
    assert_eq!(running_c(Some(70.0), Some(75.0)), (70.0, 75.0));
    assert!(usual_case_share(Material::Magnesium) < usual_case_share(Material::CastIron));
}

#[test]
fn refusals_name_the_part() {
    let swapped = refused(|asked| (asked.bore_m, asked.outside_m) = (0.062, 0.025));
    assert_eq!(swapped.0, "bearing");
    assert!(
        swapped.1.starts_with("The bore of the bearing of 62 mm cannot be above the outside"),
        "{}",
        swapped.1
    );
    let shaft_in_case = refused(|asked| asked.case = Some(zone("k5", 0.062)));
    assert_eq!(shaft_in_case.0, "--case");
    assert!(shaft_in_case.1.starts_with("k5 is the zone of a shaft, and a hole"), "{}", shaft_in_case.1);
    assert_eq!(refused(|asked| asked.shaft = Some(zone("N7", 0.025))).0, "--shaft");
    assert_eq!(refused(|asked| asked.outside_m = 0.2).0, "bearing");
    let far = refused(|asked| asked.case = Some(Diameter::Measured(0.0685)));
    assert_eq!(far.0, "--case");
    assert!(
        far.1.starts_with("The seat in the case is 68.5 mm; allowed is 61.5 mm to 62.5 mm."),
        "{}",
        far.1
    );
    assert_eq!(refused(|asked| asked.shaft = Some(Diameter::Measured(f64::NAN))).0, "--shaft");
    assert_eq!(refused(|asked| asked.measured_bore_m = Some(0.0256)).0, "--bearing-bore");
    assert_eq!(refused(|asked| asked.measured_outside_m = Some(2.44)).0, "--bearing-outside");
    assert_eq!(refused(|asked| asked.clearance = Some(Initial::Measured(0.02))).0, "--clearance");
    assert_eq!(refused(|asked| (asked.ceramic_balls, asked.ball_m) = (true, Some(0.0185))).0, "--ball");
    assert_eq!(refused(|asked| asked.shaft_c = 290.0).0, "--shaft-at");
    let sleeve = |outside: f64, bore: f64| {
        refused(move |asked| {
            asked.case = Some(Diameter::Measured(outside));
            asked.sleeve = Some(SleeveAsked {
                outside: Diameter::Measured(outside),
                bore: Diameter::Measured(bore),
                material: Material::Steel,
                passed_on: 0.8,
                bored_in_place: false,
            });
        })
    };
    let thin = sleeve(0.062, 0.062_01);
    assert_eq!(thin.0, "--sleeve-bore");
    assert!(thin.1.contains("A sleeve has a wall"), "{}", thin.1);
    assert_eq!(sleeve(0.068, 0.060).0, "--sleeve-bore");
}

fn bench() -> MeasuredSeats {
    MeasuredSeats {
        case_bore_m: Some(0.061_97),
        bearing_outside_m: Some(0.062),
        bearing_bore_m: Some(0.025),
        shaft_m: Some(0.025_01),
        case: Material::Aluminium,
        case_c: None,
        shaft_c: None,
    }
}

#[test]
fn seats_on_the_bench_are_reckoned() {
    let seats = bench_seats(&bench()).unwrap();
    let (case, shaft) = (seats.in_case.unwrap(), seats.on_shaft.unwrap());
    um(case.cold_m, 30.0);
    // 30 um - 70 K x (23e-6 x 61.97 mm - 11.5e-6 x 62 mm).
    um(case.running_m, -19.86);
    // 30 um / (23e-6 x 61.97 - 11.5e-6 x 62) and 60 um / (23e-6 x 61.97).
    assert!((case.lets_go_c.unwrap() - 62.12).abs() < 0.01, "{case:?}");
    assert!((case.drops_in_c.unwrap() - 62.10).abs() < 0.01, "{case:?}");
    assert!((case.running_c - 90.0).abs() < 1e-9 && (shaft.running_c - 100.0).abs() < 1e-9);
    um(shaft.cold_m, 10.0);
    // 20 um / (11.5e-6 x 25 mm).
    assert!((shaft.drops_in_c.unwrap() - 89.57).abs() < 0.01 && shaft.lets_go_c.is_none(), "{shaft:?}");
}

#[test]
fn a_seat_on_the_bench_needs_both_its_diameters() {
    let half = bench_seats(&MeasuredSeats { case_bore_m: None, ..bench() }).unwrap();
    assert!(half.in_case.is_none() && half.on_shaft.is_some());
    let none = bench_seats(&MeasuredSeats { shaft_m: None, bearing_outside_m: None, ..bench() }).unwrap();
    assert!(none.in_case.is_none() && none.on_shaft.is_none());
    assert!(bench_seats(&MeasuredSeats { case_bore_m: Some(0.052), ..bench() }).is_err());
    assert!(bench_seats(&MeasuredSeats { shaft_m: Some(f64::NAN), ..bench() }).is_err());
    let loose =
        bench_seats(&MeasuredSeats { case_bore_m: Some(0.062_01), ..bench() }).unwrap().in_case.unwrap();
    assert!(loose.lets_go_c.is_none() && loose.cold_m < 0.0);
    let iron = bench_seats(&MeasuredSeats { case: Material::CastIron, ..bench() }).unwrap().in_case.unwrap();
    assert!(iron.lets_go_c.is_none() && iron.running_m > iron.cold_m);
}

proptest! {
    /// Measured parts on the bench and the whole fit are one reckoning.
    #[test]
    fn the_bench_and_the_fit_agree(case in 61.9..62.1_f64, shaft in 24.95..25.05_f64) {
        let seats = bench_seats(&MeasuredSeats {
            case_bore_m: Some(1e-3 * case), shaft_m: Some(1e-3 * shaft), ..bench()
        }).unwrap();
        let found = figures(|asked| {
            (asked.measured_bore_m, asked.measured_outside_m) = (Some(0.025), Some(0.062));
            asked.case = Some(Diameter::Measured(1e-3 * case));
            asked.shaft = Some(Diameter::Measured(1e-3 * shaft));
        });
        for (bench, fit) in [(seats.in_case, found.case), (seats.on_shaft, found.shaft)] {
            let (bench, fit) = (bench.unwrap(), fit.unwrap());
            prop_assert!((bench.cold_m - fit.cold.mean_m).abs() < 1e-15);
            prop_assert!((bench.running_m - fit.running.mean_m).abs() < 1e-15);
            prop_assert_eq!(bench.drops_in_c, fit.drops_in_c);
        }
    }

    /// A tighter case leaves less clearance and a hotter shaft too; a hotter case holds less.
    #[test]
    fn heat_and_press_go_the_right_way(case_c in 20.0..140.0_f64, warmer in 0.0..30.0_f64) {
        let at = |case_c: f64, shaft_c: f64| figures(|asked| (asked.case_c, asked.shaft_c) = (case_c, shaft_c));
        let (here, hotter_shaft, hotter_case) =
            (at(case_c, case_c + warmer), at(case_c, case_c + warmer + 5.0), at(case_c + 5.0, case_c + warmer));
        prop_assert!(hotter_shaft.clearance.unwrap().running.mean_m < here.clearance.unwrap().running.mean_m);
        prop_assert!(hotter_case.case.unwrap().running.mean_m < here.case.unwrap().running.mean_m);
        prop_assert!(hotter_case.clearance.unwrap().running.mean_m > here.clearance.unwrap().running.mean_m);
    }
}
