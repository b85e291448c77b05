//! What is learned from a record: against sums made another way, and the laws that every record must obey.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use crate::groups;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::f64::consts::FRAC_1_SQRT_2;
use std::rc::Rc;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use reedbook::advice::learning::posterior::{Belief, Chances, Posterior, Prior};
use reedbook::advice::learning::verdicts::{Judged, LearningError, Spoken};

const REFERENCE: &str = include_str!("../reference/learning.toml");
const RECORDS: &str = include_str!("../reference/learning_records.csv");
const NAMES: [&str; 8] = [
    "none",
    "one right",
    "one lean",
    "all lean",
    "contradicting",
    "contradicting all season",
    "twelve",
    "forty-five",
];

fn spoken(delivered: f64, wanted: f64, judged: Judged) -> Spoken {
    Spoken::plain(delivered, wanted, judged)
}

fn belief(mean: f64, sd: f64) -> Belief {
    Belief { mean, sd }
}

/// The prior of the reference rows, spelt out.
fn reference_prior() -> Prior {
    Prior {
        centre: belief(0.0, 0.05),
        exponent: belief(1.0, 0.225),
        scatter: belief(0.012_f64.ln(), 0.5625),
        right: belief(0.02_f64.ln(), 0.5),
        clear: belief(1.5_f64.ln(), 0.4375),
        ..Prior::new(belief(0.0, 0.05), belief(1.0, 0.18))
    }
}

#[test]
fn the_usual_prior_is_the_one_of_the_references() {
    let usual = Prior::new(belief(0.0, 0.05), belief(1.0, 0.18));
    let reference = reference_prior();
    for (usual, reference) in [
        (usual.centre, reference.centre),
        (usual.exponent, reference.exponent),
        (usual.scatter, reference.scatter),
        (usual.right, reference.right),
        (usual.clear, reference.clear),
    ] {
        assert!((usual.mean - reference.mean).abs() < 1e-12 && (usual.sd - reference.sd).abs() < 1e-12);
    }
}

/// A prior that knows scatter and widths, so that only centre and exponent are left.
fn sharp_prior(centre: Belief, exponent: Belief) -> Prior {
    let sharp = |value: f64| belief(value.ln(), 1e-4);
    Prior {
        scatter: sharp(0.012),
        right: sharp(0.02),
        clear: sharp(1.5),
        exponent,
        ..Prior::new(centre, exponent)
    }
}

fn record(name: &str) -> Vec<Spoken> {
    let lines = RECORDS.lines().skip(1).map(|line| line.split(',').collect::<Vec<_>>());
    lines
        .filter(|line| line[0] == name)
        .map(|line| {
            let judged = match line[3] {
                "lean" => Judged::Lean,
                "slightly lean" => Judged::SlightlyLean,
                "right" => Judged::Right,
                "slightly rich" => Judged::SlightlyRich,
                "rich" => Judged::Rich,
                other => panic!("no verdict: {other}"),
            };
            let number = |column: usize| line[column].parse().unwrap();
            spoken(number(1), number(2), judged)
        })
        .collect()
}

