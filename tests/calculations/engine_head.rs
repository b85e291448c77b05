//! Head and squish: values from outside (`reference/head.toml`), laws, and what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::crank::Crank;
use reedbook::engine::head::squish::{Squish, area_ratio, area_share, band_width_m};
use reedbook::engine::head::{
    Chamber, CutAt, Head, SquishBand, bore_area_m2, crankcase_ratio, cut_for_clearance_m, swept_volume_m3,
};

const HEAD: &str = include_str!("../reference/head.toml");

#[test]
fn head_and_squish_meet_their_references() {
    assert_eq!(check_all(HEAD, value), 77);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    match kind {
        "swept volume" | "crankcase ratio" => {
            let swept = swept_volume_m3(mm(inputs, "bore_mm"), mm(inputs, "stroke_mm")).unwrap();
            if kind == "swept volume" {
                return 1e6 * swept;
            }
            crankcase_ratio(swept, 1e-6 * inputs.take("case_cm3")).unwrap()
        }
        "trapped swept volume" => {
            bore_area_m2(mm(inputs, "bore_mm")).unwrap() * 1e6 * exhaust_closes_m(inputs)
        }
        "full ratio" => chamber(inputs).full_ratio(mm(inputs, "stroke_mm")).unwrap(),
        "trapped ratio" => chamber(inputs).trapped_ratio(exhaust_closes_m(inputs)).unwrap(),
        "cut for full ratio" => {
            let wanted = inputs.take("wanted");
            1e3 * chamber(inputs).cut_for_full_ratio_m(wanted, mm(inputs, "stroke_mm")).unwrap()
        }
        "top cut for trapped ratio" => trapped_cut_mm(inputs, CutAt::Top),
        "base cut for trapped ratio" => trapped_cut_mm(inputs, CutAt::Base),
        "gap volume" => {
            crank(inputs);
            1e6 * head(inputs).gap_volume_m3(0.0)
        }
        _ => squish_value(kind, inputs),
    }
}

fn squish_value(kind: &str, inputs: &mut Inputs) -> f64 {
    let squish = Squish::new(&head(inputs), &crank(inputs)).unwrap();
    if kind == "speed for squish" {
        return squish.rpm_for_peak(inputs.take("wanted")).unwrap();
    }
    let rpm = inputs.take("rpm");
    match kind {
        "squish peak" => squish.peak(rpm).unwrap().velocity_m_s,
        "squish peak place" => squish.peak(rpm).unwrap().before_top_deg,
        "squish velocity" => squish.velocity_m_s(inputs.take("before_top_deg"), rpm).unwrap(),
        "clearance for squish" => 1e3 * squish.clearance_for_peak_m(inputs.take("wanted"), rpm).unwrap(),
        other => panic!("no calculation for {other}"),
    }
}

fn mm(inputs: &mut Inputs, name: &str) -> f64 {
    1e-3 * inputs.take(name)
}

fn chamber(inputs: &mut Inputs) -> Chamber {
    Chamber::new(mm(inputs, "bore_mm"), 1e-6 * inputs.take("chamber_cm3")).unwrap()
}

fn crank(inputs: &mut Inputs) -> Crank {
    let offset = 1e-3 * inputs.take_or("pin_offset_mm", 0.0);
    Crank::new(mm(inputs, "stroke_mm"), mm(inputs, "rod_mm"), offset).unwrap()
}

/// Depth of the exhaust's upper edge, m, from the duration it was cut for.
fn exhaust_closes_m(inputs: &mut Inputs) -> f64 {
    let opens = 180.0 - inputs.take("duration_deg") / 2.0;
    crank(inputs).depth_m(opens)
}

fn trapped_cut_mm(inputs: &mut Inputs, place: CutAt) -> f64 {
    let (wanted, depth) = (inputs.take("wanted"), mm(inputs, "closing_depth_mm"));
    1e3 * chamber(inputs).cut_for_trapped_ratio_m(wanted, depth, place).unwrap()
}

