//! Whether an engine is ready: what a change and an outing say of its newest build.

use reedbook::advice::building::{readiness, remarks_after_outing, to_change_and_remarks};
use reedbook::notebook::Scope;
use reedbook::store::{Recording, begin_build};

use super::common::Shed;
use super::*;

const LISTS: &str = r#"[lists.first]
title = "First"
place = 1
scopes = ["top-end"]
[lists.first.steps.one]
place = 1
says = "One"
[lists.first.steps.two]
place = 2
says = "Two"
[lists.first.steps.three]
place = 3
says = "Three"
[lists.first.steps.four]
place = 4
says = "Four"
[lists.first.steps.five]
place = 5
says = "Five"

[lists.late]
title = "After the first run"
place = 2
when = "after-first-run"
scopes = ["top-end"]
[lists.late.steps.look]
place = 1
says = "Look"
"#;

const LIMITS: &str = r#"[figures.piston_clearance]
watch_above = "0.003 in"
most = "0.1 mm"
[figures.squish_mean]
least = "1 %"
[figures.reed_gap]
watch_above = "0.1 mm"
"#;

/// A shed with lists and limits of its own, and an engine of 54 mm bore.
fn shed() -> Shed {
    let shed = Shed::new();
    shed.write("configs/checklists.toml", LISTS);
    shed.write("configs/limits.toml", LIMITS);
    shed.write(&format!("engines/{ENGINE}/engine.toml"), "[engine]\nbore = \"54 mm\"\n");
    shed.git(&["add", "-A"]);
    shed.git(&["commit", "-q", "-m", "lists, limits and a bore"]);
    shed
}

fn said(shed: &Shed, day: &str, after: bool) -> Vec<String> {
    let garage = garage(shed);
    let book = Book::open(&garage).unwrap();
    if after {
        return remarks_after_outing(&book, ENGINE, when(day)).unwrap();
    }
    let (change, remarks) = to_change_and_remarks(&book, ENGINE, when(day)).unwrap();
    change.into_iter().chain(remarks).collect()
}

const DAY: &str = "2026-05-16T10:00+02:00";

#[test]
fn open_steps_keep_an_engine_from_being_ready() {
    let shed = shed();
    assert_eq!(said(&shed, DAY, false), Vec::<String>::new(), "nothing is known of its inside");
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    assert_eq!(
        said(&shed, DAY, false),
        [format!(
            "{ENGINE}: its build is not ready, 5 steps are open before the start (one, two, three and 2 more)."
        )]
    );
    assert_eq!(said(&shed, "2026-05-09", false), Vec::<String>::new(), "before it was built");
    ticked(&shed, "2026-05-11T10:00+02:00", &["one", "two", "four"], Tick::default()).unwrap();
    let why = Tick { left_out: Some("no such nut".to_owned()), ..Tick::default() };
    ticked(&shed, "2026-05-11T11:00+02:00", &["five"], why).unwrap();
    let [one] = &said(&shed, DAY, false)[..] else { panic!("{:?}", said(&shed, DAY, false)) };
    assert!(one.contains("1 step is open before the start (three)."), "{one}");
    ticked(&shed, "2026-05-11T12:00+02:00", &["three"], Tick::default()).unwrap();
    assert_eq!(said(&shed, DAY, false), Vec::<String>::new());
    let garage = garage(&shed);
    let book = Book::open(&garage).unwrap();
    let ready = readiness(&book, ENGINE, when(DAY)).unwrap().unwrap();
    assert!(ready.is_ready() && ready.open_after == ["look"]);
}

/// What is for after the first run is told once it has run, and not before.
#[test]
fn steps_for_after_the_first_run_are_told_after_it() {
    let shed = shed();
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let all = ["one", "two", "three", "four", "five"];
    ticked(&shed, "2026-05-11T10:00+02:00", &all, Tick::default()).unwrap();
    assert_eq!(said(&shed, DAY, false), Vec::<String>::new());
    let wanted = format!("{ENGINE}: 1 step is open for after the first run.");
    assert_eq!(said(&shed, DAY, true), [wanted.as_str()]);
    let outing = shed.json(&["outing", "add", "moth", "full=right"]);
    assert!(outing["remarks"].as_array().unwrap().contains(&wanted.into()), "{outing:#}");
    ticked(&shed, "2026-05-16T12:00+02:00", &["look"], Tick::default()).unwrap();
    assert_eq!(said(&shed, DAY, true), Vec::<String>::new());
}

