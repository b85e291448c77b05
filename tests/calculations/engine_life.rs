//! The lives of parts: values from outside (`reference/life.toml`), laws, how often the intervals hold, and
//! what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::life::{Between, Count, Fit, Lives, ObservedPart, chi_square};

const LIFE: &str = include_str!("../reference/life.toml");
const RECORDS: &str = include_str!("../reference/life_records.csv");

#[test]
fn lives_meet_their_references() {
    assert_eq!(check_all(LIFE, value), ROWS);
}

fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    if kind == "chi-square" {
        return chi_square(inputs.take("level")).unwrap();
    }
    let lives = Lives::new(&parts(inputs.take("record"))).unwrap();
    let shape = inputs.take_or("shape", f64::NAN);
    if kind == "ln bound" {
        return lives.bound_with_shape(shape, inputs.take("confidence")).unwrap().scale_h.ln();
    }
    let fit = if shape.is_nan() { lives.fit() } else { lives.fit_with_shape(shape) }.unwrap();
    let (quantity, end) = kind.split_once(", ").unwrap_or((kind, ""));
    let limit = if quantity == "ln hours" { inputs.take("limit") } else { f64::NAN };
    if end.is_empty() {
        return match quantity {
            "shape" => fit.shape(),
            "scale" => fit.scale_h(),
            "ln scale" => fit.scale_h().ln(),
            "ln hours" => fit.hours_h(limit).unwrap().ln(),
            other => panic!("no calculation for {other}"),
        };
    }
    let level = inputs.take("level");
    let between = match quantity {
        "shape" => fit.shape_between(level).unwrap().unwrap(),
        "ln scale" => ln(fit.scale_between(level).unwrap()),
        "ln hours" => ln(fit.hours_between(limit, level).unwrap()),
        other => panic!("no calculation for {other}"),
    };
    if end == "low" { between.low } else { between.high.unwrap() }
}

fn ln(between: Between) -> Between {
    Between { low: between.low.ln(), high: between.high.map(f64::ln) }
}

/// The parts of a record in the table, whose numbers are whole.
fn parts(record: f64) -> Vec<ObservedPart> {
    let rows = RECORDS.lines().skip(1).map(|line| {
        let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        (cells[0], ObservedPart { hours_h: cells[1], failed: cells[2] > 0.5, at_least: cells[3] > 0.5 })
    });
    rows.filter(|row| (row.0 - record).abs() < 0.5).map(|row| row.1).collect()
}

fn ran(hours_h: f64, failed: bool) -> ObservedPart {
    ObservedPart { hours_h, failed, at_least: false }
}

fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}

/// Records of 4 to 25 parts, at least two failed, the longest unfailed: a fit there always is.
fn records() -> impl Strategy<Value = Vec<ObservedPart>> {
    let part = (1.0..60.0_f64, any::<bool>()).prop_map(|(hours, failed)| ran(hours, failed));
    (prop::collection::vec(part, 1..22), 5.0..50.0_f64, 5.0..50.0_f64).prop_map(
        |(mut parts, first, second)| {
            parts.extend([ran(first, true), ran(second, true), ran(61.0, false)]);
            parts
        },
    )
}

/// Low and high end of an interval that is closed.
fn ends(between: Between) -> (f64, f64) {
    (between.low, between.high.unwrap())
}

fn inside(narrow: Between, wide: Between) -> bool {
    narrow.low > wide.low && wide.high.is_none_or(|wide| narrow.high.is_some_and(|narrow| narrow < wide))
}

