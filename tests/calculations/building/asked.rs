//! What is asked at the bench: in order, what is known left out, depths carried over and readings never.

use reedbook::advice::building::{ReadingQuestion, questions};
use reedbook::notebook::{FieldSet, Scope};

use super::fields;

fn asked(scope: Scope, now: &FieldSet, before: &FieldSet) -> Vec<String> {
    questions(scope, (now, before), &[]).into_iter().map(|question| question.field).collect()
}

const TOP: &str = "temperature piston.gauge_height piston.diameter gauges.bore.resolution gauges.bore.set_on \
    bore.top.depth bore.top.along_pin bore.top.across_pin bore.middle.depth bore.middle.along_pin \
    bore.middle.across_pin bore.bottom.depth bore.bottom.along_pin bore.bottom.across_pin ring.gaps.top.depth \
    ring.gaps.top.gap ring.gaps.bottom.depth ring.gaps.bottom.gap ring.side_clearance piston.pin_bore pin.diameter \
    squish.front squish.rear squish.left squish.right squish.head_gasket squish.base_gasket deck.height \
    chamber.volume chamber.includes reed.tension reed.gap";

const BOTTOM: &str = "rod.small_end_bore rod.side_clearance rod.big_end_play crank.runout_left crank.runout_right \
    seats.main-left.case_bore seats.main-left.bearing_outside seats.main-left.bearing_bore seats.main-left.shaft \
    seats.main-right.case_bore seats.main-right.bearing_outside seats.main-right.bearing_bore seats.main-right.shaft";

fn words(text: &str) -> Vec<String> {
    text.split_whitespace().map(str::to_owned).collect()
}

#[test]
fn a_first_build_is_asked_for_all_in_the_order_of_measuring() {
    let none = FieldSet::default();
    assert_eq!(asked(Scope::TopEnd, &none, &none), words(TOP));
    assert_eq!(asked(Scope::BottomEnd, &none, &none), words(&format!("temperature {BOTTOM}")));
    assert_eq!(
        asked(Scope::Whole, &none, &none),
        words(&TOP.replacen("temperature", &format!("temperature {BOTTOM}"), 1))
    );
    for question in questions(Scope::Whole, (&none, &none), &[]) {
        assert!(question.last.is_none() && question.words.len() > 4, "{question:?}");
    }
}

#[test]
fn what_is_known_is_not_asked_again_and_the_order_stays() {
    let now = fields(
        "temperature = \"18 C\"\n[piston]\ndiameter = \"53.94 mm\"\n[squish]\nleft = \"0.76 mm\"\n[deck]\nheight = \"0.1 mm\"\n",
    );
    let known = ["temperature", "piston.diameter", "squish.left", "deck.height"];
    let wanted: Vec<_> = words(TOP).into_iter().filter(|field| !known.contains(&field.as_str())).collect();
    assert_eq!(asked(Scope::TopEnd, &now, &FieldSet::default()), wanted);
}

fn of(found: &[ReadingQuestion], field: &str) -> ReadingQuestion {
    found.iter().find(|question| question.field == field).unwrap_or_else(|| panic!("no {field}")).clone()
}