thread_local! {
    static LEARNED: RefCell<BTreeMap<&'static str, Rc<Posterior>>> = const { RefCell::new(BTreeMap::new()) };
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn learned(inputs: &mut Inputs) -> Rc<Posterior> {
    let name = NAMES[inputs.take("record") as usize];
    let learn = || Rc::new(Posterior::new(&reference_prior(), &record(name)).unwrap());
    LEARNED.with(|known| Rc::clone(known.borrow_mut().entry(name).or_insert_with(learn)))
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    let learned = learned(inputs);
    if matches!(kind, "chance of lean" | "chance of rich" | "after a run") {
        let (delivered, wanted) = (inputs.take("delivered"), inputs.take("wanted"));
        return match kind {
            "chance of lean" => learned.chances(delivered, wanted).lean,
            "chance of rich" => learned.chances(delivered, wanted).rich,
            _ => learned.after_a_run(delivered, wanted),
        };
    }
    match kind {
        "exponent" => learned.exponent().mean,
        "exponent sd" => learned.exponent().sd,
        "scatter" => learned.scatter().mean,
        "scatter sd" => learned.scatter().sd,
        "half-width" => learned.half_width().mean,
        "half-width sd" => learned.half_width().sd,
        "right amount" => learned.right_amount(inputs.take("wanted")).mean,
        "right amount sd" => learned.right_amount(inputs.take("wanted")).sd,
        "interval low" => learned.right_interval(inputs.take("wanted"), 0.9).0,
        "interval high" => learned.right_interval(inputs.take("wanted"), 0.9).1,
        other => panic!("no calculation for {other}"),
    }
}

#[test]
fn what_is_learned_meets_its_references() {
    assert_eq!(NAMES.map(|name| record(name).len()), [0, 1, 1, 8, 2, 10, 12, 45]);
    assert_eq!(check_all(REFERENCE, value), 208);
}

/// The coarse grid, which the zones below full throttle make do with, beside the fine one.
#[test]
fn the_coarse_grid_is_near_the_fine_one() {
    let mut worst: f64 = 0.0;
    for name in NAMES.into_iter().filter(|name| !name.starts_with("contradicting")) {
        let (prior, record) = (reference_prior(), record(name));
        let [fine, coarse] =
            [Posterior::new(&prior, &record), Posterior::coarse(&prior, &record)].map(Result::unwrap);
        for delivered in [-0.06, -0.03, 0.0, 0.03, 0.06] {
            for wanted in [-0.1, 0.0, 0.05] {
                let (one, other) = (fine.chances(delivered, wanted), coarse.chances(delivered, wanted));
                let off = (one.lean - other.lean).abs().max((one.rich - other.rich).abs());
                assert!(off < 0.09, "{name}: {one:?} {other:?}");
                worst = worst.max(off);
            }
        }
    }
    // It would not be called coarse were it as good.
    assert!(worst > 1e-4, "{worst}");
}

/// Share of the standard normal distribution below `x`, from the function itself: the program reads a table.
fn share_below(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// Chances by a plain sum over the box of the prior, scatter and widths known. Six standard deviations to
/// either side: a record that is all lean drives the centre out to three, and its tail counts.
fn plain_sum(prior: &Prior, record: &[Spoken], asked: &[(f64, f64)]) -> Vec<Chances> {
    let (scatter, right) = (prior.scatter.mean.exp(), prior.right.mean.exp());
    let clear = right * (1.0 + prior.clear.mean.exp());
    let cuts = [f64::NEG_INFINITY, -clear, -right, right, clear, f64::INFINITY];
    let (mut total, mut sums) = (0.0, vec![(0.0, 0.0); asked.len()]);
    let steps = 200;
    for a in -steps..=steps {
        let from_centre = 6.0 * f64::from(a) / f64::from(steps);
        for b in -steps..=steps {
            let from_exponent = 6.0 * f64::from(b) / f64::from(steps);
            let amount = |wanted: f64| {
                prior.centre.mean
                    + prior.centre.sd * from_centre
                    + (prior.exponent.mean + prior.exponent.sd * from_exponent) * wanted
            };
            let mut share = (-0.5 * (from_centre.powi(2) + from_exponent.powi(2))).exp();
            for run in record {
                let place = Judged::ALL.iter().position(|judged| *judged == run.judged).unwrap();
                let below = |cut: f64| share_below((cut + amount(run.wanted) - run.delivered) / scatter);
                let chance = 0.01 / 5.0 + 0.99 * (below(cuts[place + 1]) - below(cuts[place]));
                share *= chance;
            }
            total += share;
            for (sum, (delivered, wanted)) in sums.iter_mut().zip(asked) {
                let short = amount(*wanted) - delivered;
                sum.0 += share * share_below((short - right) / scatter);
                sum.1 += share * share_below((-short - right) / scatter);
            }
        }
    }
    let chances = |(lean, rich)| {
        let (lean, rich): (f64, f64) = (lean / total, rich / total);
        Chances { lean, right: 1.0 - lean - rich, rich }
    };
    sums.into_iter().map(chances).collect()
}

#[test]
fn with_scatter_and_widths_known_a_plain_sum_gives_the_same_chances() {
    let prior = sharp_prior(belief(0.01, 0.04), belief(1.1, 0.2));
    for name in NAMES {
        let record = record(name);
        // The plain sum pays for every run at every node; twelve show as much as three hundred.
        let record = &record[..record.len().min(12)];
        let learned = Posterior::new(&prior, record).unwrap();
        let asked: Vec<(f64, f64)> = [-0.15, 0.0, 0.06]
            .into_iter()
            .flat_map(|wanted| {
                [-0.04, -0.01, 0.02, 0.05].map(|aside| (learned.right_amount(wanted).mean + aside, wanted))
            })
            .collect();
        // Verdicts that must be slips one way or the other leave two hills far apart, of which the replacement by normal
        // ones makes one or none: not a matter of digits, and skipped here (with scatter unknown it is, see the references).
        if name.starts_with("contradicting") {
            continue;
        }
        let tolerance = 0.03;
        for ((delivered, wanted), plain) in asked.iter().zip(plain_sum(&prior, record, &asked)) {
            let found = learned.chances(*delivered, *wanted);
            assert!(
                (found.lean - plain.lean).abs() < tolerance,
                "{name}: {delivered} {wanted} {found:?} {plain:?}"
            );
            assert!(
                (found.rich - plain.rich).abs() < tolerance,
                "{name}: {delivered} {wanted} {found:?} {plain:?}"
            );
        }
    }
}

#[test]
fn without_a_verdict_theory_stands() {
    let learned = Posterior::new(&reference_prior(), &[]).unwrap();
    assert!(learned.weight_of_record(0.1).abs() < f64::EPSILON);
    let amount = learned.right_amount(-0.1);
    assert!((amount.mean + 0.1).abs() < 1e-6, "{amount:?}");
    assert!((amount.sd - 0.05_f64.hypot(0.0225)).abs() < 1e-4, "{amount:?}");
    // The quantile of the normal distribution at 95 %.
    let (low, high) = learned.exponent_interval(0.9);
    assert!((low - (1.0 - 0.225 * 1.644_854)).abs() < 2e-3, "{low}");
    assert!((high - (1.0 + 0.225 * 1.644_854)).abs() < 2e-3, "{high}");
}

#[test]
fn each_right_adds_to_the_weight_of_the_record() {
    let mut before = 0.0;
    for count in 1..=12_usize {
        let record = vec![spoken(0.0, 0.0, Judged::Right); count];
        let learned = Posterior::new(&reference_prior(), &record).unwrap();
        let weight = learned.weight_of_record(0.0);
        // Spread over airs a season says more than in one.
        assert!(weight > before - 2e-3 && weight <= 1.0, "{count}: {weight} after {before}");
        before = weight;
    }
    assert!(before > 0.8, "{before}");
}

#[test]
fn everything_is_finite_for_strange_records() {
    use Judged::{Lean, Rich, Right};
    let one_air = |judged| vec![spoken(0.02, -0.05, judged); 30];
    let far = (0..20).map(|run| spoken(0.4, 0.01 * f64::from(run), Lean)).collect();
    let torn = (0..40_u8)
        .map(|run| spoken(0.3 * f64::from(run % 3), -0.1, [Lean, Right, Rich][usize::from(run % 3)]));
    let turned = (0..30).map(|run| {
        let aside = 0.02 * f64::from(run % 7 - 3);
        spoken(aside, aside, if aside > 0.0 { Lean } else { Rich })
    });
    let hundred = (0..100_u16).map(|run| {
        let wanted = 0.002 * f64::from(run % 100) - 0.1;
        spoken(wanted + 0.01, wanted, Judged::ALL[usize::from(run % 5)])
    });
    let extreme = vec![spoken(2.0, -2.0, Lean), spoken(-2.0, 2.0, Rich), spoken(2.0, 2.0, Right)];
    let records: [Vec<Spoken>; 8] = [
        one_air(Lean),
        one_air(Right),
        one_air(Rich),
        far,
        torn.collect(),
        turned.collect(),
        hundred.collect(),
        extreme,
    ];
    for record in records {
        let learned = Posterior::new(&reference_prior(), &record).unwrap();
        for wanted in [-0.3, 0.0, 0.1] {
            let amount = learned.right_amount(wanted);
            let (low, high) = learned.right_interval(wanted, 0.9);
            let chances = learned.chances(0.0, wanted);
            let figures = [
                (amount.mean, 5.0),
                (amount.sd, 1.0),
                (learned.least_delivered(wanted, 0.05), 6.0),
                (learned.after_a_run(0.0, wanted), 1.0),
                (learned.weight_of_record(wanted), 1.0),
                (learned.exponent().mean, 5.0),
                (learned.scatter().mean, 5.0),
                (learned.half_width().sd, 5.0),
                (chances.lean, 1.0),
                (chances.rich, 1.0),
            ];
            for (figure, bound) in figures {
                assert!(figure.abs() <= bound, "{figure} above {bound}: {:?}", &record[..1]);
            }
            assert!(low < amount.mean && amount.mean < high, "{low} {amount:?} {high}");
            assert!(amount.sd > 1e-5, "{amount:?}");
        }
    }
}

#[test]
fn what_is_no_number_or_far_off_is_refused() {
    let field = |prior: &Prior, record: &[Spoken]| match Posterior::new(prior, record).unwrap_err() {
        LearningError::OutOfRange { field, .. } => field,
        other => panic!("{other}"),
    };
    let good = spoken(0.0, 0.0, Judged::Right);
    for bad in [f64::NAN, f64::INFINITY, -2.001, 2.001] {
        let prior = reference_prior();
        assert_eq!(field(&prior, &[good, Spoken { delivered: bad, ..good }]), "fuel delivered in a run");
        assert_eq!(field(&prior, &[good, Spoken { wanted: bad, ..good }]), "fuel wanted in a run");
        assert_eq!(field(&prior, &[good, Spoken { doubt: bad, ..good }]), "doubt of a run's air");
        assert_eq!(field(&Prior { centre: belief(bad, 0.1), ..prior }, &[]), "expected centre");
    }
    for bad in [f64::NAN, 0.0, -0.1, 3.1] {
        let prior = reference_prior();
        assert_eq!(field(&Prior { centre: belief(0.0, bad), ..prior }, &[]), "doubt of the centre");
        assert_eq!(field(&Prior { exponent: belief(1.0, bad), ..prior }, &[]), "doubt of the exponent");
        assert_eq!(field(&Prior { scatter: belief(-4.0, bad), ..prior }, &[]), "doubt of the scatter");
        assert_eq!(field(&Prior { right: belief(-4.0, bad), ..prior }, &[]), "doubt of the width of right");
        assert_eq!(
            field(&Prior { clear: belief(0.4, bad), ..prior }, &[]),
            "doubt of the width beyond right"
        );
    }
    let error = Posterior::new(&reference_prior(), &[Spoken { days: -1.0, ..good }]).unwrap_err();
    assert_eq!(
        error.to_string(),
        "The time since a run is -1; allowed is 0 to 1000000. It is counted in days back from the newest run."
    );
}

#[test]
fn rich_is_lean_seen_in_a_mirror() {
    for name in NAMES {
        let record = record(name);
        let mirrored: Vec<Spoken> = record
            .iter()
            .map(|run| {
                let place = Judged::ALL.iter().position(|judged| *judged == run.judged).unwrap();
                spoken(-run.delivered, -run.wanted, Judged::ALL[4 - place])
            })
            .collect();
        // About an exponent of 1 the prior is its own mirror image.
        let learned = Posterior::new(&reference_prior(), &record).unwrap();
        let mirror = Posterior::new(&reference_prior(), &mirrored).unwrap();
        for (aside, wanted) in [(-0.03, 0.0), (0.01, 0.0), (0.05, 0.02), (-0.02, -0.05)] {
            let delivered = learned.right_amount(wanted).mean + aside;
            let (a, b) = (learned.chances(delivered, wanted), mirror.chances(-delivered, -wanted));
            // Each is within 0.001 of the truth.
            assert!((a.lean - b.rich).abs() < 2e-3 && (a.rich - b.lean).abs() < 2e-3, "{name}: {a:?} {b:?}");
        }
    }
}

/// A run that a rider could leave on a bike of that centre and exponent: judged by what it was off, and by what the day added.
fn a_run((centre, exponent): (f64, f64)) -> impl Strategy<Value = Spoken> {
    (-0.2..0.15_f64, -0.08..0.08_f64, -0.02..0.02_f64).prop_map(move |(wanted, aside, day)| {
        let rich_by = aside + day;
        let judged = [-0.05, -0.02, 0.02, 0.05].into_iter().filter(|cut| rich_by > *cut).count();
        spoken(centre + exponent * wanted + aside, wanted, Judged::ALL[judged])
    })
}

fn some_runs() -> impl Strategy<Value = Vec<Spoken>> {
    (-0.04..0.04_f64, 0.8..1.2_f64).prop_flat_map(|bike| prop::collection::vec(a_run(bike), 0..18))
}

fn same(a: &Posterior, b: &Posterior) -> bool {
    [-0.1, 0.0, 0.07].into_iter().all(|wanted| {
        let (a, b) = (a.right_amount(wanted), b.right_amount(wanted));
        (a.mean - b.mean).abs() < 2e-3 && (a.sd - b.sd).abs() < 2e-3
    })
}

/// The same cases every time.
fn settled() -> ProptestConfig {
    let rng_seed = RngSeed::Fixed(14);
    ProptestConfig { cases: 40, failure_persistence: None, rng_seed, ..ProptestConfig::default() }
}

#[test]
fn a_record_serves_in_an_air_that_is_doubted_otherwise() {
    let runs = [
        spoken(0.02, 0.0, Judged::Rich),
        spoken(0.0, 0.03, Judged::Right),
        spoken(-0.03, 0.03, Judged::Lean),
    ];
    let sure = reference_prior();
    let weighed = Posterior::new(&Prior { today: 0.04, ..sure }, &runs).unwrap();
    let known = Posterior::new(&sure, &runs).unwrap();
    let lean = |posterior: &Posterior| posterior.chances(0.03, 0.03).lean;
    assert!(lean(&weighed) > 1.2 * lean(&known), "{} {}", lean(&weighed), lean(&known));
    let served = known.doubting(0.04).unwrap();
    assert_eq!(format!("{weighed:?}"), format!("{served:?}"));
    assert!(served.doubting(1.5).is_err(), "a doubt of more than the whole is none");
}

proptest! {
    #![proptest_config(settled())]

    #[test]
    fn more_fuel_never_raises_the_chance_of_lean(record in some_runs(), wanted in -0.2..0.15_f64) {
        let learned = Posterior::new(&reference_prior(), &record).unwrap();
        let middle = learned.right_amount(wanted).mean;
        let mut before = Chances { lean: 1.0, right: 0.0, rich: 0.0 };
        for step in -30..=30 {
            let chances = learned.chances(middle + 0.01 * f64::from(step), wanted);
            prop_assert!(chances.lean <= before.lean + 1e-9 && chances.rich >= before.rich - 1e-9);
            prop_assert!((chances.lean + chances.right + chances.rich - 1.0).abs() < 1e-7);
            prop_assert!(chances.lean >= 0.0 && chances.right >= 0.0 && chances.rich >= 0.0);
            before = chances;
        }
        prop_assert!(before.lean < 0.5);
    }

    #[test]
    fn the_least_fuel_is_at_its_limit(
        record in some_runs(), wanted in -0.2..0.15_f64, limit in 0.01..0.9_f64
    ) {
        let learned = Posterior::new(&reference_prior(), &record).unwrap();
        let least = learned.least_delivered(wanted, limit);
        prop_assert!(learned.chances(least, wanted).lean <= limit);
        prop_assert!(learned.chances(least - 1e-4, wanted).lean > limit);
        prop_assert!(learned.chances(least, wanted).lean > limit - 1e-3);
    }

    #[test]
    fn where_nothing_drifts_the_order_does_not_matter(record in some_runs()) {
        let learned = Posterior::new(&reference_prior(), &record).unwrap();
        let mut turned = record.clone();
        turned.reverse();
        prop_assert!(same(&learned, &Posterior::new(&reference_prior(), &turned).unwrap()));
    }

    /// With scatter and widths known the chance of a lean verdict rises with the right amount in its air, so
    /// that the verdict can only raise it. (With them unknown it need not: a verdict against all others also
    /// says that verdicts scatter.)
    #[test]
    fn a_lean_verdict_never_lowers_the_right_amount(record in some_runs(), said in a_run((0.0, 1.0))) {
        let prior = sharp_prior(belief(0.0, 0.05), belief(1.0, 0.18));
        let before = Posterior::new(&prior, &record).unwrap().right_amount(said.wanted).mean;
        for (judged, sign) in [(Judged::Lean, 1.0), (Judged::Rich, -1.0)] {
            let mut longer = record.clone();
            longer.push(Spoken { judged, ..said });
            let after = Posterior::new(&prior, &longer).unwrap().right_amount(said.wanted).mean;
            prop_assert!(sign * (after - before) > -2e-3, "{judged:?}: {before} {after}");
        }
    }

    #[test]
    fn richer_all_over_is_the_same_bike_elsewhere(record in some_runs(), by in -0.3..0.3_f64) {
        let prior = reference_prior();
        let learned = Posterior::new(&prior, &record).unwrap();
        let moved: Vec<Spoken> =
            record.iter().map(|run| Spoken { delivered: run.delivered + by, ..*run }).collect();
        let centre = belief(prior.centre.mean + by, prior.centre.sd);
        let elsewhere = Posterior::new(&Prior { centre, ..prior }, &moved).unwrap();
        for wanted in [-0.1, 0.05] {
            let (a, b) = (learned.right_amount(wanted), elsewhere.right_amount(wanted));
            prop_assert!((a.mean + by - b.mean).abs() < 5e-3, "{a:?} {b:?} {by}");
            prop_assert!((a.sd - b.sd).abs() < 5e-3, "{a:?} {b:?}");
            let (a, b) = (learned.chances(0.01, wanted), elsewhere.chances(0.01 + by, wanted));
            prop_assert!((a.lean - b.lean).abs() < 0.02 && (a.rich - b.rich).abs() < 0.02, "{a:?} {b:?}");
        }
    }

    #[test]
    fn a_further_run_is_expected_to_narrow(
        record in some_runs(), wanted in -0.2..0.15_f64, aside in -0.05..0.05_f64
    ) {
        let learned = Posterior::new(&reference_prior(), &record).unwrap();
        let now = learned.right_amount(wanted);
        let after = learned.after_a_run(now.mean + aside, wanted);
        prop_assert!(after <= now.sd * (1.0 + 1e-6) && after > 0.0, "{now:?} {after}");
    }
}
