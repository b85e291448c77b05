//! What is refused changes nothing, and no name leaves its folder.

use reedbook::notebook::{Entered, Scope};
use reedbook::store::{Recording, begin_build, mend_part};

use super::common::{Answer, Shed};
use super::*;

const DAY: &str = "2026-05-11T10:00+02:00";

/// Fields and values that no build takes, with a word of what is said.
const SLIPS: [(&str, &str); 16] = [
    ("squish.front=12", "squish.front"),
    ("squish.front=0.75 kg", "squish.front"),
    ("squish.front=0,75 mm", "0,75 mm"),
    ("squish.frnt=0.75 mm", "squish.frnt"),
    ("squish=0.75 mm", "squish"),
    ("scope=head", "scope"),
    ("date=yesterday", "yesterday"),
    ("bore.top.along_pin=54 mm", "bore.top.depth is missing"),
    ("piston.diameter=54.1 mm", "larger than the bore"),
    ("bore.low.diagonal_left=2.126 in", "one gauge has one scale"),
    ("gauges.bore.set_on=ring", "set_to is missing"),
    ("gauges.bore.set_on=piston", "whole size"),
    ("steps.circlips.torque=22 kg", "torque"),
    ("steps.circlips.place=0", "place"),
    ("reed.gap=", "reed.gap"),
    ("date=", "date is missing"),
];

#[test]
fn a_slip_changes_nothing() {
    let shed = Shed::new();
    begun(&shed, "2026-05-10T10:00+02:00", &["bore.low.depth=50 mm", "bore.low.along_pin=54.002 mm"]);
    for recording in [Recording::Now, Recording::Later] {
        for (slip, words) in SLIPS {
            let said =
                refused(&shed, || measured(&shed, DAY, recording, &["rod.side_clearance=0.5 mm", slip]));
            assert!(said.contains(words), "{slip}: {said}");
        }
    }
    for (slip, words) in SLIPS
        .iter()
        .filter(|(slip, _)| !slip.starts_with("piston.") && !slip.starts_with("gauges.bore.set_on=piston"))
    {
        let sound = ["bore.low.depth=50 mm", "bore.low.across_pin=54.002 mm", slip];
        let new = new_build(ENGINE, Scope::TopEnd, &sound);
        // A step of a list that is not there yet is one of the build's own.
        let said = refused(&shed, || begin_build(&garage(&shed), &new, &moment(DAY)));
        assert!(said.contains(words), "{slip}: {said}");
    }
    // What is no reading is not written down like one, right or wrong.
    for (typed, words) in [
        ("steps.circlips.done=2026-05-10", "not written down like a reading"),
        ("steps.circlips.left_out=stays", "not written down like a reading"),
        ("scope=whole", "not written down like a reading"),
        ("date=2027-01-01", "lies in the future"),
    ] {
        let said = refused(&shed, || measured(&shed, DAY, Recording::Now, &[typed]));
        assert!(said.contains(words), "{typed}: {said}");
    }
    let mut late = new_build(ENGINE, Scope::TopEnd, &[]);
    late.date = Some(when("2027-01-01"));
    let said = refused(&shed, || begin_build(&garage(&shed), &late, &moment(DAY)));
    assert!(said.contains("lies in the future"), "{said}");
    shed.assert_sound();
}

#[test]
fn bare_lengths_are_refused_in_an_imperial_garage() {
    let shed = Shed::new();
    shed.edit("garage.toml", "units = \"metric\"", "units = \"imperial\"");
    shed.git(&["commit", "-q", "-a", "-m", "inches"]);
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let said = refused(&shed, || measured(&shed, DAY, Recording::Now, &["squish.front=0.75"]));
    assert!(said.contains("squish.front"), "{said}");
    measured(&shed, DAY, Recording::Now, &["squish.front=0.03 in", "temperature=68 F"]).unwrap();
}

#[test]
fn an_engine_without_a_build_says_so() {
    let shed = Shed::new();
    let said = refused(&shed, || measured(&shed, DAY, Recording::Now, &["reed.gap=0.1 mm"]));
    assert_eq!(said, format!("{ENGINE} has no build yet."));
    let said = refused(&shed, || ticked(&shed, DAY, &["circlips"], Tick::default()));
    assert_eq!(said, format!("{ENGINE} has no build yet."));
}

