//! Parts: taken in, put into engines, moved, taken out, and what they are refused.

use reedbook::notebook::Part;
use reedbook::store::{StoreError, mend_part};

use super::common::Shed;
use super::*;

fn trailers(part: &str, engine: Option<&str>) -> Vec<String> {
    let mut carried = vec![format!("Part: {part}")];
    carried.extend(engine.map(|engine| format!("Engine: {engine}")));
    carried
}

/// A shed with two pistons, the first of them in the engine since 1 May.
fn shed() -> Shed {
    let shed = Shed::new();
    added(&shed, "2026-05-01T10:00+02:00", &part("p1", &["kind=piston"], Some((ENGINE, None))));
    added(&shed, "2026-05-01T11:00+02:00", &part("p2", &["kind=piston"], None));
    shed
}

fn read(shed: &Shed, name: &str) -> Part {
    let garage = garage(shed);
    Book::open(&garage).unwrap().part(name).unwrap().part
}

#[test]
fn a_part_is_taken_in_as_one_commit() {
    let shed = Shed::new();
    let typed =
        ["kind=piston", "title=Piston 53.94", "number=P3", "past_hours=1.5 h", "change_by=2027-03-01"];
    let new = part("p3", &typed, None);
    let record = one_commit(&shed, "Take the part p3 into the book", &trailers("p3", None), || {
        added(&shed, "2026-05-10T10:00+02:00", &new)
    });
    assert_eq!(touched(&shed), ["A parts/p3.toml"]);
    let text = shed.read("parts/p3.toml");
    assert!(text.starts_with("#:schema ../schema/part.schema.json\n"), "{text}");
    assert_eq!((record.name.as_str(), record.part.kind.as_str()), ("p3", "piston"));
    assert!((record.part.past_hours.unwrap().si() - 5400.0).abs() < 1e-9);
    assert!(record.part.events.is_empty());
    shed.assert_sound();
}

/// How many files of jobs the newest commit holds, and what else.
fn but_jobs(shed: &Shed) -> (usize, Vec<String>) {
    let (jobs, others): (Vec<_>, Vec<_>) =
        touched(shed).into_iter().partition(|line| line.starts_with("A jobs/"));
    (jobs.len(), others)
}

#[test]
fn a_part_goes_in_for_another_in_one_commit() {
    let shed = shed();
    let subject = format!("Take the part p4 into the book and fit it to {ENGINE}");
    let mut new = part("p4", &["kind=piston"], Some((ENGINE, Some("p1"))));
    (new.by, new.date) = (Some("Oskar".to_owned()), Some(when("2026-05-09T10:00+02:00")));
    let record = one_commit(&shed, &subject, &trailers("p4", Some(ENGINE)), || {
        added(&shed, "2026-05-10T10:00+02:00", &new)
    });
    assert_eq!(but_jobs(&shed), (1, vec!["M parts/p1.toml".to_owned(), "A parts/p4.toml".to_owned()]));
    assert_eq!(story(&shed, "p4"), [format!("2026-05-09 fitted {ENGINE}")]);
    assert_eq!(story(&shed, "p1"), [format!("2026-05-01 fitted {ENGINE}"), "2026-05-09 removed".to_owned()]);
    let at = |day: &str| read(&shed, "p1").engine_at(when(day)).map(|(engine, _)| engine.to_owned());
    assert_eq!(at("2026-05-09T09:59+02:00").as_deref(), Some(ENGINE));
    assert_eq!(at("2026-05-09T10:00+02:00"), None);
    assert_eq!(record.part.events.values().next().unwrap().by.as_deref(), Some("Oskar"));

    // The old one goes back in for the new one.
    let back = fitted_for("p1", ENGINE, "p4");
    one_commit(&shed, &format!("The part p1 was fitted to {ENGINE}"), &trailers("p1", Some(ENGINE)), || {
        acted(&shed, "2026-05-11T10:00+02:00", &back).unwrap()
    });
    assert_eq!(but_jobs(&shed), (1, vec!["M parts/p1.toml".to_owned(), "M parts/p4.toml".to_owned()]));
    assert_eq!(story(&shed, "p4").last().unwrap(), "2026-05-11 removed");
    assert_eq!(story(&shed, "p1").len(), 3);
}

