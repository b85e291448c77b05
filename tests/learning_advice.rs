//! What is advised from a record: the limit of risk, the bound of a young record, the zones that have not spoken. The evidence
//! is invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

#[allow(dead_code, reason = "others need the rest")]
#[path = "rejet/bikes.rs"]
mod bikes;

use std::path::PathBuf;

use bikes::{NEEDLE_BIKE, POWER_BIKE, Tables, main_jet, mild, setup, with};
use proptest::prelude::*;
use reedbook::advice::learning::verdicts::Judged;
use reedbook::advice::learning::{Advised, Adviser, Evidence, Settings, Weight, Witness, ZoneVerdict};
use reedbook::advice::{ClipAdvice, Rejet, RejetRequest, delivered_at, rejet};
use reedbook::notebook::{Outing, Setup};
use reedbook::store::OutingRecord;

fn weight(total: f64) -> Weight {
    let (other_parts, changed_at_once) = (Vec::new(), Vec::new());
    Weight { total, age: total, parts: 1.0, changes: 1.0, fuel: 1.0, other_parts, changed_at_once }
}

/// An outing with one verdict.
fn witness(zone: &'static str, (delivered, factor): (f64, f64), judged: Judged, weighs: f64) -> Witness {
    let outing: Outing = toml::from_str("date = \"2026-05-16T10:00+02:00\"").unwrap();
    let record =
        OutingRecord { bike: "moth".into(), id: "1".into(), file: PathBuf::new(), outing, setup: Some(1) };
    Witness {
        outing: record,
        setup: 1,
        factor,
        verdicts: vec![ZoneVerdict { zone, judged, delivered }],
        weight: weight(weighs),
        sign: None,
    }
}

fn evidence(witnesses: Vec<Witness>) -> Evidence {
    Evidence { witnesses, ..Evidence::default() }
}

/// The request for a factor on the fuel.
fn asked<'a>(tables: &'a Tables, setup: &'a Setup, factor: f64) -> RejetRequest<'a> {
    let mut request = tables.request(setup, mild(), mild());
    request.lambda_ratio = 1.0 / factor;
    request
}

fn advised(tables: &Tables, setup: &Setup, factor: f64, evidence: &Evidence) -> Advised {
    let request = asked(tables, setup, factor);
    Adviser::new(&request, evidence, &Settings::default()).unwrap().advise(&request).unwrap()
}

/// The setup with what was advised.
fn fitted(text: &str, answer: &Rejet) -> Setup {
    let mut text = text.to_owned();
    for jet in &answer.jets {
        if let Some(size) = jet.advised {
            text = with(&text, &format!("{} = {size}", jet.field.trim_start_matches("jetting.")));
        }
    }
    if let ClipAdvice::Move { to, .. } = answer.clip {
        text = with(&text, &format!("clip = {to}"));
    }
    if let Some(needle) = &answer.needle {
        text = with(&text, &format!("needle = \"{}\"", needle.to));
    }
    if let Some(screw) = &answer.screw {
        text = with(&text, &format!("air_screw = {}", screw.to_turns));
    }
    setup(&text)
}

#[test]
fn a_young_record_leaves_theory_by_one_size_at_most() {
    let (tables, setup) = (Tables::as_shipped(), setup(NEEDLE_BIKE));
    let mut held = 0;
    for factor in [0.93, 1.0, 1.04] {
        let theory = rejet(&asked(&tables, &setup, factor)).unwrap();
        let least = main_jet(&theory).leaner.unwrap();
        // Two outings that were clearly rich, and the proven mark beside them, which is no outing.
        let rich = || witness("full", (0.9, 1.0), Judged::Rich, 1.0);
        for vouched_for in [false, true] {
            let young = Evidence { vouched_for, ..evidence(vec![rich(), rich()]) };
            let answer = advised(&tables, &setup, factor, &young);
            let main = main_jet(&answer.rejet).advised.unwrap();
            assert!(main >= least, "{main} is more than one size below theory's, {least} being one");
            let learned = answer.learned.unwrap();
            assert!(learned.test_run.is_none_or(|run| run.size >= main));
        }
        // As many again may, where the limit lets them.
        let grown = advised(&tables, &setup, factor, &evidence((0..8).map(|_| rich()).collect()));
        let grown = main_jet(&grown.rejet).advised.unwrap();
        let young = advised(&tables, &setup, factor, &evidence(vec![rich(), rich()]));
        if young.learned.unwrap().held_by_theory {
            held += 1;
            assert!(grown < least, "{grown} {least}");
        }
    }
    assert!(held > 0, "the bound was never felt");
}