/// A head by its bowl's diameter or the band's share of the bore, and by its chamber or the bowl proper.
fn head(inputs: &mut Inputs) -> Head {
    let (bore, clearance_m) = (mm(inputs, "bore_mm"), mm(inputs, "clearance_mm"));
    let share = inputs.take_or("band_share", f64::NAN);
    let width_m = if share.is_nan() {
        (bore - mm(inputs, "bowl_mm")) / 2.0
    } else {
        band_width_m(bore, share).unwrap()
    };
    let bowl_cm3 = inputs.take_or("bowl_cm3", f64::NAN);
    let volume = if bowl_cm3.is_nan() {
        1e-6 * inputs.take("chamber_cm3")
    } else {
        1e-6 * bowl_cm3 + clearance_m * bore_area_m2(bore).unwrap()
    };
    let band = SquishBand { clearance_m, width_m, angle_deg: inputs.take_or("angle_deg", 0.0) };
    Head::new(Chamber::new(bore, volume).unwrap(), band).unwrap()
}

/// A head of the size of a 125.
fn usual(clearance_m: f64, width_m: f64, angle_deg: f64, volume_m3: f64) -> Result<Head, EngineError> {
    Head::new(Chamber::new(0.054, volume_m3)?, SquishBand { clearance_m, width_m, angle_deg })
}

fn usual_crank() -> Crank {
    Crank::new(0.0545, 0.110, 0.0).unwrap()
}

fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}

prop_compose! {
    /// Heads whose bowl is deeper than their band, of all usual sizes, with a crank drive under each.
    fn squished()(
        bore in 0.038..0.090_f64,
        band_share in 0.2..0.75_f64,
        clearance_m in 0.0005..0.0025_f64,
        angle_deg in -1.5..8.0_f64,
        bowl_share in 0.03..0.10_f64,
        stroke_over_bore in 0.8..1.2_f64,
        rod_over_stroke in 1.7..2.3_f64,
        offset in -0.002..0.002_f64,
    ) -> (Head, Crank) {
        let stroke = bore * stroke_over_bore;
        let area = bore_area_m2(bore).unwrap();
        let width_m = band_width_m(bore, band_share).unwrap();
        // Never so steep that the band would touch the crown.
        let steepest = -(0.5 * clearance_m / width_m).atan().to_degrees();
        let band = SquishBand { clearance_m, width_m, angle_deg: angle_deg.max(steepest) };
        let rise = width_m * band.angle_deg.to_radians().tan().max(0.0);
        let volume = area * (clearance_m + rise + bowl_share * stroke);
        let head = Head::new(Chamber::new(bore, volume).unwrap(), band).unwrap();
        (head, Crank::new(stroke, stroke * rod_over_stroke, offset).unwrap())
    }
}

