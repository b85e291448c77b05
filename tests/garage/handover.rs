//! A map handed over, and not the port work: what is not chosen is not in the file in any form.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

mod engine;
mod ran_there;
mod sealed;

use std::fs;

use jsonschema::validator_for;
use reedbook::notebook::{Handover, SECTIONS};
use serde_json::Value;

use crate::common::{Shed, in_a_line, setup_file};

/// The moth with a value of its own in every section; gives those values by section.
pub(crate) fn full_of_values(shed: &Shed, seed: u64) -> Vec<(&'static str, Vec<String>)> {
    let mut random = fastrand::Rng::with_seed(seed);
    let mut digits =
        |from: u32, to: u32| format!("{}.{:05}7", random.u32(from..to), random.u32(10_001..99_999));
    let (bore, stroke, rod, top) = (digits(50, 56), digits(50, 56), digits(100, 120), digits(24, 28));
    let (chamber, base, header) = (digits(7, 12), digits(13, 18), digits(20, 40));
    let (main, pilot) = (digits(160, 180), digits(40, 60));
    // Words have digits of their own: none of them may stand for a value.
    let mut word = |tag: &str| format!("{tag}x{}", digits(100, 999).replace('.', "q"));
    let (engine_note, note, extra, fuel) = (word("en"), word("nt"), word("xt"), word("fu"));
    let (why, said) = (word("why"), word("said"));
    shed.write(
        "engines/moth-engine/engine.toml",
        format!(
            "engine_notes = \"{engine_note}\"\n[engine]\nbore = {bore}\nstroke = {stroke}\nrod = {rod}\n\n[ports.windows.exhaust]\nkind = \"exhaust\"\ntop = \"{top} mm\"\n\n[head]\nchamber_volume = \"{chamber} cc\"\n"
        ),
    );
    shed.write(
        &setup_file("moth"),
        format!(
            "engine = \"moth-engine\"\nnotes = \"{note}\"\n\n[ignition]\nbase = {base}\n\n[jetting]\nmain = {main}\nmain_numbered_by = \"bore\"\npilot = {pilot}\npilot_numbered_by = \"bore\"\n\n[pipe.sections.header]\nplace = 1\nlength = \"{header} mm\"\n\n[fuel]\nname = \"{fuel}\"\n\n[gearing]\nfront = 15\nrear = 43\n\n[extra]\nseat = \"{extra}\"\n"
        ),
    );
    shed.git(&["commit", "-q", "-a", "-m", &format!("{why}\n\nports {top}, chamber {chamber}")]);
    shed.run(&[
        "outing",
        "add",
        "moth",
        "full=right",
        "--note",
        &said,
        "--place",
        "Teal Pass",
        "--temp",
        "20",
        "--baro",
        "990",
        "--humidity",
        "50",
    ])
    .done();
    shed.run(&["proven", "moth", "--why", &why]).done();
    vec![
        ("engine", vec![bore, stroke, rod]),
        ("ports", vec![top]),
        ("head", vec![chamber]),
        ("ignition", vec![base]),
        ("jetting", vec![main, pilot]),
        ("pipe", vec![header]),
        ("fuel", vec![fuel]),
        ("gearing", vec!["rear\" = \"43".into()]),
        ("extra", vec![extra]),
        ("notes", vec![engine_note, note]),
        ("reasons", vec![why, said, "Teal Pass".into(), "moth-engine".into()]),
    ]
}

