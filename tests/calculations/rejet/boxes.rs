//! A bike's own box, what a record wants in place of theory, and the smallest main jet allowed.

use proptest::prelude::*;
use reedbook::advice::{ClipAdvice, Rejet, RejetRequest, WantedFuel, rejet};
use reedbook::notebook::{Circuit, OwnBox};

use crate::bikes::{
    FLOW_BIKE, NEEDLE_BIKE, SIMPLE_BIKE, Tables, agree, jet, main_jet, mild, says, setup, with, without,
};

fn own(main: &[f64], pilot: &[f64], needles: &[&str]) -> OwnBox {
    OwnBox {
        main: main.to_vec(),
        pilot: pilot.to_vec(),
        needles: needles.iter().map(|code| (*code).to_owned()).collect(),
    }
}

/// The answer for a factor where something is wanted in place of theory, and main jets below a number are not allowed.
fn answer(bike: &str, factor: f64, wanted: Option<&[WantedFuel]>, main_at_least: Option<f64>) -> Rejet {
    let (tables, setup) = (Tables::as_shipped(), setup(bike));
    let mut request = tables.request(&setup, mild(), mild());
    request.lambda_ratio = 1.0 / factor;
    (request.wanted, request.main_at_least) = (wanted, main_at_least);
    rejet(&request).unwrap()
}

fn with_box(bike: &str, factor: f64, own: &OwnBox) -> Rejet {
    let (tables, setup) = (Tables::as_shipped(), setup(bike));
    let mut request = tables.request(&setup, mild(), mild());
    request.lambda_ratio = 1.0 / factor;
    request.own_box = Some(own);
    rejet(&request).unwrap()
}

#[test]
fn the_bikes_own_box_takes_the_place_of_the_series() {
    let listed = own(&[160.0, 165.0, 171.0, 177.0, 185.0], &[50.0, 53.5, 57.0], &[]);
    let answer = with_box(NEEDLE_BIKE, 1.03, &listed);
    // 175.7 exactly: 176 in the series, 177 in the box; the jet in the bike is at hand too.
    let main = main_jet(&answer);
    assert_eq!((main.advised, main.leaner, main.richer), (Some(177.0), Some(172.0), Some(185.0)));
    assert_eq!(main.series.as_deref(), Some("main-bore"));
    let sizes: Vec<f64> = answer.mains.iter().map(|main| main.size).collect();
    assert_eq!(sizes, [160.0, 165.0, 171.0, 172.0, 177.0, 185.0]);
    let pilot = jet(&with_box(NEEDLE_BIKE, 1.12, &listed), Circuit::Pilot).clone();
    assert!([53.5, 57.0].contains(&pilot.advised.unwrap()), "{pilot:?}");
    // An empty list leaves the series.
    let main_only = own(&[185.0], &[], &[]);
    let answer = with_box(NEEDLE_BIKE, 1.08, &main_only);
    assert_eq!(main_jet(&answer).advised, Some(185.0));
    assert_eq!(jet(&answer, Circuit::Pilot).advised, Some(55.0));
    // Where no series serves, the box does.
    let no_series = with(SIMPLE_BIKE, "main_series = \"lost\"");
    let answer = with_box(&no_series, 0.95, &own(&[165.0, 168.0, 170.0], &[], &[]));
    assert_eq!((main_jet(&answer).advised, main_jet(&answer).series.clone()), (Some(168.0), None));
    assert!(!says(&answer.warnings, &["only the exact number"]));
}

#[test]
fn a_flow_numbered_box_keeps_the_series_bore() {
    let answer = with_box(FLOW_BIKE, 1.02, &own(&[302.0, 311.0], &[], &[]));
    assert_eq!(main_jet(&answer).advised, Some(311.0));
    assert!(!matches!(answer.clip, ClipAdvice::NotComputed { .. }));
}

