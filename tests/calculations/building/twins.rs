//! An engine with several cylinders: each is judged as an engine with one would be, and what is of all of them is said once.

use reedbook::advice::building::{Judgement, NamedFigure, judge_each};
use reedbook::notebook::Limits;
use reedbook::report::all_worded;

use super::{SHIPPED, build, judged_by, limits};

const GAUGES: &str = "temperature = \"26 C\"\n[gauges.bore]\nresolution = \"0.001 mm\"\nset_on = \"piston\"\n[gauges.outside]\n\
    resolution = \"0.001 mm\"\nuncertainty = \"0.002 mm\"\n";

/// The readings of one cylinder, under a heading.
fn readings(above: &str, [piston, top, bottom]: [&str; 3]) -> String {
    format!(
        "[{above}piston]\ndiameter = \"{piston} mm\"\n[{above}bore.top]\ndepth = \"12 mm\"\nalong_pin = \"{top} mm\"\n\
         across_pin = \"0.064 mm\"\n[{above}bore.bottom]\ndepth = \"60 mm\"\nalong_pin = \"{bottom} mm\"\n\
         [{above}ring.gaps.top]\ndepth = \"12 mm\"\ngap = \"0.30 mm\"\n[{above}squish]\nfront = \"0.80 mm\"\nrear = \"0.84 mm\"\n"
    )
}

const LEFT: [&str; 3] = ["53.940", "0.060", "0.058"];
const RIGHT: [&str; 3] = ["53.952", "0.071", "0.066"];

fn of_each(text: &str, limits: &Limits) -> Judgement {
    let cylinders = ["left", "right"].map(|name| (name.to_owned(), Some(0.054)));
    judge_each(&build(text), "sanda", limits, (&cylinders, Some(0.054)))
}

fn shown(figures: &[NamedFigure], cylinder: &str) -> Vec<(&'static str, f64, f64, Option<String>, bool)> {
    let of_it = figures.iter().filter(|figure| figure.cylinder.as_deref() == Some(cylinder));
    let figure = |figure: &NamedFigure| {
        (
            figure.kind.name,
            figure.value.value(),
            figure.value.uncertainty(),
            figure.at.clone(),
            figure.judged.is_some(),
        )
    };
    of_it.map(figure).collect()
}

fn alone(found: &Judgement) -> Vec<(&'static str, f64, f64, Option<String>, bool)> {
    let named =
        found.figures.iter().map(|figure| NamedFigure { cylinder: Some("x".into()), ..figure.clone() });
    shown(&named.collect::<Vec<_>>(), "x")
}

#[test]
fn two_singles_and_one_twin_of_the_same_readings_have_the_same_figures() {
    let text = format!("{GAUGES}{}{}", readings("cylinder.left.", LEFT), readings("cylinder.right.", RIGHT));
    let twin = of_each(&text, &limits(SHIPPED));
    for (name, read) in [("left", LEFT), ("right", RIGHT)] {
        let single = judged_by(&format!("{GAUGES}{}", readings("", read)), SHIPPED, Some(0.054));
        assert_eq!(shown(&twin.figures, name), alone(&single), "{name}");
        assert_eq!(alone(&twin.for_cylinder(name)), alone(&single), "{name}");
        assert_eq!(single.figures.len(), 10, "bore four times, piston, clearance, gap, squish three times");
    }
    // By hand: the gauge shows the least clearance, 0.064 mm across the pin, and by the 6 K that it was warmer 54 mm of piston at 20.75e-6 are less
    // ahead of the bore at 23e-6 by 0.0007 mm.
    let clearance = twin.figures.iter().find(|one| one.words() == "right piston clearance").unwrap();
    assert!((clearance.value.value() * 1e3 - (0.064 - 6.0 * 54.0 * 2.25e-6)).abs() < 1e-4, "{clearance:?}");
    let names: Vec<_> = twin.bores.iter().map(|(name, _)| name.as_deref()).collect();
    assert_eq!(names, [Some("left"), Some("right")]);
}

#[test]
fn what_is_of_all_is_said_once() {
    let text = format!(
        "{GAUGES}[crank]\nrunout_left = \"0.02 mm\"\n[squish]\nfront = \"0.80 mm\"\n[cylinder.left.reed]\ngap = \"0.05 mm\"\n\
         [cylinder.right.squish]\nrear = \"0.90 mm\"\n"
    );
    let found = of_each(&text, &Limits::default());
    let words: Vec<String> = found.figures.iter().map(NamedFigure::words).collect();
    // The left has the front that is written for all, the right a rear beside it.
    assert_eq!(
        words,
        [
            "crank run-out",
            "left squish clearance",
            "right squish clearance",
            "right least squish",
            "right squish, tilt",
            "left reed gap"
        ]
    );
    assert!(found.remarks.is_empty(), "{:?}", found.remarks);
}

#[test]
fn a_cylinder_by_number_is_called_one() {
    let text = format!("{GAUGES}[cylinder.1.reed]\ngap = \"0.05 mm\"\n");
    let found = judge_each(&build(&text), "sanda", &Limits::default(), (&[("1".into(), None)], None));
    assert_eq!(found.figures[0].words(), "cylinder 1 reed gap");
}

#[test]
fn what_cannot_be_reckoned_with_at_one_leaves_the_other() {
    // A bore gauge that was zeroed on a piston of no known size shows the clearance at the right, and no bore.
    let text = format!(
        "{GAUGES}{}[cylinder.right.bore.top]\ndepth = \"12 mm\"\nalong_pin = \"0.070 mm\"\n",
        readings("cylinder.left.", LEFT)
    );
    let found = of_each(&text, &Limits::default());
    assert_eq!(shown(&found.figures, "left").len(), 10);
    let right = shown(&found.figures, "right");
    assert_eq!(right.iter().map(|one| one.0).collect::<Vec<_>>(), ["piston_clearance"]);
    let remarks = all_worded(&found.remarks);
    let remark = remarks.iter().find(|remark| remark.contains("zeroed on a piston whose size")).unwrap();
    assert!(remark.starts_with("Cylinder right: "), "{remark}");
}