proptest! {
    #[test]
    fn another_unit_of_hours_changes_only_hours(parts in records(), unit in 0.1..10.0_f64) {
        let scaled: Vec<ObservedPart> = parts.iter().map(|part| ran(unit * part.hours_h, part.failed)).collect();
        let of = |parts: &[ObservedPart]| Lives::new(parts).unwrap().fit().unwrap();
        let (fit, other) = (of(&parts), of(&scaled));
        prop_assert!(close(fit.shape(), other.shape(), 1e-9));
        prop_assert!(close(unit * fit.scale_h(), other.scale_h(), 1e-9));
        let (here, there) = (fit.hours_between(1.0, 0.9).unwrap(), other.hours_between(1.0, 0.9).unwrap());
        prop_assert!(close(unit * here.low, there.low, 1e-6));
        prop_assert!(close(unit * here.high.unwrap(), there.high.unwrap(), 1e-6));
    }

    #[test]
    fn the_order_of_the_parts_does_not_matter(parts in records(), by in 0..25_usize) {
        let mut other = parts.clone();
        other.reverse();
        other.rotate_left(by % parts.len());
        prop_assert_eq!(Lives::new(&parts).unwrap().fit().unwrap(), Lives::new(&other).unwrap().fit().unwrap());
    }

    #[test]
    fn no_other_shape_or_scale_is_likelier(parts in records(), shape in 0.7..1.4_f64, scale in 0.7..1.4_f64) {
        let fit = Lives::new(&parts).unwrap().fit().unwrap();
        let best = likelihood(&parts, fit.shape(), fit.scale_h());
        prop_assert!(likelihood(&parts, shape * fit.shape(), scale * fit.scale_h()) <= best + 1e-9);
    }

    #[test]
    fn the_fitted_shape_given_gives_the_same_scale(parts in records()) {
        let lives = Lives::new(&parts).unwrap();
        let fit = lives.fit().unwrap();
        prop_assume!((0.2..20.0).contains(&fit.shape()));
        let given = lives.fit_with_shape(fit.shape()).unwrap();
        prop_assert!(close(given.scale_h(), fit.scale_h(), 1e-12));
        prop_assert!(given.shape_given() && !fit.shape_given());
        prop_assert_eq!(given.shape_between(0.9).unwrap(), None);
        // A shape that is known leaves less in doubt.
        prop_assert!(inside(given.scale_between(0.9).unwrap(), fit.scale_between(0.9).unwrap()));
    }

    #[test]
    fn more_hours_without_a_failure_never_shorten_life_at_one_shape(
        parts in records(),
        shape in 0.5..6.0_f64,
        more in 0.5..40.0_f64,
        limit in 0.01..50.0_f64,
    ) {
        let fit = |parts: &[ObservedPart]| Lives::new(parts).unwrap().fit_with_shape(shape).unwrap();
        let hours = |parts: &[ObservedPart]| fit(parts).hours_h(limit).unwrap();
        let mut another = parts.clone();
        another.push(ran(more, false));
        prop_assert!(hours(&another) > hours(&parts));
        let mut longer = parts.clone();
        longer.last_mut().unwrap().hours_h += more;
        prop_assert!(hours(&longer) > hours(&parts));
    }

    #[test]
    fn an_interval_holds_its_estimate_and_widens_with_the_level(
        parts in records(),
        limit in 0.05..50.0_f64,
        level in 0.5..0.95_f64,
    ) {
        let lives = Lives::new(&parts).unwrap();
        for fit in [lives.fit().unwrap(), lives.fit_with_shape(2.0).unwrap()] {
            let of = |level| fit.hours_between(limit, level).unwrap();
            let (narrow, wide) = (of(level), of(level + 0.04));
            let hours = fit.hours_h(limit).unwrap();
            prop_assert!(narrow.low < hours && narrow.high.is_none_or(|high| hours < high));
            prop_assert!(inside(narrow, wide), "{narrow:?} {wide:?}");
            prop_assert!(inside(fit.scale_between(level).unwrap(), fit.scale_between(level + 0.04).unwrap()));
        }
        let fit = lives.fit().unwrap();
        let of = |level| fit.shape_between(level).unwrap().unwrap();
        prop_assert!(inside(of(level), of(level + 0.04)) && of(level).low < fit.shape());
    }

    #[test]
    fn the_chance_by_those_hours_is_the_limit(parts in records(), limit in 0.01..50.0_f64) {
        let fit = Lives::new(&parts).unwrap().fit().unwrap();
        let hours = fit.hours_h(limit).unwrap();
        let chance = -(-(hours / fit.scale_h()).powf(fit.shape())).exp_m1();
        prop_assert!(close(100.0 * chance, limit, 1e-9));
    }

    #[test]
    fn the_bound_leaves_the_chance_of_no_failure(
        hours in prop::collection::vec(0.5..60.0_f64, 1..12),
        shape in 0.5..6.0_f64,
        confidence in 0.5..0.99_f64,
    ) {
        let parts: Vec<ObservedPart> = hours.iter().map(|hours| ran(*hours, false)).collect();
        let bound = Lives::new(&parts).unwrap().bound_with_shape(shape, confidence).unwrap();
        let all_live: f64 = hours.iter().map(|hours| -(hours / bound.scale_h).powf(shape)).sum::<f64>().exp();
        prop_assert!(close(all_live, 1.0 - confidence, 1e-9));
        let fewer = bound.hours_at_least_h(1.0).unwrap();
        prop_assert!(close((fewer / bound.scale_h).powf(shape), -(0.99_f64).ln(), 1e-9));
    }
}

/// ln likelihood, written out part by part.
fn likelihood(parts: &[ObservedPart], shape: f64, scale: f64) -> f64 {
    let of = |part: &ObservedPart| {
        let hazard = (part.hours_h / scale).powf(shape);
        let density = if part.failed { (shape * hazard / part.hours_h).ln() } else { 0.0 };
        density - hazard
    };
    parts.iter().map(of).sum()
}