#[test]
fn only_needles_in_the_box_are_hung() {
    let any = with_box(NEEDLE_BIKE, 0.85, &own(&[], &[], &[]));
    assert_eq!(any.needle.as_ref().map(|needle| needle.to.as_str()), Some("n3"));
    assert!(any.assignments.contains(&("jetting.needle".into(), "n3".into())));
    let none = with_box(NEEDLE_BIKE, 0.85, &own(&[], &[], &["n2"]));
    assert_eq!(none.needle, None);
    let lost = with_box(NEEDLE_BIKE, 0.85, &own(&[], &[], &["n\u{1b}9", "n3"]));
    assert_eq!(lost.needle, any.needle);
    assert!(says(&lost.warnings, &["needle \"n\\u{1b}9\"", "not in configs/needles.toml"]));
}

/// A needle of the common table is hung only where it is measured as far as full lift needs; one of the bike's own box is.
#[test]
fn a_needle_that_is_not_measured_far_enough_is_not_advised() {
    let setup = setup(NEEDLE_BIKE);
    let mut tables = Tables::as_shipped();
    let factor = 0.85;
    let needle = |tables: &Tables, own: Option<&OwnBox>| {
        let mut request = tables.request(&setup, mild(), mild());
        request.lambda_ratio = 1.0 / factor;
        request.own_box = own;
        let answer = rejet(&request).unwrap();
        (answer.needle.map(|needle| needle.to), answer.warnings)
    };
    assert_eq!(needle(&tables, None).0.as_deref(), Some("n3"));
    // Full lift in the leanest groove stands at 26 + 38 = 64 mm. Cut off where it still is 63.9 long, at its own taper.
    let points = &mut tables.needles.needles.get_mut("n3").unwrap().points;
    *points.last_mut().unwrap() = [63.9, 2.06 - 0.76 * 7.9 / 15.0];
    assert_ne!(needle(&tables, None).0.as_deref(), Some("n3"));
    let (code, warnings) = needle(&tables, Some(&own(&[], &[], &["n3"])));
    assert_eq!(code.as_deref(), Some("n3"));
    assert!(says(&warnings, &["n3 is measured to 63.9 mm", "as thick as at its last point"]));
}

#[test]
fn a_size_that_cannot_be_in_the_bikes_box_is_blamed_on_it() {
    let (tables, setup) = (Tables::as_shipped(), setup(NEEDLE_BIKE));
    for (listed, field) in [
        (own(&[170.0, -5.0], &[], &[]), "bike.toml, box.main"),
        (own(&[], &[f64::NAN], &[]), "bike.toml, box.pilot"),
    ] {
        let request = RejetRequest { own_box: Some(&listed), ..tables.request(&setup, mild(), mild()) };
        assert_eq!(rejet(&request).unwrap_err().field(), Some(field));
    }
}

#[test]
fn a_record_decides_the_main_jet_and_theory_stays_beside_it() {
    for bike in [NEEDLE_BIKE, SIMPLE_BIKE] {
        let theory = answer(bike, 1.0, None, None);
        let mut wanted = WantedFuel::by_theory(1.0).to_vec();
        let full = wanted.last_mut().unwrap();
        (full.factor, full.least) = (0.97, 0.96);
        let learned = answer(bike, 1.0, Some(&wanted), None);
        let main = main_jet(&learned);
        assert_eq!(main.exact, main_jet(&theory).exact);
        assert!(main.advised.unwrap() < 172.0, "{main:?}");
        // The smallest that is not below the least, and what each size brings is said.
        let brings = |size: f64| learned.mains.iter().find(|main| agree(main.size, size)).unwrap().delivered;
        assert!(brings(main.advised.unwrap()) >= 0.96 && brings(main.leaner.unwrap()) < 0.96);
        assert!(
            (main.advised_percent.unwrap() - 100.0 * (brings(main.advised.unwrap()) / 0.97 - 1.0)).abs()
                < 1e-9
        );
        assert!(learned.cautions.len() > theory.cautions.len(), "leaner, and not said");
        // Never below the size that is allowed.
        let held = answer(bike, 1.0, Some(&wanted), Some(172.0));
        assert_eq!(main_jet(&held).advised, Some(172.0));
        // A size that the box does not have, and one beyond it.
        let floor = |at_least| answer(bike, 1.0, None, Some(at_least));
        assert_eq!(main_jet(&floor(175.0)).advised, Some(176.0));
        assert_eq!(main_jet(&floor(240.0)).advised, None);
    }
}

