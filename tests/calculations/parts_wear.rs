//! How a dimension wears, through builds and part documents: values from outside (`reference/wear.toml`), which readings make a
//! line, laws.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

use proptest::prelude::*;
use reedbook::advice::building::{NamedFigure, kind_of};
use reedbook::advice::parts::EngineRun;
use reedbook::advice::parts::wear::{
    Arrival, HoursGap, LimitSide, Pace, TopEnds, Wear, WearLimits, Whose, readings, top_ends,
};
use reedbook::engine::doubt::Doubtful;
use reedbook::engine::life::wear::{Direction, FittedLine, LimitReach};
use reedbook::notebook::Limits;
use reedbook::store::PartRecord;

mod garage;
mod twins;

use garage::{Case, NEW, day, fitted, part, run};

const WEAR: &str = include_str!("../reference/wear.toml");
const NORRIS: &str = include_str!("../reference/norris.csv");
const RECORDS: &str = include_str!("../reference/wear_records.csv");

fn line(wear: &Wear) -> &FittedLine {
    match &wear.pace {
        Pace::Line { line, .. } => line,
        other => panic!("no line: {other:?}"),
    }
}

/// The readings of a record, hours first: 0 is Norris, its y taken for mm and its x for h.
fn rows(record: f64) -> Vec<(f64, f64)> {
    let cells = |line: &str| -> Vec<f64> { line.split(',').map(|cell| cell.parse().unwrap()).collect() };
    if record < 0.5 {
        return NORRIS.lines().skip(1).map(cells).map(|row| (row[1], row[0])).collect();
    }
    let rows = RECORDS.lines().skip(1).map(cells).filter(|row| (row[0] - record).abs() < 0.5);
    rows.map(|row| (row[1], row[2])).collect()
}

fn case(record: f64, limit: Option<f64>, level: f64) -> Case {
    let figures =
        ["least_bore", "ring_gap", "pin_diameter", "bore_taper"].into_iter().zip([0.0, 1.0, 2.0, 3.0]);
    let (figure, _) = figures.into_iter().find(|(_, number)| (record - number).abs() < 0.5).unwrap();
    let mut rows = rows(record);
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut before = 0.0;
    let steps: Vec<_> = rows
        .iter()
        .map(|(hours, millimetres)| (hours - std::mem::replace(&mut before, *hours), *millimetres))
        .collect();
    let mut case = Case::new(figure, &steps);
    case.limits.asked = limit.map(|millimetres| millimetres / 1e3);
    case.level = level;
    case
}

#[test]
fn builds_meet_the_references_of_the_line() {
    let table: toml::Table = toml::from_str(WEAR).unwrap();
    let mut checked = 0;
    for group in table["group"].as_array().unwrap() {
        let kind = group["kind"].as_str().unwrap();
        let tolerance = group["tolerance"].as_float().unwrap();
        for row in group["rows"].as_array().unwrap() {
            let input = |name: &str| row["inputs"].get(name).and_then(toml::Value::as_float);
            let Some(record) = input("record") else { continue };
            let case = case(record, input("limit"), input("level").unwrap_or(0.9));
            let wear = case.answer();
            assert_eq!(wear.used.len(), rows(record).len());
            // The table asks for limits on both sides of what shows no wear; here the side is that of the habit.
            let least = input("least").unwrap_or(0.0) > 0.5;
            if input("limit").is_some() && (wear.side == LimitSide::Least) != least {
                continue;
            }
            let found = value(kind, &wear, input("hours"), case.level);
            let expected = row["expected"].as_float().unwrap();
            assert!((found - expected).abs() <= tolerance, "{kind}, {row}: {found}");
            checked += 1;
        }
    }
    assert_eq!(checked, ROWS);
}

/// Rows of the table that readings answer.
const ROWS: usize = 75;