/// Names that would lead out of their folder, or that no file can have.
const NAMES: [&str; 12] = [
    "../escape",
    "..",
    "a/b",
    "a\\b",
    "/etc/passwd",
    "",
    "Piston",
    "p 1",
    "p\u{1b}[2J",
    "nul",
    "ring.old",
    "é",
];

#[test]
fn names_that_leave_their_folder_are_refused() {
    let shed = Shed::new();
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    added(&shed, DAY, &part("p1", &["kind=piston"], None));
    let above = || std::fs::read_dir(shed.above()).unwrap().count();
    let before = above();
    for name in NAMES {
        let said = [
            refused(&shed, || {
                begin_build(&garage(&shed), &new_build(name, Scope::TopEnd, &[]), &moment(DAY))
            }),
            refused(&shed, || {
                measure(&garage(&shed), name, &BuildChange::default(), Recording::Now, &moment(DAY))
            }),
            refused(&shed, || tick(&garage(&shed), name, &Tick::default(), Recording::Later, &moment(DAY))),
            refused(&shed, || add_part(&garage(&shed), &part(name, &["kind=piston"], None), &moment(DAY))),
            refused(&shed, || {
                add_part(&garage(&shed), &part("p2", &["kind=piston"], Some((name, None))), &moment(DAY))
            }),
            refused(&shed, || acted(&shed, DAY, &deed(name, Deed::Inspected))),
            refused(&shed, || acted(&shed, DAY, &fitted("p1", name))),
            refused(&shed, || acted(&shed, DAY, &fitted_for("p1", ENGINE, name))),
            refused(&shed, || mend_part(&garage(&shed), name, &entered(&["notes=x"]), &moment(DAY))),
        ];
        for said in said {
            assert!(!said.contains(char::is_control), "{said:?}");
        }
    }
    assert_eq!(above(), before, "something was written outside the garage");
    shed.assert_sound();
}

/// The tuner's own names inside a build are kept to what a name may be; a point in one would be another field.
#[test]
fn names_inside_a_document_are_names() {
    let shed = Shed::new();
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    for name in ["Top", "to p", "../top", "tóp", "", "a\nb"] {
        for (field, value) in [
            (format!("bore.{name}.depth"), "12 mm"),
            (format!("ring.gaps.{name}.depth"), "12 mm"),
            (format!("seats.{name}.shaft"), "25 mm"),
            (format!("steps.{name}.note"), "x"),
        ] {
            let change = BuildChange { which: None, entered: vec![Entered::new(&field, Some(value))] };
            refused(&shed, || measure(&garage(&shed), ENGINE, &change, Recording::Now, &moment(DAY)));
        }
    }
    let sound = measured(&shed, DAY, Recording::Now, &["seats.main-left_2.shaft=25.01 mm"]).unwrap();
    assert!(sound.build.seats.contains_key("main-left_2"));
}

/// The same at the command line: exit code 1, one error, and a way out.
#[test]
fn the_command_refuses_as_the_store_does() {
    let shed = Shed::new();
    shed.run(&["build", "new", ENGINE, "--why", "ring"]).done();
    let before = (shed.files(), shed.git(&["rev-parse", "HEAD"]));
    for words in [
        &["build", "measure", ENGINE, "squish.front=12"][..],
        &["build", "measure", "../moth-engine", "squish.front=0.75"],
        &["build", "measure", ENGINE, "squish.front"],
        &["build", "tick", ENGINE, "head-nuts"],
        &["build", "tick", ENGINE, "no-such-step"],
        &["build", "tick", ENGINE, "circlips", "--build", "zzz"],
        &["build", "new", "gnat-engine"],
        &["build", "show", "wasp-engine"],
        &["build", "compare", ENGINE],
    ] {
        let answer: Answer = shed.run(words);
        let said = answer.clone().refused();
        assert!(said.lines().count() >= 2, "no way out: {said}");
        assert_eq!((shed.files(), shed.git(&["rev-parse", "HEAD"])), before, "{words:?}");
    }
}
