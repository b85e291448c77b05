//! The demo's outings as evidence: who speaks, what each counts, and how well the others foretell each verdict beside theory
//! alone. The demo is invented; this shows that the parts fit together, not that the method holds on an engine.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout, missing_docs)] // a test may fail loudly, and these figures are wanted

use std::sync::OnceLock;

use reedbook::advice::learning::{Adviser, Baseline, Evidence, Foretold, Settings, gather, leave_one_out};
use reedbook::advice::{RejetRequest, rejet};
use reedbook::machine::Moment;
use reedbook::notebook::When;
use reedbook::store::{Book, Garage, SetupName, demo_files, replay};
use tempfile::TempDir;

fn demo() -> Garage {
    static DEMO: OnceLock<TempDir> = OnceLock::new();
    let folder = DEMO.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let moment = Moment { now: When::default(), seed: Some("demo".into()) };
        replay(&folder.path().join("garage"), &demo_files(), &moment, |_, _| {}).unwrap();
        folder
    });
    Garage::open(&folder.path().join("garage")).unwrap()
}

/// The evidence for a bike's proven setup in its proven air, and the adviser made of it.
fn heard(bike: &str, settings: &Settings) -> (Evidence, Adviser) {
    let garage = demo();
    let book = Book::open(&garage).unwrap();
    let record = book.recorded(bike, &SetupName::Proven).unwrap();
    let whole = book.combination(bike, Some(&record)).unwrap();
    let air = book.air_of(bike, &record).unwrap().unwrap().0.air().unwrap();
    let (jets, needles, shares) =
        (garage.jets().unwrap(), garage.needles().unwrap(), garage.shares().unwrap());
    let baseline = Baseline {
        record: &record,
        whole: &whole,
        air,
        vouched_for: true,
        today: When::from_unix(1_800_000_000, 0).unwrap(),
        jets: &jets,
        needles: &needles,
        shares: &shares,
    };
    let evidence = gather(&book, &baseline, settings).unwrap();
    let request = RejetRequest::new(whole.setup.as_ref().unwrap(), air, air, &jets, &needles, &shares);
    let adviser = Adviser::new(&request, &evidence, settings).unwrap();
    assert!(rejet(&request).unwrap().assignments.is_empty(), "theory changes nothing in the same air");
    (evidence, adviser)
}

/// Mean of ln of the chance that was given to what came: nearer 0 is better.
fn score(foretold: &[Foretold], learned: bool) -> f64 {
    let given = |one: &Foretold| {
        Foretold::given(one.judged, if learned { one.learned } else { one.theory }).max(1e-6).ln()
    };
    foretold.iter().map(given).sum::<f64>() / f64::from(u32::try_from(foretold.len()).unwrap())
}

#[test]
fn the_others_foretell_each_verdict_better_than_theory_alone() {
    for (bike, outings) in [("moth", 40), ("ibex", 30), ("wren", 8)] {
        let (evidence, adviser) = heard(bike, &Settings::default());
        let foretold = leave_one_out(&evidence, adviser.shape).unwrap();
        assert!(foretold.len() >= outings, "{bike}: {}", foretold.len());
        let (learned, theory) = (score(&foretold, true), score(&foretold, false));
        println!("{bike}: {} verdicts, learned {learned:.3}, theory alone {theory:.3}", foretold.len());
        assert!(learned > theory, "{bike}: learned {learned}, theory {theory}");
    }
}

#[test]
fn what_an_outing_counts_is_the_product_of_its_reasons() {
    let settings = Settings::default();
    let (evidence, _) = heard("moth", &settings);
    let newest = evidence.witnesses.last().unwrap();
    assert!((newest.weight.total - 1.0).abs() < 1e-9, "{:?}", newest.weight);
    let mut seen = (false, false, false);
    for witness in &evidence.witnesses {
        let weight = &witness.weight;
        let parts = settings.other_part.powi(i32::try_from(weight.other_parts.len()).unwrap());
        let changes = if weight.changed_at_once.len() > 1 { settings.several_changes } else { 1.0 };
        assert!((weight.parts - parts).abs() < 1e-12 && (weight.changes - changes).abs() < 1e-12);
        assert!(
            (weight.total - weight.age * weight.parts * weight.changes * weight.fuel).abs() <= 0.005 + 1e-9
        );
        assert!(weight.total > 0.0 && weight.total <= 1.0 && weight.age > 0.3);
        seen.0 |= weight.other_parts.contains(&"pipe");
        seen.1 |= weight.other_parts.contains(&"engine");
        seen.2 |= weight.changes < 1.0;
    }
    assert_eq!(
        seen,
        (true, true, true),
        "the short pipe, the other engine and the Saturday of several changes"
    );
    // A verdict a year older counts half of one of today.
    let ages: Vec<(i64, f64)> =
        evidence.witnesses.iter().map(|w| (w.outing.outing.date.unix(), w.weight.age)).collect();
    for (date, age) in &ages {
        #[allow(clippy::cast_precision_loss)]
        let days = (ages.last().unwrap().0 - date) as f64 / 86_400.0;
        assert!((age - 0.5_f64.powf(days / 365.0)).abs() < 1e-12);
    }
}

#[test]
fn the_tuner_sets_what_counts() {
    let forgetful = Settings { half_life_days: 30.0, other_part: 0.0, ..Settings::default() };
    let (few, _) = heard("moth", &forgetful);
    let (many, _) = heard("moth", &Settings::default());
    assert!(
        few.witnesses.len() < many.witnesses.len() / 2,
        "{} of {}",
        few.witnesses.len(),
        many.witnesses.len()
    );
    assert!(few.silent.iter().any(|(_, why)| why.contains("too little is left")));
    assert!(many.silent.is_empty(), "{:?}", many.silent);
}

/// What is learned: the risk falls with the size, rises with the wish for less fuel, and the limit is kept.
#[test]
fn the_limit_is_kept_in_any_air() {
    for bike in ["moth", "ibex", "wren"] {
        for lean_risk in [0.02, 0.05, 0.2] {
            let settings = Settings { lean_risk, ..Settings::default() };
            let (_, adviser) = heard(bike, &settings);
            let full = adviser.record.as_ref().unwrap().zone("full").unwrap();
            for factor in [0.85, 0.93, 1.0, 1.06] {
                let wanted = adviser.record.as_ref().unwrap().wanted(factor);
                let least = wanted.iter().find(|zone| zone.zone == "full").unwrap().least;
                let at = |fuel: f64| full.chances(fuel, factor).lean;
                assert!(at(least) <= lean_risk + 1e-6, "{bike} {factor} {lean_risk}");
                // As lean as the limit lets it be, but never leaner than right.
                let right = full.posterior.right_amount(factor.ln()).mean.exp();
                let leaner = least * 0.999;
                assert!(
                    least >= right && (leaner < right || at(leaner) > lean_risk - 1e-3),
                    "{bike} {factor} {lean_risk}"
                );
                assert!(at(least * 1.02) < at(least));
            }
        }
    }
}