/// Depths and gaskets stay as they were where nothing is said; a reading never does, it is only shown.
#[test]
fn depths_are_carried_and_readings_are_not() {
    let before = fields(
        "temperature = \"12 C\"\n[gauges.bore]\nresolution = \"0.002 mm\"\n[bore.skirt]\ndepth = \"60.0 mm\"\n\
         along_pin = \"54.001 mm\"\n[bore.window]\ndepth = \"0.5 in\"\nalong_pin = \"54.002 mm\"\n\
         diagonal_left = \"54.001 mm\"\n[piston]\ngauge_height = \"12 mm\"\ndiameter = \"53.940 mm\"\n[squish]\n\
         front = \"0.75 mm\"\nhead_gasket = \"0.50 mm\"\nbase_gasket = \"0.4 mm\"\n[chamber]\nincludes = \"the dome\"\n",
    );
    let found = questions(Scope::TopEnd, (&FieldSet::default(), &before), &[]);
    for (field, last, stays) in [
        ("bore.window.depth", "0.5 in", true),
        ("bore.skirt.depth", "60.0 mm", true),
        ("piston.gauge_height", "12 mm", true),
        ("gauges.bore.resolution", "0.002 mm", true),
        ("squish.head_gasket", "0.50 mm", true),
        ("squish.base_gasket", "0.4 mm", true),
        ("chamber.includes", "the dome", true),
        ("temperature", "12 C", false),
        ("bore.window.along_pin", "54.002 mm", false),
        ("piston.diameter", "53.940 mm", false),
        ("squish.front", "0.75 mm", false),
    ] {
        let question = of(&found, field);
        assert_eq!((question.last.as_deref(), question.stays), (Some(last), stays), "{field}");
    }
    // The tuner's own depths from the deck down, in place of the usual three; a diagonal where one was read before.
    let bore: Vec<_> =
        found.iter().map(|question| question.field.as_str()).filter(|f| f.starts_with("bore.")).collect();
    let wanted = "bore.window.depth bore.window.along_pin bore.window.across_pin bore.window.diagonal_left \
        bore.skirt.depth bore.skirt.along_pin bore.skirt.across_pin";
    assert_eq!(bore, words(wanted));
    // Only what is a reading or a depth of one place hangs on that depth.
    assert_eq!(of(&found, "bore.skirt.depth").opens.as_deref(), Some("bore.skirt"));
    for field in ["bore.skirt.depth", "bore.skirt.along_pin", "bore.skirt.across_pin"] {
        assert_eq!(of(&found, field).group.as_deref(), Some("bore.skirt"));
    }
    assert_eq!(of(&found, "ring.gaps.top.depth").opens.as_deref(), Some("ring.gaps.top"));
    assert_eq!(of(&found, "ring.gaps.top.gap").group.as_deref(), Some("ring.gaps.top"));
    assert!(of(&found, "ring.gaps.top.gap").opens.is_none());
    assert!(of(&found, "squish.front").group.is_none() && of(&found, "bore.skirt.along_pin").opens.is_none());
}

/// A depth that is known already is not asked; the readings of it are.
#[test]
fn a_known_depth_leaves_its_readings() {
    let now = fields("[bore.top]\ndepth = \"12 mm\"\n[seats.gearbox]\nshaft = \"17.0 mm\"\n");
    let before = fields("[bore.low]\ndepth = \"60 mm\"\nalong_pin = \"54 mm\"\n");
    let found = asked(Scope::Whole, &now, &before);
    let of = |start: &str| -> Vec<String> {
        found.iter().filter(|field| field.starts_with(start)).cloned().collect()
    };
    assert_eq!(
        of("bore."),
        words("bore.top.along_pin bore.top.across_pin bore.low.depth bore.low.along_pin bore.low.across_pin")
    );
    assert_eq!(
        of("seats."),
        words("seats.gearbox.case_bore seats.gearbox.bearing_outside seats.gearbox.bearing_bore")
    );
}

#[test]
fn of_a_twin_readings_are_asked_at_each_and_what_stays_once() {
    let cylinders = ["left".to_owned(), "right".to_owned()];
    let ask = |scope, now: &str, before: &str| questions(scope, (&fields(now), &fields(before)), &cylinders);
    let names = |found: &[ReadingQuestion]| found.iter().map(|one| one.field.clone()).collect::<Vec<_>>();
    let first = names(&ask(Scope::Whole, "", ""));
    for (field, times) in [
        ("temperature", 1),
        ("bore.top.depth", 1),
        ("gauges.bore.set_on", 1),
        ("squish.head_gasket", 1),
        ("crank.runout_left", 1),
        ("piston.diameter", 0),
        ("left.piston.diameter", 1),
        ("right.piston.diameter", 1),
        ("right.rod.big_end_play", 1),
        ("left.bore.top.depth", 0),
    ] {
        assert_eq!(first.iter().filter(|known| *known == field).count(), times, "{field}");
    }
    // Both rods come before the crank, all of the left before the right.
    let place = |field: &str| first.iter().position(|known| known == field).unwrap();
    assert!(place("right.rod.big_end_play") < place("crank.runout_left"));
    assert!(place("left.chamber.volume") < place("right.piston.diameter"));
    // What was written once the last time was that of each.
    let before = "[bore.top]\ndepth = \"12 mm\"\n[piston]\ndiameter = \"53.94 mm\"\n[cylinder.right.piston]\n\
        diameter = \"53.95 mm\"\n";
    let again = ask(Scope::TopEnd, "[cylinder.left.piston]\ndiameter = \"53.93 mm\"\n", before);
    let last = |field: &str| again.iter().find(|one| one.field == field).map(|one| one.last.clone());
    assert_eq!(last("right.piston.diameter"), Some(Some("53.95 mm".to_owned())));
    assert_eq!(last("left.piston.diameter"), None, "it is known");
    let pin = again.iter().find(|one| one.field == "right.pin.diameter").unwrap();
    assert_eq!(pin.words, "right, pin: diameter");
}
