//! Readings of a build that the setup has otherwise.

use jiff::tz::Offset;
use reedbook::advice::building::{Reading, TakenReading, judge_each, readings};
use reedbook::notebook::{DocumentKind, EngineDocument, FieldSet, Limits, ReadOptions, read};

use super::{build, judged};

const ENGINE: &str = "[ports]\ndeck_height = \"0.10 mm\"\nbase_gasket = \"0.50 mm\"\n[head]\ngasket = \"0.50 mm\"\n\
    chamber_volume = \"8.6 cc\"\nvolume_includes = \"plug hole, dome\"\nsquish_clearance = \"0.75 mm\"\n";
const GAUGES: &str = "[gauges.solder]\nresolution = \"0.01 mm\"\nuncertainty = \"0.02 mm\"\n[gauges.indicator]\n\
    resolution = \"0.002 mm\"\nuncertainty = \"0.003 mm\"\n[gauges.burette]\nresolution = \"0.05 cc\"\nuncertainty = \"0.05 cc\"\n";

fn setup(text: &str) -> FieldSet {
    let options = ReadOptions { refuse_bare_lengths: false, map_file: &|_| None, here: Offset::UTC };
    let path = std::path::Path::new("engine.toml");
    let checked = read::<EngineDocument>(DocumentKind::Engine, path, text.as_bytes(), options);
    assert!(checked.findings.is_empty(), "{:?}", checked.findings);
    checked.fields
}

fn found(measured: &str, engine: &str, imperial: bool) -> Vec<TakenReading> {
    let text = format!("{GAUGES}{measured}");
    readings(&build(&text), &judged(&text), &setup(engine), Reading { imperial, ..Reading::default() })
}

fn squish(at: f64, more: &str) -> String {
    format!(
        "[squish]\nfront = \"{at} mm\"\nrear = \"{at} mm\"\nleft = \"{at} mm\"\nright = \"{at} mm\"\n{more}"
    )
}

fn fields(found: &[TakenReading]) -> Vec<(&str, &str)> {
    found.iter().map(|one| (one.field.as_str(), one.measured.as_str())).collect()
}

#[test]
fn what_differs_by_more_than_its_doubt_is_offered() {
    let all = format!("{}[deck]\nheight = \"0.02 mm\"\n[chamber]\nvolume = \"8.20 cc\"\n", squish(0.65, ""));
    assert_eq!(
        fields(&found(&all, ENGINE, false)),
        [
            ("head.squish_clearance", "0.65 mm"),
            ("ports.deck_height", "0.020 mm"),
            ("head.chamber_volume", "8.20 cc")
        ]
    );
    assert_eq!(fields(&found(&squish(0.65, ""), ENGINE, true)), [("head.squish_clearance", "0.0256 in")]);
    // Each of four is good to 0.0202, so their mean to 0.0101, and twice that is shown; half a digit of 0.75 beside it.
    assert!(found(&squish(0.73, ""), ENGINE, false).is_empty());
    assert!(found(&squish(0.77, ""), ENGINE, false).is_empty());
    assert_eq!(found(&squish(0.72, ""), ENGINE, false).len(), 1);
    assert!(
        found("[deck]\nheight = \"0.102 mm\"\n[chamber]\nvolume = \"8.60 cc\"\n", ENGINE, false).is_empty()
    );
}

#[test]
fn what_was_measured_of_another_assembly_is_not_offered() {
    let thin = squish(0.65, "base_gasket = \"0.40 mm\"\n[deck]\nheight = \"0.00 mm\"\n");
    assert!(found(&thin, ENGINE, false).is_empty(), "the setup has the thick gasket");
    assert_eq!(
        found(&thin, &ENGINE.replace("base_gasket = \"0.50 mm\"", "base_gasket = \"0.40 mm\""), false).len(),
        2
    );
    let head = squish(0.65, "head_gasket = \"0.30 mm\"\n");
    assert!(found(&head, ENGINE, false).is_empty());
    let other = "[chamber]\nvolume = \"8.20 cc\"\nincludes = \"dome alone\"\n";
    assert!(found(other, ENGINE, false).is_empty());
    assert!(
        found(&squish(0.65, ""), "[head]\ngasket = \"0.5 mm\"\n", false).is_empty(),
        "nothing is written otherwise"
    );
}

/// Of a twin each cylinder is held against what holds for it; what all have otherwise alike is offered once.
#[test]
fn gaskets_of_the_build_that_the_setup_has_otherwise_come_with_what_hangs_on_them() {
    let places = ["front", "rear", "left", "right"].map(|place| format!("{place} = \"0.65 mm\"\n"));
    let squish =
        format!("[squish]\n{}head_gasket = \"0.50 mm\"\nbase_gasket = \"0.40 mm\"\n", places.concat());
    let text = format!("{GAUGES}{squish}");
    let how = Reading { imperial: false, its_gaskets_are_in: true };
    let found = readings(&build(&text), &judged(&text), &setup(ENGINE), how);
    assert_eq!(fields(&found), [("ports.base_gasket", "0.40 mm"), ("head.squish_clearance", "0.65 mm")]);
    assert_eq!(found[0].written, "0.50 mm");
}

#[test]
fn each_cylinder_is_held_against_its_own() {
    let twin = format!("{ENGINE}[cylinders]\nnames = [\"left\", \"right\"]\n");
    let own = format!("{twin}[cylinder.right.head]\nsquish_clearance = \"0.90 mm\"\n");
    let at = |cylinder: &str, size: &str| {
        let places = ["front", "rear", "left", "right"].map(|place| format!("{place} = \"{size} mm\"\n"));
        format!("[cylinder.{cylinder}.squish]\n{}", places.concat())
    };
    let found = |left: &str, right: &str, engine: &str| {
        let text = format!("{GAUGES}{}{}", at("left", left), at("right", right));
        let cylinders = ["left", "right"].map(|name| (name.to_owned(), None));
        let judged = judge_each(&build(&text), "sanda", &Limits::default(), (&cylinders, None));
        readings(&build(&text), &judged, &setup(engine), Reading::default())
    };
    assert_eq!(
        fields(&found("0.65", "0.66", &twin)),
        [("left.head.squish_clearance", "0.65 mm"), ("right.head.squish_clearance", "0.66 mm")]
    );
    assert_eq!(fields(&found("0.65", "0.65", &twin)), [("head.squish_clearance", "0.65 mm")]);
    assert_eq!(fields(&found("0.75", "0.65", &twin)), [("right.head.squish_clearance", "0.65 mm")]);
    // The right has its own in the setup, so that 0.75 mm is another one there.
    let both = found("0.65", "0.75", &own);
    assert_eq!(
        fields(&both),
        [("left.head.squish_clearance", "0.65 mm"), ("right.head.squish_clearance", "0.75 mm")]
    );
    assert_eq!((both[1].words.as_str(), both[1].written.as_str()), ("right squish clearance", "0.90 mm"));
    assert!(found("0.75", "0.90", &own).is_empty());
}
