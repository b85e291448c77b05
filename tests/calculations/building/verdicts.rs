//! What the limits say of a figure, with the limits that come with the program and with the tuner's own.

use reedbook::advice::building::{Judgement, NamedFigure, judge};
use reedbook::engine::gauging::edges::{Grade, Judged, RangeSide};
use reedbook::notebook::Limits;
use reedbook::report::worded;

use super::{SHIPPED, UM, build, figure, judged_by, limits};

const GOOD: Judged = Judged::Is(Grade::Good);

/// A clearance straight off a dial that was zeroed on the piston, in mm.
fn room(shown_mm: f64) -> String {
    format!(
        "temperature = \"20 C\"\n[gauges.bore]\nset_on = \"piston\"\n[piston]\ndiameter = \"53.940 mm\"\n\
         [bore.top]\ndepth = \"12 mm\"\nalong_pin = \"{shown_mm:.4} mm\"\n"
    )
}

fn too_close(nearest: Grade, low: Grade, high: Grade) -> Judged {
    Judged::TooClose { nearest, between: (low, high) }
}

fn verdict(judgement: &Judgement, name: &str) -> Option<Judged> {
    figure(judgement, name).judged
}

/// Sound at three thousandths of an inch, 0.0762 mm, and watched from there (common practice, no source). By the gauge of
/// the limits, 0.01/sqrt(12) beside 0.005 mm, a clearance is good to twice 5.774 um.
#[test]
fn three_thousandths_of_an_inch() {
    let (good, watch) = (Grade::Good, Grade::Watch(RangeSide::Above));
    let wanted = [
        (0.0600, GOOD),
        // 0.0762 - 0.01155 = 0.06465.
        (0.0646, GOOD),
        (0.0647, too_close(good, good, watch)),
        (0.0760, too_close(good, good, watch)),
        (0.0762, too_close(good, good, watch)),
        (0.0764, too_close(watch, good, watch)),
        // 0.0762 + 0.01155 = 0.08775.
        (0.0877, too_close(watch, good, watch)),
        (0.0878, Judged::Is(watch)),
        (0.2000, Judged::Is(watch)),
    ];
    for (shown, verdict_wanted) in wanted {
        let found = judged_by(&room(shown), SHIPPED, None);
        assert_eq!(verdict(&found, "piston_clearance"), Some(verdict_wanted), "at {shown} mm");
        let clearance = figure(&found, "piston_clearance");
        assert!((clearance.value.expanded() / UM - 11.547).abs() < 1e-3);
        assert_eq!(clearance.source.as_deref(), Some("common practice, no source: sound at 0.003 in"));
    }
    // What is on the edge is within it: a gauge without doubt calls it good.
    let text = room(0.0762).replace("[gauges.bore]\n", "[gauges.bore]\nresolution = \"0.0001 mm\"\n");
    let sharp = SHIPPED.replace("uncertainty = \"0.005 mm\"", "uncertainty = \"0 mm\"");
    let found = judged_by(&text, &sharp, None);
    assert_eq!(verdict(&found, "piston_clearance").map(Judged::nearest), Some(Grade::Good));
}

/// All grades, by limits of one's own that leave the doubt out of it.
#[test]
fn every_grade_on_both_sides() {
    let own = "[gauges.bore]\nresolution = \"0.001 mm\"\n[figures.piston_clearance]\nleast = \"0.040 mm\"\n\
        watch_below = \"0.050 mm\"\nwatch_above = \"0.003 in\"\nmost = \"0.100 mm\"\nsource = \"mine\"\n";
    let (good, low, high) = (Grade::Good, Grade::Watch(RangeSide::Below), Grade::Watch(RangeSide::Above));
    let (tight, wide) = (Grade::Replace(RangeSide::Below), Grade::Replace(RangeSide::Above));
    let wanted = [
        (0.030, Judged::Is(tight)),
        (0.0398, too_close(tight, tight, low)),
        (0.0402, too_close(low, tight, low)),
        (0.045, Judged::Is(low)),
        (0.0502, too_close(good, low, good)),
        (0.060, GOOD),
        (0.0760, too_close(good, good, high)),
        (0.090, Judged::Is(high)),
        (0.1001, too_close(wide, high, wide)),
        (0.110, Judged::Is(wide)),
    ];
    for (shown, verdict_wanted) in wanted {
        let found = judged_by(&room(shown), own, None);
        assert_eq!(verdict(&found, "piston_clearance"), Some(verdict_wanted), "at {shown} mm");
        assert_eq!(found.remarks.len(), 1, "{:?}", found.remarks); // the bore map is thin
    }
}

