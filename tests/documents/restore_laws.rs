//! Laws of comparing, changing and restoring that hold for any two setups: put together here at random from a stock of
//! fields, values, spellings and comments of an invented bike.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use proptest::collection::vec;
use proptest::prelude::*;
use reedbook::notebook::editing::assign::apply;
use reedbook::notebook::restoring::plan::{plan, restore};
use reedbook::notebook::{Assignment, Combination, EditOptions, RestoreRequest, SetupFiles, compare};

/// Headings, keys and the values each may have, in as many spellings.
type Stock = &'static [(&'static str, &'static [(&'static str, [&'static str; 3])])];

const SETUP: Stock = &[
    ("", &[("notes", ["\"dry\"", "\"\"\"\nwet\nslow\"\"\"", "'tail wind'"])]),
    (
        "jetting",
        &[
            ("clip", ["3", "4.0", "\"2\""]),
            ("shim", ["\"0.5 mm\"", "0.75", "\"0.04 in\""]),
            ("air_screw", ["1.5", "\"1 3/4 turns\"", "2"]),
            ("needle", ["\"K1\"", "'K2'", "\"K3\""]),
        ],
    ),
    (
        "ignition",
        &[
            ("base", ["18", "\"2.1 mm\"", "\"17.5 deg\""]),
            (
                "advance",
                [
                    "[20, 19]\nrpm = [8000, 9000]",
                    "\"maps/dry.csv\"",
                    "[\n  20, # first\n  18,\n  17\n]\nrpm = [8000, 9000, 9500]",
                ],
            ),
            ("map_kind", ["\"relative\"", "'absolute'", "\"\"\"relative\"\"\""]),
        ],
    ),
    ("pipe", &[("name", ["\"P1\"", "\"P2\"", "\"P3\""]), ("stinger_length", ["220", "230", "240"])]),
    ("pipe.sections.header", &[("place", ["1", "2", "3"]), ("length", ["180", "\"19 cm\"", "200"])]),
    ("pipe.sections.belly", &[("length", ["90", "95", "100"])]),
    ("fuel", &[("oil_ratio", ["32", "28", "24"]), ("temperature", ["\"66 F\"", "20", "\"295 K\""])]),
    ("gearing.ratios", &[("first", ["2.5", "2.4", "2.3"]), ("second", ["1.9", "1.8", "1.7"])]),
    (
        "extra",
        &[
            ("cap", ["\"red\"", "true", "5"]),
            ("fan", ["\"off\"", "{ speed = 2 }", "{ speed = 3, on = false }"]),
        ],
    ),
];

const ENGINE: Stock = &[
    (
        "head",
        &[
            ("insert", ["\"B1\"", "\"B2\"", "\"B3\""]),
            ("chamber_volume", ["9.8", "\"9.20 cc\"", "10"]),
            ("gasket", ["0.3", "\"0.5 mm\"", "\"0.04 in\""]),
            ("squish_clearance", ["0.8", "\"0.030 in\"", "1"]),
        ],
    ),
    ("ports", &[("base_gasket", ["0.3", "0.4", "0.5"]), ("deck_height", ["0", "-0.1", "0.2"])]),
    ("ports.reed", &[("name", ["\"stiff\"", "\"soft\"", "\"old\""]), ("petals", ["4", "6", "8"])]),
];

/// Which value each key has, if any, and where the headings begin.
#[derive(Debug, Clone)]
struct Picks {
    setup: Vec<Option<usize>>,
    engine: Vec<Option<usize>>,
    turn: usize,
    comments: bool,
}

fn keys(stock: Stock) -> usize {
    stock.iter().map(|(_, keys)| keys.len()).sum()
}

fn picks() -> impl Strategy<Value = Picks> {
    let some = || proptest::option::weighted(0.7, 0..3_usize);
    (vec(some(), keys(SETUP)), vec(some(), keys(ENGINE)), 0..9_usize, any::<bool>())
        .prop_map(|(setup, engine, turn, comments)| Picks { setup, engine, turn, comments })
}

/// Writes a document; each key and heading has a comment of its own above it.
fn written(stock: Stock, picks: &[Option<usize>], turn: usize, comments: bool) -> String {
    let mut picks = picks.iter();
    let mut sections = Vec::new();
    for (heading, keys) in stock {
        let mut text = String::new();
        for (key, values) in *keys {
            if let Some(Some(pick)) = picks.next() {
                if comments {
                    text.extend(["# about ", heading, " ", key, "\n"]);
                }
                text.extend([key, " = ", values[*pick], "\n"]);
            }
        }
        if heading.is_empty() {
            sections.push(text);
        } else if !text.is_empty() {
            let above = if comments { format!("\n# over {heading}\n") } else { "\n".to_owned() };
            sections.push(format!("{above}[{heading}]\n{text}"));
        }
    }
    let fixed = usize::from(stock[0].0.is_empty());
    let movable = sections.len() - fixed;
    if movable > 0 {
        sections[fixed..].rotate_left(turn % movable);
    }
    sections.concat()
}

fn files(picks: &Picks) -> SetupFiles {
    let setup = format!("engine = \"a1\"\n{}", written(SETUP, &picks.setup, picks.turn, picks.comments));
    let dry = ("maps/dry.csv".to_owned(), b"rpm,8000,9000\n,21,20\n".to_vec());
    SetupFiles {
        bike: "moth".into(),
        setup: Some(setup.into_bytes()),
        engine_name: Some("a1".into()),
        engine: Some(written(ENGINE, &picks.engine, picks.turn, picks.comments).into_bytes()),
        maps: std::iter::once(dry).collect(),
    }
}

fn text(files: &SetupFiles) -> String {
    let read = |bytes: &Option<Vec<u8>>| String::from_utf8(bytes.clone().unwrap()).unwrap();
    read(&files.setup) + &read(&files.engine)
}

fn request(fitted: &str) -> RestoreRequest<'static> {
    RestoreRequest {
        target_words: "setup 7".into(),
        fitted: vec![fitted.into()],
        ..RestoreRequest::default()
    }
}