proptest! {
    #[test]
    fn down_and_up_again_changes_nothing((head, _) in squished(), share in -1.0..0.4_f64) {
        let cut = share * head.band().clearance_m;
        let there = head.lowered(cut).unwrap();
        prop_assert_eq!(there.band().clearance_m < head.band().clearance_m, cut > 0.0);
        prop_assert_eq!(there.chamber().volume_m3() < head.chamber().volume_m3(), cut > 0.0);
        let back = there.lowered(-cut).unwrap();
        prop_assert!(close(back.chamber().volume_m3(), head.chamber().volume_m3(), 1e-12));
        prop_assert!(close(back.band().clearance_m, head.band().clearance_m, 1e-12));
    }

    #[test]
    fn the_cut_found_gives_the_ratio_wanted(
        (head, crank) in squished(),
        change in 0.85..1.15_f64,
        depth_share in 0.4..0.6_f64,
    ) {
        let chamber = head.chamber();
        let (stroke, depth) = (crank.stroke_m(), depth_share * crank.stroke_m());
        let wanted = change * chamber.full_ratio(stroke).unwrap();
        let cut = chamber.cut_for_full_ratio_m(wanted, stroke).unwrap();
        prop_assert!(close(chamber.lowered(cut).unwrap().full_ratio(stroke).unwrap(), wanted, 1e-11));
        prop_assert_eq!(cut > 0.0, change > 1.0);

        let wanted = change * chamber.trapped_ratio(depth).unwrap();
        for place in [CutAt::Top, CutAt::Base] {
            let cut = chamber.cut_for_trapped_ratio_m(wanted, depth, place).unwrap();
            let edge = place.edge_depth_m(depth, cut).unwrap();
            prop_assert!(close(chamber.lowered(cut).unwrap().trapped_ratio(edge).unwrap(), wanted, 1e-11));
        }
        let of = |place| chamber.cut_for_trapped_ratio_m(wanted, depth, place).unwrap().abs();
        prop_assert!(of(CutAt::Base) <= of(CutAt::Top));
    }

    #[test]
    fn volumes_add_up((head, crank) in squished()) {
        let (chamber, stroke) = (head.chamber(), crank.stroke_m());
        let swept = swept_volume_m3(chamber.bore_m(), stroke).unwrap();
        let ratio = chamber.full_ratio(stroke).unwrap();
        prop_assert!(close((ratio - 1.0) * chamber.volume_m3(), swept, 1e-12));
        prop_assert!(close(chamber.trapped_ratio(stroke).unwrap(), ratio, 1e-15));
        prop_assert!(chamber.trapped_ratio(stroke / 2.0).unwrap() < ratio);
        // A case that is as large as what is swept is pressed to half.
        prop_assert!(close(crankcase_ratio(swept, swept).unwrap(), 2.0, 1e-15));
        let deeper = head.gap_volume_m3(0.003) - head.gap_volume_m3(0.0);
        prop_assert!(close(deeper, 0.003 * head.band_area_m2(), 1e-9));
        let bowl = std::f64::consts::PI / 4.0 * head.bowl_diameter_m().powi(2);
        prop_assert!(close(head.band_area_m2() + bowl, chamber.bore_area_m2(), 1e-12));
        let width = band_width_m(chamber.bore_m(), area_ratio(&head)).unwrap();
        let share = area_share(chamber.bore_m(), head.band().width_m).unwrap();
        prop_assert!((share - area_ratio(&head)).abs() < 1e-12);
        prop_assert!(close(width, head.band().width_m, 1e-11));
    }

    #[test]
    fn the_squish_stands_still_at_the_top_and_goes_with_the_speed(
        (head, crank) in squished(),
        rpm in 3000.0..14_000.0_f64,
        factor in 0.5..2.0_f64,
        before_top in 0.5..170.0_f64,
    ) {
        let squish = Squish::new(&head, &crank).unwrap();
        prop_assert!(squish.velocity_m_s(0.0, rpm).unwrap().abs() < 1e-9);
        let velocity = squish.velocity_m_s(before_top, rpm).unwrap();
        prop_assert!(velocity > 0.0);
        prop_assert!(close(squish.velocity_m_s(before_top, factor * rpm).unwrap(), factor * velocity, 1e-12));
        let (peak, faster) = (squish.peak(rpm).unwrap(), squish.peak(factor * rpm).unwrap());
        prop_assert!(velocity <= peak.velocity_m_s * (1.0 + 1e-12));
        prop_assert!(close(faster.velocity_m_s, factor * peak.velocity_m_s, 1e-12));
        prop_assert!((1.0..40.0).contains(&peak.before_top_deg));
        prop_assert!(close(squish.rpm_for_peak(peak.velocity_m_s).unwrap(), rpm, 1e-10));
    }

    #[test]
    fn the_peak_is_the_highest_point_of_the_curve((head, crank) in squished()) {
        let squish = Squish::new(&head, &crank).unwrap();
        let peak = squish.peak(12_000.0).unwrap();
        let curve = squish.curve(12_000.0, 180.0, 721).unwrap();
        prop_assert_eq!(curve.len(), 721);
        let highest = curve.iter().map(|point| point.1).fold(f64::MIN, f64::max);
        prop_assert!(highest <= peak.velocity_m_s * (1.0 + 1e-12));
        // A quarter of a degree between two points, so the highest of them is nearly there.
        prop_assert!(close(highest, peak.velocity_m_s, 2e-3));
    }

    #[test]
    fn the_nearer_the_head_the_faster_the_squish(
        (head, crank) in squished(),
        cut_share in 0.02..0.4_f64,
        before_top in 1.0..60.0_f64,
    ) {
        let (near, far) = (head.lowered(cut_share * head.band().clearance_m).unwrap(), head);
        let velocity = |head: &Head| Squish::new(head, &crank).unwrap().velocity_m_s(before_top, 9000.0).unwrap();
        prop_assert!(velocity(&near) > velocity(&far));
    }

    #[test]
    fn the_clearance_found_gives_the_squish_wanted((head, crank) in squished(), change in 0.8..1.2_f64) {
        let squish = Squish::new(&head, &crank).unwrap();
        let wanted = change * squish.peak(11_000.0).unwrap().velocity_m_s;
        let clearance = squish.clearance_for_peak_m(wanted, 11_000.0).unwrap();
        let cut = cut_for_clearance_m(head.band().clearance_m, clearance).unwrap();
        let moved = Squish::new(&head.lowered(cut).unwrap(), &crank).unwrap();
        prop_assert!(close(moved.peak(11_000.0).unwrap().velocity_m_s, wanted, 1e-10));
        prop_assert_eq!(cut > 0.0, change > 1.0);
    }
}

