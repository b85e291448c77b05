//! What is noted on a phone comes home once, or is refused at its line.

use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};

use super::{MADE, NOW, done, flat, garage, page, refused};
use crate::common::Shed;

/// A file of notes for a garage.
pub(super) fn notes(garage: &Path, notes: &[Value]) -> Value {
    let first = Command::new("git")
        .args(["rev-list", "--max-parents=0", "HEAD"])
        .current_dir(garage)
        .output()
        .unwrap();
    let first = String::from_utf8(first.stdout).unwrap().trim().to_owned();
    json!({ "phone_notes": 1, "garage": first, "made": MADE, "written": "2026-11-28T17:00:00+00:00", "notes": notes })
}

fn outing(id: &str, time: &str, outing: &Value) -> Value {
    json!({ "id": id, "bike": "moth", "date": format!("2026-11-28T{time}:00+00:00"), "outing": outing })
}

pub(super) fn write(garage: &Path, notes: &Value) -> &'static str {
    let lines: Vec<String> = notes["notes"].as_array().unwrap().iter().map(ToString::to_string).collect();
    let mut head = notes.clone();
    head["notes"] = json!([]);
    let text = head.to_string().replace("\"notes\":[]", &format!("\"notes\":[\n{}\n]", lines.join(",\n")));
    fs::write(garage.join("notes.json"), text).unwrap();
    "notes.json"
}

fn air() -> Value {
    json!({ "temp": "18 C", "baro": "1002 hPa", "humidity": "60 %" })
}

