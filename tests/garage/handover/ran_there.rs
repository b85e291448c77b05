//! How what is handed over ran where it comes from: the file says it, and whoever takes it in is told until it ran right with them.

use serde_json::Value;

use super::engine::{carlas, carlas_garage, commit_all, on};
use super::full_of_values;
use crate::common::{Shed, in_a_line};

const AIR: [&str; 6] = ["--temp", "20", "--baro", "990", "--humidity", "50"];

fn run_on(shed: &Shed, day: &str, bike: &str, words: &[&str]) {
    let words: Vec<&str> = ["outing", "add", bike].iter().chain(words).chain(&AIR).copied().collect();
    shed.run_on(day, &words).done();
}

/// A file under a hash that fits.
fn sealed(shed: &Shed, body: &str) {
    shed.write("body", body);
    let hash = shed.git(&["hash-object", "body"]);
    shed.write("other.toml", format!("# content: {}\n{body}", hash.trim()));
}

#[test]
fn what_seized_where_it_comes_from_is_said_first_and_refused_and_stays_said_until_it_ran_right() {
    let shed = Shed::new();
    full_of_values(&shed, 21);
    run_on(&shed, "2026-05-17T10:00+02:00", "moth", &["full=lean", "--note", "seized"]);
    shed.run(&["handover", "moth", "latest", "--only", "jetting,fuel", "--out", "map.toml"]).done();
    let seized = "It seized on this where it comes from, on 2026-05-17";
    for words in [vec!["handover", "read", "map.toml"], vec!["handover", "read", "map.toml", "wasp"]] {
        let said = in_a_line(&shed.run(&words).done().out);
        let first = said.split("!! ").nth(1).unwrap_or_default();
        assert!(first.starts_with(seized), "{said}");
        let said = shed.json(&words);
        assert!(said["said_there"][0].as_str().unwrap().starts_with(seized), "{said:#}");
    }
    let take = ["handover", "read", "map.toml", "wasp", "--take", "--sure"];
    let refused = in_a_line(&shed.run(&take).refused());
    assert!(refused.contains(seized) && refused.contains("--despite"), "{refused}");
    assert_eq!(shed.setups("wasp").len(), 1);
    let taken: Vec<&str> = take.iter().copied().chain(["--despite", "for the bench"]).collect();
    let said = in_a_line(&shed.run(&taken).done().out);
    assert!(said.split("!! ").nth(1).unwrap_or_default().starts_with(seized), "{said}");
    let now = || in_a_line(&shed.run(&["now", "wasp"]).done().out);
    assert!(now().contains(seized), "{}", now());
    // Other jets are not those that were on it before.
    shed.run(&["change", "wasp", "gearing.rear=50", "--why", "taller"]).done();
    assert!(now().contains(seized), "{}", now());
    run_on(&shed, "2026-05-18T10:00+02:00", "wasp", &["full=right"]);
    assert!(!now().contains(seized), "{}", now());
}

#[test]
fn what_was_handed_over_and_taken_back_is_said_no_more() {
    let shed = Shed::new();
    full_of_values(&shed, 22);
    run_on(&shed, "2026-05-17T10:00+02:00", "moth", &["full=lean"]);
    shed.run(&["handover", "moth", "latest", "--only", "jetting", "--out", "map.toml"]).done();
    shed.run(&["handover", "read", "map.toml", "wasp", "--take", "--sure", "--despite", "a try"]).done();
    let now = || in_a_line(&shed.run(&["now", "wasp"]).done().out);
    assert!(now().contains("It ran lean on this where it comes from"), "{}", now());
    shed.run(&["rollback", "wasp", "1", "--despite", "as it was"]).done();
    assert!(!now().contains("where it comes from"), "{}", now());
}

/// A setup that is vouched for was slightly lean at half throttle in its newest run there.
#[test]
fn a_setup_that_was_lean_at_less_throttle_is_handed_over_with_that() {
    let shed = Shed::new();
    full_of_values(&shed, 23);
    run_on(&shed, "2026-05-17T10:00+02:00", "moth", &["full=right", "1/2=slightly-lean"]);
    let half = "It was slightly lean at half throttle on this where it comes from, on 2026-05-17";
    let said =
        in_a_line(&shed.run(&["handover", "moth", "--only", "jetting", "--out", "map.toml"]).done().out);
    assert!(said.contains("Proven there") && said.contains(&format!("!! {half}")), "{said}");
    assert!(shed.read("map.toml").contains(half));
    let said = in_a_line(&shed.run(&["handover", "read", "map.toml"]).done().out);
    assert!(said.contains(&format!("!! {half}")), "{said}");
    // It is no reason to refuse it, and it was right there later.
    run_on(&shed, "2026-05-18T10:00+02:00", "moth", &["1/2=right"]);
    shed.run(&["handover", "moth", "--only", "jetting", "--out", "later.toml"]).done();
    assert!(!shed.read("later.toml").contains("half throttle"), "{}", shed.read("later.toml"));
}

