//! When parts are due: states by hand-made cases, and laws that hold for any garage.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

mod laws;
use crate::parts;
mod spares;

use std::collections::BTreeMap;

use parts::{Shop, assert_hours, part, record, run, run_at};
use reedbook::advice::parts::{By, DueStanding, Source, State, biggest_event, to_take};

const TEN: &str = "[parts.piston]\nchange_after = \"10 h\"\nsource = \"by experience\"\n";
const NEW: &str = "kind = \"piston\"\npast_hours = \"0 h\"\npast_starts = 0\n";
const FITTED: [&str; 1] = ["2026-01-01  fitted cicada"];

/// How a piston in cicada stands that ran so many hours before, with one event of 2 h of its bike.
fn stands(past: &str, fields: &str) -> DueStanding {
    let shop = Shop::new("2026-06-01", TEN, vec![run("granite", "2026-05-01", 2.0)]);
    let fields = format!("kind = \"piston\"\npast_hours = \"{past}\"\npast_starts = 0\n{fields}");
    shop.ledger().standing(&record("p", part(&fields, &FITTED)))
}

#[test]
fn states_by_what_is_left() {
    let should = [
        ("3 h", State::Fine),
        ("6 h", State::Fine),
        ("6.1 h", State::Soon),
        ("8 h", State::Soon),
        ("8.1 h", State::NotForAnotherEvent),
        ("9.99 h", State::NotForAnotherEvent),
        ("10 h", State::Overdue),
        ("12 h", State::Overdue),
    ];
    for (past, state) in should {
        assert_eq!(stands(past, "").state(), state, "{past}");
    }
}

#[test]
fn adding_up_does_not_put_off_a_limit() {
    let runs =
        (0..100).map(|index| run("cicada", &format!("2026-02-01 10:{:02}", index % 60), 0.1)).collect();
    let shop = Shop::new("2026-06-01", TEN, runs);
    let piston = shop.ledger().standing(&record("p", part(NEW, &FITTED)));
    assert_hours(piston.count.hours_h, 10.0);
    assert_eq!(piston.state(), State::Overdue);
}

#[test]
fn what_is_not_known_is_never_ok() {
    let shop = Shop::new("2026-06-01", TEN, vec![run("cicada", "2026-02-01", 2.5)]);
    let stands = |fields: &str, events: &[&str]| {
        shop.ledger().standing(&record("p", part(&format!("kind = \"piston\"\n{fields}"), events)))
    };
    let unknown = stands("", &["2026-03-01  fitted cicada"]);
    assert_eq!((unknown.state(), unknown.hours_unknown()), (State::NotKnown, true));
    assert_eq!(unknown.words(), "hours not known");
    let least = stands("", &FITTED);
    assert_eq!((least.state(), least.hours_unknown()), (State::NotKnown, false));
    assert_hours(least.first().unwrap().left(), 7.5);
    assert_eq!(stands("change_after = \"2 h\"\n", &FITTED).state(), State::Overdue);
    assert_eq!(stands("change_after = \"4 h\"\n", &FITTED).state(), State::NotForAnotherEvent);
    let starts = stands("past_hours = \"1 h\"\nchange_after_starts = 40\n", &FITTED);
    assert_eq!((starts.state(), starts.words()), (State::NotKnown, "starts not known"));
    let shop = Shop::new("2026-06-01", "", Vec::new());
    let without = shop.ledger().standing(&record("p", part("kind = \"piston\"\n", &FITTED)));
    assert_eq!((without.state(), without.words()), (State::NoLimit, "no limit set"));
}

#[test]
fn a_limit_of_the_part_goes_before_that_of_its_kind() {
    let own = stands("3 h", "change_after = \"4 h\"\n");
    let limit = own.first().unwrap();
    assert_eq!((own.state(), limit.source.clone()), (State::NotForAnotherEvent, Source::Own));
    assert_hours(limit.left(), 1.0);
    let of_kind = stands("3 h", "");
    let source = Source::Kind { kind: "piston".into(), said: Some("by experience".into()) };
    assert_eq!(of_kind.first().unwrap().source, source);
    assert_eq!(source.words(), "configs/limits.toml, [parts.piston]: by experience");
}

