//! What a part has run, held against sums done by hand: fitted in the midst of a season, moved between engines, taken out and
//! put back, made new, counted by the tuner, and outings of which the hour meter alone tells.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use crate::common;
use crate::parts;

use common::Shed;
use parts::{assert_hours, at, part, run};
use reedbook::advice::parts::{Count, EngineRun, count, counts_at_events};
use reedbook::notebook::Part;

/// Five outings of cicada, 1 h, 2 h, 4 h, 8 h, 16 h, a month apart, and one of granite of 100 h after each: any sum names its
/// outings.
fn season() -> Vec<EngineRun> {
    let days = ["2026-01-10", "2026-02-10", "2026-03-10", "2026-04-10", "2026-05-10"];
    let mut hours = 1.0;
    let mut runs = Vec::new();
    for day in days {
        runs.push(run("cicada", &format!("{day} 10:00"), hours));
        runs.push(run("granite", &format!("{day} 15:00"), 100.0 * hours));
        hours *= 2.0;
    }
    runs
}

fn counted(part: &Part, until: &str) -> Count {
    count(part, &season(), at(until))
}

const NEW: &str = "kind = \"piston\"\npast_hours = \"0 h\"\npast_starts = 0\n";

#[test]
fn a_part_is_charged_from_when_it_is_fitted() {
    let piston = part(NEW, &["2026-02-20 08:00  fitted cicada"]);
    let end = counted(&piston, "2026-06-01");
    assert_hours(end.hours_h, 28.0);
    assert_eq!((end.outings, end.starts_at_least, end.hours_at_least), (3, false, false));
    assert!((end.starts - 3.0).abs() < 1e-9);
    assert_hours(counted(&piston, "2026-02-20 07:00").hours_h, 0.0);
    assert_hours(counted(&piston, "2026-03-10 09:59").hours_h, 0.0);
    assert_hours(counted(&piston, "2026-03-10 10:00").hours_h, 4.0);
    assert_eq!(end.first_fitted, Some(at("2026-02-20 08:00")));
}

#[test]
fn the_past_is_added_and_a_past_that_is_not_known_makes_a_least_of_it() {
    let worn = "kind = \"piston\"\npast_hours = \"90 min\"\npast_starts = 7\n";
    let fitted = ["2026-05-01  fitted cicada"];
    let known = counted(&part(worn, &fitted), "2026-06-01");
    assert_hours(known.hours_h, 17.5);
    assert!((known.starts - 8.0).abs() < 1e-9 && !known.hours_at_least && !known.starts_at_least);
    let unknown = counted(&part("kind = \"piston\"\n", &fitted), "2026-06-01");
    assert_hours(unknown.hours_h, 16.0);
    assert!(unknown.hours_at_least && unknown.starts_at_least);
}

#[test]
fn two_engines_one_after_the_other() {
    let moved = part(
        NEW,
        &["2026-01-01  fitted cicada", "2026-02-10 12:00  removed", "2026-02-10 12:00  fitted granite"],
    );
    assert_hours(counted(&moved, "2026-02-10 12:30").hours_h, 3.0);
    assert_hours(counted(&moved, "2026-02-10 16:00").hours_h, 203.0);
    assert_hours(counted(&moved, "2026-03-01").hours_h, 203.0);
    assert_hours(counted(&moved, "2026-06-01").hours_h, 3.0 + 200.0 + 400.0 + 800.0 + 1600.0);
}

#[test]
fn on_the_shelf_it_is_charged_for_nothing() {
    let twice = part(
        NEW,
        &[
            "2026-01-01  fitted cicada",
            "2026-01-20  removed",
            "2026-03-20  fitted cicada",
            "2026-04-20  removed",
        ],
    );
    let count = counted(&twice, "2026-06-01");
    assert_hours(count.hours_h, 9.0);
    assert_eq!((count.outings, count.first_fitted), (2, Some(at("2026-01-01"))));
    assert_hours(count.since_look_h, 8.0);
}

#[test]
fn failed_and_retired_parts_run_no_more() {
    for end in ["failed how=cracked", "retired"] {
        let gone = part(NEW, &["2026-01-01  fitted cicada", &format!("2026-02-20  {end}")]);
        assert_hours(counted(&gone, "2026-06-01").hours_h, 3.0);
    }
}

#[test]
fn made_new_it_counts_from_nothing() {
    let plated = part(
        "kind = \"cylinder\"\n",
        &["2026-01-01  fitted cicada", "2026-02-20  renewed", "2026-04-20  renewed"],
    );
    let between = counted(&plated, "2026-04-19");
    assert_hours(between.hours_h, 12.0);
    assert!(!between.hours_at_least && !between.starts_at_least);
    let end = counted(&plated, "2026-06-01");
    assert_hours(end.hours_h, 16.0);
    assert_eq!((end.outings, end.first_fitted), (1, Some(at("2026-04-20"))));
    let shelf = part(NEW, &["2026-01-01  fitted cicada", "2026-01-20  removed", "2026-02-20  renewed"]);
    assert_eq!(counted(&shelf, "2026-06-01").first_fitted, None);
}