fn value(kind: &str, wear: &Wear, hours: Option<f64>, level: f64) -> f64 {
    let line = line(wear);
    match kind {
        "rate" => 1e3 * line.rate_m_h(),
        "rate error" => 1e3 * line.rate_error_m_h(),
        "at zero" => 1e3 * line.at_zero_m(),
        "at zero error" => 1e3 * line.at_zero_error_m(),
        "scatter" => 1e3 * line.scatter_m(),
        "correlation" => line.correlation().unwrap(),
        "squared correlation" => line.correlation().unwrap().powi(2),
        "next, low" => 1e3 * line.next_reading_between(hours.unwrap(), level).unwrap().low,
        "next, high" => 1e3 * line.next_reading_between(hours.unwrap(), level).unwrap().high,
        "soonest" => wear.arrival.unwrap().soonest_h().unwrap(),
        "latest" => match wear.arrival {
            Some(Arrival::Line(LimitReach::Between { latest_h, .. })) => latest_h,
            other => panic!("{other:?}"),
        },
        other => panic!("no calculation for {other}"),
    }
}

const GROWS: [(f64, f64); 4] = [(2.0, 54.000), (5.0, 54.011), (5.0, 54.019), (5.0, 54.031)];

#[test]
fn a_past_that_is_not_known_does_no_harm() {
    let known = Case::new("least_bore", &GROWS).with_most(54.1);
    let mut not_known = Case::new("least_bore", &GROWS).with_most(54.1);
    not_known.parts = vec![fitted("own", "cylinder", "")];
    let (a, b) = (known.answer(), not_known.answer());
    assert!(!a.axis.open_at_the_beginning && b.axis.open_at_the_beginning);
    assert!((a.zero_h - 0.0).abs() < 1e-12 && (b.zero_h - 2.0).abs() < 1e-12);
    let from_now = |wear: &Wear| wear.arrival.unwrap().soonest_h().unwrap() + wear.zero_h - wear.axis.now_h;
    assert!((from_now(&a) - from_now(&b)).abs() < 1e-6, "{} {}", from_now(&a), from_now(&b));
    assert!((line(&a).rate_m_h() - line(&b).rate_m_h()).abs() < 1e-15);
    assert_eq!(a.used.len(), 4);
}