#[test]
fn a_curve_runs_from_its_start_to_the_top() {
    let squish = Squish::new(&usual(0.001, 0.008, 0.0, 9.3e-6).unwrap(), &usual_crank()).unwrap();
    let curve = squish.curve(12_000.0, 40.0, 41).unwrap();
    let degrees: Vec<f64> = curve.iter().map(|point| point.0.round()).collect();
    assert_eq!(degrees, (0..=40).rev().map(f64::from).collect::<Vec<_>>());
    let (at_top, velocity) = curve.last().copied().unwrap();
    assert!(at_top.abs() < 1e-12 && velocity.abs() < 1e-12 && velocity.is_sign_positive());
    let too_early = squish.curve(12_000.0, 181.0, 41);
    assert!(too_early.is_err() && squish.curve(12_000.0, 40.0, 1).is_err());
}

#[test]
fn a_band_that_closes_towards_the_bowl_is_never_moved_into_the_crown() {
    let head = usual(0.001, 0.008, -4.0, 9.3e-6).unwrap();
    let squish = Squish::new(&head, &usual_crank()).unwrap();
    // It falls by 0.56 mm over its width.
    let clearance = squish.clearance_for_peak_m(150.0, 12_000.0).unwrap();
    assert!(clearance > 0.00056, "{clearance}");
    let moved = head.lowered(cut_for_clearance_m(0.001, clearance).unwrap()).unwrap();
    let peak = Squish::new(&moved, &usual_crank()).unwrap().peak(12_000.0).unwrap();
    assert!(close(peak.velocity_m_s, 150.0, 1e-9));
    assert!(
        squish.clearance_for_peak_m(5000.0, 12_000.0).is_err(),
        "a hundredth short of touching gives less"
    );
}

/// The two quantities a contradiction names.
fn contradiction<T: std::fmt::Debug>(answer: Result<T, EngineError>) -> (&'static str, &'static str) {
    match answer.unwrap_err() {
        EngineError::Contradiction { field, other, .. } => (field, other),
        error => panic!("{error}"),
    }
}

