//! Finding builds and parts by their fields, by words, by date and by bike.

use reedbook::notebook::Scope;
use reedbook::store::{Condition, FindQuery, Found, Recording, begin_build, find};

use super::common::Shed;
use super::*;

/// Two builds of one engine, one of another, and three parts.
fn shed() -> Shed {
    let shed = Shed::new();
    begun(&shed, "2026-05-01T10:00+02:00", &["squish.front=0.75 mm", "notes=cold shop"]);
    begun(&shed, "2026-05-08T10:00+02:00", &["squish.front=0.65 mm", "reed.tension=45 g"]);
    let mut wasp = new_build("wasp-engine", Scope::Whole, &["squish.front=0.030 in"]);
    wasp.why = Some("mains rumbled".to_owned());
    begin_build(&garage(&shed), &wasp, &moment("2026-05-09T10:00+02:00")).unwrap();
    added(
        &shed,
        "2026-05-01T11:00+02:00",
        &part("p1", &["kind=piston", "title=Forged one"], Some((ENGINE, None))),
    );
    added(
        &shed,
        "2026-05-02T11:00+02:00",
        &part("r1", &["kind=ring", "past_hours=2 h"], Some(("wasp-engine", None))),
    );
    added(&shed, "2026-05-03T11:00+02:00", &part("shelf", &["kind=piston"], None));
    let failed =
        PartDeed { said: vec![("how", "cracked at the window".to_owned())], ..deed("p1", Deed::Failed) };
    acted(&shed, "2026-05-07T11:00+02:00", &failed).unwrap();
    shed
}

fn asked(conditions: &[&str]) -> FindQuery {
    let conditions = conditions.iter().map(|text| Condition::parse(text).unwrap()).collect();
    FindQuery { conditions, ..FindQuery::default() }
}

/// What is found: builds by engine and day, parts by name.
fn found(shed: &Shed, question: &FindQuery) -> Vec<String> {
    let garage = garage(shed);
    let told = |book: &Book<'_>| -> Vec<String> {
        let hits = find(book, question).unwrap();
        let mut told: Vec<_> = hits
            .iter()
            .map(|hit| match &hit.found {
                Found::Build(record) => format!("{} {}", record.engine, record.build.date.day()),
                Found::Part(record, date) => format!("{} {}", record.name, date.day()),
                _ => "something else".to_owned(),
            })
            .collect();
        told.sort();
        told
    };
    let found = told(&Book::open(&garage).unwrap());
    assert_eq!(found, told(&Book::fresh(&garage).unwrap()));
    found
}

#[test]
fn builds_are_found_by_what_was_measured() {
    let shed = shed();
    let of = |conditions: &[&str]| found(&shed, &asked(conditions));
    let (first, second, wasp) =
        ("moth-engine 2026-05-01", "moth-engine 2026-05-08", "wasp-engine 2026-05-09");
    assert_eq!(of(&["build.squish.front<0.7 mm"]), [second]);
    assert_eq!(of(&["build.squish.front>=0.75 mm"]), [first, wasp]); // 0.030 in is 0.762 mm
    assert_eq!(of(&["build.squish.front>0.029 in"]), [first, wasp]);
    assert_eq!(of(&["build.squish.front=0.75 mm"]), [first]);
    assert_eq!(of(&["build.squish.front>0.7 mm", "build.squish.front<0.76 mm"]), [first]);
    assert_eq!(of(&["build.scope=whole"]), [wasp]);
    assert_eq!(of(&["build.scope=top end"]), [first, second]);
    assert_eq!(of(&["build.reed.tension"]), [second]);
    assert_eq!(of(&["build.by=Ana"]), [first, second, wasp]);
    assert!(of(&["build.squish.front>1 mm"]).is_empty());
    // What is measured later is found at once, recorded or not.
    measured(&shed, "2026-05-10T10:00+02:00", Recording::Later, &["squish.front=0.9 mm"]).unwrap();
    assert_eq!(of(&["build.squish.front>0.8 mm"]), [second]);
    assert!(of(&["build.squish.front<0.7 mm"]).is_empty());
    // What is taken out is found no longer.
    measured(&shed, "2026-05-10T11:00+02:00", Recording::Now, &["reed.tension="]).unwrap();
    assert!(of(&["build.reed.tension"]).is_empty());
}