#[test]
fn hours_not_known_in_between_leave_out_what_was_before() {
    let mut case = Case::new("least_bore", &GROWS).with_most(54.1);
    case.runs.insert(1, EngineRun { date: day(1), ..run(1, None) });
    let wear = case.answer();
    let gaps: Vec<_> = wear.axis.places.iter().map(|place| place.gap).collect();
    assert_eq!(gaps, [HoursGap::Known, HoursGap::More, HoursGap::Known, HoursGap::Known]);
    assert_eq!((wear.used.len(), wear.left_out), (3, 1));
    assert!((wear.zero_h - 7.0).abs() < 1e-12);
    // Between the last two: the first and the last bound the rate.
    let mut case = Case::new("least_bore", &GROWS).with_most(54.1);
    case.runs.insert(3, EngineRun { date: day(3), ..run(3, None) });
    let wear = case.answer();
    assert_eq!((wear.used.len(), wear.left_out), (2, 2));
    match (&wear.pace, wear.arrival) {
        (Pace::AtMost { rate }, Some(Arrival::NotBefore { hours_h })) => {
            assert!((rate - 0.031e-3 / 15.0).abs() < 1e-12);
            assert!((hours_h - (15.0 + 0.069 / 0.031 * 15.0)).abs() < 1e-6);
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn an_own_count_after_hours_that_are_not_known_begins_anew() {
    let own = "[events.b]\ndate = \"2025-01-03T06:00Z\"\ndid = \"inspected\"\nhours = \"60 h\"\n";
    let text = |past: &str| {
        format!(
            "kind = \"cylinder\"\n{past}\n[events.a]\ndate = \"2024-12-31T12:00Z\"\ndid = \"fitted\"\nengine = \"e\"\n{own}"
        )
    };
    let mut case = Case::new("least_bore", &GROWS);
    case.parts = vec![part("own", &text(""))];
    let wear = case.answer();
    let gaps: Vec<_> = wear.axis.places.iter().map(|place| place.gap).collect();
    assert_eq!(gaps, [HoursGap::Known, HoursGap::Known, HoursGap::NotTold, HoursGap::Known]);
    assert_eq!((wear.used.len(), wear.left_out), (2, 2));
    // Also where an outing without hours came after it, so that neither end is known.
    case.runs.insert(3, EngineRun { date: day(3), ..run(3, None) });
    assert_eq!(case.answer().axis.places[3].gap, HoursGap::More);
    case.runs.insert(2, EngineRun { date: garage::when("2025-01-03T07:00Z"), ..run(3, None) });
    let gaps: Vec<_> = case.answer().axis.places.iter().map(|place| place.gap).collect();
    assert_eq!(gaps, [HoursGap::Known, HoursGap::Known, HoursGap::NotTold, HoursGap::More]);
    case.runs.retain(|run| run.hours_h.is_some());
    // Where everything before is known, the own count is simply right.
    case.parts = vec![part("own", &text(NEW))];
    let wear = case.answer();
    assert_eq!(wear.used.len(), 4);
    assert!((wear.axis.places[2].hours_h - 65.0).abs() < 1e-9);
}

#[test]
fn another_part_or_the_same_made_new_is_another_line() {
    let mut case = Case::new("least_bore", &GROWS);
    case.parts = vec![part(
        "own",
        "kind = \"cylinder\"\npast_hours = \"0 h\"\n[events.a]\ndate = \"2024-12-31T12:00Z\"\ndid = \"fitted\"\nengine = \"e\"\n[events.b]\ndate = \"2025-01-01T14:00Z\"\ndid = \"renewed\"\n",
    )];
    // Made new on the evening of the first build, before it ran again: that build measured it as it was made new.
    let wear = case.answer();
    let hours: Vec<_> = wear.axis.places.iter().map(|place| place.hours_h).collect();
    assert_eq!(hours, [0.0, 5.0, 10.0, 15.0]);
    case.parts = vec![part(
        "own",
        "kind = \"cylinder\"\npast_hours = \"0 h\"\n[events.a]\ndate = \"2024-12-31T12:00Z\"\ndid = \"fitted\"\nengine = \"e\"\n[events.b]\ndate = \"2025-01-02T11:00Z\"\ndid = \"renewed\"\n",
    )];
    let wear = case.answer();
    assert_eq!((wear.axis.places.len(), wear.axis.of_other_parts), (3, 1));
    assert!((wear.axis.places[0].hours_h - 0.0).abs() < 1e-12);
}

#[test]
fn a_part_that_goes_in_after_the_build_was_begun_is_the_one_that_was_measured() {
    let swap = |at: &str| {
        let old = format!(
            "kind = \"cylinder\"\npast_hours = \"0 h\"\n[events.a]\ndate = \"2024-12-31T12:00Z\"\ndid = \"fitted\"\nengine = \"e\"\n[events.b]\ndate = \"{at}\"\ndid = \"removed\"\n"
        );
        let new = format!(
            "kind = \"cylinder\"\npast_hours = \"3 h\"\n[events.a]\ndate = \"{at}\"\ndid = \"fitted\"\nengine = \"e\"\n"
        );
        let mut case = Case::new("least_bore", &GROWS);
        case.parts = vec![part("old", &old), part("new", &new)];
        case.answer()
    };
    let evening = swap("2025-01-02T20:00Z");
    assert_eq!(evening.axis.whose, Whose::Part("new".into()));
    let hours: Vec<_> = evening.axis.places.iter().map(|place| place.hours_h).collect();
    assert_eq!(hours, [3.0, 8.0, 13.0]);
    // So it is with the newest build.
    let last = swap("2025-01-04T20:00Z");
    assert_eq!((last.axis.whose.clone(), last.axis.places.len()), (Whose::Part("new".into()), 1));
    // After the next morning's run it is not.
    assert_eq!(swap("2025-01-03T11:00Z").axis.places.len(), 2);
    assert_eq!(swap("2025-01-03T10:30Z").axis.places.len(), 2);
}

#[test]
fn a_new_piston_makes_the_clearance_jump_and_leaves_the_bore_alone() {
    let piston = |name: &str, from: &str, to: &str| {
        part(
            name,
            &format!(
                "kind = \"piston\"\npast_hours = \"0 h\"\n[events.a]\ndate = \"{from}\"\ndid = \"fitted\"\nengine = \"e\"\n[events.b]\ndate = \"{to}\"\ndid = \"removed\"\n"
            ),
        )
    };
    let parts = vec![
        fitted("c1", "cylinder", NEW),
        piston("p1", "2024-12-31T12:00Z", "2025-01-02T11:00Z"),
        piston("p2", "2025-01-02T11:30Z", "2027-01-01T12:00Z"),
    ];
    let mut clearance =
        Case::new("piston_clearance", &[(2.0, 0.05), (5.0, 0.052), (5.0, 0.056), (5.0, 0.061)]);
    clearance.parts = parts.clone();
    let wear = clearance.answer();
    assert_eq!((wear.axis.whose.clone(), wear.axis.places.len()), (Whose::Part("p2".into()), 3));
    assert!(wear.axis.unseen.is_empty());
    let mut bore = Case::new("least_bore", &GROWS);
    bore.parts = parts;
    assert_eq!(bore.answer().axis.places.len(), 4);
    // Without a cylinder in the book its change would not be seen.
    clearance.parts.remove(0);
    assert_eq!(clearance.answer().axis.unseen, ["cylinder"]);
}

#[test]
fn without_a_part_the_engine_s_own_hours_count() {
    let mut case = Case::new("least_bore", &GROWS).with_most(54.1);
    case.parts.clear();
    case.runs.push(EngineRun { engine: "another".into(), ..run(3, Some(50.0)) });
    case.runs.sort_by_key(|run| run.date);
    let wear = case.answer();
    assert_eq!((wear.axis.whose.clone(), wear.axis.unseen.clone()), (Whose::Engine, vec!["cylinder"]));
    let hours: Vec<_> = wear.axis.places.iter().map(|place| place.hours_h).collect();
    assert_eq!(hours, [2.0, 7.0, 12.0, 17.0]);
    assert!((wear.zero_h - 2.0).abs() < 1e-12);
    case.runs.insert(2, EngineRun { date: day(2), ..run(2, None) });
    assert_eq!(case.answer().axis.places[2].gap, HoursGap::More);
    let squish = Case::new("squish_mean", &[(1.0, 0.8), (2.0, 0.81), (3.0, 0.8)]);
    assert_eq!(squish.answer().axis.whose, Whose::Engine);
}

#[test]
fn two_readings_give_a_rate_and_no_doubt() {
    let two = |a: f64, b: f64, doubt: Option<f64>| {
        let mut case = Case::new("least_bore", &[(2.0, a), (5.0, b)]).with_most(54.05);
        case.readings.iter_mut().for_each(|reading| reading.uncertainty = doubt);
        case.answer()
    };
    let wear = two(54.0, 54.01, Some(0.002e-3));
    match (&wear.pace, wear.arrival) {
        (Pace::Two { rate, told_apart: Some(true) }, Some(Arrival::At { hours_h })) => {
            assert!((rate - 0.002e-3).abs() < 1e-15 && (hours_h - 27.0).abs() < 1e-6);
        }
        other => panic!("{other:?}"),
    }
    assert!(matches!(two(54.0, 54.01, Some(0.004e-3)).pace, Pace::Two { told_apart: Some(false), .. }));
    assert!(matches!(two(54.0, 54.01, None).pace, Pace::Two { told_apart: None, .. }));
    // A bore does not shrink by running: within the doubt its limit stays the greatest.
    assert_eq!(two(54.01, 54.0, Some(0.02e-3)).arrival, Some(Arrival::Never));
    assert!(two(54.0, 54.06, None).past && !two(54.0, 54.04, None).past);
    let one = Case::new("least_bore", &[(2.0, 54.0)]).with_most(54.05).answer();
    assert_eq!((one.pace, one.arrival), (Pace::OneReading, None));
    let still = Case::new("least_bore", &[(2.0, 54.0), (0.0, 54.01), (0.0, 54.0)]).answer();
    assert_eq!(still.pace, Pace::DidNotRun);
}

#[test]
fn the_limit_is_on_the_side_it_goes_to() {
    let limits = WearLimits { asked: None, least: Some(0.2e-3), most: Some(0.6e-3) };
    let chosen = |figure: &str, readings: &[(f64, f64)]| {
        let mut case = Case::new(figure, readings);
        case.limits = limits.clone();
        case.answer().limit.unwrap()
    };
    let (grows, shrinks) = (
        [(1.0, 0.3), (5.0, 0.32), (5.0, 0.341), (5.0, 0.36)],
        [(1.0, 0.36), (5.0, 0.341), (5.0, 0.32), (5.0, 0.3)],
    );
    let still = [(1.0, 0.3), (5.0, 0.301), (5.0, 0.299), (5.0, 0.3)];
    assert_eq!(
        (chosen("ring_gap", &grows).side, chosen("ring_gap", &grows).value),
        (LimitSide::Greatest, 0.6e-3)
    );
    assert_eq!(
        (chosen("squish_mean", &shrinks).side, chosen("squish_mean", &shrinks).value),
        (LimitSide::Least, 0.2e-3)
    );
    assert_eq!(chosen("ring_gap", &still).side, LimitSide::Greatest);
    assert_eq!(chosen("piston_diameter", &still).side, LimitSide::Least);
    let mut case = Case::new("ring_gap", &grows);
    assert_eq!(case.answer().limit, None);
    case.limits = WearLimits { asked: Some(0.5e-3), ..limits };
    assert!(case.answer().limit.unwrap().asked);
}

#[test]
fn a_fit_that_goes_loose_below_nought_has_its_line() {
    let seat = |lift: f64| {
        let rows = [(1.0, 0.012 + lift), (6.0, 0.003 + lift), (6.0, -0.004 + lift), (6.0, -0.014 + lift)];
        let mut case = Case::new("bearing_in_case", &rows);
        case.limits.least = Some((-0.03 + lift) / 1e3);
        case.answer()
    };
    let (loose, lifted) = (seat(0.0), seat(1.0));
    assert!(
        matches!(loose.pace, Pace::Line { direction: Direction::Shrinking, raised, .. } if (raised - 0.03e-3).abs() < 1e-12)
    );
    let soonest = |wear: &Wear| wear.arrival.unwrap().soonest_h().unwrap();
    assert!((soonest(&loose) - soonest(&lifted)).abs() < 1e-6);
    assert_eq!(loose.limit.unwrap().side, LimitSide::Least);
}

#[test]
fn readings_are_those_of_the_figure_and_the_seat() {
    let figure = |name: &str, seat: Option<&str>, value: f64| NamedFigure {
        kind: kind_of(name).unwrap(),
        seat: seat.map(str::to_owned),
        cylinder: None,
        value: Doubtful::new(value, "gauge", 2e-6),
        at: None,
        edges: None,
        source: None,
        judged: None,
    };
    let first = [figure("least_bore", None, 0.054), figure("bearing_in_case", Some("left"), 1e-5)];
    let second = [figure("greatest_bore", None, 0.0541)];
    let third = [figure("bearing_in_case", Some("right"), 2e-5), figure("least_bore", None, 0.05402)];
    let builds = || {
        [(day(1), "a", first.as_slice()), (day(2), "b", second.as_slice()), (day(3), "c", third.as_slice())]
    };
    let bore = readings(builds(), "least_bore", (None, None));
    assert_eq!(bore.iter().map(|reading| reading.build_id.as_str()).collect::<Vec<_>>(), ["a", "c"]);
    assert!(
        (bore[1].dimension - 0.05402).abs() < 1e-12 && (bore[1].uncertainty.unwrap() - 2e-6).abs() < 1e-12
    );
    assert_eq!(readings(builds(), "bearing_in_case", (Some("right"), None))[0].date, day(3));
    assert!(readings(builds(), "ring_gap", (None, None)).is_empty());
}

#[test]
fn top_ends_come_when_the_piston_is_due() {
    let limits: Limits = toml::from_str("[parts.piston]\nchange_after = \"10 h\"\n").unwrap();
    let parts = [fitted("p", "piston", NEW)];
    let runs = [run(5, Some(4.0))];
    let ends = |parts: &[PartRecord], soonest: f64| {
        let ends = top_ends(&limits, ("e", None), (parts, &runs), day(9), soonest).unwrap();
        (ends.next_in_h, ends.before, ends.last_in_h())
    };
    assert_eq!(ends(&parts, 5.9), (6.0, 0, None));
    assert_eq!(ends(&parts, 6.0), (6.0, 1, Some(6.0)));
    assert_eq!(ends(&parts, 22.0), (6.0, 2, Some(16.0)));
    assert_eq!(ends(&[], 22.0), (10.0, 2, Some(20.0)));
    assert_eq!(top_ends(&Limits::default(), ("e", None), (&parts, &runs), day(9), 22.0), None::<TopEnds>);
}

#[test]
fn a_part_that_came_in_since_is_said() {
    let mut case = Case::new("least_bore", &GROWS);
    case.parts = vec![
        part(
            "own",
            "kind = \"cylinder\"\npast_hours = \"0 h\"\n[events.a]\ndate = \"2024-12-31T12:00Z\"\ndid = \"fitted\"\nengine = \"e\"\n[events.b]\ndate = \"2025-02-01T12:00Z\"\ndid = \"removed\"\n",
        ),
        part(
            "next",
            "kind = \"cylinder\"\npast_hours = \"0 h\"\n[events.a]\ndate = \"2025-02-02T12:00Z\"\ndid = \"fitted\"\nengine = \"e\"\n",
        ),
    ];
    case.runs.push(run(20, Some(1.0)));
    let wear = case.answer();
    assert_eq!(
        (wear.axis.changed_since.clone(), wear.axis.whose.clone()),
        (vec!["cylinder"], Whose::Part("own".into()))
    );
    assert!((wear.axis.now_h - 18.0).abs() < 1e-9);
    case.parts.truncate(1);
    assert!(case.answer().axis.changed_since.is_empty());
}

proptest! {
    #[test]
    fn what_ran_before_the_first_reading_changes_nothing_from_now(
        before in 0.0..80.0_f64,
        steps in prop::collection::vec((1.0..9.0_f64, -0.002..0.002_f64), 3..9),
    ) {
        let rows: Vec<(f64, f64)> = steps.iter().scan(54.0, |size, (hours, off)| {
            *size += 0.002 * hours;
            Some((*hours, *size + off))
        }).collect();
        let case = Case::new("least_bore", &rows).with_most(54.2);
        let mut other = Case::new("least_bore", &rows).with_most(54.2);
        other.parts = vec![fitted("own", "cylinder", &format!("past_hours = \"{before} h\""))];
        let mut not_known = Case::new("least_bore", &rows).with_most(54.2);
        not_known.parts = vec![fitted("own", "cylinder", "")];
        let from_now = |case: &Case| {
            let wear = case.answer();
            wear.arrival.unwrap().soonest_h().map(|hours| hours + wear.zero_h - wear.axis.now_h)
        };
        let (first, second, third) = (from_now(&case), from_now(&other), from_now(&not_known));
        prop_assert_eq!(first.is_some(), second.is_some());
        if let (Some(first), Some(second), Some(third)) = (first, second, third) {
            let far = 1e-6 * (1.0 + first.abs());
            prop_assert!((first - second).abs() < far && (first - third).abs() < far, "{first} {second} {third}");
        }
    }

    #[test]
    fn more_hours_since_the_newest_reading_leave_so_many_fewer(more in 0.1..30.0_f64) {
        let case = Case::new("least_bore", &GROWS).with_most(54.2);
        let mut later = Case::new("least_bore", &GROWS).with_most(54.2);
        later.runs.push(run(60, Some(more)));
        let from_now = |case: &Case| {
            let wear = case.answer();
            wear.arrival.unwrap().soonest_h().unwrap() + wear.zero_h - wear.axis.now_h
        };
        prop_assert!((from_now(&case) - more - from_now(&later)).abs() < 1e-9);
    }

    #[test]
    fn hours_not_known_between_two_readings_bound_what_they_may_be(hidden in 0.0..40.0_f64, wear in 0.005..0.05_f64) {
        let rows = [(2.0, 54.0), (5.0, 54.0 + wear)];
        let of = |hours: Option<f64>| {
            let mut case = Case::new("least_bore", &rows).with_most(54.2);
            case.runs.insert(1, EngineRun { date: day(1), ..run(1, hours) });
            let wear = case.answer();
            wear.arrival.unwrap().soonest_h().unwrap() + wear.zero_h - wear.axis.now_h
        };
        prop_assert!(of(None) <= of(Some(hidden)) + 1e-9);
    }
}
