//! Wear on hours: values from outside (`reference/wear.toml`), laws, how often the band holds, and what is
//! refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use crate::groups;

use groups::{Inputs, check_all};
use proptest::prelude::*;
use reedbook::engine::EngineError;
use reedbook::engine::life::wear::{
    DimensionReading, Direction, FittedLine, Limit, LimitReach, Range, student_t,
};

const WEAR: &str = include_str!("../reference/wear.toml");
const NORRIS: &str = include_str!("../reference/norris.csv");
const RECORDS: &str = include_str!("../reference/wear_records.csv");

#[test]
fn wear_meets_its_references() {
    assert_eq!(check_all(WEAR, value), ROWS);
}

/// Lengths in mm, as the table has them.
fn value(kind: &str, inputs: &mut Inputs) -> f64 {
    if kind == "student" {
        let level = inputs.take("level");
        return student_t(level, inputs.take("freedom")).unwrap();
    }
    let line = FittedLine::fit(&readings(inputs.take("record"))).unwrap();
    match kind {
        "rate" => 1e3 * line.rate_m_h(),
        "rate error" => 1e3 * line.rate_error_m_h(),
        "at zero" => 1e3 * line.at_zero_m(),
        "at zero error" => 1e3 * line.at_zero_error_m(),
        "scatter" => 1e3 * line.scatter_m(),
        "correlation" => line.correlation().unwrap(),
        "squared correlation" => line.correlation().unwrap().powi(2),
        "next, low" | "next, high" => {
            let (hours, level) = (inputs.take("hours"), inputs.take("level"));
            let between = line.next_reading_between(hours, level).unwrap();
            1e3 * if kind == "next, low" { between.low } else { between.high }
        }
        "soonest" | "latest" => {
            let limit_m = 1e-3 * inputs.take("limit");
            let least = inputs.take_or("least", 0.0) > 0.5;
            let limit = if least { Limit::Least(limit_m) } else { Limit::Greatest(limit_m) };
            match (line.reaches(limit, inputs.take("level")).unwrap(), kind) {
                (LimitReach::Between { soonest_h, .. } | LimitReach::Open { soonest_h, .. }, "soonest") => {
                    soonest_h
                }
                (LimitReach::Between { latest_h, .. }, "latest") => latest_h,
                (other, _) => panic!("{kind}: {other:?}"),
            }
        }
        other => panic!("no calculation for {other}"),
    }
}

/// The readings of a record: 0 is Norris, in its own units taken for mm and h.
fn readings(record: f64) -> Vec<DimensionReading> {
    let cells = |line: &str| -> Vec<f64> { line.split(',').map(|cell| cell.parse().unwrap()).collect() };
    let reading =
        |hours_h: f64, millimetres: f64| DimensionReading { hours_h, dimension_m: millimetres / 1e3 };
    if record < 0.5 {
        let rows = NORRIS.lines().skip(1).map(cells);
        return rows.map(|row| reading(row[1], row[0])).collect();
    }
    let rows = RECORDS.lines().skip(1).map(cells).filter(|row| (row[0] - record).abs() < 0.5);
    rows.map(|row| reading(row[1], row[2])).collect()
}

#[test]
fn the_data_of_norris_are_all_there() {
    assert_eq!(readings(0.0).len(), 36);
}

fn at(points: &[(f64, f64)]) -> Vec<DimensionReading> {
    points.iter().map(|point| DimensionReading { hours_h: point.0, dimension_m: point.1 }).collect()
}

fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}

prop_compose! {
    /// A bore that grows, or another dimension that shrinks, measured 4 to 12 times with a scatter.
    fn worn()(
        rate in prop_oneof![5e-7..5e-6_f64, -5e-6..-5e-7_f64],
        offs in prop::collection::vec((0.1..9.0_f64, -3e-6..3e-6_f64), 4..12),
    ) -> Vec<DimensionReading> {
        let mut hours = 0.0;
        offs.iter().map(|(later, off)| {
            hours += later;
            DimensionReading { hours_h: hours, dimension_m: 0.054 + rate * hours + off }
        }).collect()
    }
}

