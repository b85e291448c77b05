//! What `reedbook part` answers with `--json` is what `schema/answers/part-*.schema.json` says, and nothing beside it; and its
//! text holds the same figures.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;

use std::fs;
use std::path::Path;

use common::Shed;
use serde_json::{Value, json};

/// A field more, put into every object of a document: the schema must refuse each.
fn with_one_more(document: &Value) -> Vec<Value> {
    fn places(document: &Value, place: &str, found: &mut Vec<String>) {
        match document {
            Value::Object(fields) => {
                found.push(place.to_owned());
                fields.iter().for_each(|(name, value)| places(value, &format!("{place}/{name}"), found));
            }
            Value::Array(values) => {
                values
                    .iter()
                    .enumerate()
                    .for_each(|(at, value)| places(value, &format!("{place}/{at}"), found));
            }
            _ => {}
        }
    }
    let mut found = Vec::new();
    places(document, "", &mut found);
    let more = |place: &String| {
        let mut more = document.clone();
        more.pointer_mut(place).unwrap()["not_written_down"] = json!(1);
        more
    };
    found.iter().map(more).collect()
}

#[track_caller]
fn holds(name: &str, document: &Value) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("schema/answers/part-{name}.schema.json"));
    let schema: Value = serde_json::from_str(&fs::read_to_string(file).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let refused: Vec<_> =
        validator.iter_errors(document).map(|error| format!("{}: {error}", error.instance_path())).collect();
    assert!(refused.is_empty(), "{}\n{document:#}", refused.join("\n"));
    assert!(with_one_more(document).iter().all(|more| !validator.is_valid(more)), "{name} is open somewhere");
}

#[track_caller]
fn answer(shed: &Shed, name: &str, words: &[&str]) -> Value {
    let document = shed.json(words);
    holds(name, &document);
    document
}

/// A garage with a piston in moth's engine, one on the shelf, a worn ring and a crank of which nothing is known.
fn shed() -> Shed {
    let shed = Shed::new();
    let fit = ["--fit", "moth-engine", "--by", "Ana"];
    for words in [
        &["part", "add", "piston-1", "--kind", "piston", "--new", "--number", "P1"][..],
        &["part", "add", "ring-1", "--kind", "ring", "--hours", "7.9", "--change-by", "2026-08-01"],
        &["part", "add", "crank-1", "--kind", "crank"],
    ] {
        let added = answer(&shed, "done", &[words, &fit[..]].concat());
        assert_eq!(added["part"]["bike"], "moth");
    }
    let spare = answer(&shed, "done", &["part", "add", "ring-2", "--kind", "ring", "--new"]);
    assert_eq!((&spare["part"]["engine"], &spare["part"]["state"]), (&Value::Null, &json!("ok")));
    shed.run(&["outing", "add", "moth", "--hours", "0.05", "--date", "2026-05-16 10:00"]).done();
    shed
}

#[test]
fn every_deed_answers_with_the_part() {
    let shed = shed();
    let part = |words: &[&str]| answer(&shed, "done", &[&["part"], words].concat())["part"].clone();
    assert_eq!(part(&["inspect", "piston-1", "--hours", "3"])["count"]["hours"], json!(3.0));
    assert_eq!(part(&["ran", "piston-1", "30 min"])["count"]["hours"], json!(3.5));
    assert_eq!(part(&["move", "piston-1", "wasp-engine"])["bike"], "wasp");
    assert_eq!(part(&["remove", "piston-1"])["engine"], Value::Null);
    assert_eq!(part(&["fit", "piston-1", "moth-engine"])["engine"], "moth-engine");
    assert_eq!(part(&["edit", "piston-1", "change_after=3"])["state"], "overdue");
    assert_eq!(part(&["fail", "piston-1", "--how", "seized"])["gone"], "failed");
    let new = part(&["renew", "piston-1"]);
    assert_eq!((&new["gone"], &new["count"]["hours"]), (&Value::Null, &json!(0.0)));
    assert_eq!(part(&["retire", "piston-1"])["gone"], "retired");
    shed.assert_sound();
    shed.assert_clean();
}

#[test]
fn list_and_show() {
    let shed = shed();
    let listed = answer(&shed, "list", &["part", "list"]);
    let names: Vec<_> = listed["parts"].as_array().unwrap().iter().map(|part| part["part"].clone()).collect();
    assert_eq!(names, ["crank-1", "piston-1", "ring-1", "ring-2"]);
    answer(&shed, "done", &["part", "retire", "ring-1"]);
    let of_kind = answer(&shed, "list", &["part", "list", "--kind", "ring"]);
    assert_eq!((of_kind["parts"].as_array().unwrap().len(), &of_kind["left_out"]), (1, &json!(1)));
    let all = answer(&shed, "list", &["part", "list", "--kind", "ring", "--all"]);
    assert_eq!((all["parts"].as_array().unwrap().len(), &all["left_out"]), (2, &json!(0)));
    let of_engine = answer(&shed, "list", &["part", "list", "--engine", "wasp-engine"]);
    assert_eq!(of_engine["parts"], json!([]));
    let shown = answer(&shed, "show", &["part", "show", "ring-1"]);
    let did: Vec<_> = shown["history"].as_array().unwrap().iter().map(|event| event["did"].clone()).collect();
    assert_eq!(did, ["retired", "fitted"]);
    let limits = shown["part"]["limits"].as_array().unwrap();
    assert!(limits.iter().any(|limit| limit["source"] == "the part's own" && limit["day"] == "2026-08-01"));
    assert!(
        limits
            .iter()
            .any(|limit| limit["source"].as_str().unwrap().starts_with("configs/limits.toml, [parts.ring]"))
    );
}