#[test]
fn parts_are_found_by_what_they_are() {
    let shed = shed();
    let of = |conditions: &[&str]| found(&shed, &asked(conditions));
    assert_eq!(of(&["part.kind=piston"]), ["p1 2026-05-07", "shelf 1970-01-01"]);
    assert_eq!(of(&["part.past_hours>90 min"]), ["r1 2026-05-02"]);
    assert_eq!(of(&["part.kind=piston", "part.title"]), ["p1 2026-05-07"]);
    // No build is a part and no part a build.
    assert!(of(&["part.kind=piston", "build.squish.front"]).is_empty());
}

#[test]
fn builds_and_parts_are_found_by_words_dates_and_bike() {
    let shed = shed();
    let words =
        |words: &str| found(&shed, &FindQuery { words: Some(words.to_owned()), ..FindQuery::default() });
    assert_eq!(words("rumbled"), ["wasp-engine 2026-05-09"]);
    assert_eq!(words("cold shop"), ["moth-engine 2026-05-01"]);
    assert_eq!(words("cracked"), ["p1 2026-05-07"]);
    assert_eq!(words("forg"), ["p1 2026-05-07"]);
    let glued = Tick { left_out: Some("studs are glued".to_owned()), ..Tick::default() };
    ticked(&shed, "2026-05-10T10:00+02:00", &["power-valve"], glued).unwrap();
    let greased = Tick { note: Some("greased".to_owned()), ..Tick::default() };
    ticked(&shed, "2026-05-10T10:01+02:00", &["circlips"], greased).unwrap();
    for told in ["glued", "greased"] {
        assert_eq!(words(told), ["moth-engine 2026-05-08"]);
    }
    let and = |question: FindQuery, condition: &str| {
        found(&shed, &FindQuery { conditions: vec![Condition::parse(condition).unwrap()], ..question })
    };
    let since = FindQuery { since: Some(when("2026-05-08T00:00+02:00")), ..FindQuery::default() };
    assert_eq!(
        and(since.clone(), "build.squish.front"),
        ["moth-engine 2026-05-08", "wasp-engine 2026-05-09"]
    );
    assert!(and(since, "part.kind").is_empty());
    let until = FindQuery { until: Some(when("2026-05-03T00:00+02:00")), ..FindQuery::default() };
    assert_eq!(and(until.clone(), "build.squish.front"), ["moth-engine 2026-05-01"]);
    assert_eq!(and(until, "part.kind"), ["p1 2026-05-07", "r1 2026-05-02"]);
    let moth = FindQuery { bike: Some("moth".to_owned()), ..FindQuery::default() };
    assert_eq!(and(moth.clone(), "build.squish.front"), ["moth-engine 2026-05-01", "moth-engine 2026-05-08"]);
    assert_eq!(and(moth, "part.kind"), ["p1 2026-05-07"]);
    // An outing's place or the air is no matter of a build.
    let place = FindQuery { place: Some("Gravel".to_owned()), ..FindQuery::default() };
    assert!(and(place, "build.squish.front").is_empty());
}

#[test]
fn a_condition_on_nothing_that_is_there_is_refused() {
    for text in [
        "build.squish.frnt<0.7 mm",
        "part.colour=blue",
        "build=1",
        "bild.squish.front=1 mm",
        "build.scope=head",
    ] {
        assert!(Condition::parse(text).is_err(), "{text}");
    }
    let shed = shed();
    let said = shed.run(&["find", "build.squish.frnt<0.7 mm"]).refused();
    assert!(said.contains("squish.front"), "{said}");
}