/// What is beyond its limits is named; what is only watched, or too close to call, is not told at each change.
#[test]
fn figures_beyond_their_limits_are_told() {
    let shed = shed();
    let one_step = "[lists.a]\ntitle = \"A\"\nplace = 1\nscopes = [\"top-end\"]\n[lists.a.steps.a]\nplace = 1\nsays = \"a\"\n";
    shed.write("configs/checklists.toml", one_step);
    let zeroed = ["gauges.bore.set_on=piston", "bore.top.depth=12 mm", "bore.top.along_pin=0.0900 mm"];
    begun(
        &shed,
        "2026-05-10T10:00+02:00",
        &[&zeroed[..], &["squish.front=0.60 mm", "reed.gap=0.200 mm"]].concat(),
    );
    ticked(&shed, DAY, &["a"], Tick::default()).unwrap();
    let known = |shed: &Shed| {
        let garage = garage(shed);
        readiness(&Book::open(&garage).unwrap(), ENGINE, when(DAY)).unwrap().unwrap()
    };
    let ready = known(&shed);
    assert!(ready.is_ready());
    assert_eq!((ready.watched.join(", ").as_str(), ready.unsure.len()), ("piston clearance, reed gap", 0));
    assert_eq!(said(&shed, DAY, false), Vec::<String>::new());
    // 0.11 is over 0.1 mm; 0.40 is under 1 % of the 54 mm on paper.
    measured(&shed, DAY, Recording::Later, &["bore.top.along_pin=0.1100 mm", "squish.front=0.40 mm"])
        .unwrap();
    assert!(!known(&shed).is_ready());
    assert_eq!(
        said(&shed, DAY, false),
        [format!("{ENGINE}: its build is beyond its limits: piston clearance, squish clearance.")]
    );
    measured(&shed, DAY, Recording::Later, &["bore.top.along_pin=0.1000 mm", "squish.front=0.54 mm"])
        .unwrap();
    let ready = known(&shed);
    assert_eq!(ready.unsure, ["piston clearance", "squish clearance"]);
    assert!(ready.is_ready() && said(&shed, DAY, false).is_empty());
    // Nor is one that is beyond its edge by less than the gauge can tell.
    measured(
        &shed,
        DAY,
        Recording::Later,
        &["bore.top.along_pin=0.1002 mm", "gauges.bore.resolution=0.001 mm"],
    )
    .unwrap();
    let ready = known(&shed);
    assert!(ready.is_ready() && ready.unsure.len() == 2, "{ready:?}");
}

/// The newest build at that date counts, and one that cannot be read is told whatever the others say.
#[test]
fn the_newest_build_counts() {
    let shed = shed();
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let second = begin_build(
        &garage(&shed),
        &new_build(ENGINE, Scope::BottomEnd, &[]),
        &moment("2026-05-12T10:00+02:00"),
    )
    .unwrap();
    let told = said(&shed, DAY, false);
    assert!(
        told.len() == 1 && told[0].contains("it has no check list"),
        "no list is for the bottom end: {told:?}"
    );
    assert!(said(&shed, "2026-05-11T10:00+02:00", false)[0].contains("its build is not ready"));
    shed.edit(&second.file.to_string_lossy(), "why = ", "wy = ");
    let told = said(&shed, DAY, false);
    assert!(told[0].contains("wy") && told.len() == 2, "{told:?}");
    // Another engine is another matter.
    let garage = garage(&shed);
    let said = to_change_and_remarks(&Book::open(&garage).unwrap(), "wasp-engine", when(DAY)).unwrap();
    assert_eq!(said, (Vec::new(), Vec::new()));
}

#[test]
fn a_change_says_that_the_engine_is_not_ready() {
    let shed = shed();
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let told = |words: &[&str]| shed.json(words)["remarks"].to_string();
    assert!(told(&["change", "moth", "jetting.main=180", "--why", "hot"]).contains("5 steps are open"));
    let logged = shed.json(&["outing", "add", "moth", "full=right"]).to_string();
    assert!(logged.contains("Do not run it: moth-engine, 5 steps open before the start"), "{logged}");
    assert!(!told(&["change", "wasp", "jetting.main=180", "--why", "hot"]).contains("open"));
}