/// 0.5 % of the bore is aimed at (common practice, no source): good by the limits that come with the program.
#[test]
fn a_ring_gap_is_held_against_shares_of_the_bore() {
    let gap =
        |mm: &str| format!("temperature = \"20 C\"\n[ring.gaps.top]\ndepth = \"12 mm\"\ngap = \"{mm}\"\n");
    let found = judged_by(&gap("0.30 mm"), SHIPPED, Some(0.0600));
    assert_eq!(verdict(&found, "ring_gap"), Some(GOOD));
    // 0.3, 0.4, 0.8 and 1.5 % of 60 mm.
    let wanted = [0.18e-3, 0.24e-3, 0.48e-3, 0.9e-3];
    for (edge, wanted) in figure(&found, "ring_gap").edges.unwrap().all().into_iter().zip(wanted) {
        assert!((edge.unwrap() - wanted).abs() < 1e-12);
    }
    let of = |mm: &str| verdict(&judged_by(&gap(mm), SHIPPED, Some(0.0600)), "ring_gap").unwrap();
    assert_eq!(of("0.15 mm"), Judged::Is(Grade::Replace(RangeSide::Below)));
    assert_eq!(of("0.21 mm"), Judged::Is(Grade::Watch(RangeSide::Below)));
    assert_eq!(of("0.60 mm"), Judged::Is(Grade::Watch(RangeSide::Above)));
    assert_eq!(of("1.10 mm"), Judged::Is(Grade::Replace(RangeSide::Above)));
    // Without any bore there is nothing that a share is of.
    let none = judged_by(&gap("0.33 mm"), SHIPPED, None);
    assert_eq!(verdict(&none, "ring_gap"), None);
    assert!(none.remarks.iter().any(|said| worded(said).contains("no bore is known")), "{:?}", none.remarks);
}

/// The bore that was measured counts, not the one on paper; the widest gap has the limits of the tightest.
#[test]
fn a_share_is_of_the_bore_that_was_measured() {
    let text = "temperature = \"20 C\"\n[bore.top]\ndepth = \"12 mm\"\nalong_pin = \"50.000 mm\"\n\
        across_pin = \"50.010 mm\"\n[ring.gaps.top]\ndepth = \"12 mm\"\ngap = \"0.25 mm\"\n[ring.gaps.low]\n\
        depth = \"60 mm\"\ngap = \"0.90 mm\"\n";
    let found = judged_by(text, SHIPPED, Some(0.0664));
    for name in ["ring_gap", "ring_gap_widest"] {
        let edges = figure(&found, name).edges.unwrap().all();
        assert!((edges[0].unwrap() - 0.15e-3).abs() < 1e-12, "{name}: {edges:?}");
    }
    assert_eq!(verdict(&found, "ring_gap"), Some(GOOD));
    assert_eq!(verdict(&found, "ring_gap_widest"), Some(Judged::Is(Grade::Replace(RangeSide::Above))));
    // An engine's own limit holds for both as well.
    let own = format!("{SHIPPED}\n[engines.cicada.ring_gap]\nmost = \"2 mm\"\n");
    let found = judged_by(text, &own, None);
    assert_eq!(verdict(&found, "ring_gap_widest"), Some(GOOD));
}

#[test]
fn a_limit_of_one_engine_stands_in_place_of_the_general_one() {
    let own =
        format!("{SHIPPED}\n[engines.cicada.piston_clearance]\nmost = \"0.05 mm\"\nsource = \"mine\"\n");
    let of = |engine: &str| -> NamedFigure {
        let found = judge(&build(&room(0.07)), engine, &limits(&own), None).unwrap();
        figure(&found, "piston_clearance").clone()
    };
    assert_eq!(of("cicada").judged, Some(Judged::Is(Grade::Replace(RangeSide::Above))));
    assert_eq!(of("cicada").edges.unwrap().all()[..3], [None; 3], "nothing of the general one is left");
    assert_eq!(of("cicada").source.as_deref(), Some("mine"));
    assert_eq!(of("cricket").judged.map(Judged::nearest), Some(Grade::Good));
}

#[test]
fn a_limit_in_the_wrong_unit_is_said_and_not_used() {
    let build = "[chamber]\nvolume = \"8.6 cc\"\n[reed]\ntension = \"45 g\"\n[deck]\nheight = \"0.1 mm\"\n";
    let wrong = [
        ("chamber_volume", "most = \"9 mm\""),
        ("chamber_volume", "most = \"5 %\""),
        ("reed_tension", "watch_below = \"32 cc\""),
        ("reed_tension", "watch_below = 32"),
        ("deck_height", "least = \"1 g\""),
        ("deck_height", "most = \"5 %\""),
    ];
    for (name, edge) in wrong {
        let found = judged_by(build, &format!("[figures.{name}]\n{edge}\nsource = \"mine\"\n"), None);
        assert_eq!(verdict(&found, name), None, "{edge}");
        assert!(figure(&found, name).edges.is_none(), "{edge}");
        let [remark] = found.remarks.as_slice() else { panic!("{edge}: {:?}", found.remarks) };
        let remark = worded(remark);
        assert!(remark.contains(name) && remark.contains("is not used"), "{remark}");
        assert!(remark.ends_with('.'), "{remark}");
    }
    // In its own unit each is used.
    let right = "[figures.chamber_volume]\nmost = \"9 cc\"\n[figures.reed_tension]\nwatch_below = \"1 oz\"\n\
        [figures.deck_height]\nleast = \"-1 mm\"\n";
    let found = judged_by(build, right, None);
    assert!(found.remarks.is_empty(), "{:?}", found.remarks);
    for name in ["chamber_volume", "reed_tension", "deck_height"] {
        assert_eq!(verdict(&found, name), Some(GOOD), "{name}");
    }
}

