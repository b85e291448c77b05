//! The ring as a second bore gauge: its end gap grows π times as the bore does.

use std::f64::consts::PI;

use reedbook::advice::building::{GapCheck, gap_checks, gap_growth};
use reedbook::notebook::{Build, Limits};

use super::{GAUGES, UM, build, judged, limits};

/// A cylinder and its ring as they are at 20 C, measured at a temperature, sizes in mm.
struct Cylinder {
    warm_c: f64,
    /// Depth, bore along the pin, bore across the pin, end gap.
    depths: Vec<(&'static str, f64, f64, f64, f64)>,
}

impl Cylinder {
    /// What steel gauges as warm as the cylinder, of aluminium, show: bore and ring grow at 23 and 11.5e-6/K.
    fn text(&self) -> String {
        let over = self.warm_c - 20.0;
        let mut text = format!("temperature = \"{} C\"\n{GAUGES}", self.warm_c);
        for (name, depth, along, across, gap) in &self.depths {
            let shown = |size: f64| size * (1.0 + 23e-6 * over) / (1.0 + 11.5e-6 * over);
            let open = gap + PI * along * 11.5e-6 * over;
            text += &format!(
                "[bore.{name}]\ndepth = \"{depth} mm\"\nalong_pin = \"{:.6} mm\"\nacross_pin = \"{:.6} mm\"\n\
                 [ring.gaps.{name}]\ndepth = \"{depth} mm\"\ngap = \"{open:.6} mm\"\n",
                shown(*along),
                shown(*across)
            );
        }
        text
    }