#[test]
fn due() {
    let shed = shed();
    let due = answer(&shed, "due", &["part", "due"]);
    let states: Vec<_> = due["parts"].as_array().unwrap().iter().map(|part| part["state"].clone()).collect();
    assert_eq!(states, ["hours not known", "due soon", "ok"]);
    assert_eq!(due["take"][0]["not_known"], json!(["crank-1"]));
    shed.run(&["outing", "add", "moth", "--hours", "0.04", "--date", "2026-05-16 11:00", "--sure"]).done();
    let due = answer(&shed, "due", &["part", "due", "--next-event"]);
    assert_eq!(due["parts"][0]["state"], "not for another event");
    let want = &due["take"][0]["wants"][0];
    assert_eq!((&want["parts"], &want["engine"]), (&json!(["ring-1"]), &json!("moth-engine")));
    let asked = json!([{ "part": "ring-2", "asked": "fits", "words": null }]);
    assert_eq!((&want["spares"], &want["asked"]), (&json!([]), &asked));
    answer(&shed, "done", &["part", "edit", "ring-2", "--fits", "moth-engine"]);
    let known = answer(&shed, "due", &["part", "due", "--next-event"]);
    let want = &known["take"][0]["wants"][0];
    assert_eq!((&want["spares"][0]["part"], &want["asked"]), (&json!("ring-2"), &json!([])));
    assert_eq!((&due["events"][0]["hours"], &due["events"][0]["outings"]), (&json!(0.09), &json!(2)));
    let wasp = answer(&shed, "due", &["part", "due", "--bike", "wasp"]);
    assert_eq!((&wasp["parts"], &wasp["take"]), (&json!([]), &json!([])));
    shed.write("bikes/moth/outings/20260101-0000-0123456789ab.toml", "date = 5\n");
    let noted = answer(&shed, "due", &["part", "due"]);
    assert_eq!(noted["remarks"].as_array().unwrap().len(), 1);
}

#[test]
fn every_part_is_named_whole_within_the_screen() {
    let shed = Shed::new();
    let long = |last: &str| format!("a-main-bearing-with-a-very-long-name-{last}");
    for last in ["a", "b"] {
        let words =
            ["part", "add", &long(last), "--kind", "main-bearing", "--hours", "18.5", "--fit", "moth-engine"];
        shed.run(&words).done();
    }
    shed.run(&["outing", "add", "moth", "--hours", "0.5", "--date", "2026-05-16 10:00"]).done();
    shed.run(&["outing", "add", "moth", "--date", "2026-05-16 11:00", "--sure"]).done();
    for more in [&["-v"][..], &[]] {
        let text = shed.run(&[&["part", "due", "--all"], more].concat()).done().out;
        for last in ["a", "b"] {
            assert!(has_whole(&text, &long(last)), "{text}");
        }
        assert!(text.contains("at least 19"), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }
}

/// Whether the whole of a name stands in a text, on one line.
fn has_whole(text: &str, name: &str) -> bool {
    text.split_whitespace().any(|word| word.trim_matches(|c: char| "(),:.".contains(c)) == name)
}

#[test]
fn no_name_is_broken_or_cut_however_long_it_is() {
    let shed = Shed::new();
    for length in 8..=40 {
        let name = format!("{:x<1$}9", "p", length - 1);
        let words =
            ["part", "add", &name, "--kind", "main-bearing", "--hours", "18.5", "--fit", "moth-engine"];
        shed.run(&words).done();
        for more in [&["-v"][..], &[]] {
            let text = shed.run(&[&["part", "due", "--all"], more].concat()).done().out;
            assert!(has_whole(&text, &name), "{name}:\n{text}");
            assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        }
        shed.run(&["part", "retire", &name]).done();
    }
}

#[test]
fn the_widest_figures_fit_beside_the_longest_names() {
    let shed = Shed::new();
    let name = "a-big-end-bearing-with-a-very-long-name9";
    let add = ["--kind", "a-kind-with-a-rather-long-name", "--hours", "9", "--starts", "1000"];
    shed.run(
        &[&["part", "add", name, "--change-after-starts", "40", "--fit", "moth-engine"], &add[..]].concat(),
    )
    .done();
    shed.run(&["part", "ran", name, "1 h"]).done();
    for (more, figures) in [(&["-v"][..], "at least 960 over"), (&[], "at least 960 past its 40 starts")] {
        let text = shed.run(&[&["part", "due"], more].concat()).done().out;
        assert!(text.contains(name), "{text}");
        assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(figures), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }
}