#[test]
fn a_record_that_the_box_cannot_meet_is_said() {
    let bike = with(NEEDLE_BIKE, "main = 226");
    let mut wanted = WantedFuel::by_theory(1.0).to_vec();
    wanted.last_mut().unwrap().least = 1.2;
    let none = answer(&bike, 1.0, Some(&wanted), None);
    assert_eq!(main_jet(&none).advised, None);
    assert!(says(&none.warnings, &["The box ends at main jet 230", "do not run it"]));
    // Nothing brings a quarter as much again at a quarter, and only there: it is said by how much.
    let mut wanted = WantedFuel::by_theory(1.0).to_vec();
    (wanted[2].factor, wanted[2].least) = (1.35, 1.35);
    let short = answer(NEEDLE_BIKE, 1.0, Some(&wanted), None);
    let quarter = short.zones[2].delivered;
    let by = format!("a quarter by {:.1} %", 100.0 * (1.0 - quarter / 1.35));
    assert!(
        quarter < 1.35 && says(&short.warnings, &["Not every slide lift gets enough", &by]),
        "{:?}",
        short.warnings
    );
    assert!(matches!(short.clip, ClipAdvice::Move { to: 5, .. }));
}

#[test]
fn what_is_wanted_must_make_sense() {
    let (tables, setup) = (Tables::as_shipped(), setup(NEEDLE_BIKE));
    for value in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        let mut wanted = WantedFuel::by_theory(1.0);
        wanted[1].factor = value;
        let request = RejetRequest { wanted: Some(&wanted), ..tables.request(&setup, mild(), mild()) };
        assert_eq!(rejet(&request).unwrap_err().field(), Some("the fuel wanted at eighth"), "{value}");
    }
}

#[test]
fn a_record_decides_the_trim() {
    let bike = "[injection]\ncompensation = \"none\"\ntrim = 2";
    let mut wanted = WantedFuel::by_theory(1.0).to_vec();
    let full = wanted.last_mut().unwrap();
    (full.factor, full.least) = (0.96, 0.95);
    let learned = answer(bike, 1.0, Some(&wanted), None).injection.unwrap();
    // 102 x 0.95 - 100 = -3.1, and every cell 5 % less.
    assert!((learned.to_percent + 3.1).abs() < 1e-9, "{learned:?}");
    assert!((learned.trim_percent + 5.0).abs() < 1e-9, "{learned:?}");
    let held = answer(bike, 1.0, Some(&wanted), Some(1.0));
    assert!((held.injection.unwrap().to_percent - 1.0).abs() < 1e-9);
}

/// Much thinner air: the trim goes there two sizes of 2 % at a time, and what is a size richer is said in percent.
#[test]
fn a_trim_goes_leaner_in_steps() {
    let bike = "[injection]\ncompensation = \"none\"\ntrim = 2";
    let much = answer(bike, 0.85, None, None);
    let advice = much.injection.as_ref().unwrap();
    // 102 x 0.85 - 100 = -13.3.
    assert!((advice.to_percent + 13.3).abs() < 1e-9, "{advice:?}");
    let shown = |steps: &[f64]| steps.iter().map(|trim| format!("{trim:.1}")).collect::<Vec<_>>();
    assert_eq!(shown(&advice.steps), ["-2.0", "-6.0", "-10.0", "-13.3"]);
    assert!((advice.next_percent() + 2.0).abs() < 1e-9);
    assert!((advice.richer_percent + 11.3).abs() < 1e-9 && (advice.leaner_percent + 15.3).abs() < 1e-9);
    assert!(says(
        &much.warnings,
        &["more than 2 sizes of 2 % leaner", "-2.0, then -6.0", "read plug and piston"]
    ));
    // Two sizes are one step, and richer is gone at once.
    for (factor, to) in [(0.97, -1.0), (1.2, 22.4)] {
        let once = answer(bike, factor, None, None);
        let advice = once.injection.unwrap();
        assert!((advice.to_percent - to).abs() < 0.11 && advice.steps.is_empty(), "{advice:?}");
        assert!(!says(&once.warnings, &["in steps"]));
    }
    // They count from the trim on the bike.
    let (tables, setup) = (Tables::as_shipped(), setup(bike));
    let mut request = tables.request(&setup, mild(), mild());
    (request.lambda_ratio, request.main_on_the_bike) = (1.0 / 0.85, Some(-8.0));
    assert_eq!(shown(&rejet(&request).unwrap().injection.unwrap().steps), ["-12.0", "-13.3"]);
}