#[test]
fn of_several_limits_the_one_that_comes_first_rules() {
    let both = "change_after_starts = 10\npast_starts = 9\n";
    let fields = format!("kind = \"piston\"\npast_hours = \"3 h\"\n{both}");
    let shop = Shop::new("2026-06-01", TEN, Vec::new());
    let piston = shop.ledger().standing(&record("p", part(&fields, &FITTED)));
    assert_eq!(piston.first().unwrap().by, By::Starts);
    assert_eq!((piston.state(), piston.limits.len()), (State::Fine, 2));
    let event =
        Shop { runs: vec![run("granite", "2026-05-01", 0.1), run("granite", "2026-05-02", 0.1)], ..shop };
    assert_eq!(
        event.ledger().standing(&record("p", part(&fields, &FITTED))).state(),
        State::NotForAnotherEvent,
        "an event takes two starts and one is left"
    );
}

#[test]
fn a_look_counts_from_the_last_look_and_a_change_goes_before_it() {
    let kinds = "[parts.piston]\nchange_after = \"10 h\"\ninspect_after = \"5 h\"\n";
    let shop = Shop::new(
        "2026-06-01",
        kinds,
        vec![run("cicada", "2026-02-01", 6.0), run("cicada", "2026-05-01", 1.0)],
    );
    let ledger = shop.ledger();
    let never = ledger.standing(&record("p", part(NEW, &FITTED)));
    assert_eq!((never.state(), never.first().unwrap().by), (State::Overdue, By::Look));
    let looked = ledger.standing(&record("p", part(NEW, &[FITTED[0], "2026-03-01  inspected"])));
    assert_eq!(looked.state(), State::NotForAnotherEvent, "3 h to the change, and an event takes 6 h");
    let look = looked.limits.iter().find(|(_, limit)| limit.by == By::Look).unwrap();
    assert_hours(look.1.run, 1.0);
    let worn = ledger.standing(&record("p", part(&NEW.replace("0 h", "4 h"), &FITTED)));
    assert_eq!((worn.state(), worn.first().unwrap().by), (State::Overdue, By::Hours));
    assert!(worn.limits[1].1.share() > worn.first().unwrap().share(), "the look is over by a larger share");
}

#[test]
fn days_and_dates() {
    let kinds = "[parts.seal]\nchange_after_days = 730\n";
    let seal = |now: &str, fields: &str, events: &[&str]| {
        let shop = Shop::new(now, kinds, Vec::new());
        let fields = format!("kind = \"seal\"\n{fields}");
        shop.ledger().standing(&record("s", part(&fields, events)))
    };
    let new = "past_hours = 0\n";
    let fitted = ["2026-01-01 12:00  fitted cicada"];
    let states = [
        ("2026-06-01", State::Fine),
        ("2027-12-10", State::Soon),
        ("2028-01-01 11:59", State::Soon),
        ("2028-01-01 12:01", State::Overdue),
    ];
    for (now, state) in states {
        assert_eq!(seal(now, new, &fitted).state(), state, "{now}");
    }
    assert_eq!(
        seal("2026-06-01", new, &[]).state(),
        State::NoLimit,
        "its days begin with the engine it goes into"
    );
    let old = seal("2026-06-01", "past_hours = 3\n", &fitted);
    assert_eq!((old.state(), old.words()), (State::NotKnown, "age not known"));
    let made_new = seal("2026-06-01", "", &[fitted[0], "2026-02-01  renewed"]);
    assert_eq!(made_new.state(), State::Fine);
    let by = "past_hours = 3\nchange_by = \"2026-07-15\"\n";
    let states = [
        ("2026-06-01", State::Fine),
        ("2026-06-16 12:00", State::Soon),
        ("2026-07-15 23:00", State::Soon),
        ("2026-07-16 00:01", State::Overdue),
    ];
    for (now, state) in states {
        let standing = seal(now, by, &fitted);
        assert_eq!((standing.state(), standing.limits.len()), (state, 1), "{now}: a day of its own rules");
        assert_eq!(standing.first().unwrap().day.unwrap().day(), "2026-07-15");
    }
}