#[test]
fn notes_come_home_once_and_nothing_is_written_over() {
    // A bike with one run: its page is made at once.
    let shed = Shed::new();
    let garage = shed.root();
    done(&garage, &["outing", "add", "moth", "full=right", "--sure", "--date", "2026-11-27 10:00"]);
    done(&garage, &["change", "moth", "jetting.main=180", "--why", "one up"]);
    let (_, data) = page(&garage, &["moth"]);
    let job = data["bikes"][0]["jobs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|job| job["field"] == "jetting.main")
        .unwrap();
    let tick = json!({ "number": job["number"], "field": "jetting.main", "what": job["what"], "done": true });
    let all = [
        json!({ "id": "aaaaaaaaaa01", "bike": "moth", "date": "2026-11-28T18:00:30+00:00", "tick": tick }),
        json!({ "id": "aaaaaaaaaa02", "bike": "moth", "date": "2026-11-28T18:00:40+00:00",
            "outing": { "place": "Hollinmoss", "session": "heat 1", "hours": "12 min", "lap": "1:20.4", "plug": "tan",
                "notes": "<b>pulls</b>", "air": air(), "verdict": { "full": "right", "half": "slightly-rich" } } }),
    ];
    let mut file = notes(&garage, &all);
    file["made"] = json!(NOW);
    let words = ["outing", "import", write(&garage, &file), "--json"];
    let first: Value = serde_json::from_str(&done(&garage, &words)).unwrap();
    assert_eq!(first["logged"][0]["outing"]["id"], "aaaaaaaaaa02");
    assert_eq!(first["ticks"][0]["came"], "ticked");
    let shown = done(&garage, &["outing", "show", "moth", "aaaaaaaaaa02", "--json"]);
    let shown: Value = serde_json::from_str(&shown).unwrap();
    assert!(
        shown.to_string().contains("<b>pulls</b>") && !shown.to_string().contains("doubted\":[\"setup"),
        "{shown}"
    );
    // The same again, with a line that was changed in between: nothing is logged, and what differs is said.
    file["notes"][1]["outing"]["lap"] = json!("1:19.0");
    write(&garage, &file);
    let again: Value = serde_json::from_str(&done(&garage, &words)).unwrap();
    assert_eq!((&again["logged"], &again["known"][0]["differs"]), (&json!([]), &json!(["lap"])));
    assert_eq!(again["ticks"][0]["came"], "already");
    assert!(done(&garage, &["outing", "show", "moth", "aaaaaaaaaa02"]).contains("1:20.4"));
}

#[test]
fn a_job_that_is_none_any_more_is_said_and_not_ticked() {
    let (_folder, garage) = garage();
    let tick = json!({ "number": 1, "field": "jetting.main", "what": "main 999 → 998", "done": true });
    let all =
        [json!({ "id": "bbbbbbbbbb01", "bike": "moth", "date": "2026-11-28T12:00:00+00:00", "tick": tick })];
    let words = ["outing", "import", write(&garage, &notes(&garage, &all))];
    let said = flat(&done(&garage, &words));
    assert!(said.contains("nothing new") && said.contains("is not to be done any more"), "{said}");
}

#[test]
fn what_is_doubted_is_asked_as_of_an_outing_that_is_typed() {
    let (_folder, garage) = garage();
    let hot = json!({ "temp": "55 C", "baro": "1002 hPa", "humidity": "30 %" });
    let all = [outing("cccccccccc01", "12:00", &json!({ "verdict": { "full": "right" }, "air": hot }))];
    let words = ["outing", "import", write(&garage, &notes(&garage, &all))];
    let asked = refused(&garage, &words);
    assert!(asked.contains("55 C in the shade") && asked.contains("--sure"), "{asked}");
    done(&garage, &[&words[..], &["--sure"]].concat());
    // A page that showed another setup than the newest of that moment.
    let mut note = outing("cccccccccc02", "13:00", &json!({ "verdict": { "full": "right" } }));
    note["setup"] = json!("000000000000");
    write(&garage, &notes(&garage, &[note]));
    let asked = refused(&garage, &words);
    assert!(asked.contains("The page showed a setup that is not here"), "{asked}");
}

#[test]
fn bad_notes_are_refused_each_at_its_line_and_nothing_is_recorded() {
    let (_folder, garage) = garage();
    let head = || fs::read(garage.join(".git/refs/heads/main")).unwrap();
    let before = head();
    let right = json!({ "verdict": { "full": "right" } });
    let sound = outing("dddddddddd01", "12:00", &right);
    let wrong = |note: Value| {
        refused(&garage, &["outing", "import", write(&garage, &notes(&garage, &[sound.clone(), note]))])
    };
    let edited = |field: &str, value: Value| {
        let mut note = outing("dddddddddd02", "13:30", &right);
        note[field] = value;
        wrong(note)
    };
    for (said, line) in [
        (edited("date", json!("2027-11-28T12:00:00+00:00")), "lies in the future"),
        (edited("date", json!("2026-11-30T12:00:00+00:00")), "the phone's clock stands ahead"),
        (edited("outing", json!({ "verdict": { "full": "leen" } })), "\"leen\" is none of"),
        (edited("date", json!("2016-11-28T12:00:00+00:00")), "the phone's clock was wrong"),
        (edited("date", json!("yesterday")), "cannot be read"),
        (edited("id", json!("dddddddddd01")), "Two notes are dddddddddd01"),
        (edited("id", json!("../../x")), "is no identity"),
        (edited("bike", json!("../moth")), "There is no bike"),
        (edited("bike", json!("vole")), "There is no bike \"vole\""),
        (edited("outing", json!({ "verdict": { "full": "bright" } })), "bright"),
        (edited("outing", json!({ "hours": "12 apples" })), "hours"),
        (edited("outing", json!({ "air": { "temp": "18 C" } })), "missing"),
        (edited("outing", json!({ "setup": "4495df170e83" })), "unknown field"),
        (edited("tick", json!({ "number": 1, "what": "x", "done": true })), "either an outing or the tick"),
    ] {
        assert!(said.contains(line), "{line}: {said}");
        assert!(said.contains("notes.json, line"), "{line}: {said}");
    }
    let whole = |change: &dyn Fn(&mut Value)| {
        let mut file = notes(&garage, std::slice::from_ref(&sound));
        change(&mut file);
        refused(&garage, &["outing", "import", write(&garage, &file)])
    };
    let other = whole(&|file| file["garage"] = json!("0".repeat(40)));
    assert!(other.contains("another garage"), "{other}");
    let newer = whole(&|file| file["phone_notes"] = json!(2));
    assert!(newer.contains("has version 2") || newer.contains("have version 2"), "{newer}");
    write(&garage, &notes(&garage, std::slice::from_ref(&sound)));
    let text = fs::read_to_string(garage.join("notes.json")).unwrap();
    fs::write(garage.join("cut.json"), &text[..text.len() / 2]).unwrap();
    assert!(refused(&garage, &["outing", "import", "cut.json"]).contains("ends in the middle of a note"));
    fs::write(garage.join("cut.json"), "{\"a\": nonsense}").unwrap();
    assert!(refused(&garage, &["outing", "import", "cut.json"]).contains("no JSON here"));
    fs::write(garage.join("cut.json"), "[]").unwrap();
    assert!(refused(&garage, &["outing", "import", "cut.json"]).contains("no notes of a phone"));
    let many: Vec<Value> =
        (0..1_001).map(|at| outing(&format!("eeeeeeee{at:04x}"), "12:00", &right)).collect();
    let said = refused(&garage, &["outing", "import", write(&garage, &notes(&garage, &many))]);
    assert!(said.contains("1001 notes") && said.contains("1000"), "{said}");
    assert_eq!(head(), before);
}

#[test]
fn a_run_that_another_phone_logged_is_left_out_and_the_rest_comes_home() {
    let shed = Shed::new();
    let garage = shed.root();
    let at = ["--date", "2026-11-28 12:00", "--place", "Hollinmoss", "--session", "practice 1", "--sure"];
    done(&garage, &[&["outing", "add", "moth", "full=right"][..], &at].concat());
    let here = |verdict: &str, more: Value| {
        let mut one =
            json!({ "place": "Hollinmoss", "session": "practice 1", "verdict": { "full": verdict } });
        one.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        one
    };
    let mut wasp =
        outing("a1a1a1a1a102", "12:30", &json!({ "notes": "seized", "verdict": { "full": "lean" } }));
    wasp["bike"] = json!("wasp");
    let twice = outing("a1a1a1a1a101", "12:10", &here("slightly-lean", json!({})));
    let doubted = outing(
        "a1a1a1a1a103",
        "14:00",
        &json!({ "session": "heat 1", "air": { "temp": "55 C", "baro": "1002 hPa", "humidity": "30 %" }, "verdict": { "full": "right" } }),
    );
    let all = [twice, wasp, doubted];
    let words = ["outing", "import", write(&garage, &notes(&garage, &all))];
    let asked = refused(&garage, &words);
    assert!(asked.contains("is it logged twice?") && asked.contains("without it, with --rest"), "{asked}");
    assert!(!done(&garage, &["outing", "list", "wasp"]).contains("seized"));
    let said = flat(&done(&garage, &[&words[..], &["--rest"]].concat()));
    // What is not in the record is said before all else where it was lean.
    assert!(said.contains("!! moth, line 2, is left out and says: Slightly lean at full throttle"), "{said}");
    assert!(said.contains("1 outing logged") && said.contains("Line 4, moth, is left out"), "{said}");
    assert!(done(&garage, &["outing", "show", "wasp", "last"]).contains("seized"));
    assert_eq!(done(&garage, &["outing", "list", "moth"]).matches("practice 1").count(), 1);
    // One that ran lean and is in no record is not dropped for an odd air.
    let mut lean = outing(
        "a1a1a1a1a104",
        "15:00",
        &json!({ "session": "heat 2", "air": { "temp": "55 C", "baro": "1002 hPa", "humidity": "30 %" }, "verdict": { "full": "lean" } }),
    );
    lean["bike"] = json!("wasp");
    let words = ["outing", "import", write(&garage, &notes(&garage, &[lean])), "--rest"];
    assert!(refused(&garage, &words).contains("55 C in the shade"), "a lean run is asked about still");
}

#[test]
fn notes_are_found_in_a_message_and_in_wide_letters() {
    let shed = Shed::new();
    let garage = shed.root();
    let right = json!({ "verdict": { "full": "right" }, "notes": "über" });
    let file = |id: &str, at: &str| {
        write(&garage, &notes(&garage, &[outing(id, at, &right)]));
        fs::read_to_string(garage.join("notes.json")).unwrap()
    };
    let import = |bytes: &[u8]| {
        fs::write(garage.join("said.txt"), bytes).unwrap();
        let came = done(&garage, &["outing", "import", "said.txt", "--json"]);
        serde_json::from_str::<Value>(&came).unwrap()
    };
    // The head of a copied text begins with its own name.
    let begins = |text: &str| {
        let mut head: serde_json::Map<String, Value> = serde_json::from_str(text).unwrap();
        let version = head.remove("phone_notes").unwrap();
        let rest = Value::Object(head).to_string();
        format!("{{\"phone_notes\":{version},{}", &rest[1..])
    };
    let message = format!(
        "Hi, here:\nheat 1 {{see}} [it]\n{}\nregards, \"B\"\n",
        begins(&file("abababababa1", "12:00"))
    );
    let came = import(message.as_bytes());
    assert_eq!(came["logged"][0]["line"], 3, "{came}");
    let wide = |text: &str, of: fn(u16) -> [u8; 2]| {
        let text = format!("\u{feff}{text}");
        text.encode_utf16().flat_map(of).collect::<Vec<u8>>()
    };
    let came = import(&wide(&file("abababababa2", "13:00"), u16::to_le_bytes));
    assert_eq!(came["logged"][0]["outing"]["id"], "abababababa2");
    let came = import(&wide(&begins(&file("abababababa3", "14:00")), u16::to_be_bytes));
    assert!(came.to_string().contains("über"), "{came}");
    fs::write(garage.join("said.txt"), format!("hi {}", &message[..message.len() / 2])).unwrap();
    assert!(refused(&garage, &["outing", "import", "said.txt"]).contains("ends in the middle of a note"));
}

#[test]
fn a_thousand_notes_come_home() {
    let (_folder, garage) = garage();
    let note = |at: usize| {
        let time = format!("{:02}:{:02}", 9 + at / 120, (at % 120) / 2);
        let mut one = outing(
            &format!("ffffffff{at:04x}"),
            &time,
            &json!({ "session": format!("run {at}"), "lap": "1:20.0" }),
        );
        one["date"] = json!(format!("2026-11-28T{time}:{:02}+00:00", 30 * (at % 2)));
        one
    };
    let all: Vec<Value> = (0..1_000).map(note).collect();
    let words = ["outing", "import", write(&garage, &notes(&garage, &all)), "--sure", "--json"];
    let first: Value = serde_json::from_str(&done(&garage, &words)).unwrap();
    assert_eq!(first["logged"].as_array().unwrap().len(), 1_000);
    let again: Value = serde_json::from_str(&done(&garage, &words)).unwrap();
    assert_eq!(
        (again["logged"].as_array().unwrap().len(), again["known"].as_array().unwrap().len()),
        (0, 1_000)
    );
}
