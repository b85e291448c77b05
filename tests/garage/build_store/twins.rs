//! Builds and parts of an engine with two cylinders: readings and steps at each, parts at a place of their own.

use reedbook::notebook::PartPlace;
use reedbook::report::worded;
use reedbook::store::{WhichJobs, mark_jobs, put_off};

use super::common::Shed;
use super::*;

/// The engine with two cylinders.
const TWIN: &str = "sanda-engine";
const DAY: &str = "2026-05-02T10:00+02:00";

fn twin() -> Shed {
    let shed = Shed::new();
    shed.run(&["bike", "new", "sanda", "--cylinders", "left,right"]).done();
    let engine = "[engine]\nbore = 54\nstroke = 54.5\n[cylinders]\nnames = [\"left\", \"right\"]\n";
    shed.write("engines/sanda-engine/engine.toml", engine);
    let setup = format!("engine = \"{TWIN}\"\n[jetting]\nmain = 172\nmain_numbered_by = \"bore\"\n");
    shed.write("bikes/sanda/setup.toml", setup);
    shed.run_on("2026-05-01T10:00+02:00", &["change", "sanda", "--why", "as it stands"]).done();
    shed
}

fn at(part: &str, cylinder: Option<&str>) -> PartDeed {
    let fitting =
        PartFitting { engine: TWIN.to_owned(), at: cylinder.map(str::to_owned), ..PartFitting::default() };
    PartDeed { fitting: Some(fitting), ..deed(part, Deed::Fitted) }
}

fn act(shed: &Shed, day: &str, deed: &PartDeed) -> Result<PartRecord, StoreError> {
    act_on_part(&garage(shed), deed, &moment(day))
}

fn kept(shed: &Shed, names: &[(&str, &str)]) {
    for (name, kind) in names {
        add_part(&garage(shed), &part(name, &[&format!("kind={kind}"), "past_hours=0"], None), &moment(DAY))
            .unwrap();
    }
}

/// Where a part is, in words.
fn place(shed: &Shed, name: &str, day: &str) -> Option<String> {
    let record = Book::open(&garage(shed)).unwrap().part(name).unwrap();
    record.part.place_at(when(day)).map(PartPlace::words)
}

#[test]
fn steps_and_readings_stand_under_their_cylinder() {
    let shed = twin();
    let reading =
        ["left.piston.diameter=53.94 mm", "bore.top.depth=10 mm", "right.bore.top.along_pin=54.02 mm"];
    let build = begin_build(&garage(&shed), &new_build(TWIN, Scope::Whole, &reading), &moment(DAY)).unwrap();
    let text = shed.read(&build.file.to_string_lossy());
    assert!(text.contains("[cylinder.left.piston]\ndiameter = \"53.94 mm\""), "{text}");
    let called = |name: &str| -> Vec<String> {
        build.build.steps_called(name).into_iter().map(|(name, _)| name).collect()
    };
    assert_eq!(called("ring-gap"), ["left.ring-gap", "right.ring-gap"]);
    assert_eq!(called("right.ring-gap"), ["right.ring-gap"]);
    assert_eq!(called("crank-in"), ["crank-in"], "the crank is one");
    let done = Tick { steps: vec!["ring-gap".to_owned(), "right.circlips".to_owned()], ..Tick::default() };
    let ticked = tick(&garage(&shed), TWIN, &done, Recording::Now, &moment(DAY)).unwrap().build;
    assert!(!ticked.cylinder["left"].steps["ring-gap"].is_open());
    assert!(!ticked.cylinder["right"].steps["ring-gap"].is_open());
    assert!(ticked.cylinder["left"].steps["circlips"].is_open());
    shed.assert_sound();
}

