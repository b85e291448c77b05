//! The formulas written out anew, for bikes with the needles that come with the program, and a few values by hand.

use std::f64::consts::PI;

use reedbook::engine::carburetor::needle::{Needle, NeedleInJet, NeedlePoint};
use reedbook::engine::carburetor::{Carburetor, Fitted, PowerJets, both_circuits, screw_factor};

/// A needle as configs/needles.toml has it: grooves, spacing and points, mm.
pub(crate) struct Measured {
    pub(crate) code: &'static str,
    pub(crate) spacing: f64,
    pub(crate) points: &'static [(f64, f64)],
}

/// The three needles, each with five grooves.
pub(crate) const NEEDLES: [Measured; 3] = [
    Measured { code: "n2", spacing: 0.95, points: &[(0.0, 2.50), (36.5, 2.50), (53.0, 2.20), (70.0, 1.40)] },
    Measured {
        code: "n3",
        spacing: 0.95,
        points: &[(0.0, 2.52), (35.0, 2.52), (45.0, 2.36), (56.0, 2.06), (71.0, 1.30)],
    },
    Measured { code: "n4", spacing: 0.90, points: &[(0.0, 2.50), (38.0, 2.50), (54.0, 2.22), (70.0, 1.40)] },
];

/// Share of the fuel from the pilot at 1/8, 1/4, 1/2 and 3/4, as configs/shares.toml has it.
pub(crate) const SHARES: [f64; 4] = [0.65, 0.30, 0.10, 0.05];

/// The slide lifts of the six zones.
pub(crate) const LIFTS: [f64; 6] = [0.0, 0.125, 0.25, 0.5, 0.75, 1.0];

impl Measured {
    /// Position on the needle at the mouth of the needle jet, mm: seat 26 mm above it, bore 38 mm.
    pub(crate) fn position(&self, lift: f64, clip: u8) -> f64 {
        26.0 + 38.0 * lift + self.spacing * f64::from(clip - 1)
    }

    pub(crate) fn diameter(&self, position: f64) -> f64 {
        let after = self.points.iter().position(|(at, _)| *at > position);
        let Some(after) = after else { return self.points.last().unwrap().1 };
        let ((x0, d0), (x1, d1)) = (self.points[after - 1], self.points[after]);
        d0 + (d1 - d0) * (position - x0) / (x1 - x0)
    }

    /// Area of main jet and annulus in series, mm2, with a needle jet of 2.68 mm: 1/A^2 = 1/Am^2 + 1/Aa^2.
    pub(crate) fn series(&self, main_mm2: f64, lift: f64, clip: u8) -> f64 {
        let needle = self.diameter(self.position(lift, clip));
        let annulus = PI / 4.0 * (2.68 * 2.68 - needle * needle);
        (main_mm2.powi(-2) + annulus.powi(-2)).powf(-0.5)
    }
}

/// Area of a jet numbered by bore, mm2.
pub(crate) fn by_bore(number: f64) -> f64 {
    PI / 4.0 * (number / 100.0).powi(2)
}

/// Fuel over the baseline's at a zone of [`LIFTS`] from the two circuits.
pub(crate) fn together(zone: usize, pilot: f64, main: f64) -> f64 {
    match zone {
        0 => pilot,
        5 => main,
        between => SHARES[between - 1] * pilot + (1.0 - SHARES[between - 1]) * main,
    }
}

fn in_jet(measured: &Measured) -> NeedleInJet {
    let points: Vec<_> = measured
        .points
        .iter()
        .map(|(at, d)| NeedlePoint { position_m: at * 1e-3, diameter_m: d * 1e-3 })
        .collect();
    NeedleInJet::new(Needle::new(&points, measured.spacing * 1e-3, 5).unwrap(), 2.68e-3, 26e-3).unwrap()
}

const TABLE: [(f64, f64); 6] =
    [(0.0, 1.0), (0.125, 0.65), (0.25, 0.30), (0.5, 0.10), (0.75, 0.05), (1.0, 0.02)];

const CARBURETOR: Carburetor<'_> =
    Carburetor { full_lift_m: 38e-3, pilot_shares: &TABLE, annulus_over_main: 1.0 };

fn fitted(needle: &NeedleInJet, number: f64, clip: u8, pilot: f64) -> Fitted<'_> {
    Fitted { main_area_m2: by_bore(number) * 1e-6, needle, clip, shim_m: 0.0, pilot }
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() < tolerance, "{found} instead of {expected}");
}