#[test]
fn the_other_zones_say_nothing_of_the_main_jet() {
    let tables = Tables::as_shipped();
    let without_needle = NEEDLE_BIKE.lines().filter(|line| !line.starts_with("needle")).collect::<Vec<_>>();
    for text in [NEEDLE_BIKE, &without_needle.join("\n"), POWER_BIKE] {
        let setup = setup(text);
        for factor in [0.9, 1.05] {
            let theory = rejet(&asked(&tables, &setup, factor)).unwrap();
            let idle = advised(
                &tables,
                &setup,
                factor,
                &evidence(vec![witness("idle", (1.0, 1.0), Judged::Right, 1.0)]),
            );
            assert_eq!(main_jet(&idle.rejet).advised, main_jet(&theory).advised);
            let learned = idle.learned.unwrap();
            assert!(learned.sizes.is_empty() && learned.lean_risk.is_none() && learned.limit.is_none());
        }
    }
}

/// What the fitted carburetor delivers at full throttle is no less than was said, with a power jet too.
#[test]
fn what_is_fitted_delivers_what_was_said() {
    let tables = Tables::as_shipped();
    for text in [NEEDLE_BIKE, POWER_BIKE] {
        let before = setup(text);
        for factor in [0.88, 0.95, 1.03, 1.08] {
            let rich = evidence((0..4).map(|_| witness("full", (1.0, 1.03), Judged::Lean, 1.0)).collect());
            for evidence in [Evidence::default(), rich] {
                let answer = advised(&tables, &before, factor, &evidence).rejet;
                let after = fitted(text, &answer);
                let delivered = delivered_at(&before, &after, &tables.jets, &tables.needles, &tables.shares);
                let full = delivered.iter().find(|(zone, _)| *zone == "full").unwrap().1.clone().unwrap();
                let said = answer.zones.iter().find(|zone| zone.zone == "full").unwrap().delivered;
                assert!(full >= said - 1e-9, "{factor}: {full} instead of {said}");
            }
        }
    }
}

fn any_judged() -> impl Strategy<Value = Judged> {
    prop::sample::select(Judged::ALL.as_slice())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Whatever the record: the limit is kept, and no smaller size would have kept it unless it is leaner than right or the record
    /// is too young for it.
    #[test]
    fn the_limit_is_kept_by_what_is_advised(
        heard in prop::collection::vec((0.9..1.1_f64, 0.88..1.08_f64, any_judged(), 0.05..1.0_f64), 1..12),
        factor in 0.88..1.08_f64,
    ) {
        let (tables, setup) = (Tables::as_shipped(), setup(NEEDLE_BIKE));
        let all = heard.into_iter().map(|(fuel, air, judged, weighs)| witness("full", (fuel, air), judged, weighs));
        let answer = advised(&tables, &setup, factor, &evidence(all.collect()));
        let learned = answer.learned.unwrap();
        let limit = learned.limit.unwrap();
        let Some(main) = main_jet(&answer.rejet).advised else {
            prop_assert!(learned.sizes.last().unwrap().chances.lean > limit);
            return Ok(());
        };
        prop_assert!(learned.lean_risk.unwrap() <= limit + 1e-4);
        let (right, low, high) = learned.right.unwrap();
        prop_assert!(low < right && right < high);
        let young = learned.zones[0].weight < 3.0;
        for size in learned.sizes.iter().filter(|size| size.size < main) {
            prop_assert!(size.chances.lean > limit - 1e-4 || size.size < right + 1e-6 || young, "{size:?} {right}");
        }
    }
}