#[test]
fn limits_out_of_order_are_said_and_not_used() {
    for edges in [
        "least = \"0.08 mm\"\nmost = \"0.05 mm\"\n",
        "watch_below = \"0.08 mm\"\nwatch_above = \"0.003 in\"\n",
        "least = \"0.06 mm\"\nwatch_below = \"0.05 mm\"\n",
        "watch_above = \"0.10 mm\"\nmost = \"0.003 in\"\n",
    ] {
        let found = judged_by(&room(0.07), &format!("[figures.piston_clearance]\n{edges}"), None);
        assert_eq!(verdict(&found, "piston_clearance"), None, "{edges}");
        let said = |words: &str| found.remarks.iter().any(|said| worded(said).contains(words));
        assert!(said("The limits of piston_clearance") && said("must not fall"), "{:?}", found.remarks);
    }
}

/// Nothing is called good for want of a limit.
#[test]
fn without_a_limit_there_is_no_verdict() {
    let found = judge(&build(&room(0.07)), "cicada", &Limits::default(), None).unwrap();
    let only_source = judged_by(&room(0.07), "[figures.piston_clearance]\nsource = \"mine\"\n", None);
    for judgement in [&found, &only_source] {
        assert!(judgement.figures.iter().all(|figure| figure.judged.is_none() && figure.edges.is_none()));
    }
}

/// A build's own gauge goes before the one of the limits, word by word.
#[test]
fn gauges_of_the_build_go_before_those_of_the_limits() {
    let usual = "[gauges.feeler]\nresolution = \"0.02 mm\"\nuncertainty = \"0.01 mm\"\n[gauges.balance]\n\
        resolution = \"5 g\"\nuncertainty = \"3 g\"\n[gauges.burette]\nresolution = \"0.1 cc\"\nuncertainty = \"0.2 cc\"\n";
    let own = "[gauges.feeler]\nresolution = \"0.05 mm\"\n[gauges.balance]\nuncertainty = \"1 g\"\n[gauges.burette]\n\
        resolution = \"0.5 cc\"\n";
    let readings = "[reed]\ngap = \"0.05 mm\"\ntension = \"45 g\"\n[chamber]\nvolume = \"8.6 cc\"\n";
    let root = |step: f64, hand: f64| (step / 12.0_f64.sqrt()).hypot(hand);
    let doubt = |judgement: &Judgement, name: &str| figure(judgement, name).value.uncertainty();
    let by_usual = judged_by(readings, usual, None);
    let by_own = judged_by(&format!("{own}{readings}"), usual, None);
    for (judgement, name, unit, wanted) in [
        (&by_usual, "reed_gap", 1e-3, root(0.02, 0.01)),
        (&by_own, "reed_gap", 1e-3, root(0.05, 0.01)),
        (&by_usual, "reed_tension", 1e-3, root(5.0, 3.0)),
        (&by_own, "reed_tension", 1e-3, root(5.0, 1.0)),
        (&by_usual, "chamber_volume", 1e-6, root(0.1, 0.2)),
        (&by_own, "chamber_volume", 1e-6, root(0.5, 0.2)),
    ] {
        let is = doubt(judgement, name) / unit;
        assert!((is - wanted).abs() < 1e-9, "{name}: {is} {wanted}");
    }
}

/// A bearing's interference is positive where it is tight.
#[test]
fn a_loose_bearing_is_seen() {
    let seat = |bore: &str| {
        format!(
            "temperature = \"20 C\"\n[seats.left]\ncase_bore = \"{bore}\"\nbearing_outside = \"52.000 mm\"\n"
        )
    };
    let of =
        |bore: &str| verdict(&judged_by(&seat(bore), SHIPPED, None), "bearing_in_case").unwrap().nearest();
    assert_eq!(of("52.020 mm"), Grade::Replace(RangeSide::Below));
    assert_eq!(of("52.000 mm"), Grade::Watch(RangeSide::Below));
    assert_eq!(of("51.970 mm"), Grade::Good);
    assert_eq!(of("51.920 mm"), Grade::Watch(RangeSide::Above));
}

/// Limits that several figures share are complained of once.
#[test]
fn a_limit_is_complained_of_once() {
    let text = "temperature = \"20 C\"\n[ring.gaps.a]\ndepth = \"12 mm\"\ngap = \"0.3 mm\"\n[ring.gaps.b]\n\
        depth = \"60 mm\"\ngap = \"0.3 mm\"\n[seats.a]\ncase_bore = \"51.985 mm\"\nbearing_outside = \"51.995 mm\"\n\
        [seats.b]\ncase_bore = \"51.985 mm\"\nbearing_outside = \"51.995 mm\"\n";
    let edges = "[figures.ring_gap]\nleast = \"0.5 mm\"\nmost = \"0.2 mm\"\n[figures.bearing_in_case]\nmost = \"2 cc\"\n";
    assert_eq!(judged_by(text, edges, None).remarks.len(), 2);
}