    fn build(&self) -> Build {
        build(&self.text())
    }
}

fn growth(old: &Cylinder, new: &Cylinder) -> Vec<GapCheck> {
    let maps = [old, new].map(|cylinder| judged(&cylinder.text()).bores.remove(0).1);
    gap_growth((&old.build(), &maps[0]), (&new.build(), &maps[1]), &Limits::default()).unwrap()
}

fn new_one(warm_c: f64) -> Cylinder {
    Cylinder {
        warm_c,
        depths: vec![("top", 12.0, 54.000, 54.002, 0.300), ("low", 60.0, 53.998, 53.998, 0.290)],
    }
}

/// Worn by 0.030 mm at the top and 0.006 mm below, its ring not at all.
fn worn(warm_c: f64, ring_mm: f64) -> Cylinder {
    let (top, low) = (0.030, 0.006);
    Cylinder {
        warm_c,
        depths: vec![
            ("top", 12.0, 54.000 + top, 54.002 + top, 0.300 + PI * top + ring_mm),
            ("low", 60.4, 53.998 + low, 53.998 + low, 0.290 + PI * low + ring_mm),
        ],
    }
}

#[test]
fn a_bore_that_grew_and_its_ring_tell_the_same() {
    for (then, now) in [(20.0, 20.0), (20.0, 35.0), (12.0, 26.0)] {
        let found = growth(&new_one(then), &worn(now, 0.0));
        assert_eq!(found.len(), 2);
        for (check, (at, grew)) in found.iter().zip([("top", 30.0), ("low", 6.0)]) {
            assert_eq!((check.at.as_str(), check.than.as_str()), (at, "2026-03-01"));
            // Readings of six decimals, and π times the bore that has grown instead of the one that was: under 0.01 um.
            assert!((check.by_gap_m / UM - grew).abs() < 0.01, "{then} C, {now} C: {check:?}");
            assert!((check.by_gauge_m / UM - grew).abs() < 0.01, "{then} C, {now} C: {check:?}");
            assert!(check.agrees(), "{check:?}");
        }
    }
}

/// Gauges are set anew at each build, so nothing of their doubt cancels between two.
#[test]
fn the_doubt_of_a_growth_is_that_of_both_builds() {
    let found = growth(&new_one(20.0), &worn(20.0, 0.0));
    // A gap: sqrt(2.88675^2 + 10^2 + 1.1263^2) = 10.469 um (heat as by_hand says); of two, over π.
    assert!((found[0].by_gap_u_m / UM - 10.469 * 2.0_f64.sqrt() / PI).abs() < 2e-3, "{:?}", found[0]);
    // A mean of two readings, of whose 1.5 half is the hand: sqrt(0.57735^2/2 + 0.75^2/2 + 1.5^2 - 0.75^2 + 0.3585^2) =
    // 1.50464; of two.
    assert!((found[0].by_gauge_u_m / UM - 1.504_64 * 2.0_f64.sqrt()).abs() < 2e-3, "{:?}", found[0]);
}

#[test]
fn a_worn_ring_tells_another_story_than_the_gauge() {
    // 0.05 mm off its ends, 0.0159 mm by π, is beyond twice hypot(4.71, 2.26) = 10.4 um; 0.02 mm is not.
    for (ring_mm, agrees) in [(0.05, false), (0.02, true), (-0.05, false)] {
        for check in growth(&new_one(20.0), &worn(20.0, ring_mm)) {
            assert_eq!(check.agrees(), agrees, "{ring_mm}: {check:?}");
            assert!((check.by_gap_m - check.by_gauge_m - ring_mm * 1e-3 / PI).abs() < 1e-9);
        }
    }
}

/// Only depths that are the same place within 1.5 mm are held against each other.
#[test]
fn another_depth_is_another_place() {
    let mut moved = worn(20.0, 0.0);
    moved.depths[0].1 = 13.4;
    assert_eq!(growth(&new_one(20.0), &moved).len(), 2);
    moved.depths[0].1 = 13.6;
    let found = growth(&new_one(20.0), &moved);
    assert_eq!(found.iter().map(|check| check.at.as_str()).collect::<Vec<_>>(), ["low"]);
    // A gap where the bore was never read.
    let text =
        moved.text().replace("[ring.gaps.low]\ndepth = \"60.4 mm\"", "[ring.gaps.low]\ndepth = \"40 mm\"");
    let map = judged(&text).bores.remove(0).1;
    assert!(gap_checks(&build(&text), &Limits::default(), &map).unwrap().is_empty());
}

fn within_one(text: &str) -> Vec<GapCheck> {
    let map = judged(text).bores.remove(0).1;
    gap_checks(&build(text), &Limits::default(), &map).unwrap()
}

/// In one build each gap is held against the deepest; what both readings of one gauge share is out of it.
#[test]
fn depths_of_one_build_are_held_against_the_deepest() {
    let mut one = new_one(30.0);
    one.depths = vec![
        ("a-low", 60.0, 53.998, 54.000, 0.290),
        ("b-middle", 30.0, 54.002, 54.004, 0.290 + PI * 0.004),
        ("c-top", 12.0, 54.008, 54.010, 0.290 + PI * 0.010),
    ];
    let found = within_one(&one.text());
    let told: Vec<_> = found.iter().map(|check| (check.at.as_str(), check.than.as_str())).collect();
    assert_eq!(told, [("c-top", "a-low"), ("b-middle", "a-low")]);
    for (check, wider) in found.iter().zip([10.0, 4.0]) {
        assert!((check.by_gap_m / UM - wider).abs() < 0.02, "{check:?}");
        assert!((check.by_gauge_m / UM - wider).abs() < 0.02, "{check:?}");
        assert!(check.agrees());
        // Two gaps of sqrt(2.88675^2 + 10^2) over π; two means of two readings, sqrt(0.57735^2 + 0.75^2), the setting out of
        // it.
        assert!((check.by_gap_u_m / UM - 10.408_33 * 2.0_f64.sqrt() / PI).abs() < 1e-3, "{check:?}");
        assert!((check.by_gauge_u_m / UM - 0.946_48).abs() < 1e-3, "{check:?}");
    }
    // Read at the wrong place: the gap says 32 um that the gauge does not.
    one.depths[2].4 = 0.290 + 0.1 + PI * 0.010;
    assert!(!within_one(&one.text())[0].agrees());
    assert!(within_one(&one.text())[1].agrees());
}

#[test]
fn without_gaps_there_is_nothing_to_hold_against() {
    let bare = "[bore.top]\ndepth = \"12 mm\"\nalong_pin = \"54.000 mm\"\n";
    assert!(within_one(bare).is_empty());
    let one = format!("{bare}[ring.gaps.top]\ndepth = \"12 mm\"\ngap = \"0.30 mm\"\n");
    assert!(within_one(&one).is_empty());
    // The leaves of the limits are used where the build does not say.
    let two = format!(
        "{bare}[bore.low]\ndepth = \"60 mm\"\nalong_pin = \"54.000 mm\"\n[ring.gaps.low]\ndepth = \"60 mm\"\n\
         gap = \"0.30 mm\"\n[ring.gaps.top]\ndepth = \"12 mm\"\ngap = \"0.30 mm\"\n"
    );
    let leaves = limits("[gauges.feeler]\nresolution = \"0.10 mm\"\nuncertainty = \"0 mm\"\n");
    let map = judged(&two).bores.remove(0).1;
    let found = gap_checks(&build(&two), &leaves, &map).unwrap();
    let wanted = 100.0 / 12.0_f64.sqrt() * 2.0_f64.sqrt() / PI;
    assert!((found[0].by_gap_u_m / UM - wanted).abs() < 1e-6, "{found:?}");
}