#[test]
fn a_reading_of_one_cylinder_says_of_which() {
    let shed = twin();
    begin_build(
        &garage(&shed),
        &new_build(TWIN, Scope::TopEnd, &["right.bore.top.depth=9 mm"]),
        &moment(DAY),
    )
    .unwrap();
    let write = |typed: &str| {
        let change = BuildChange { which: None, entered: entered(&[typed]) };
        measure(&garage(&shed), TWIN, &change, Recording::Now, &moment(DAY))
    };
    for (typed, message, help) in [
        (
            "piston.diameter=53.94 mm",
            "it is not said at which",
            "left.piston.diameter, right.piston.diameter",
        ),
        ("chamber.volume=9 cc", "it is not said at which", "left.chamber.volume"),
        ("middle.piston.diameter=53.94 mm", "no cylinder \"middle\"", "left, right"),
        ("bore.top.depth=10 mm", "right", "right.bore.top.depth="),
        ("right.bore.tp.depht=10 mm", "depht", "right.bore.tp.depth"),
        ("right.crank.runout_left=0.01 mm", "crank", "crank.runout_left"),
        ("right.piston.diameter=5.4 mm", "5.4 mm", "20 mm to 130 mm"),
        ("right.steps.circlips.note=x", "not written down like a reading", "build tick"),
    ] {
        let error = write(typed).unwrap_err();
        assert!(error.to_string().contains(message), "{typed}: {error}");
        assert!(worded(&error.help()).contains(help), "{typed}: {:?}", error.help());
    }
    for typed in [
        "reed.gap=0.05 mm",
        "ring.gaps.top.depth=10 mm",
        "gauges.bore.set_on=piston",
        "crank.runout_left=0.01 mm",
    ] {
        write(typed).unwrap();
    }
    shed.assert_sound();
}

#[test]
fn each_place_holds_one() {
    let shed = twin();
    kept(
        &shed,
        &[
            ("p1", "piston"),
            ("p2", "piston"),
            ("p3", "piston"),
            ("r1", "ring"),
            ("r2", "ring"),
            ("c1", "crank"),
            ("s1", "seal"),
        ],
    );
    for (deed, message, help) in [
        (at("p1", None), "it is not said at which p1 goes in", "--at left or --at right"),
        (at("p1", Some("middle")), "has no cylinder \"middle\"", "left, right"),
        (at("c1", Some("left")), "one for all its cylinders", "Leave --at out"),
    ] {
        let error = act(&shed, DAY, &deed).unwrap_err();
        assert!(
            error.to_string().contains(message) && worded(&error.help()).contains(help),
            "{error}: {:?}",
            error.help()
        );
    }
    act(&shed, DAY, &at("p1", Some("left"))).unwrap();
    act(&shed, DAY, &at("p2", Some("right"))).unwrap();
    act(&shed, DAY, &at("c1", None)).unwrap();
    act(&shed, DAY, &at("s1", Some("right"))).unwrap();
    assert_eq!(place(&shed, "p1", DAY).as_deref(), Some("sanda-engine at left"));
    assert_eq!(place(&shed, "c1", DAY).as_deref(), Some("sanda-engine"));
    let there = act(&shed, DAY, &at("p3", Some("left"))).unwrap_err();
    assert!(
        there.to_string().contains("p1 sits at left") && worded(&there.help()).contains("--instead-of p1"),
        "{there}"
    );
    assert!(
        act(&shed, DAY, &at("p1", Some("left")))
            .unwrap_err()
            .to_string()
            .contains("is in sanda-engine at left already")
    );
    let twice = act(&shed, DAY, &at("p1", Some("right"))).unwrap_err();
    let help = worded(&twice.help());
    assert!(help.contains("part move p1 sanda-engine --at right"), "{help}");
    // A piston may have two rings, and only where that is said.
    act(&shed, DAY, &at("r1", Some("left"))).unwrap();
    let mut second = at("r2", Some("left"));
    assert!(act(&shed, DAY, &second).is_err());
    second.fitting.as_mut().unwrap().beside = true;
    act(&shed, DAY, &second).unwrap();
    // What comes in for another goes where that one was.
    let mut instead = at("p3", None);
    instead.fitting.as_mut().unwrap().instead_of = Some("p2".to_owned());
    let day = "2026-05-03T10:00+02:00";
    act(&shed, day, &instead).unwrap();
    assert_eq!(place(&shed, "p3", day).as_deref(), Some("sanda-engine at right"));
    assert_eq!(place(&shed, "p2", day), None);
    // An engine with one has no places.
    let error = act(
        &shed,
        day,
        &PartDeed {
            fitting: Some(PartFitting {
                engine: ENGINE.into(),
                at: Some("left".into()),
                ..PartFitting::default()
            }),
            ..deed("p2", Deed::Fitted)
        },
    );
    assert!(worded(&error.unwrap_err().help()).contains("one cylinder: leave --at out"));
    shed.assert_sound();
}