#[test]
fn an_event_is_a_place_on_days_at_most_two_apart() {
    let now = parts::at("2026-06-01");
    let runs = vec![
        run_at("cicada", "2026-03-14 10:00", "Tarn Hollow", 1.0),
        run_at("cicada", "2026-03-14 12:00", "Fen Ring", 9.0),
        run_at("cicada", "2026-03-16 23:00", " tarn hollow", 2.0),
        run_at("cicada", "2026-03-19 01:00", "Tarn Hollow", 16.0),
    ];
    let most = biggest_event(&runs, "moth", now).unwrap();
    assert_hours(most.hours_h, 16.0);
    let without_last = biggest_event(&runs[..3], "moth", now).unwrap();
    assert_hours(without_last.hours_h, 9.0);
    let at_tarn: Vec<_> = [0, 2].map(|index| runs[index].clone()).to_vec();
    let tarn = biggest_event(&at_tarn, "moth", now).unwrap();
    assert_hours(tarn.hours_h, 3.0);
    assert_eq!((tarn.outings, tarn.place.as_deref()), (2, Some("Tarn Hollow")));
    assert!(tarn.of_the_year && (tarn.starts - 2.0).abs() < 1e-9);
    assert_eq!(biggest_event(&runs, "wasp", now), None);
}

#[test]
fn an_outing_without_a_place_belongs_to_whatever_is_near() {
    let now = parts::at("2026-06-01");
    let runs = vec![
        run_at("cicada", "2026-03-14 10:00", "Tarn Hollow", 1.0),
        run("cicada", "2026-03-15 10:00", 2.0),
        run_at("cicada", "2026-03-17 10:00", "Tarn Hollow", 4.0),
    ];
    assert_hours(biggest_event(&runs, "moth", now).unwrap().hours_h, 7.0);
}

#[test]
fn the_most_of_a_year_else_the_last_one() {
    let runs = vec![
        run("cicada", "2024-01-10", 9.0),
        run("cicada", "2025-03-01", 5.0),
        run("cicada", "2026-05-01", 1.0),
    ];
    let now = parts::at("2026-06-01");
    let year = biggest_event(&runs, "moth", now).unwrap();
    assert_hours(year.hours_h, 1.0);
    let last = biggest_event(&runs[..2], "moth", now).unwrap();
    assert_eq!((last.of_the_year, last.to.day()), (false, "2025-03-01".to_owned()));
    assert_hours(last.hours_h, 5.0);
    let unknown = biggest_event(&[run("cicada", "2026-05-01", -1.0)], "moth", now).unwrap();
    assert!(unknown.hours_at_least && unknown.hours_h == 0.0);
}

#[test]
fn within_so_many_hours() {
    let mut shop = Shop::new("2026-06-01", TEN, Vec::new());
    let piston = record("p", part(&NEW.replace("0 h", "5 h"), &FITTED));
    for (within, state) in [(None, State::Fine), (Some(4.9), State::Fine), (Some(5.0), State::Soon)] {
        shop.within_h = within;
        assert_eq!(shop.ledger().standing(&piston).state(), state, "{within:?}");
    }
}

#[test]
fn parts_of_retired_bikes_and_of_the_shelf_are_not_listed_and_those_of_the_bench_are() {
    let mut shop = Shop::new("2026-06-01", TEN, Vec::new());
    shop.holders.insert("granite".into(), ("wasp".into(), 2));
    shop.retired.insert("wasp".into());
    let parts = [
        record("in-moth", part(NEW, &FITTED)),
        record("in-wasp", part(NEW, &["2026-01-01  fitted granite"])),
        record("on-the-bench", part(NEW, &["2026-01-01  fitted finch"])),
        record("shelf", part(NEW, &[])),
        record("gone", part(NEW, &[FITTED[0], "2026-02-01  failed how=x"])),
    ];
    let due = shop.ledger().due(&parts, None);
    let names: Vec<_> = due.parts.iter().map(|part| part.part.as_str()).collect();
    assert_eq!((names, due.of_retired_bikes), (vec!["in-moth", "on-the-bench"], 1));
    assert_eq!(due.parts[1].bike, None);
    let of_moth = shop.ledger().due(&parts, Some("moth"));
    assert_eq!((of_moth.parts.len(), of_moth.of_retired_bikes), (1, 0));
    let shelf = shop.ledger().shelf(&parts);
    assert_eq!(shelf.iter().map(|part| part.part.as_str()).collect::<Vec<_>>(), ["shelf"]);
}