#[test]
fn the_lean_end_of_the_box_is_named() {
    let box_to_165 = own(&[165.0, 170.0, 175.0], &[], &[]);
    for bike in [NEEDLE_BIKE, SIMPLE_BIKE] {
        // By theory, and by a record that wants as little.
        let theory = answer_with(bike, 0.88, None, &box_to_165);
        let mut wanted = WantedFuel::by_theory(1.0).to_vec();
        for zone in &mut wanted {
            (zone.factor, zone.least) = (0.88, 0.88);
        }
        let record = answer_with(bike, 1.0, Some(&wanted), &box_to_165);
        for answer in [theory, record] {
            assert_eq!(main_jet(&answer).advised, Some(165.0));
            assert!(
                says(
                    &answer.warnings,
                    &["The box ends at main jet 165, and ", "is asked for: fit 165, it will be rich."]
                ),
                "{:?}",
                answer.warnings
            );
        }
        let enough = answer_with(bike, 0.97, None, &box_to_165);
        assert!(!says(&enough.warnings, &["The box ends at"]));
    }
}

fn answer_with(bike: &str, factor: f64, wanted: Option<&[WantedFuel]>, own: &OwnBox) -> Rejet {
    let (tables, setup) = (Tables::as_shipped(), setup(bike));
    let mut request = tables.request(&setup, mild(), mild());
    (request.lambda_ratio, request.wanted, request.own_box) = (1.0 / factor, wanted, Some(own));
    rejet(&request).unwrap()
}

/// Half throttle rich or lean by the record, and no needle to reckon with: one groove to try, and nothing to record.
#[test]
fn without_the_needle_a_groove_is_worth_a_try() {
    let clip = |factor: f64, half: (f64, f64), line: &str| {
        let mut wanted = WantedFuel::by_theory(factor).to_vec();
        (wanted[3].factor, wanted[3].least) = half;
        // Only half throttle has spoken.
        let said = answer(&with(SIMPLE_BIKE, line), factor, Some(&wanted[3..4]), None);
        assert!(said.assignments.iter().all(|(field, _)| field != "jetting.clip"));
        said.clip
    };
    // 3 % rich by the record: one groove up, which full throttle, exactly right, has no room for.
    let rich = clip(1.0, (0.97, 0.95), "clip = 3");
    let ClipAdvice::Try {
        from: Some(3),
        to: Some(2),
        leaner: true,
        main_richer: true,
        zone: "half",
        percent,
        ..
    } = rich
    else {
        panic!("{rich:?}");
    };
    assert!((percent.unwrap() - 100.0 * (1.0 / 0.97 - 1.0)).abs() < 1e-9);
    let words = rich.worth_a_try().unwrap();
    for part in [
        "one groove leaner (clip 3 to 2): try it",
        "Rule of thumb",
        "no needle data",
        "main jet one size richer",
    ] {
        assert!(words.contains(part), "{words}");
    }
    // Lean: one down. The groove not known: in words alone.
    let lean = clip(1.0, (1.03, 1.01), "clip = 3");
    assert!(matches!(lean, ClipAdvice::Try { from: Some(3), to: Some(4), leaner: false, .. }), "{lean:?}");
    let unknown = clip(1.0, (0.97, 0.95), "shim = 0");
    assert!(matches!(unknown, ClipAdvice::Try { from: None, to: None, leaner: true, .. }), "{unknown:?}");
    for (factor, half, line) in [
        // Less than half a groove.
        (1.0, (0.99, 0.97), "clip = 3"),
        // A groove would make it too lean.
        (1.0, (0.98, 0.975), "clip = 3"),
        // Rich only because the air is thinner: no outing said so.
        (0.93, (0.93, 0.91), "clip = 3"),
        // The leanest groove already.
        (1.0, (0.96, 0.94), "clip = 1"),
    ] {
        let stays = clip(factor, half, line);
        assert!(matches!(stays, ClipAdvice::NotComputed { .. }), "{factor} {half:?} {line}: {stays:?}");
    }
    // Thinner air makes what was rich richer, denser air mends it.
    assert!(matches!(clip(0.95, (0.92, 0.90), "clip = 3"), ClipAdvice::Try { leaner: true, .. }));
    assert!(matches!(clip(1.04, (1.01, 0.99), "clip = 3"), ClipAdvice::NotComputed { .. }));
    // With the needle known it is reckoned.
    let mut wanted = WantedFuel::by_theory(1.0);
    (wanted[3].factor, wanted[3].least) = (0.95, 0.93);
    let known = answer(NEEDLE_BIKE, 1.0, Some(&wanted[3..4]), None);
    assert!(matches!(known.clip, ClipAdvice::Stays { .. } | ClipAdvice::Move { .. }));
}