#[test]
fn hours_go_from_one_side_to_the_other_with_the_piston() {
    let shed = twin();
    kept(&shed, &[("p1", "piston"), ("p2", "piston")]);
    act(&shed, DAY, &at("p1", Some("left"))).unwrap();
    act(&shed, DAY, &at("p2", Some("right"))).unwrap();
    let run = |day: &str, hours: &str| {
        shed.run_on(day, &["outing", "add", "sanda", "full=right", "--hours", hours]).done();
    };
    run("2026-05-03T12:00+02:00", "2");
    act(&shed, "2026-05-04T10:00+02:00", &deed("p2", Deed::Removed)).unwrap();
    let moved = PartDeed { moved: true, ..at("p1", Some("right")) };
    act(&shed, "2026-05-04T10:00+02:00", &moved).unwrap();
    run("2026-05-05T12:00+02:00", "3");
    let listed = shed.json(&["part", "list", "--engine", TWIN]);
    assert_eq!(listed["parts"][0]["cylinder"], "right");
    assert!((listed["parts"][0]["count"]["hours"].as_f64().unwrap() - 5.0).abs() < 1e-9);
    let p2 = shed.json(&["part", "show", "p2"]);
    assert!((p2["part"]["count"]["hours"].as_f64().unwrap() - 2.0).abs() < 1e-9);
    assert!(p2["part"].get("cylinder").is_none(), "on the shelf it is at none");
    shed.assert_sound();
}

/// What was done at the other cylinder at the same moment stays where it is.
#[test]
fn what_was_not_in_yet_moves_alone() {
    let shed = twin();
    kept(&shed, &[("p1", "piston"), ("p2", "piston")]);
    act(&shed, DAY, &at("p1", Some("left"))).unwrap();
    act(&shed, DAY, &at("p2", Some("right"))).unwrap();
    let job = Book::open(&garage(&shed)).unwrap().open_jobs().unwrap();
    let what: Vec<_> = job.iter().flat_map(|bike| &bike.jobs).map(|job| job.item.what.clone()).collect();
    assert_eq!(what, ["fit p1 to sanda-engine at left", "fit p2 to sanda-engine at right"]);
    let after = when("2026-05-06T10:00+02:00");
    let goes = ("p1", None, Some("sanda-engine at left"));
    assert_eq!(put_off(&garage(&shed), goes, after, &moment("2026-05-07T10:00+02:00")).unwrap(), ["p1"]);
    assert_eq!(place(&shed, "p1", "2026-05-05T10:00+02:00"), None);
    assert_eq!(place(&shed, "p2", "2026-05-05T10:00+02:00").as_deref(), Some("sanda-engine at right"));
    let done = mark_jobs(
        &garage(&shed),
        &WhichJobs::All(None),
        reedbook::store::Mark::Done,
        &moment("2026-05-08T10:00+02:00"),
    );
    assert_eq!(done.unwrap().marked.len(), 2);
    shed.assert_sound();
}