#[test]
fn your_own_count_takes_the_place_of_the_books() {
    let stated = part(
        "kind = \"piston\"\n",
        &["2026-01-01  fitted cicada", "2026-02-20  inspected hours=9h", "2026-03-20  removed hours=14h"],
    );
    let first = counted(&stated, "2026-03-01");
    assert_hours(first.hours_h, 9.0);
    assert!(!first.hours_at_least && first.starts_at_least, "starts stay not known");
    assert_hours(counted(&stated, "2026-03-10 10:00").hours_h, 13.0);
    assert_hours(counted(&stated, "2026-06-01").hours_h, 14.0);
}

#[test]
fn hours_that_no_outing_holds_are_added() {
    let lent = part(NEW, &["2026-01-01  fitted cicada", "2026-02-20  ran ran=30min"]);
    let count = counted(&lent, "2026-03-01");
    assert_hours(count.hours_h, 3.5);
    assert_hours(count.since_look_h, 3.5);
    assert!(count.starts_at_least && !count.hours_at_least, "nobody said how often it was started there");
}

#[test]
fn an_outing_at_the_moment_of_fitting_counts_and_one_at_the_moment_of_taking_out_does_not() {
    let moment = "2026-02-10 10:00";
    let fitted = part(NEW, &[&format!("{moment}  fitted cicada")]);
    assert_hours(counted(&fitted, "2026-03-01").hours_h, 2.0);
    let removed = part(NEW, &["2026-01-01  fitted cicada", &format!("{moment}  removed")]);
    assert_hours(counted(&removed, "2026-03-01").hours_h, 1.0);
    let looked = part(NEW, &["2026-01-01  fitted cicada", &format!("{moment}  inspected")]);
    let count = counted(&looked, "2026-03-01");
    assert_hours(count.hours_h, 3.0);
    assert_hours(count.since_look_h, 2.0);
}

#[test]
fn moments_are_compared_and_not_clocks() {
    // 12:00 at +02:00 is 10:00 in universal time, the moment of the outing of 2 h.
    let fitted = part(NEW, &["2026-02-10T12:00+02:00  fitted cicada"]);
    assert_hours(counted(&fitted, "2026-03-01").hours_h, 2.0);
    let removed = part(NEW, &["2026-01-01  fitted cicada", "2026-02-10T12:00+02:00  removed"]);
    assert_hours(counted(&removed, "2026-03-01").hours_h, 1.0);
    let later = part(NEW, &["2026-01-01  fitted cicada", "2026-02-10T12:00-02:00  removed"]);
    assert_hours(counted(&later, "2026-03-01").hours_h, 3.0);
}

#[test]
fn an_outing_without_hours_makes_a_least_of_all_that_it_is_in() {
    let mut runs = season();
    runs.push(run("cicada", "2026-05-20", -1.0));
    let fitted = part(NEW, &["2026-05-01  fitted cicada"]);
    let unknown = count(&fitted, &runs, at("2026-06-01"));
    assert_hours(unknown.hours_h, 16.0);
    assert!(unknown.hours_at_least && unknown.since_look_at_least);
    assert_eq!((unknown.outings, unknown.outings_without_hours), (2, 1));
    let looked = part(NEW, &["2026-05-01  fitted cicada", "2026-05-25  inspected"]);
    let since = count(&looked, &runs, at("2026-06-01"));
    assert!(since.hours_at_least && !since.since_look_at_least, "since the look all is known");
    let stated = part(NEW, &["2026-05-01  fitted cicada", "2026-05-25  inspected hours=18h"]);
    let stated = count(&stated, &runs, at("2026-06-01"));
    assert_eq!((stated.hours_at_least, stated.outings_without_hours), (false, 0));
}

#[test]
fn each_step_has_what_the_part_had_run_then() {
    let piston = part(
        NEW,
        &[
            "2026-01-01  fitted cicada",
            "2026-02-10 10:00  inspected hours=5h",
            "2026-03-20  renewed",
            "2026-04-10 10:00  removed",
        ],
    );
    let steps = counts_at_events(&piston, &season());
    let hours: Vec<_> = steps.iter().map(|step| (step.before.hours_h, step.after.hours_h)).collect();
    let should = [(0.0, 0.0), (1.0, 5.0), (11.0, 0.0), (0.0, 0.0)];
    for (is, should) in hours.iter().zip(should) {
        assert_hours(is.0, should.0);
        assert_hours(is.1, should.1);
    }
    assert_eq!((steps.len(), steps[1].name), (4, "e1"));
}

#[test]
fn what_happened_at_one_moment_is_put_in_the_order_in_which_it_can_have_happened() {
    let noon = "2026-02-20";
    let orders: [[String; 3]; 3] = [
        [format!("{noon}  retired"), format!("{noon}  removed"), format!("{noon}  inspected")],
        [format!("{noon}  removed"), format!("{noon}  retired"), format!("{noon}  inspected")],
        [format!("{noon}  inspected"), format!("{noon}  retired"), format!("{noon}  removed")],
    ];
    for order in orders {
        let mut events = vec!["2026-01-01  fitted cicada"];
        events.extend(order.iter().map(String::as_str));
        let piston = part(NEW, &events);
        let last = piston.events_in_order().last().map(|(_, event)| event.did.word()).unwrap();
        assert_eq!(last, "retired", "{order:?}");
    }
    let again = part(NEW, &["2026-02-20  fitted cicada", "2026-02-20  renewed", "2026-02-20  failed how=x"]);
    let words: Vec<_> = again.events_in_order().iter().map(|(_, event)| event.did.word()).collect();
    assert_eq!(words, ["fitted", "failed", "renewed"]);
}