#[test]
fn what_is_done_to_a_part_is_one_commit() {
    let shed = shed();
    let said = |did, said: &[(&'static str, &str)]| PartDeed {
        said: said.iter().map(|(name, value)| (*name, (*value).to_owned())).collect(),
        ..deed("p1", did)
    };
    let wanted = [
        (said(Deed::Inspected, &[("hours", "2 h"), ("note", "clean")]), "was inspected", Some(ENGINE)),
        (said(Deed::Ran, &[("ran", "30 min")]), "was run", Some(ENGINE)),
        (said(Deed::Removed, &[("by", "Ana")]), &format!("was removed out of {ENGINE}"), Some(ENGINE)),
        (said(Deed::Inspected, &[("hours", "2.5 h")]), "was inspected", None),
        (said(Deed::Failed, &[("how", "cracked")]), "failed", None),
        (said(Deed::Renewed, &[]), "was renewed", None),
        (fitted("p1", "wasp-engine"), "was fitted to wasp-engine", Some("wasp-engine")),
        (said(Deed::Retired, &[]), "was retired out of wasp-engine", Some("wasp-engine")),
    ];
    for (turn, (deed, words, engine)) in wanted.iter().enumerate() {
        let day = format!("2026-05-{:02}T10:00+02:00", 2 + turn);
        one_commit(&shed, &format!("The part p1 {words}"), &trailers("p1", *engine), || {
            acted(&shed, &day, deed).unwrap()
        });
        // What goes into the engine of a bike, or comes out of it by itself, is a job there.
        let jobs = usize::from(words.starts_with("was removed") || *words == "was fitted to wasp-engine");
        assert_eq!(but_jobs(&shed), (jobs, vec!["M parts/p1.toml".to_owned()]), "{words}");
        assert_eq!(newest(&shed).2, format!("2026-05-{:02}T10:00:00+02:00", 2 + turn));
    }
    assert_eq!(read(&shed, "p1").events.len(), 9);
    let names: Vec<_> = read(&shed, "p1").events.into_keys().collect();
    assert!(names.iter().all(|name| name.starts_with("202605") && name.len() == 26), "{names:?}");
    shed.assert_sound();
}

/// Out of one engine and into the next at one moment, in whatever order the names of the events are.
#[test]
fn a_part_moves_between_engines() {
    let shed = shed();
    for turn in 0..10 {
        let (from, to) = if turn % 2 == 0 { (ENGINE, "wasp-engine") } else { ("wasp-engine", ENGINE) };
        let moved = PartDeed { moved: true, ..fitted("p1", to) };
        let day = format!("2026-05-{:02}T10:00+02:00", 2 + turn);
        one_commit(&shed, &format!("The part p1 was fitted to {to}"), &trailers("p1", Some(to)), || {
            acted(&shed, &day, &moved).unwrap()
        });
        let part = read(&shed, "p1");
        assert_eq!(part.engine_at(when(&day)), Some((to, when(&day))));
        let before = format!("2026-05-{:02}T09:59+02:00", 2 + turn);
        assert_eq!(part.engine_at(when(&before)).map(|(engine, _)| engine), Some(from));
        let told = story(&shed, "p1");
        assert_eq!(told[told.len() - 2], format!("2026-05-{:02} removed", 2 + turn));
    }
    // One that is on the shelf is simply put in.
    let moved = PartDeed { moved: true, ..fitted("p2", ENGINE) };
    acted(&shed, "2026-05-14T10:00+02:00", &moved).unwrap();
    assert_eq!(story(&shed, "p2"), [format!("2026-05-14 fitted {ENGINE}")]);
}

#[test]
fn slips_with_parts_are_refused_in_words_of_the_bench() {
    let shed = shed();
    acted(
        &shed,
        "2026-05-02T10:00+02:00",
        &PartDeed { said: vec![("how", "holed".to_owned())], ..deed("p2", Deed::Failed) },
    )
    .unwrap();
    added(&shed, "2026-05-02T11:00+02:00", &part("p3", &["kind=piston"], None));
    let day = "2026-05-05T10:00+02:00";
    let early = |part: &str, did| PartDeed { date: Some(when("2026-04-01T10:00+02:00")), ..deed(part, did) };
    let instead = |old: &str| fitted_for("p3", ENGINE, old);
    let wanted = [
        (fitted("p1", "wasp-engine"), "cannot be in two engines at once"),
        (fitted("p1", ENGINE), "is in moth-engine already"),
        (PartDeed { moved: true, ..fitted("p1", ENGINE) }, "is in moth-engine already"),
        (deed("p3", Deed::Removed), "is in no engine"),
        (early("p1", Deed::Removed), "cannot come out before it went in"),
        (fitted("p2", ENGINE), "p2 failed on 2026-05-02"),
        (deed("p2", Deed::Inspected), "p2 failed on 2026-05-02"),
        (instead("p2"), "p2 is not in moth-engine on 2026-05-05"),
        (
            PartDeed { date: Some(when("2026-04-30")), ..instead("p1") },
            "p1 is not in moth-engine on 2026-04-30",
        ),
        (instead("p9"), "There is no part \"p9\""),
        (fitted("p9", ENGINE), "There is no part \"p9\""),
        (fitted("p3", "gnat-engine"), "There is no engine \"gnat-engine\""),
        (deed("p3", Deed::Fitted), "not into which engine"),
        (deed("p3", Deed::Ran), "not how long"),
        (deed("p3", Deed::Failed), "not how it failed"),
        (PartDeed { said: vec![("how", "worn".to_owned())], ..deed("p3", Deed::Retired) }, "it has no how"),
        (PartDeed { said: vec![("hours", "12 mm".to_owned())], ..deed("p1", Deed::Inspected) }, "12 mm"),
        (PartDeed { date: Some(when("2027-01-01")), ..deed("p1", Deed::Inspected) }, "lies in the future"),
        // In between: it would be in two engines on 3 May.
        (PartDeed { date: Some(when("2026-04-20")), ..fitted("p1", "wasp-engine") }, "two engines at once"),
    ];
    for (deed, words) in wanted {
        let said = refused(&shed, || acted(&shed, day, &deed));
        assert!(said.contains(words), "{deed:?}: {said}");
    }
    // Backwards in hours.
    let hours =
        |hours: &str| PartDeed { said: vec![("hours", hours.to_owned())], ..deed("p1", Deed::Inspected) };
    acted(&shed, day, &hours("5 h")).unwrap();
    let said = refused(&shed, || acted(&shed, "2026-05-06T10:00+02:00", &hours("4.9 h")));
    assert!(said.contains("hours go backwards: 5 h on 2026-05-05, 4.9 h on 2026-05-06"), "{said}");
    // Made new, it counts anew and may be used again.
    acted(&shed, "2026-05-07T10:00+02:00", &deed("p1", Deed::Renewed)).unwrap();
    acted(&shed, "2026-05-08T10:00+02:00", &hours("0.5 h")).unwrap();
    acted(&shed, "2026-05-07T10:00+02:00", &deed("p2", Deed::Renewed)).unwrap();
    acted(&shed, "2026-05-08T10:00+02:00", &fitted("p2", "wasp-engine")).unwrap();
    shed.assert_sound();
}

#[test]
fn a_part_is_not_taken_in_twice_or_without_what_it_is() {
    let shed = shed();
    let day = "2026-05-05T10:00+02:00";
    let add = |new: &NewPart| {
        let new = new.clone();
        refused(&shed, || add_part(&garage(&shed), &new, &moment(day)))
    };
    assert!(add(&part("p1", &["kind=piston"], None)).contains("a part \"p1\" already"));
    assert!(add(&part("p5", &[], None)).contains("kind is missing"));
    assert!(add(&part("p5", &["kind=piston", "colour=blue"], None)).contains("colour"));
    assert!(add(&part("p5", &["kind=piston", "past_starts=2.5"], None)).contains("past_starts"));
    assert!(add(&part("p5", &["kind=piston"], Some(("gnat-engine", None)))).contains("no engine"));
    assert!(add(&part("p5", &["kind=piston"], Some((ENGINE, Some("p2"))))).contains("p2 is not in"));
    assert!(add(&part("p5", &["kind=piston"], Some((ENGINE, Some("p5"))))).contains("no part"));
    let mut late = part("p5", &["kind=piston"], Some((ENGINE, None)));
    late.date = Some(when("2027-01-01"));
    assert!(add(&late).contains("future"));
    // A broken file of that name is somebody's work.
    shed.write("parts/p6.toml", "broken");
    assert!(add(&part("p6", &["kind=piston"], None)).contains("already"));
}

#[test]
fn a_part_is_mended_as_one_commit() {
    let shed = shed();
    shed.edit("parts/p1.toml", "kind = ", "# found in a box\nkind = ");
    let mend =
        |typed: &[&str]| mend_part(&garage(&shed), "p1", &entered(typed), &moment("2026-05-10T10:00+02:00"));
    let record = one_commit(&shed, "Fix the part p1", &trailers("p1", None), || {
        mend(&["past_hours=2 h", "notes=second hand"]).unwrap()
    });
    assert!((record.part.past_hours.unwrap().si() - 7200.0).abs() < 1e-9);
    assert!(shed.read("parts/p1.toml").contains("# found in a box"));
    let name = record.part.events.keys().next().unwrap().clone();
    let date = format!("events.{name}.date=2026-04-28 09:00");
    let record =
        one_commit(&shed, "Fix the part p1", &trailers("p1", None), || mend(&[&date, "notes="]).unwrap());
    assert_eq!(record.part.events[&name].date.day(), "2026-04-28");
    assert!(record.part.notes.is_none());
    assert!(matches!(mend(&["past_hours=2 h"]).unwrap_err(), StoreError::NothingChanged { .. }));
    for (slip, words) in [
        ("events.nine.did=removed", "date is missing"),
        ("past_hours=-1 h", "past_hours"),
        ("evnts.a.did=removed", "evnts"),
        ("number=", "number"),
        (&format!("events.{name}.did=removed"), "engine"),
    ] {
        let said = refused(&shed, || mend(&[slip]));
        assert!(said.contains(words), "{slip}: {said}");
    }
}