/// How far a limit is from where an edge of the band stands at some hours.
fn edge_off(line: &FittedLine, hours: f64, level: f64, limit_m: f64) -> f64 {
    let Range { low, high } = line.next_reading_between(hours, level).unwrap();
    (low - limit_m).abs().min((high - limit_m).abs())
}

proptest! {
    #[test]
    fn other_units_change_only_their_own(readings in worn(), hours in 0.2..5.0_f64, length in 0.2..5.0_f64) {
        let other: Vec<DimensionReading> = readings.iter()
            .map(|at| DimensionReading { hours_h: hours * at.hours_h, dimension_m: length * at.dimension_m }).collect();
        prop_assume!(readings.last().unwrap().hours_h > 1.0);
        let (line, other) = (FittedLine::fit(&readings).unwrap(), FittedLine::fit(&other).unwrap());
        prop_assert!(close(line.rate_m_h() * length / hours, other.rate_m_h(), 1e-8));
        prop_assert!(close(line.at_zero_m() * length, other.at_zero_m(), 1e-12));
        prop_assert!(close(line.scatter_m() * length, other.scatter_m(), 1e-7));
        prop_assert!((line.correlation().unwrap() - other.correlation().unwrap()).abs() < 1e-8);
    }

    #[test]
    fn the_order_of_the_readings_does_not_matter(readings in worn()) {
        let mut other = readings.clone();
        other.reverse();
        prop_assert_eq!(FittedLine::fit(&readings).unwrap(), FittedLine::fit(&other).unwrap());
    }

    #[test]
    fn no_other_line_lies_nearer(readings in worn(), turn in -1e-6..1e-6_f64, lift in -1e-5..1e-5_f64) {
        let line = FittedLine::fit(&readings).unwrap();
        let squares = |zero: f64, rate: f64| -> f64 {
            readings.iter().map(|at| (at.dimension_m - zero - rate * at.hours_h).powi(2)).sum()
        };
        let best = squares(line.at_zero_m(), line.rate_m_h());
        prop_assert!(squares(line.at_zero_m() + lift, line.rate_m_h() + turn) >= best * (1.0 - 1e-9));
        prop_assert!(close(best, line.scatter_m().powi(2) * line.freedom(), 1e-6));
    }

    #[test]
    fn the_band_widens_with_the_level_and_away_from_the_readings(
        readings in worn(), level in 0.5..0.95_f64, away in 1.0..200.0_f64,
    ) {
        let line = FittedLine::fit(&readings).unwrap();
        let last = readings.last().unwrap().hours_h;
        let width = |hours: f64, level: f64| {
            let Range { low, high } = line.next_reading_between(hours, level).unwrap();
            high - low
        };
        prop_assert!(width(last, level) < width(last, level + 0.04));
        prop_assert!(width(last, level) < width(last + away, level));
    }

    #[test]
    fn at_the_hours_found_the_band_is_at_the_limit(
        readings in worn(), level in 0.5..0.99_f64, off in 2e-5..2e-4_f64,
    ) {
        let line = FittedLine::fit(&readings).unwrap();
        let grows = line.rate_m_h() > 0.0;
        let limit_m = if grows { 0.054 + off } else { 0.054 - off };
        let limit = if grows { Limit::Greatest(limit_m) } else { Limit::Least(limit_m) };
        let seen = line.direction(level).unwrap();
        match line.reaches(limit, level).unwrap() {
            LimitReach::Between { hours_h, soonest_h, latest_h } => {
                prop_assert_eq!(seen, if grows { Direction::Growing } else { Direction::Shrinking });
                prop_assert!(soonest_h < hours_h && hours_h < latest_h);
                prop_assume!(soonest_h > 0.0 && latest_h < 1e5);
                prop_assert!((line.dimension_m(hours_h).unwrap() - limit_m).abs() < 1e-12);
                prop_assert!(edge_off(&line, soonest_h, level, limit_m) < 1e-9);
                prop_assert!(edge_off(&line, latest_h, level, limit_m) < 1e-9 * (1.0 + latest_h / 100.0));
            }
            LimitReach::Open { hours_h, soonest_h } => {
                prop_assert_eq!(seen, Direction::NotSeen);
                prop_assert!(hours_h.is_none_or(|hours| soonest_h < hours));
                prop_assume!(soonest_h < 1e5);
                prop_assert!(edge_off(&line, soonest_h, level, limit_m) < 1e-9);
            }
            LimitReach::AnyTime => prop_assert_eq!(seen, Direction::NotSeen),
            LimitReach::Never => prop_assert!(false, "a line that leads to the limit never reaches it"),
        }
        // The limit on the other side is one that wear leads away from.
        let behind = if grows { Limit::Least(0.050) } else { Limit::Greatest(0.058) };
        let answer = line.reaches(behind, level).unwrap();
        prop_assert_eq!(answer == LimitReach::Never, seen != Direction::NotSeen, "{:?}", answer);
    }

    #[test]
    fn a_dimension_turned_over_is_reached_at_the_same_hours(readings in worn(), off in 2e-5..2e-4_f64) {
        let other: Vec<DimensionReading> = readings.iter()
            .map(|at| DimensionReading { dimension_m: 0.108 - at.dimension_m, ..*at }).collect();
        let of = |readings: &[DimensionReading], limit| FittedLine::fit(readings).unwrap().reaches(limit, 0.9).unwrap();
        let (one, two) = (of(&readings, Limit::Greatest(0.054 + off)), of(&other, Limit::Least(0.054 - off)));
        match (one, two) {
            (LimitReach::Between { soonest_h: a, .. }, LimitReach::Between { soonest_h: b, .. })
            | (LimitReach::Open { soonest_h: a, .. }, LimitReach::Open { soonest_h: b, .. }) => {
                prop_assert!(close(a, b, 1e-5));
            }
            (one, two) => prop_assert_eq!(one, two),
        }
    }
}