/// What a piston of moth's engine has run by the program's own answer.
fn piston_hours(shed: &Shed) -> (f64, bool, u64) {
    let shown = shed.json(&["part", "show", "piston-1"]);
    let count = &shown["part"]["count"];
    (
        count["hours"].as_f64().unwrap(),
        count["hours_at_least"].as_bool().unwrap(),
        count["outings_without_hours"].as_u64().unwrap(),
    )
}

fn shed_with_a_piston() -> Shed {
    let shed = Shed::new();
    let fit = ["--kind", "piston", "--new", "--fit", "moth-engine", "--date", "2026-05-16 10:00"];
    shed.run(&[&["part", "add", "piston-1"], &fit[..]].concat()).done();
    shed
}

fn outing(shed: &Shed, day: &str, more: &[&str]) {
    let now = format!("{day}T20:00+02:00");
    let date = format!("{day} 14:00");
    shed.run_on(&now, &[&["outing", "add", "moth", "--date", &date], more].concat()).done();
}

#[test]
fn the_hour_meter_tells_between_two_readings() {
    let shed = shed_with_a_piston();
    outing(&shed, "2026-05-16", &["--meter", "20.0"]);
    outing(&shed, "2026-05-17", &["--meter", "21.5"]);
    let late = |shed: &Shed| {
        let answer = shed.run_on("2026-05-20T20:00+02:00", &["part", "show", "piston-1", "--json"]).done();
        let shown: serde_json::Value = serde_json::from_str(&answer.out).unwrap();
        let count = shown["part"]["count"].clone();
        (count["hours"].as_f64().unwrap(), count["hours_at_least"].as_bool().unwrap())
    };
    let (hours, at_least) = late(&shed);
    assert_hours(hours, 1.5);
    assert!(at_least, "the first reading says nothing of its own outing");
    outing(&shed, "2026-05-18", &["--hours", "0.5"]);
    outing(&shed, "2026-05-19", &["--meter", "23.0"]);
    assert_hours(late(&shed).0, 2.0);
}

#[test]
fn an_outing_counts_for_the_engine_that_was_in_the_bike() {
    let shed = shed_with_a_piston();
    outing(&shed, "2026-05-16", &["--hours", "1"]);
    shed.run(&["change", "wasp", "engine=moth-engine", "--why", "over there", "--date", "2026-05-16 18:00"])
        .done();
    shed.run(&["change", "moth", "engine=wasp-engine", "--why", "instead", "--date", "2026-05-16 18:00"])
        .done();
    let on = |bike: &str, hours: &str| {
        let words = ["outing", "add", bike, "--hours", hours, "--date", "2026-05-17 09:00"];
        shed.run_on("2026-05-17T20:00+02:00", &words).done();
    };
    on("moth", "10");
    on("wasp", "0.25");
    let (hours, at_least, without) = piston_hours(&shed);
    assert_hours(hours, 1.25);
    assert_eq!((at_least, without), (false, 0));
}

#[test]
fn events_that_are_written_down_at_one_moment_keep_their_order() {
    let shed = shed_with_a_piston();
    for deed in [
        &["part", "inspect", "piston-1", "--hours", "5"][..],
        &["part", "ran", "piston-1", "1"],
        &["part", "inspect", "piston-1", "--hours", "7"],
        &["part", "remove", "piston-1"],
        &["part", "fit", "piston-1", "moth-engine"],
        &["part", "remove", "piston-1"],
        &["part", "retire", "piston-1"],
        &["part", "renew", "piston-1"],
        &["part", "fail", "piston-1", "--how", "dropped"],
    ] {
        shed.run(deed).done();
    }
    let shown = shed.json(&["part", "show", "piston-1"]);
    let did: Vec<_> =
        shown["history"].as_array().unwrap().iter().map(|event| event["did"].as_str().unwrap()).collect();
    let should = [
        "failed",
        "renewed",
        "retired",
        "removed",
        "fitted",
        "removed",
        "inspected",
        "ran",
        "inspected",
        "fitted",
    ];
    assert_eq!(did, should);
    let refused = shed.run(&["part", "fit", "piston-1", "moth-engine"]).refused();
    assert!(refused.contains("piston-1 failed on 2026-05-16."), "{refused}");
    shed.assert_sound();
}

#[test]
fn hours_by_your_own_count_do_not_go_backwards() {
    let shed = shed_with_a_piston();
    shed.run(&["part", "inspect", "piston-1", "--hours", "5"]).done();
    let refused = shed.run(&["part", "inspect", "piston-1", "--hours", "3"]).refused();
    assert!(refused.contains("go backwards"), "{refused}");
}