#[test]
fn a_cylinder_that_builds_and_parts_know_keeps_its_name() {
    let shed = twin();
    kept(&shed, &[("p1", "piston")]);
    act(&shed, DAY, &at("p1", Some("right"))).unwrap();
    let rename = || {
        shed.run_on("2026-05-09T10:00+02:00", &["change", "sanda", "cylinders.names=left far", "--why", "x"])
    };
    let said = |refused: String, words: &str| assert!(refused.contains(words), "{refused}");
    said(rename().refused(), "p1 sits at right in sanda-engine");
    act(&shed, DAY, &deed("p1", Deed::Removed)).unwrap();
    begin_build(
        &garage(&shed),
        &new_build(TWIN, Scope::TopEnd, &["right.piston.diameter=53.94 mm"]),
        &moment(DAY),
    )
    .unwrap();
    said(rename().refused(), "has readings or steps of the");
    // By hand nothing stops it, and the check says it.
    let engine = shed.read("engines/sanda-engine/engine.toml").replace("\"right\"", "\"far\"");
    shed.write("engines/sanda-engine/engine.toml", &engine);
    let check = shed.run_on("2026-05-09T10:00+02:00", &["garage", "check"]);
    assert!(
        (check.out.clone() + &check.err).contains("sanda-engine has no cylinder \"right\"."),
        "{}",
        (check.out.clone() + &check.err)
    );
    let shown = shed.run_on("2026-05-09T10:00+02:00", &["build", "show", TWIN]);
    assert!(
        (shown.out.clone() + &shown.err).contains("This build has readings of the cylinder \"right\""),
        "{}",
        (shown.out.clone() + &shown.err)
    );
}

#[test]
fn two_pistons_at_one_place_are_found() {
    let shed = twin();
    kept(&shed, &[("p1", "piston"), ("p2", "piston"), ("p3", "piston")]);
    act(&shed, DAY, &at("p1", Some("left"))).unwrap();
    act(&shed, DAY, &at("p2", Some("right"))).unwrap();
    let text = shed.read("parts/p2.toml").replace("cylinder = \"right\"", "cylinder = \"left\"");
    shed.write("parts/p2.toml", &text);
    let fitted = "kind = \"piston\"\n[events.a]\ndate = \"2026-05-02T10:00+02:00\"\ndid = \"fitted\"\nengine = \"sanda-engine\"\n";
    shed.write("parts/p3.toml", fitted);
    let check = shed.run_on("2026-05-09T10:00+02:00", &["garage", "check"]);
    assert!(
        (check.out.clone() + &check.err).contains("p1 and p2 both sit at left in sanda-engine."),
        "{}",
        (check.out.clone() + &check.err)
    );
    assert!(
        (check.out.clone() + &check.err).contains("It is not said at which cylinder of sanda-engine p3 sits"),
        "{}",
        (check.out.clone() + &check.err)
    );
    // It is said by a move.
    act(&shed, "2026-05-03T10:00+02:00", &PartDeed { moved: true, ..at("p3", Some("right")) }).unwrap();
    assert_eq!(place(&shed, "p3", "2026-05-03T10:00+02:00").as_deref(), Some("sanda-engine at right"));
}

/// A spare engine of a twin is one too; where its file cannot be read, that is said and not that it has one cylinder.
#[test]
fn a_spare_twin_and_one_that_cannot_be_read() {
    let shed = twin();
    shed.run(&["engine", "new", "spare", "--cylinders", "left,right"]).done();
    shed.run(&["engine", "new", "odd", "--cylinders", "left,left"]).refused();
    shed.run_on("2026-05-03T10:00+02:00", &["change", "sanda", "engine=spare", "--why", "the other one"])
        .done();
    kept(&shed, &[("p1", "piston")]);
    shed.write("engines/spare/engine.toml", "[cylinders\n");
    let fitting = PartFitting { engine: "spare".into(), at: Some("left".into()), ..PartFitting::default() };
    let error =
        act(&shed, DAY, &PartDeed { fitting: Some(fitting), ..deed("p1", Deed::Fitted) }).unwrap_err();
    assert!(matches!(error, StoreError::Findings(_)), "{error}");
    let typed = new_build("spare", Scope::TopEnd, &["left.piston.diameter=53.94 mm"]);
    assert!(matches!(begin_build(&garage(&shed), &typed, &moment(DAY)), Err(StoreError::Findings(_))));
}