/// How often 90 % intervals of the hours to 1 % held the truth, drawn from one shape and scale 100 h, parts
/// changed at hours spread evenly from nought to `last`, and with how many failures on average. Records that
/// set no shape are left out.
fn held(seed: u64, records: u32, parts: u32, shape: f64, last: f64) -> (f64, f64, f64) {
    let mut draw = fastrand::Rng::with_seed(seed);
    let truth = 100.0 * (-(0.99_f64).ln()).powf(1.0 / shape);
    let (mut below, mut above, mut fitted, mut failures) = (0.0, 0.0, 0.0, 0.0);
    for _ in 0..records {
        let drawn: Vec<ObservedPart> = (0..parts)
            .map(|_| {
                let life = 100.0 * (-(1.0 - draw.f64()).ln()).powf(1.0 / shape);
                let changed = last * draw.f64();
                ran(life.min(changed).max(0.001), life < changed)
            })
            .collect();
        let Ok(fit) = Lives::new(&drawn).and_then(|lives| lives.fit()) else { continue };
        let between = fit.hours_between(1.0, 0.9).unwrap();
        fitted += 1.0;
        failures += f64::from(fit.count().failures);
        below += f64::from(u8::from(between.high.is_some_and(|high| high < truth)));
        above += f64::from(u8::from(between.low > truth));
    }
    (below / fitted, above / fitted, failures / fitted)
}

#[test]
fn ninety_per_cent_intervals_hold_nine_times_in_ten() {
    for Simulated { seed, parts, shape, last, failures, share: measured } in SIMULATED {
        let (below, above, found) = held(seed, 6000, parts, shape, last);
        assert!((found - failures).abs() < 0.5, "{parts} parts: {found} failures");
        let share = 1.0 - below - above;
        assert!((share - measured).abs() < BAND, "{parts} parts: {share}, {below} below, {above} above");
        // The misses are uneven: the low end stands too high more often than the high end too low.
        assert!((0.03..0.06).contains(&below) && (0.05..0.10).contains(&above), "{below}, {above}");
    }
}

#[test]
fn what_a_result_rests_on_is_counted() {
    let fit = Lives::new(&parts(3.0)).unwrap().fit().unwrap();
    assert_eq!(fit.count(), Count { failures: 2, censored: 6, failed_at_unknown_hours: 1 });
    // A failure at unknown hours says as much as a part that lived so long.
    let mut unfailed = parts(3.0);
    for part in &mut unfailed {
        part.failed &= !part.at_least;
        part.at_least = false;
    }
    let other = Lives::new(&unfailed).unwrap().fit().unwrap();
    assert!(close(fit.shape(), other.shape(), 1e-15) && close(fit.scale_h(), other.scale_h(), 1e-15));
    assert_eq!(other.count().failed_at_unknown_hours, 0);
    let bound =
        Lives::new(&[ObservedPart { at_least: true, ..ran(12.5, true) }]).unwrap().bound_with_shape(2.0, 0.9);
    assert_eq!(bound.unwrap().count, Count { failures: 0, censored: 1, failed_at_unknown_hours: 1 });
}

#[test]
fn with_the_shape_free_long_lives_can_bring_the_early_ones_down() {
    let lives = |longest: f64| {
        let parts = [ran(20.0, true), ran(24.0, true), ran(26.0, true), ran(longest, false)];
        Lives::new(&parts).unwrap().fit().unwrap()
    };
    let (before, after) = (lives(30.0), lives(90.0));
    assert!(after.scale_h() > before.scale_h() && after.shape() < before.shape());
    assert!(after.hours_h(1.0).unwrap() < before.hours_h(1.0).unwrap(), "a flatter shape begins earlier");
}

#[test]
fn a_part_that_never_ran_changes_nothing() {
    let mut with = parts(1.0);
    with.push(ran(0.0, false));
    let (fit, other) =
        (Lives::new(&parts(1.0)).unwrap().fit().unwrap(), Lives::new(&with).unwrap().fit().unwrap());
    assert!(close(fit.shape(), other.shape(), 1e-15) && close(fit.scale_h(), other.scale_h(), 1e-15));
    assert_eq!(other.count().censored, fit.count().censored + 1);
}

#[test]
fn an_interval_without_an_end_says_so() {
    // One early failure and one long life: any flat shape will do, so the record sets the scale no end on
    // either side.
    let fit = Lives::new(&[ran(1.0, true), ran(30.0, false)]).unwrap().fit().unwrap();
    let between = fit.scale_between(0.99).unwrap();
    assert!(between.high.is_none() && between.low.abs() < 1e-9, "{between:?}");
    assert!(fit.scale_between(0.5).unwrap().high.is_some());
    assert!(fit.hours_between(0.01, 0.999).unwrap().low.abs() < 1e-9);
    let given = Lives::new(&[ran(1.0, true), ran(30.0, false)]).unwrap().fit_with_shape(2.0).unwrap();
    let (low, high) = ends(given.scale_between(0.999).unwrap());
    assert!(low < given.scale_h() && given.scale_h() < high);
}