/// Where a lean run stands behind the least of a zone, no error at another is worth a groove that goes below it.
#[test]
fn no_other_zone_is_worth_going_below_what_a_lean_run_left() {
    let mut felt = 0;
    for hundredth in 0_u8..=8 {
        let least = 1.0 + f64::from(hundredth) / 100.0;
        let half = |held: bool| {
            let mut wanted = WantedFuel::by_theory(1.0);
            // Every other zone would have it leaner.
            for zone in &mut wanted {
                (zone.factor, zone.least) = (0.95, 0.93);
            }
            (wanted[3].least, wanted[3].held) = (least, held.then_some(least));
            let answer = answer(NEEDLE_BIKE, 1.0, Some(&wanted), None);
            answer.zones.iter().find(|zone| zone.zone == "half").unwrap().delivered
        };
        assert!(half(true) >= least * (1.0 - 1e-8), "{least}: {}", half(true));
        felt += usize::from(half(false) < least);
    }
    assert!(felt > 0, "it never mattered");
}

proptest! {
    /// Whatever is wanted, full throttle is not below the least, and no size smaller than allowed is advised.
    #[test]
    fn full_throttle_is_never_below_the_least(
        factors in prop::array::uniform6(0.8..1.25_f64),
        margins in prop::array::uniform6(0.95..1.04_f64),
        at_least in 150.0..190.0_f64,
        bike in prop::sample::select(crate::bikes::CARBURETORS.as_slice()),
        known in any::<bool>(),
    ) {
        let bike = if known { bike.to_owned() } else { without(bike, "pilot") };
        let mut wanted = WantedFuel::by_theory(1.0);
        for ((wanted, factor), margin) in wanted.iter_mut().zip(factors).zip(margins) {
            (wanted.factor, wanted.least) = (factor, factor * margin);
        }
        let answer = answer(&bike, 1.0, Some(&wanted), Some(at_least));
        let full = answer.zones.last().unwrap();
        prop_assert_eq!(full.zone, "full");
        let main = main_jet(&answer);
        if let Some(advised) = main.advised {
            prop_assert!(full.delivered >= wanted[5].least * (1.0 - 1e-8));
            prop_assert!(advised >= at_least * (1.0 - 1e-8));
        }
        for zone in &answer.zones {
            let wanted = wanted.iter().find(|wanted| wanted.zone == zone.zone).unwrap();
            prop_assert!(agree(zone.fitted_percent / 100.0 + 1.0, zone.delivered / wanted.factor));
            prop_assert!(agree(zone.left_percent / 100.0 + 1.0, 1.0 / wanted.factor));
            // A percent is no word worth.
            let too_lean = zone.delivered < wanted.least * 0.9899;
            prop_assert!(!too_lean || says(&answer.warnings, &["Not every slide lift gets enough"])
                || main.advised.is_none());
        }
    }
}
