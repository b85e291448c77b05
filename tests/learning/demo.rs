//! The demo's outings as evidence: who speaks, what each counts, and how well the others foretell each verdict beside theory
//! alone. The demo is invented; this shows that the parts fit together, not that the method holds on an engine.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout, missing_docs)] // a test may fail loudly, and these figures are wanted

use reedbook::advice::learning::kinship::Spreads;
use reedbook::advice::learning::posterior::{Belief, Posterior, Prior};
use reedbook::advice::learning::verdicts::{Judged, Spoken};
use reedbook::advice::learning::{
    Adviser, Baseline, Evidence, Foretold, KIND_NAMES, Settings, gather, leave_one_out,
};
use reedbook::advice::{RejetRequest, rejet};
use reedbook::notebook::When;
use reedbook::store::{Book, SetupName};

use crate::replayed::demo_garage;

/// The evidence for a bike's proven setup in its proven air, and the adviser made of it.
fn heard(bike: &str, settings: &Settings) -> (Evidence, Adviser) {
    let garage = demo_garage();
    let book = Book::open(&garage).unwrap();
    let record = book.recorded(bike, &SetupName::Proven).unwrap();
    let whole = book.combination(bike, Some(&record)).unwrap();
    let air = book.air_of(bike, &record).unwrap().unwrap().0.air().unwrap();
    let (jets, needles, shares) =
        (garage.jets().unwrap(), garage.needles().unwrap(), garage.shares().unwrap());
    let baseline = Baseline {
        record: &record,
        whole: &whole,
        now: &whole.fields,
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
        let foretold = leave_one_out(&evidence, adviser.shape, &Settings::default()).unwrap();
        assert!(foretold.len() >= outings, "{bike}: {}", foretold.len());
        let (learned, theory) = (score(&foretold, true), score(&foretold, false));
        println!("{bike}: {} verdicts, learned {learned:.3}, theory alone {theory:.3}", foretold.len());
        assert!(learned > theory, "{bike}: learned {learned}, theory {theory}");
    }
}

/// What an outing shares with the bike as it stands, by hand: the offsets of the parts that are the same, and what has not drifted
/// away since.
#[test]
fn an_outing_is_as_alike_as_its_parts_and_its_age_say() {
    let settings = Settings::default();
    let spreads = settings.spreads;
    let (evidence, _) = heard("moth", &settings);
    let newest = evidence.witnesses.last().unwrap();
    assert!(newest.weight.is_own() && newest.weight.total > 0.99, "{:?}", newest.weight);
    let mut seen = (false, false, false);
    for witness in &evidence.witnesses {
        let (weight, run) = (&witness.weight, &witness.run);
        let square = |sd: f64| sd * sd;
        let parts = |counts: &dyn Fn(usize) -> bool| -> f64 {
            (0..KIND_NAMES.len()).filter(|kind| counts(*kind)).map(|kind| square(spreads.parts[kind])).sum()
        };
        // The doubt of the bike's centre: 5 % of a jet's number, 1.3 % of which make one of fuel.
        let centre = square(0.05 / 1.3);
        let whole = centre + parts(&|_| true) + square(spreads.drift) + square(spreads.wear);
        let shared = centre
            + parts(&|kind| run.ran[kind] == 0)
            + square(spreads.drift) * 0.5_f64.powf(run.days / 365.0)
            + square(spreads.wear) * 0.5_f64.powf(run.running_days / spreads.half_life_running);
        assert!((weight.total - shared / whole).abs() <= 0.005 + 1e-9, "{weight:?}");
        seen.0 |= weight.other_parts.contains(&"pipe");
        seen.1 |= weight.other_parts.contains(&"engine");
        seen.2 |= weight.other_parts.contains(&"ignition");
    }
    assert_eq!(seen, (true, true, true), "the short pipe, the other engine and another spark");
}

#[test]
fn the_tuner_sets_how_unlike_parts_are() {
    let usual = Settings::default();
    let apart =
        |sd: f64| Settings { spreads: Spreads { parts: [sd; KIND_NAMES.len()], ..usual.spreads }, ..usual };
    let of_others = |settings: &Settings| {
        let (evidence, _) = heard("moth", settings);
        let others =
            evidence.witnesses.iter().filter(|witness| witness.weight.other_parts.contains(&"engine"));
        others.map(|witness| witness.weight.total).fold(0.0, f64::max)
    };
    let (near, far) = (of_others(&apart(0.001)), of_others(&apart(0.1)));
    assert!(near > 0.9 && far < near - 0.2, "{near} {far}");
}

/// With the spare engine in, its own run outweighs the many of the other.
#[test]
fn a_run_of_its_own_outweighs_ten_of_another_engine() {
    let prior = |sd: f64| Prior {
        spreads: Settings::default().spreads,
        ..Prior::new(Belief { mean: 0.0, sd: 0.05 / sd }, Belief { mean: 1.0, sd: 0.18 })
    };
    let other = Spoken { ran: [1, 1, 0, 0, 0, 0], ..Spoken::plain(-0.04, 0.0, Judged::Right) };
    let own = Spoken::plain(0.0, 0.0, Judged::Right);
    let amount = |runs: &[Spoken]| Posterior::new(&prior(1.3), runs).unwrap().right_amount(0.0).mean;
    let (others, with_own) = (amount(&[other; 10]), amount(&[[other; 10].as_slice(), &[own]].concat()));
    assert!(others < -0.02, "{others}");
    assert!(with_own > -0.02 && with_own.abs() < (with_own + 0.04).abs(), "{with_own}");
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