#[test]
fn values_by_hand() {
    let n2 = in_jet(&NEEDLES[0]);
    let (base, other) = (fitted(&n2, 172.0, 3, 1.0), fitted(&n2, 178.0, 4, 1.06));
    let over = |lift| CARBURETOR.fuel_over(&base, &other, lift, None).unwrap();
    // Shut: the pilot alone.
    near(over(0.0), 1.06, 1e-12);
    // Half lift, 172 and clip 3: 26 + 19 + 1.9 = 46.9 mm, needle 2.5 - 0.3 x 10.4/16.5 = 2.310909, ring 1.446781 mm2; jet
    // 2.323522 mm2; in series 1.228154. 178 and clip 4: 47.85 mm, 2.293636, ring 1.509246, jet 2.488456; 1.290453.
    // 0.1 x 1.06 + 0.9 x 1.290453/1.228154 = 1.051653.
    near(over(0.5), 1.051_653, 1e-6);
    // Full lift: 65.9 mm, 2.2 - 0.8 x 12.9/17 = 1.592941, ring 3.648126, in series 1.959782; 66.85 mm, 1.548235, ring 3.758419,
    // in series 2.074881: 1.058731. The pilot is left out.
    near(over(1.0), 1.058_731, 1e-6);
    // An eighth: both clips stand on the straight part, ring 0.732305; in series 0.698438 with 172, 0.702517 with 178; 0.65 x
    // 1.06 + 0.35 x 1.005841 = 1.041044.
    near(over(0.125), 1.041_044, 1e-6);
    // A power jet of 0.5 mm, 0.196350 mm2, made 0.55 mm, 0.237583: (2.074881 + 0.237583)/(1.959782 + 0.196350) = 1.072506.
    let power = Some(PowerJets { before_m2: by_bore(50.0) * 1e-6, after_m2: by_bore(55.0) * 1e-6 });
    near(CARBURETOR.fuel_over(&base, &other, 1.0, power).unwrap(), 1.072_506, 1e-6);
    // It feeds at full throttle only.
    near(CARBURETOR.fuel_over(&base, &other, 0.75, power).unwrap(), over(0.75), 1e-15);
}

#[test]
fn the_formulas_agree_at_every_lift() {
    for measured in &NEEDLES {
        let needle = in_jet(measured);
        for (zone, lift) in LIFTS.into_iter().enumerate() {
            for clip in 1..=5 {
                for (main, pilot) in [(150.0, 0.9), (172.0, 1.0), (200.0, 1.2)] {
                    let found = CARBURETOR
                        .fuel_over(
                            &fitted(&needle, 172.0, 3, 1.0),
                            &fitted(&needle, main, clip, pilot),
                            lift,
                            None,
                        )
                        .unwrap();
                    let series = |number, clip| measured.series(by_bore(number), lift, clip);
                    near(found, together(zone, pilot, series(main, clip) / series(172.0, 3)), 1e-12);
                }
            }
        }
    }
}

#[test]
fn a_groove_lower_is_richer_from_a_quarter_up() {
    for measured in &NEEDLES {
        let needle = in_jet(measured);
        for clip in 1..5 {
            for percent in 25..=100 {
                let lift = f64::from(percent) / 100.0;
                let (here, lower) =
                    (fitted(&needle, 172.0, clip, 1.0), fitted(&needle, 172.0, clip + 1, 1.0));
                let over = CARBURETOR.fuel_over(&here, &lower, lift, None).unwrap();
                // At a quarter the leanest groove of the late taper still stands on the straight part.
                let tapers = measured.position(lift, clip + 1) > measured.points[1].0;
                assert!(
                    if tapers { over > 1.001 } else { (over - 1.0).abs() < 1e-12 },
                    "{lift} {clip}: {over}"
                );
            }
        }
    }
    assert!(NEEDLES[0].position(0.25, 3) > 36.5);
}

#[test]
fn the_screw_goes_back_as_it_came() {
    near(screw_factor(0.08, 1.0).unwrap(), 1.08, 1e-15);
    near(screw_factor(0.08, 0.5).unwrap(), 1.08_f64.sqrt(), 1e-15);
    near(screw_factor(0.08, 0.75).unwrap() * screw_factor(0.08, -0.75).unwrap(), 1.0, 1e-15);
    assert_eq!(screw_factor(0.08, 0.0).unwrap().to_bits(), 1.0_f64.to_bits());
    for (worth, turns) in [(f64::NAN, 1.0), (-1.0, 1.0), (12.0, 1.0), (0.08, f64::INFINITY), (0.08, 40.0)] {
        assert!(screw_factor(worth, turns).is_err(), "{worth} {turns}");
    }
    assert_eq!(both_circuits(0.3, 1.0, 1.0).to_bits(), 1.0_f64.to_bits());
}

#[test]
fn what_cannot_be_is_refused() {
    let n2 = in_jet(&NEEDLES[0]);
    let base = fitted(&n2, 172.0, 3, 1.0);
    for lift in [-0.1, 1.1, f64::NAN] {
        assert!(CARBURETOR.fuel_over(&base, &base, lift, None).is_err(), "{lift}");
    }
    assert!(CARBURETOR.fuel_over(&base, &fitted(&n2, 172.0, 6, 1.0), 0.5, None).is_err());
    assert!(CARBURETOR.fuel_over(&base, &fitted(&n2, 172.0, 3, -1.0), 0.5, None).is_err());
    let negative = Some(PowerJets { before_m2: -1e-7, after_m2: 1e-7 });
    assert!(CARBURETOR.fuel_over(&base, &base, 1.0, negative).is_err());
    let rows = Carburetor { pilot_shares: &[(0.5, 0.1), (0.2, 0.3)], ..CARBURETOR };
    assert!(rows.fuel_over(&base, &base, 0.5, None).is_err());
}