#[test]
fn the_band_holds_nine_readings_in_ten() {
    let mut draw = fastrand::Rng::with_seed(7);
    // Two sines make a normal deviate (Box and Muller).
    let mut normal =
        move || (-2.0 * (1.0 - draw.f64()).ln()).sqrt() * (std::f64::consts::TAU * draw.f64()).cos();
    let (mut held, mut reached, records) = (0.0, 0.0, 4000);
    for _ in 0..records {
        let mut reading =
            |hours_h: f64| DimensionReading { hours_h, dimension_m: 3e-4 + 2e-6 * hours_h + 4e-6 * normal() };
        let line = FittedLine::fit(&[0.0, 6.0, 11.0, 19.0, 25.0].map(&mut reading)).unwrap();
        let Range { low, high } = line.next_reading_between(40.0, 0.9).unwrap();
        let next = reading(40.0).dimension_m;
        held += f64::from(u8::from((low..=high).contains(&next)));
        // Those hours at which such a reading is made lie between soonest and latest just as often.
        let within = match line.reaches(Limit::Greatest(next), 0.9).unwrap() {
            LimitReach::Between { soonest_h, latest_h, .. } => (soonest_h..=latest_h).contains(&40.0),
            LimitReach::Open { soonest_h, .. } => soonest_h <= 40.0,
            LimitReach::AnyTime => true,
            LimitReach::Never => false,
        };
        reached += f64::from(u8::from(within));
    }
    let share = |count: f64| count / f64::from(records);
    assert!((share(held) - 0.9).abs() < 0.015, "{}", share(held));
    assert!((share(reached) - 0.9).abs() < 0.015, "{}", share(reached));
}