#[test]
fn what_is_not_chosen_is_in_the_file_in_no_form() {
    for seed in 1..=3 {
        let shed = Shed::new();
        let values = full_of_values(&shed, seed);
        assert_eq!(shed.run(&["garage", "check"]).code, Some(0), "{}", shed.run(&["garage", "check"]).out);
        let mut random = fastrand::Rng::with_seed(seed);
        for turn in 0..4 {
            let chosen: Vec<&str> = SECTIONS.into_iter().filter(|_| random.bool()).collect();
            let chosen = if chosen.is_empty() { vec!["ignition"] } else { chosen };
            let omitted: Vec<&str> =
                SECTIONS.into_iter().filter(|section| !chosen.contains(section)).collect();
            let file = format!("out-{turn}.toml");
            let (option, sections) =
                if turn % 2 == 0 { ("--only", chosen.join(",")) } else { ("--omit", omitted.join(",")) };
            // Words may tell of what is left out: they go where they are asked for by name.
            let words = |section: &&str| turn % 2 == 0 || !["extra", "notes"].contains(section);
            let chosen: Vec<&str> = chosen.into_iter().filter(words).collect();
            if sections.is_empty() || chosen.is_empty() || chosen == ["injection"] {
                continue;
            }
            shed.run(&["handover", "moth", "latest", option, &sections, "--out", &file]).done();
            let text = shed.read(&file);
            for (section, values) in &values {
                for value in values {
                    let is_in = text.contains(value.as_str());
                    let digits: String = value.chars().filter(char::is_ascii_digit).collect();
                    if chosen.contains(section) {
                        assert!(is_in, "{section} was chosen, and {value} is not in it:\n{text}");
                    } else {
                        assert!(!is_in, "{section} was not chosen, and {value} is in it:\n{text}");
                        let hidden = digits.len() > 6
                            && text.replace(|c: char| !c.is_ascii_digit(), "").contains(&digits);
                        assert!(
                            !hidden,
                            "{section} was not chosen, and {value} is in it in another form:\n{text}"
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn a_handover_keeps_to_its_schema_and_says_what_the_missing_sections_mean() {
    let shed = Shed::new();
    full_of_values(&shed, 7);
    let said = shed.run(&["handover", "moth", "--only", "ignition,jetting", "--out", "map.toml"]).done().out;
    for wanted in ["!!", "seize", "ports", "Not in it", "Proven there"] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    let text = shed.read("map.toml");
    let document: Value = serde_json::to_value(text.parse::<toml::Table>().unwrap()).unwrap();
    let validator = validator_for(&Handover::schema()).unwrap();
    let errors: Vec<_> = validator.iter_errors(&document).map(|error| error.to_string()).collect();
    assert!(errors.is_empty(), "{errors:?}");
    let body = text.split_once('\n').unwrap().1;
    shed.write("body", body);
    let hash = shed.git(&["hash-object", "body"]);
    assert_eq!(text.lines().next().unwrap(), format!("# content: {}", hash.trim()));

    let there = shed.run(&["handover", "moth", "--only", "jetting", "--out", "map.toml"]).refused();
    assert!(there.contains("is there already"), "{there}");
    let unsaid = shed.run(&["handover", "moth"]).refused();
    assert!(unsaid.contains("which sections"), "{unsaid}");
    let unknown = shed.run(&["handover", "moth", "--only", "carb"]).refused();
    assert!(unknown.contains("no section \"carb\""), "{unknown}");
}

#[test]
fn a_handover_is_held_against_a_bike_and_taken_in_with_its_origin() {
    let shed = Shed::new();
    full_of_values(&shed, 9);
    shed.run(&["handover", "moth", "--only", "ignition,jetting,head", "--out", "map.toml"]).done();
    let seen = shed.json(&["handover", "read", "map.toml", "wasp"]);
    let fields: Vec<_> =
        seen["rows"].as_array().unwrap().iter().map(|row| row["field"].as_str().unwrap()).collect();
    assert!(fields.contains(&"jetting.main") && fields.contains(&"ignition.base"), "{seen:#}");
    let before = shed.story("wasp");
    let done = shed
        .run(&["handover", "read", "map.toml", "wasp", "--take", "--sure", "--despite", "it is rich there"])
        .done()
        .out;
    assert!(done.contains("taken in, recorded as setup 2") && done.contains("seize"), "{done}");
    let story = shed.story("wasp");
    assert_eq!(story.len(), before.len() + 1);
    assert!(story[1].contains("Handed over by Ana") && story[1].contains("moth setup 2"), "{story:?}");
    let (moth, wasp) = (shed.read(&setup_file("moth")), shed.read(&setup_file("wasp")));
    let line = |text: &str, name: &str| {
        text.lines().find(|line| line.starts_with(name)).unwrap().split('#').next().unwrap().trim().to_owned()
    };
    let bare = |line: String| line.replace(['"'], "").replace(" deg", "");
    for name in ["main = ", "pilot = ", "base = "] {
        assert_eq!(bare(line(&moth, name)), bare(line(&wasp, name)));
    }
    assert!(
        !fs::read_to_string(shed.root().join("engines/wasp-engine/engine.toml"))
            .unwrap()
            .lines()
            .any(|line| line.starts_with("chamber_volume")),
        "metal came by a command"
    );
    shed.assert_sound();
}

/// A bike that never ran has somebody else's map no more on it than one that ran: all of it is to be done.
#[test]
fn what_was_taken_in_is_to_be_done_at_a_bike_that_never_ran() {
    let shed = Shed::new();
    full_of_values(&shed, 13);
    shed.run(&["handover", "moth", "--only", "ignition,jetting,gearing,pipe,fuel", "--out", "map.toml"])
        .done();
    shed.run(&["bike", "new", "gnat"]).done();
    let take = ["handover", "read", "map.toml", "gnat", "--take", "--sure", "--despite", "a try"];
    let refused = in_a_line(&shed.run(&take).refused());
    assert!(refused.contains("Nothing is recorded of gnat yet"), "{refused}");
    shed.run(&["change", "gnat", "jetting.clip=2", "--why", "all that is known"]).done();
    shed.run(&take).done();
    let jobs = in_a_line(&shed.run(&["job", "gnat"]).done().out);
    for wanted in ["main", "pilot", "ignition base", "front sprocket", "fuel"] {
        assert!(jobs.contains(wanted), "{wanted}: {jobs}");
    }
    // What is typed of one's own bike afterwards is on it.
    shed.run(&["change", "gnat", "jetting.needle=\"n9\"", "--why", "read off"]).done();
    let jobs = in_a_line(&shed.run(&["job", "gnat"]).done().out);
    assert!(!jobs.contains("n9") && jobs.contains("front sprocket"), "{jobs}");
}

/// What somebody wrote about their own engine is not replaced by what somebody else wrote about theirs.
#[test]
fn notes_come_as_words_of_the_reason_and_overwrite_nothing() {
    let shed = Shed::new();
    full_of_values(&shed, 10);
    let text = shed.read(&setup_file("wasp"));
    let text =
        text.replace("\n[ignition]", "notes = \"my own\"\n\n[ignition]") + "\n[extra]\nhis = \"own too\"\n";
    shed.write(&setup_file("wasp"), text);
    shed.write("engines/wasp-engine/engine.toml", "engine_notes = \"crank welded, never above 11000\"\n");
    shed.run(&["change", "wasp", "--why", "noted"]).done();
    shed.run(&["handover", "moth", "--only", "jetting,extra,notes", "--out", "map.toml"]).done();
    let handed = shed.json(&["handover", "read", "map.toml"]);
    let theirs = handed["values"].as_array().unwrap().iter();
    let theirs = theirs.filter(|value| value["field"].as_str().unwrap().ends_with("notes"));
    let theirs: Vec<&str> = theirs.map(|value| value["text"].as_str().unwrap()).collect();
    assert_eq!(theirs.len(), 2, "{handed:#}");
    let read = shed.run(&["handover", "read", "map.toml", "wasp"]).done().out;
    assert!(read.contains("yours stays"), "{read}");
    shed.run(&["handover", "read", "map.toml", "wasp", "--take", "--sure", "--despite", "it is rich there"])
        .done();
    let (setup, engine) = (shed.read(&setup_file("wasp")), shed.read("engines/wasp-engine/engine.toml"));
    assert!(setup.contains("my own") && setup.contains("own too") && setup.contains("seat = "), "{setup}");
    assert!(engine.contains("never above 11000"), "{engine}");
    let reason = shed.git(&["log", "-1", "--format=%B"]);
    assert!(theirs.iter().all(|note| reason.contains(note)), "{reason}");
}

#[test]
fn a_handover_of_a_newer_program_is_read_as_far_as_it_is_known_or_refused() {
    let shed = Shed::new();
    full_of_values(&shed, 12);
    shed.run(&["handover", "moth", "--only", "ignition,jetting", "--out", "map.toml"]).done();
    let body = shed.read("map.toml").split_once('\n').unwrap().1.to_owned();
    let write = |body: &str| {
        shed.write("body", body);
        let hash = shed.git(&["hash-object", "body"]);
        shed.write("newer.toml", format!("# content: {}\n{body}", hash.trim()));
    };
    write(&body.replace("handover = 1", "handover = 0"));
    let refused = in_a_line(&shed.run(&["handover", "read", "newer.toml"]).refused());
    assert!(refused.contains("has version 0, which there never was"), "{refused}");
    write(&body.replace("handover = 1", "handover = 2"));
    let refused = in_a_line(&shed.run(&["handover", "read", "newer.toml"]).refused());
    assert!(refused.contains("has version 2; this program knows version 1"), "{refused}");
    assert!(refused.contains("newer reedbook"), "{refused}");
    let before = shed.files();
    write(&body.replace("\"jetting.main\"", "\"jetting.accelerator_pump\" = \"35\"\n\"jetting.main\""));
    let read = shed.run(&["handover", "read", "newer.toml"]).done().out;
    assert!(read.contains("jetting.accelerator_pump = 35"), "{read}");
    let words =
        ["handover", "read", "newer.toml", "wasp", "--take", "--sure", "--despite", "it is rich there"];
    let refused = in_a_line(&shed.run(&words).refused());
    assert!(refused.contains("accelerator_pump"), "{refused}");
    shed.write("body", "");
    assert_eq!(shed.setups("wasp").len(), 1, "{refused}");
    assert_eq!(shed.read(&setup_file("wasp")).as_bytes(), before[&shed.root().join(setup_file("wasp"))]);
}

#[test]
fn a_handover_that_was_changed_or_is_none_is_refused() {
    let shed = Shed::new();
    full_of_values(&shed, 11);
    shed.run(&["handover", "moth", "--only", "ignition", "--out", "map.toml"]).done();
    let text = shed.read("map.toml");
    shed.write("map.toml", text.replacen("\"ignition.base\" = \"1", "\"ignition.base\" = \"2", 1));
    assert_ne!(shed.read("map.toml"), text);
    let refused = shed.run(&["handover", "read", "map.toml"]).refused();
    assert!(refused.contains("changed after it was handed over"), "{refused}");
    shed.write("map.toml", "hello\n");
    let refused = shed.run(&["handover", "read", "map.toml"]).refused();
    assert!(refused.contains("is no handover"), "{refused}");
    shed.write("map.toml", vec![b'#'; 7 * 1024 * 1024]);
    let refused = shed.run(&["handover", "read", "map.toml"]).refused();
    assert!(refused.contains("larger than a handover"), "{refused}");

    // A field of a section that is not named in it, with a hash that fits.
    let body = text.split_once('\n').unwrap().1.replace("\"ignition.base\"", "\"ports.windows.exhaust.top\"");
    shed.write("body", &body);
    let hash = shed.git(&["hash-object", "body"]);
    shed.write("map.toml", format!("# content: {}\n{body}", hash.trim()));
    let refused = in_a_line(&shed.run(&["handover", "read", "map.toml"]).refused());
    assert!(refused.contains("of a section that it does not name"), "{refused}");
}
