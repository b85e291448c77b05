//! Needle, clip and pilot: the section that stands in the needle jet, the groove to take, and what the pilot leaves to the main circuit.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use proptest::prelude::*;
use reedbook::engine::circuits::{ClipSearch, choose_clip, pilot_share};
use reedbook::engine::needle::{Needle, NeedleInJet, NeedlePoint, NeedleSetting};

/// The very same number, to the last bit.
fn exactly(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits()
}

proptest! {
    /// Lift, a lower groove and a shim all bring a thinner section: never leaner.
    #[test]
    fn raising_the_needle_is_never_leaner(
        lift in 0.0..0.03_f64, clip in 1..5_u8, shim in 0.0..0.002_f64, up in 0.0..0.003_f64,
    ) {
        let fit = racing_needle();
        let area = |lift_m, clip, shim_m| {
            fit.annulus_area_m2(NeedleSetting { lift_m, clip, shim_m }).unwrap()
        };
        let base = area(lift, clip, shim);
        prop_assert!(area(lift + up, clip, shim) >= base);
        prop_assert!(area(lift, clip + 1, shim) >= base);
        prop_assert!(area(lift, clip, shim + up) >= base);
        // A shim of one groove's spacing is one groove.
        prop_assert!((area(lift, clip, shim + 0.001) / area(lift, clip + 1, shim) - 1.0).abs() < 1e-9);
    }
}

/// Straight 2.515 mm for 27 mm, then 1.5 degrees down to a tip at 62 mm; five grooves 1 mm apart; needle jet 2.60 mm; 24 mm to the jet.
fn racing_needle() -> NeedleInJet {
    let points = Needle::straight_and_taper(0.002_515, 0.027, 1.5, 0.062).unwrap();
    NeedleInJet::new(Needle::new(&points, 0.001, 5).unwrap(), 0.0026, 0.024).unwrap()
}

fn part_throttle(needle: &NeedleInJet, factor: f64) -> ClipSearch<'_> {
    ClipSearch {
        needle,
        setting: NeedleSetting { lift_m: 0.012, clip: 3, shim_m: 0.0 },
        main_area_m2: 1.767e-6,
        new_main_area_m2: 1.767e-6,
        new_shim_m: 0.0,
        annulus_over_main: 1.0,
        factor,
    }
}

#[test]
fn the_needle_is_measured_where_it_stands() {
    let fit = racing_needle();
    // By hand: 24 + 12 + 2 grooves below the first + 0.5 of shim is 38.5 mm, 11.5 mm into the taper:
    // 2.515 - 2 x 11.5 x tan(0.75 degrees) = 2.213 906 mm.
    let setting = NeedleSetting { lift_m: 0.012, clip: 3, shim_m: 0.0005 };
    let position = fit.position_at_mouth_m(setting).unwrap();
    assert!((position - 0.0385).abs() < 1e-12);
    let by_hand = 0.002_515 - 2.0 * 0.0115 * 0.013_090_717;
    assert!((fit.needle().diameter_m(position) - by_hand).abs() < 1e-10);
    // Held at both ends.
    assert!(exactly(fit.needle().diameter_m(0.0), 0.002_515));
    assert!(exactly(fit.needle().diameter_m(0.2), fit.needle().diameter_m(0.062)));
    // Read exactly on a measured point.
    let measured = [(0.0, 0.0025), (0.02, 0.0024), (0.03, 0.0020)]
        .map(|(p, d)| NeedlePoint { position_m: p, diameter_m: d });
    let needle = Needle::new(&measured, 0.0, 1).unwrap();
    assert!((needle.diameter_m(0.02) - 0.0024).abs() < 1e-15);
    assert!((needle.diameter_m(0.025) - 0.0022).abs() < 1e-15);
}

#[test]
fn a_clip_left_alone_for_an_unchanged_fuel_is_right() {
    let fit = racing_needle();
    let choice = choose_clip(&part_throttle(&fit, 1.0)).unwrap();
    assert_eq!(choice.each.len(), 5);
    assert_eq!(choice.nearest.clip, 3);
    assert!(exactly(choice.nearest.delivered_over_needed, 1.0));
    assert_eq!(choice.not_leaner.unwrap().clip, 3);
    // Each groove down is richer.
    assert!(choice.each.windows(2).all(|pair| pair[0].delivered_over_needed < pair[1].delivered_over_needed));
}

#[test]
fn the_clip_follows_the_factor_and_a_tie_goes_rich() {
    let fit = racing_needle();
    let errors = choose_clip(&part_throttle(&fit, 1.0)).unwrap().each;
    // Midway by ratio between the second groove and the third: an exact tie but for rounding.
    let tie = errors[1].delivered_over_needed.sqrt();
    let choice = choose_clip(&part_throttle(&fit, tie)).unwrap();
    assert_eq!(choice.nearest.clip, 3);
    // A little leaner still, and the second groove is nearer; the third is still the one that is not lean.
    let choice = choose_clip(&part_throttle(&fit, tie * 0.999)).unwrap();
    assert_eq!(choice.nearest.clip, 2);
    assert_eq!(choice.not_leaner.unwrap().clip, 3);
    // Beyond what the needle can do.
    let choice = choose_clip(&part_throttle(&fit, 2.0)).unwrap();
    assert_eq!(choice.nearest.clip, 5);
    assert!(choice.not_leaner.is_none());
    let choice = choose_clip(&part_throttle(&fit, 0.5)).unwrap();
    assert_eq!((choice.nearest.clip, choice.not_leaner.unwrap().clip), (1, 1));
    // A larger main jet does some of the work.
    let larger = ClipSearch { new_main_area_m2: 2.2e-6, ..part_throttle(&fit, 1.05) };
    let with_larger = choose_clip(&larger).unwrap().each[2].delivered_over_needed;
    let without = choose_clip(&part_throttle(&fit, 1.05)).unwrap().each[2].delivered_over_needed;
    assert!(with_larger > without);
}

#[test]
fn the_pilot_share_is_read_between_its_rows() {
    let table = [(0.125, 0.5), (0.25, 0.3), (0.5, 0.1), (1.0, 0.02)];
    for (lift, share) in
        [(0.0, 0.5), (0.125, 0.5), (0.1875, 0.4), (0.25, 0.3), (0.375, 0.2), (0.75, 0.06), (1.0, 0.02)]
    {
        let found = pilot_share(lift, &table).unwrap();
        assert!((found - share).abs() < 1e-12, "{lift}: {found}");
    }
    assert!(exactly(pilot_share(0.7, &[(0.5, 0.2)]).unwrap(), 0.2));
    // Held beyond the last row, not drawn on below nothing.
    let held = pilot_share(0.9, &[(0.125, 0.5), (0.5, 0.1)]).unwrap();
    assert!((held - 0.1).abs() < 1e-12);
    // A bad row is refused at every lift, also before it is reached.
    for bad in [&[(0.5, 0.2), (0.5, 0.1)][..], &[(0.1, 0.2), (0.5, 1.1)], &[(0.1, 0.2), (1.5, 0.1)], &[]] {
        assert!(pilot_share(0.05, bad).is_err(), "{bad:?}");
    }
}

#[test]
fn a_nonsense_factor_finds_no_clip() {
    let fit = racing_needle();
    for bad in [f64::NAN, -1.0, 0.0, f64::INFINITY] {
        assert!(choose_clip(&part_throttle(&fit, bad)).is_err(), "took {bad}");
    }
}