#[test]
fn what_to_take_along() {
    let mut shop = Shop::new("2026-06-01", TEN, vec![run("cicada", "2026-05-01", 3.0)]);
    shop.holders.insert("granite".into(), ("wasp".into(), 2));
    let past = |hours: &str| format!("fits = [\"cicada\"]\n{}", NEW.replace("0 h", hours));
    let new = past("0 h");
    let parts = [
        record("worn", part(&past("5 h"), &FITTED)),
        record("other", part("kind = \"ring\"\npast_hours = 1\n", &FITTED)),
        record("riddle", part("kind = \"piston\"\n", &["2026-05-20  fitted cicada"])),
        record("fresh", part(&past("1 h"), &["2026-01-01  fitted granite"])),
        record("spare-old", part(&past("11 h"), &[])),
        record("spare-used", part(&past("3 h"), &[])),
        record("spare-short", part(&format!("{}change_after = \"0.5 h\"\n", past("1 h")), &[])),
        record("spare-riddle", part("kind = \"piston\"\nfits = [\"cicada\"]\n", &[])),
        record("spare-new", part(&new, &[])),
        record("spare-ring", part("kind = \"ring\"\npast_hours = 0\n", &[])),
        record("sold", part(&new, &["2026-01-02  retired"])),
        record("mended", part(&new, &["2026-01-02  failed how=x", "2026-02-02  renewed"])),
    ];
    let ledger = shop.ledger();
    let taking = to_take(&ledger.due(&parts, None), &ledger.shelf(&parts), &BTreeMap::new());
    assert_eq!(taking.iter().map(|one| one.bike.as_str()).collect::<Vec<_>>(), ["moth", "wasp"]);
    let moth = &taking[0];
    assert_eq!((moth.wants.len(), moth.wants[0].kind.as_str()), (1, "piston"));
    let names = |list: &[DueStanding]| list.iter().map(|part| part.part.clone()).collect::<Vec<_>>();
    assert_eq!(names(&moth.wants[0].parts), ["worn"]);
    assert_eq!(
        names(&moth.wants[0].spares),
        ["mended", "spare-new", "spare-used", "spare-riddle", "spare-short", "spare-old"]
    );
    assert_eq!(moth.wants[0].good_spares(), 4);
    assert_eq!(names(&moth.unknown), ["riddle"]);
    assert_eq!((taking[1].wants.len(), taking[1].event.is_none()), (0, true));
}

#[test]
fn the_most_urgent_comes_first() {
    let shop = Shop::new("2026-06-01", TEN, vec![run("granite", "2026-05-01", 2.0)]);
    let parts: Vec<_> =
        [("a", "1 h"), ("b", "9 h"), ("c", "12 h"), ("d", "7 h"), ("e", "11 h"), ("f", "2 h")]
            .into_iter()
            .map(|(name, past)| record(name, part(&NEW.replace("0 h", past), &FITTED)))
            .collect();
    let due = shop.ledger().due(&parts, None);
    assert_eq!(due.parts.iter().map(|part| part.part.as_str()).collect::<String>(), "cebdfa");
}

#[test]
fn what_is_dated_at_noon_of_this_morning_has_happened() {
    let shop = Shop::new("2026-06-01 08:00", TEN, vec![run("cicada", "2026-06-01", 1.5)]);
    let piston = record("p", part(NEW, &["2026-06-01 11:00  fitted cicada"]));
    let due = shop.ledger().due(&[piston], None);
    assert_eq!(due.parts[0].engine.as_deref(), Some("cicada"));
    assert_hours(due.parts[0].count.hours_h, 1.5);
    assert_hours(due.events["moth"].hours_h, 1.5);
}