#[test]
fn heads_that_cannot_be_are_refused_and_named() {
    assert_eq!(contradiction(usual(0.001, 0.027, 0.0, 9.3e-6)), ("band width", "half of the bore"));
    assert!(usual(0.001, 0.0269, 0.0, 9.3e-6).is_ok());
    let crashes = usual(0.001, 0.008, -8.0, 9.3e-6);
    assert_eq!(contradiction(crashes), ("fall of the band towards the bowl", "squish clearance"));
    // A ring of 1156 mm2 times 2 mm holds 2.31 cm3.
    assert_eq!(
        contradiction(usual(0.002, 0.008, 0.0, 2.30e-6)),
        ("volume in the squish gap", "chamber volume")
    );
    let shallow = usual(0.002, 0.008, 0.0, 2.32e-6).unwrap();
    assert_eq!(
        contradiction(Squish::new(&shallow, &usual_crank())),
        ("volume of a chamber as shallow as its squish gap", "chamber volume")
    );
    for clearance in [0.0, -0.001, f64::NAN, 1.0] {
        let EngineError::OutOfRange { field, .. } = usual(clearance, 0.008, 0.0, 9.3e-6).unwrap_err() else {
            panic!("a clearance of {clearance} passed as something else");
        };
        assert_eq!(field, "squish clearance");
    }
}

#[test]
fn cuts_that_cannot_be_are_refused_and_named() {
    let head = usual(0.001, 0.008, 0.0, 9.3e-6).unwrap();
    assert_eq!(contradiction(head.lowered(0.001)), ("cut", "squish clearance"));
    assert!(head.lowered(0.0009).is_ok() && head.lowered(-0.002).is_ok());
    let chamber = head.chamber();
    assert_eq!(contradiction(chamber.lowered(0.0041)), ("volume taken by the cut", "chamber volume"));
    assert!(CutAt::Base.edge_depth_m(0.0005, -0.001).is_err(), "the exhaust would never close");
    assert!(cut_for_clearance_m(0.001, 0.0).is_err());
}

#[test]
fn nonsense_is_refused_everywhere() {
    let chamber = Chamber::new(0.054, 9.3e-6).unwrap();
    let head = usual(0.001, 0.008, 0.0, 9.3e-6).unwrap();
    let squish = Squish::new(&head, &usual_crank()).unwrap();
    for bad in [f64::NAN, -1.0, f64::INFINITY, f64::NEG_INFINITY, 1e30] {
        assert!(swept_volume_m3(bad, 0.05).is_err() && swept_volume_m3(0.05, bad).is_err());
        assert!(crankcase_ratio(bad, 4e-4).is_err() && crankcase_ratio(1e-4, bad).is_err());
        assert!(Chamber::new(bad, 9e-6).is_err() && Chamber::new(0.054, bad).is_err());
        assert!(chamber.full_ratio(bad).is_err() && chamber.trapped_ratio(bad).is_err());
        assert!(chamber.lowered(bad).is_err() && head.lowered(bad).is_err());
        assert!(chamber.cut_for_full_ratio_m(bad, 0.0545).is_err());
        assert!(chamber.cut_for_full_ratio_m(12.0, bad).is_err());
        assert!(chamber.cut_for_trapped_ratio_m(bad, 0.027, CutAt::Top).is_err());
        assert!(chamber.cut_for_trapped_ratio_m(7.0, bad, CutAt::Base).is_err());
        assert!(CutAt::Top.edge_depth_m(bad, 0.0).is_err() && CutAt::Base.edge_depth_m(0.027, bad).is_err());
        assert!(usual(0.001, bad, 0.0, 9.3e-6).is_err());
        assert!(band_width_m(bad, 0.5).is_err() && band_width_m(0.054, bad).is_err());
        assert!(squish.velocity_m_s(10.0, bad).is_err() && squish.peak(bad).is_err());
        assert!(squish.curve(bad, 40.0, 41).is_err() && squish.curve(12_000.0, bad, 41).is_err());
        assert!(squish.rpm_for_peak(bad).is_err() && squish.clearance_for_peak_m(bad, 12_000.0).is_err());
        assert!(squish.clearance_for_peak_m(30.0, bad).is_err());
    }
    assert!(usual(0.001, 0.008, f64::NAN, 9.3e-6).is_err() && usual(0.001, 0.008, 90.0, 9.3e-6).is_err());
    for bad in [f64::NAN, f64::INFINITY, 361.0, -361.0] {
        assert!(squish.velocity_m_s(bad, 12_000.0).is_err());
    }
}
