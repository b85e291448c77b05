//! Needle and pilot: the section that stands in the needle jet, and what the pilot leaves to the main circuit.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use proptest::prelude::*;
use reedbook::engine::carburetor::circuits::pilot_share;
use reedbook::engine::carburetor::needle::{Needle, NeedleInJet, NeedlePoint, NeedleSetting};

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