#[test]
fn a_line_without_scatter_is_reached_at_one_moment() {
    let line = FittedLine::fit(&at(&[(0.0, 0.25), (8.0, 0.375), (16.0, 0.5)])).unwrap();
    let LimitReach::Between { hours_h, soonest_h, latest_h } =
        line.reaches(Limit::Greatest(0.75), 0.9).unwrap()
    else {
        panic!("a line reaches what it leads to");
    };
    for hours in [hours_h, soonest_h, latest_h] {
        assert!((hours - 32.0).abs() < 1e-9, "{hours}");
    }
    let at_mean = line.reaches(Limit::Greatest(0.375), 0.9).unwrap();
    assert_eq!(at_mean, LimitReach::Between { hours_h: 8.0, soonest_h: 8.0, latest_h: 8.0 });
    assert_eq!(line.reaches(Limit::Least(0.1), 0.9).unwrap(), LimitReach::Never);
    let still = FittedLine::fit(&at(&[(0.0, 0.25), (8.0, 0.25), (16.0, 0.25)])).unwrap();
    assert_eq!(still.reaches(Limit::Greatest(0.5), 0.9).unwrap(), LimitReach::Never);
    assert_eq!((still.correlation(), still.direction(0.9).unwrap()), (None, Direction::NotSeen));
}

#[test]
fn an_interval_without_an_end_says_so() {
    let line = FittedLine::fit(&readings(3.0)).unwrap();
    let open = line.reaches(Limit::Greatest(1e-4), 0.9).unwrap();
    assert!(
        matches!(open, LimitReach::Open { hours_h: Some(hours), soonest_h } if soonest_h < hours),
        "{open:?}"
    );
    let away = line.reaches(Limit::Least(1e-5), 0.9).unwrap();
    assert!(matches!(away, LimitReach::Open { hours_h: None, soonest_h } if soonest_h > 25.0), "{away:?}");
    for within in [Limit::Greatest(4.2e-5), Limit::Greatest(1e-5), Limit::Least(1e-4)] {
        assert_eq!(line.reaches(within, 0.9).unwrap(), LimitReach::AnyTime);
    }
    assert_eq!(line.direction(0.9).unwrap(), Direction::NotSeen);
}

#[test]
fn a_limit_that_is_passed_lies_before_the_last_reading() {
    let line = FittedLine::fit(&readings(1.0)).unwrap();
    let LimitReach::Between { latest_h, .. } = line.reaches(Limit::Greatest(0.35e-3), 0.9).unwrap() else {
        panic!("the gap grows");
    };
    assert!(latest_h < 31.0, "{latest_h}");
}

#[test]
fn readings_that_give_no_line_are_refused_and_named() {
    let refused = |points: &[(f64, f64)]| FittedLine::fit(&at(points)).unwrap_err();
    let two = refused(&[(0.0, 0.054), (8.0, 0.05401)]);
    assert!(matches!(two, EngineError::TooFew { found: 2, needed: 3, .. }), "{two}");
    let same = refused(&[(8.0, 0.054), (8.0, 0.05401), (8.0, 0.05402)]);
    assert_eq!(same.quantities(), ["time between the first and the last reading"]);
    for bad in [f64::NAN, -1.0, f64::INFINITY, 2e5] {
        let error = refused(&[(0.0, 0.054), (bad, 0.054), (9.0, 0.05401)]);
        assert_eq!(error.quantities(), ["hours of a reading"]);
        let error = refused(&[(0.0, 0.054), (4.0, bad), (9.0, 0.05401)]);
        assert_eq!(error.quantities(), ["dimension"]);
    }
}

#[test]
fn nonsense_is_refused_everywhere() {
    let line = FittedLine::fit(&readings(1.0)).unwrap();
    for bad in [f64::NAN, -1.0, f64::INFINITY, 2e5] {
        assert!(line.dimension_m(bad).is_err() && line.next_reading_between(bad, 0.9).is_err());
        assert!(
            line.reaches(Limit::Greatest(bad), 0.9).is_err() && line.reaches(Limit::Least(bad), 0.9).is_err()
        );
        assert!(student_t(0.9, bad).is_err());
    }
    for bad in [f64::NAN, 0.49, 1.0, 90.0] {
        assert!(line.next_reading_between(10.0, bad).is_err() && line.rate_between(bad).is_err());
        assert!(line.direction(bad).is_err() && line.reaches(Limit::Greatest(0.001), bad).is_err());
        assert!(student_t(bad, 3.0).is_err());
    }
    assert!(student_t(0.9, 0.5).is_err());
}

const ROWS: usize = 115;