fn read(files: &SetupFiles) -> Combination {
    let whole = Combination::read(files, false);
    assert!(whole.setup.is_some() && whole.engine.is_some(), "{:?}\n{}", whole.findings, text(files));
    whole
}

/// An engine of which a setup says nothing stays as it is, so nothing of it comes back.
fn says_something_of_the_engine(files: &SetupFiles) -> bool {
    read(files).fields.iter().any(|(field, _)| field.starts_with("head.") || field.starts_with("ports."))
}

/// Lines that are nothing but a comment, outside lists.
fn comments(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter(|line| line.starts_with('#'))
}

proptest! {
    #[test]
    fn with_every_part_fitted_the_earlier_readings_come_back(now in picks(), then in picks()) {
        let (now, then) = (files(&now), files(&then));
        prop_assume!(says_something_of_the_engine(&then));
        let plan = plan(&read(&now), &read(&then), &request("all")).unwrap();
        prop_assert!(plan.still_different.is_empty(), "{:?}", plan.still_different);
        let back = restore(&now, &then, None, &plan).unwrap();
        prop_assert!(read(&back).fields.same_as(&read(&then).fields), "{}\n---\n{}\n---\n{}", text(&now), text(&then), text(&back));
        for comment in comments(&text(&now)) {
            prop_assert!(text(&back).contains(comment), "{comment}\n{}\n---\n{}", text(&now), text(&back));
        }
    }

    #[test]
    fn restoring_the_restored_gives_the_first_readings(now in picks(), then in picks()) {
        let (now, then) = (files(&now), files(&then));
        prop_assume!([&now, &then].into_iter().all(says_something_of_the_engine));
        let there = restore(&now, &then, None, &plan(&read(&now), &read(&then), &request("all")).unwrap()).unwrap();
        let back = restore(&there, &now, None, &plan(&read(&there), &read(&now), &request("all")).unwrap()).unwrap();
        prop_assert!(read(&back).fields.same_as(&read(&now).fields), "{}\n---\n{}", text(&now), text(&back));
    }

    #[test]
    fn what_is_not_put_back_is_said_and_left_alone(now in picks(), then in picks()) {
        let (now, then) = (files(&now), files(&then));
        let (before, target) = (read(&now), read(&then));
        let plan = plan(&before, &target, &RestoreRequest { fitted: Vec::new(), ..request("") }).unwrap();
        let after = read(&restore(&now, &then, None, &plan).unwrap());
        for change in compare(&before.fields, &target.fields).changes {
            let field = change.field.as_str();
            let put_back = plan.applied.iter().any(|applied| applied.field == field);
            let said = plan.still_different.iter().any(|still| field == still.field || field.starts_with(&format!("{}.", still.field)));
            let engine = plan.still_different.iter().any(|still| still.field == "engine");
            prop_assert!(put_back != said || engine, "{field}: {put_back} {said}");
            let expected = if put_back { &change.new } else { &change.old };
            let same = match (after.fields.get(field), expected) {
                (Some(found), Some(expected)) => found.same_as(expected),
                (None, None) => true,
                _ => false,
            };
            prop_assert!(same, "{field}");
        }
    }

    #[test]
    fn a_comparison_finds_nothing_in_itself_and_the_same_both_ways(a in picks(), b in picks()) {
        let (a, b) = (read(&files(&a)).fields, read(&files(&b)).fields);
        prop_assert!(compare(&a, &a).is_empty());
        let (there, back) = (compare(&a, &b), compare(&b, &a));
        prop_assert_eq!(there.sections(), back.sections());
        prop_assert_eq!(there.is_empty(), a.same_as(&b));
        for (there, back) in there.changes.iter().zip(&back.changes) {
            prop_assert_eq!(&there.field, &back.field);
            if let (Some(there), Some(back)) = (&there.difference, &back.difference) {
                prop_assert!(there.value * back.value <= 0.0);
            }
        }
    }

    #[test]
    fn one_assignment_changes_one_reading_and_no_other_line(picks in picks(), clip in 1..9_u32) {
        let before = files(&picks);
        let assignment = Assignment::parse(&format!("jetting.clip={clip}")).unwrap();
        let after = apply(&before, &[assignment], EditOptions::default()).unwrap();
        let changes = compare(&read(&before).fields, &read(&after).fields).changes;
        prop_assert!(changes.iter().all(|change| change.field == "jetting.clip"));
        let lines = |files: &SetupFiles| text(files).lines().filter(|line| !line.starts_with("clip")).map(str::to_owned).collect::<Vec<_>>();
        let kept: Vec<_> = lines(&after).into_iter().filter(|line| line != "[jetting]" && !line.is_empty()).collect();
        let had: Vec<_> = lines(&before).into_iter().filter(|line| line != "[jetting]" && !line.is_empty()).collect();
        prop_assert_eq!(kept, had);
    }
}