fn refused(parts: &[ObservedPart]) -> &'static str {
    Lives::new(parts).unwrap_err().quantities()[0]
}

#[test]
fn records_that_cannot_be_are_refused_and_named() {
    assert_eq!(refused(&[]), "record of lives");
    for bad in [-0.1, f64::NAN, f64::INFINITY, 2e5] {
        assert_eq!(refused(&[ran(10.0, true), ran(bad, false)]), "hours of a part");
        assert_eq!(
            refused(&[ran(10.0, true), ObservedPart { at_least: true, ..ran(bad, true) }]),
            "hours of a part"
        );
        assert_eq!(refused(&[ran(10.0, true), ran(bad, true)]), "hours of a part that failed");
    }
    assert_eq!(refused(&[ran(0.0, true), ran(12.0, false)]), "hours of a part that failed");
    assert_eq!(refused(&[ran(0.0, false), ran(0.0, false)]), "longest life on record");
}

#[test]
fn fits_that_no_record_gives_are_refused() {
    let none = Lives::new(&[ran(12.0, false), ran(20.0, false)]).unwrap();
    for answer in [none.fit(), none.fit_with_shape(2.0)] {
        let error = answer.unwrap_err();
        assert!(matches!(error, EngineError::TooFew { field: "list of failures", found: 0, .. }), "{error}");
        assert!(error.to_string().contains("no fit"), "{error}");
    }
    let not_known = |parts: &[ObservedPart]| -> Result<Fit, EngineError> { Lives::new(parts).unwrap().fit() };
    for parts in [
        &[ran(20.0, true)][..],
        &[ran(20.0, true), ran(12.0, false)],
        &[ran(20.0, true), ran(20.0, true), ran(20.0, false)],
        &[ran(20.0, true), ran(20.0001, true)],
    ] {
        assert!(matches!(not_known(parts), Err(EngineError::NotKnown { field: "Weibull shape", .. })));
        assert!(Lives::new(parts).unwrap().fit_with_shape(3.0).is_ok());
    }
    let failed = Lives::new(&[ran(20.0, true), ran(30.0, false)]).unwrap();
    let error = failed.bound_with_shape(2.0, 0.9).unwrap_err();
    assert!(matches!(error, EngineError::Contradiction { field: "number of failures", .. }), "{error}");
}

#[test]
fn limits_levels_and_shapes_out_of_range_are_refused() {
    let lives = Lives::new(&parts(1.0)).unwrap();
    let (fit, none) = (lives.fit().unwrap(), Lives::new(&parts(5.0)).unwrap());
    let bound = none.bound_with_shape(2.0, 0.9).unwrap();
    for bad in [0.0, 0.0099, 50.01, -1.0, f64::NAN, f64::INFINITY] {
        assert!(fit.hours_h(bad).is_err() && fit.hours_between(bad, 0.9).is_err());
        assert!(bound.hours_at_least_h(bad).is_err());
    }
    for bad in [0.49, 1.0, 90.0, -0.5, f64::NAN] {
        assert!(fit.hours_between(1.0, bad).is_err() && fit.scale_between(bad).is_err());
        assert!(fit.shape_between(bad).is_err() && chi_square(bad).is_err());
        assert!(lives.fit_with_shape(2.0).unwrap().shape_between(bad).is_err());
        assert!(none.bound_with_shape(2.0, bad).is_err());
    }
    for bad in [0.19, 20.1, 0.0, -2.0, f64::NAN] {
        assert!(lives.fit_with_shape(bad).is_err() && none.bound_with_shape(bad, 0.9).is_err());
    }
    assert!(fit.hours_h(0.01).is_ok() && fit.hours_h(50.0).is_ok());
}

const ROWS: usize = 240;

/// What was simulated, and the share of intervals that held the truth, measured with 20 000 records of each.
struct Simulated {
    seed: u64,
    parts: u32,
    shape: f64,
    last: f64,
    failures: f64,
    share: f64,
}

const SIMULATED: [Simulated; 4] = [
    Simulated { seed: 1, parts: 200, shape: 1.5, last: 200.0, failures: 112.2, share: 0.893 },
    Simulated { seed: 2, parts: 40, shape: 2.5, last: 180.0, failures: 20.3, share: 0.890 },
    Simulated { seed: 3, parts: 20, shape: 2.5, last: 180.0, failures: 10.2, share: 0.878 },
    Simulated { seed: 4, parts: 20, shape: 2.5, last: 100.0, failures: 4.4, share: 0.883 },
];

/// Three standard errors of a share among 6000 records.
const BAND: f64 = 0.013;