/// What a stranger wrote into the file is told as theirs, and cannot move the cursor or fill the screen.
#[test]
fn cautions_of_a_stranger_are_quoted_and_cut() {
    let shed = Shed::new();
    full_of_values(&shed, 24);
    shed.run(&["handover", "moth", "--only", "jetting", "--out", "map.toml"]).done();
    let body = shed.read("map.toml").split_once('\n').unwrap().1.to_owned();
    let long = "x".repeat(4000);
    sealed(
        &shed,
        &body.replacen("cautions = [", &format!("cautions = [\"All is well\\u001b[2J\", \"{long}\", "), 1),
    );
    let said = shed.run(&["handover", "read", "other.toml"]).done().out;
    assert!(
        in_a_line(&said).contains("!! Its file says: \"All is well") && !said.contains('\u{1b}'),
        "{said}"
    );
    assert!(said.len() < 4000, "{said}");
    sealed(
        &shed,
        &body
            .replacen("cautions = [", "cautions = [] # [", 1)
            .lines()
            .filter(|line| !line.starts_with("    \"") && *line != "]")
            .collect::<Vec<_>>()
            .join("\n"),
    );
    let said = in_a_line(&shed.run(&["handover", "read", "other.toml"]).done().out);
    assert!(said.contains("!! It was run on another engine"), "{said}");
}

/// That an engine seized is nobody's secret: the file says it whatever is chosen, and it holds where the engine is.
#[test]
fn an_engine_that_seized_is_handed_over_with_that_whatever_is_chosen() {
    for sections in ["builds,parts,hours", "parts", "hours", "outings", "outings,notes"] {
        let shed = Shed::new();
        full_of_values(&shed, 25);
        shed.write("parts/ring-1.toml", "kind = \"ring\"\npast_hours = 0\n\n[events.a]\ndate = \"2026-05-01T10:00+02:00\"\ndid = \"fitted\"\nengine = \"moth-engine\"\n");
        run_on(
            &shed,
            "2026-05-17T10:00+02:00",
            "moth",
            &["full=lean", "--note", "seized solid at Tarn", "--hours", "0.2"],
        );
        let words = ["handover", "engine", "moth-engine", "--only", sections, "--out", "engine.toml"];
        let said = in_a_line(&shed.run(&words).done().out);
        assert!(said.contains("!! moth-engine seized on 2026-05-17"), "{sections}: {said}");
        assert_eq!(shed.read("engine.toml").contains("Tarn"), sections.contains("notes"), "{sections}");
        let said = in_a_line(&shed.run(&["handover", "read", "engine.toml"]).done().out);
        assert!(said.contains("!! moth-engine seized on 2026-05-17"), "{sections}: {said}");

        let theirs = Shed::new();
        theirs.write("engine.toml", shed.read("engine.toml"));
        let take = ["handover", "read", "engine.toml", "wasp", "--take", "--sure", "--setup", "1"];
        theirs.run_on("2026-05-18T10:00+02:00", &take).done();
        let now = in_a_line(&theirs.run_on("2026-05-18T11:00+02:00", &["now", "wasp"]).done().out);
        assert!(now.contains("seized") && now.contains("!!"), "{sections}: {now}");
    }
}

/// What was lean at half throttle there is lean at half throttle here, and at no other.
#[test]
fn half_throttle_lean_at_the_owners_is_not_full_throttle_lean_here() {
    let shed = Shed::new();
    let hers = carlas_garage(&shed);
    let ran = ["outing", "add", "redbike", "full=right", "1/2=lean", "--hours", "0.5 h"];
    on(&shed, &hers, "2026-05-21T09:00+02:00", &ran).done();
    let file = shed.above().join("back.toml").to_string_lossy().into_owned();
    let words = ["handover", "engine", "redbike-engine", "--only", "hours,outings", "--out", &file];
    on(&shed, &hers, "2026-05-21T10:00+02:00", &words).done();
    let day = "2026-05-22T10:00+02:00";
    shed.run_on(day, &["handover", "read", &file, "moth", "--take", "--sure"]).done();
    let run = shed.json(&["outing", "show", "moth"]);
    let verdict = &run["verdict"];
    assert_eq!((&verdict["half"], &verdict["full"]), (&"lean".into(), &Value::Null), "{run:#}");
    assert!(run["notes"].as_str().unwrap().contains("full right. half lean"), "{run:#}");
    let now = in_a_line(&shed.run_on(day, &["now", "moth"]).done().out);
    assert!(now.contains("last run setup 1 | 2026-05-21 09:00 | 1/2 lean |"), "{now}");
    assert!(!now.contains("run of 2026-05-21"), "{now}");
}

/// What was found of a part after it came out is told, and that it seized whatever its words say besides.
#[test]
fn a_part_that_failed_after_it_came_out_is_handed_over_as_failed() {
    let shed = Shed::new();
    carlas(&shed, 9);
    shed.write(
        "parts/piston-2.toml",
        "kind = \"piston\"\npast_hours = 0\n\n[events.a]\ndate = \"2026-04-20T10:00+02:00\"\ndid = \"fitted\"\nengine = \"moth-engine\"\n\n[events.b]\ndate = \"2026-05-01T09:00+02:00\"\ndid = \"removed\"\n\n[events.c]\ndate = \"2026-05-02T09:00+02:00\"\ndid = \"failed\"\nhow = \"seized, the port was at 26.84213\"\n",
    );
    commit_all(&shed);
    let said = shed.run_on("2026-05-17T10:00+02:00", &["handover", "engine", "moth-engine"]).done().out;
    assert!(in_a_line(&said).contains("out: failed 2026-05-02: It seized."), "{said}");
    assert!(!shed.read("moth-engine.handover.toml").contains("26.84213"));
}
