//! Which setup a run of a phone counts on: what its page showed, and not what was un-ticked on it.

use serde_json::{Value, json};

use super::notes::{notes, write};
use super::{NOW, done, page, refused};
use crate::common::Shed;

fn logged_on(garage: &std::path::Path, id: &str) -> Value {
    let shown: Value =
        serde_json::from_str(&done(garage, &["outing", "show", "moth", id, "--json"])).unwrap();
    shown["setup"].clone()
}

fn right(id: &str, time: &str, setup: &Value) -> Value {
    json!({ "id": id, "bike": "moth", "date": format!("2026-11-28T18:{time}:00+00:00"), "setup": setup,
        "outing": { "hours": "12 min", "verdict": { "full": "right" } } })
}

#[test]
fn a_run_counts_on_what_the_page_showed_and_without_what_was_un_ticked() {
    let shed = Shed::new();
    let garage = &shed.root();
    done(garage, &["outing", "add", "moth", "full=right", "--sure", "--date", "2026-11-27 10:00"]);
    let (_, data) = page(garage, &["moth"]);
    let before = data["bikes"][0]["setup_id"].clone();
    done(garage, &["change", "moth", "jetting.main=180", "--why", "one up"]);
    let (_, data) = page(garage, &["moth"]);
    let shown = data["bikes"][0]["setup_id"].clone();
    assert!(before != shown && shown.is_string(), "{before} {shown}");
    let job = &data["bikes"][0]["jobs"][0];
    // Another one is recorded while the phone is out: the rider had the page before him.
    done(garage, &["change", "moth", "jetting.main=182", "--why", "two up", "--date", "2026-11-28 18:00:10"]);
    let mut file = notes(garage, &[right("dddddddddd01", "01", &shown)]);
    file["made"] = json!(NOW);
    let words = ["outing", "import", write(garage, &file)];
    let asked = refused(garage, &words);
    assert!(asked.contains("which ran? Taken is setup 2"), "{asked}");
    done(garage, &[&words[..], &["--sure"]].concat());
    assert_eq!(logged_on(garage, "dddddddddd01"), json!(2));
    // Ticked and un-ticked: it ran without.
    let tick = |done: bool| json!({ "number": job["number"], "field": "jetting.main", "what": job["what"], "done": done });
    let noted = |id: &str, time: &str, done: bool| json!({ "id": id, "bike": "moth", "date": format!("2026-11-28T18:{time}:00+00:00"), "tick": tick(done) });
    let newest = page(garage, &["moth"]).1["bikes"][0]["setup_id"].clone();
    let all = [
        noted("eeeeeeeeee01", "02", true),
        noted("eeeeeeeeee02", "03", false),
        right("eeeeeeeeee03", "04", &newest),
    ];
    let mut file = notes(garage, &all);
    file["made"] = json!(NOW);
    let words = ["outing", "import", write(garage, &file)];
    let asked = refused(garage, &words);
    assert!(asked.contains("was not done when moth ran") && asked.contains("Taken is setup 2"), "{asked}");
    done(garage, &[&words[..], &["--sure"]].concat());
    assert_eq!(logged_on(garage, "eeeeeeeeee03"), json!(2));
}
