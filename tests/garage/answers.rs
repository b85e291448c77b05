//! What the commands answer with `--json` is what `schema/answers/` says, field by field, and nothing beside it. Run on the
//! demo garage in a sealed environment: its own home, a fixed clock, no settings of git but its own.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use jsonschema::Validator;
use reedbook::notebook::Code;
use serde_json::{Value, json};

use crate::replayed::{demo, demo_in};
use crate::temporary::shared_folder;

const ANSWERS: [&str; 54] = [
    "air",
    "bike",
    "build",
    "build-compare",
    "build-list",
    "build-missing",
    "build-steps",
    "cautions",
    "change",
    "check",
    "compare",
    "demo",
    "engine",
    "error",
    "files-back",
    "find",
    "fit",
    "fuel",
    "garage",
    "guide",
    "handover",
    "handover-engine",
    "head",
    "history",
    "ignition",
    "intake",
    "job",
    "map",
    "nothing",
    "now",
    "outing",
    "outing-import",
    "package",
    "part-done",
    "part-due",
    "part-life",
    "part-list",
    "part-show",
    "part-wear",
    "pipe",
    "ports",
    "proven",
    "rejet",
    "rejet-card",
    "rejet-cells",
    "rejet-plan",
    "rollback",
    "share",
    "share-before",
    "sheet",
    "sheet-page",
    "sheet-pocket",
    "sheet-session",
    "show",
];

/// Fields that are fixed for good: scripts of others rely on them.
const FIXED: [(&str, &str, &str); 11] = [
    (
        "air",
        "",
        "density_kg_m3 dry_density_kg_m3 relative_density_percent density_altitude_m station_pressure_hpa temperature_c \
         dew_point_c relative_humidity_percent vapour_pressure_hpa standard_uncertainty_kg_m3",
    ),
    ("history", "", "bike setups"),
    ("history", "/setups/0", "number commit date why proven air outings"),
    ("compare", "", "bike from to changes maps"),
    ("compare", "/changes/0", "field old new difference unit percent"),
    ("rollback", "", "bike from to new applied still_different"),
    (
        "rejet",
        "",
        "bike baseline factor parts jets injection_trim_percent cautions sizes lean_risk evidence exponent",
    ),
    ("rejet", "/sizes/0", "size p_lean p_right p_rich"),
    ("rejet", "/evidence", "outings weight_of_record"),
    ("rejet", "/exponent", "mean sd"),
    ("rejet", "/jets/0", "circuit numbering current exact advised richer leaner"),
];

mod builds;
mod fit;
mod memory;
mod part_life_wear;
mod rejets;
mod sheets;
mod twins;

fn schema(name: &str) -> Value {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("schema/answers/{name}.schema.json"));
    serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap()
}

fn validator(name: &str) -> Validator {
    jsonschema::validator_for(&schema(name)).unwrap()
}

/// A folder of this test's own, empty.
fn folder(name: &str) -> PathBuf {
    let folder = shared_folder().join("answers").join(name);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn reedbook(folder: &Path, words: &[&str]) -> Output {
    static HOME: OnceLock<PathBuf> = OnceLock::new();
    let home = HOME.get_or_init(|| self::folder("home"));
    Command::new(env!("CARGO_BIN_EXE_reedbook"))
        .args(words)
        .arg("--json")
        .current_dir(folder)
        .env_clear()
        .env("HOME", home)
        .env("TZ", "UTC")
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("REEDBOOK_NOW", "2026-10-10T13:40+02:00")
        .env("REEDBOOK_IDS", "answers")
        .output()
        .unwrap()
}

/// A copy of the demo garage to write in.
fn own_garage(name: &str) -> PathBuf {
    let to = folder(name);
    demo_in(&to);
    to
}

fn document(name: &str, bytes: &[u8]) -> Value {
    let text = String::from_utf8_lossy(bytes);
    serde_json::from_str(&text)
        .unwrap_or_else(|error| panic!("{name} did not answer in JSON: {error}\n{text}"))
}

/// Holds a document against a schema, and the schema against the document with one field more, wherever that is put.
fn holds(name: &str, document: &Value) {
    let validator = validator(name);
    let refused: Vec<_> =
        validator.iter_errors(document).map(|error| format!("{}: {error}", error.instance_path())).collect();
    assert!(refused.is_empty(), "{name}: {}\n{document:#}", refused.join("\n"));
    for place in objects(document, "") {
        let mut more = document.clone();
        more.pointer_mut(&place).unwrap()["not_written_down"] = json!(1);
        assert!(!validator.is_valid(&more), "{name} takes a field in \"{place}\" that is not written down");
    }
}

/// Places of the objects in a document; of a list its first and last.
fn objects(document: &Value, place: &str) -> Vec<String> {
    match document {
        Value::Object(fields) => {
            let inner = fields.iter().flat_map(|(name, value)| objects(value, &format!("{place}/{name}")));
            std::iter::once(place.to_owned()).chain(inner).collect()
        }
        Value::Array(values) => {
            let ends: BTreeSet<_> = [0, values.len().saturating_sub(1)].into_iter().collect();
            let known = ends.into_iter().filter_map(|at| Some((at, values.get(at)?)));
            known.flat_map(|(at, value)| objects(value, &format!("{place}/{at}"))).collect()
        }
        _ => Vec::new(),
    }
}

/// Runs a command that is to succeed and holds its answer against a schema.
fn answer(name: &str, folder: &Path, words: &[&str]) -> Value {
    let output = reedbook(folder, words);
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{words:?}: {told}");
    assert_eq!(told, "", "{words:?} told something besides its answer");
    let document = document(name, &output.stdout);
    holds(name, &document);
    document
}

/// Runs a command that is to fail and holds what it tells against the schema of errors.
fn error(folder: &Path, words: &[&str]) -> Value {
    let output = reedbook(folder, words);
    assert_eq!(output.status.code(), Some(1), "{words:?}: {}", String::from_utf8_lossy(&output.stdout));
    assert_eq!(output.stdout, b"", "{words:?} answered and failed");
    let document = document("error", &output.stderr);
    holds("error", &document);
    let message = document["error"]["message"].as_str().unwrap();
    assert!(message.ends_with('.'), "{words:?}: {message}");
    document
}

#[test]
fn every_schema_is_one_and_is_of_an_answer() {
    let there: BTreeSet<_> = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/answers"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().replace(".schema.json", ""))
        .collect();
    let known: BTreeSet<_> = ANSWERS.iter().copied().map(str::to_owned).collect();
    assert_eq!(there, known);
    for name in known {
        let schema = schema(&name);
        assert!(jsonschema::draft202012::meta::is_valid(&schema), "{name} is no JSON Schema");
        assert!(
            schema["title"].is_string() && schema["description"].is_string(),
            "{name} has no title or description"
        );
        undescribed(&schema, &name);
    }
}

/// Every field has a description, every object says which of its fields there are.
fn undescribed(schema: &Value, place: &str) {
    let Some(object) = schema.as_object() else { return };
    for (name, field) in object.get("properties").and_then(Value::as_object).into_iter().flatten() {
        let words = field.get("description").and_then(Value::as_str);
        let words = words.or_else(|| field.get("$ref").map(|_| "Described where it stands."));
        let is_sentence = |words: &str| words.ends_with('.') && !words.contains('\n');
        assert!(words.is_some_and(is_sentence), "{place}.{name} is described as {words:?}");
    }
    let closed = object.contains_key("additionalProperties") || object.contains_key("unevaluatedProperties");
    let open_part = place.ends_with("outing_fields");
    assert!(closed || open_part || !object.contains_key("properties"), "{place} is open");
    for (key, inner) in object {
        let place = format!("{place}.{key}");
        match inner {
            Value::Object(_) => undescribed(inner, &place),
            Value::Array(several) => several.iter().for_each(|inner| undescribed(inner, &place)),
            _ => {}
        }
    }
}

#[test]
fn the_codes_of_findings_are_written_down() {
    let codes: Vec<_> = Code::ALL.into_iter().map(Code::name).collect();
    let mut said = schema("error")["properties"]["error"]["properties"]["code"]["enum"].clone();
    said.as_array_mut().unwrap().retain(|code| !code.is_null());
    assert_eq!(said, json!(codes));
}

fn has_fixed_fields(name: &str, document: &Value) {
    for (_, place, fields) in FIXED.iter().filter(|(of, _, _)| *of == name) {
        let object = document.pointer(place).unwrap_or_else(|| panic!("{name} has no {place}"));
        for field in fields.split_whitespace() {
            assert!(object.get(field).is_some(), "{name}{place} has no {field}");
        }
    }
}

#[test]
fn show() {
    for bike in ["moth", "ibex", "wren"] {
        answer("show", &demo().0, &["show", bike]);
        let one = answer("show", &demo().0, &["show", bike, "3", "--only", "ignition,jetting,injection"]);
        assert_eq!(one["setup"], json!(3));
        assert!(!one["maps"].as_array().unwrap().is_empty());
    }
}

#[test]
fn compare() {
    let garage = &demo().0;
    let document = answer("compare", garage, &["compare", "moth", "3", "latest"]);
    has_fixed_fields("compare", &document);
    assert_eq!(
        (&document["from"], document["to"].as_str().unwrap().starts_with("setup ")),
        (&json!("setup 3"), true)
    );
    assert!(document["maps"].as_array().is_some_and(|maps| !maps.is_empty()), "no map differs");
    let now = answer("compare", garage, &["compare", "ibex"]);
    assert_eq!((&now["to"], &now["changes"]), (&json!("now"), &json!([])));
    answer("compare", garage, &["compare", "wren", "1", "proven"]);
    let two = answer("compare", garage, &["compare", "moth", "--with", "ibex"]);
    assert_eq!(two["bike"], "moth and ibex");
}

#[test]
fn pipes_intakes_and_fuels() {
    let garage = &demo().0;
    for bike in ["moth", "ibex", "wren"] {
        let pipe = answer("pipe", garage, &["pipe", bike, "--for-rpm", "12000"]);
        assert!(pipe["tuned_rpm"].as_f64().unwrap() > 7000.0 && pipe["for_rpm"].is_object());
        assert_eq!(pipe["valve_shut"].is_null(), bike == "moth");
        let intake = answer("intake", garage, &["intake", bike]);
        assert_eq!(intake["needle"].as_array().unwrap().is_empty(), bike == "wren");
        let words = ["fuel", bike, "--petrol", "5 l", "--can", "4 l", "--oil-ratio", "25"];
        assert_eq!(answer("fuel", garage, &words)["pour"]["oil_cc"], json!(200.0));
    }
    let words = ["fuel", "moth", "--blend", "petrol=85,ethanol=15"];
    assert!(answer("fuel", garage, &words)["blend"]["density_15c_kg_m3"].is_number());
    let less = answer("pipe", garage, &["pipe", "moth", "--with", "pipe.sections.baffle.outlet=120 mm"]);
    assert!(less["tuned_rpm"].is_null() && !less["not_known"].as_array().unwrap().is_empty());
}

#[test]
fn change_and_rollback() {
    let garage = own_garage("change");
    let words = ["change", "moth", "jetting.main=174", "ignition.base=1.10 mm", "--why", "to see"];
    let changed = answer("change", &garage, &words);
    assert_eq!(changed["changes"].as_array().unwrap().len(), 2);
    let noted = [
        "change",
        "wren",
        "injection.trim=2 %",
        "--why",
        "rich",
        "--temp",
        "20",
        "--baro",
        "1008",
        "--humidity",
        "50",
    ];
    assert!(answer("change", &garage, &noted)["air"].is_object());
    let back = answer("rollback", &garage, &["rollback", "moth", "3", "--why", "enough"]);
    has_fixed_fields("rollback", &back);
    assert_eq!((&back["from"], &back["to"]), (&changed["new"], &json!(3)));
    assert!(back["new"].as_u64() > back["from"].as_u64());
    assert!(!back["applied"].as_array().unwrap().is_empty());
    assert!(!back["still_different"].as_array().unwrap().is_empty(), "no metal was cut since setup 3");
}

#[test]
fn outings() {
    let garage = own_garage("outing");
    fs::write(garage.join("pull.csv"), "rpm,power (kW)\n8000,18.1\n11500,30.2\n").unwrap();
    let words =
        ["outing", "add", "moth", "full=right", "--kind", "dyno", "--dyno", "pull.csv", "--hours", "0.2"];
    let added = answer("outing", &garage, &words);
    assert_eq!(added["outing"]["verdict"], json!({ "full": "right" }));
    let shown = answer("outing", &garage, &["outing", "show", "moth"]);
    assert_eq!(shown["dyno"]["points"], json!([[8000.0, 18.1], [11500.0, 30.2]]));
    answer("outing", &garage, &["outing", "edit", "moth", "last", "half=slightly-rich", "--note", "tan"]);
    answer("outing", &garage, &["outing", "show", "ibex"]);
    let removed = answer("outing", &garage, &["outing", "remove", "moth", "last"]);
    assert_eq!(removed["files"].as_array().map(Vec::len), Some(2), "the outing and its curve");
    fs::write(garage.join("bikes/moth/outings/20260101-0000-0123456789ab.toml"), "date = 5\n").unwrap();
    let listed = answer("outing", &garage, &["outing", "list", "moth"]);
    assert_eq!(listed["unreadable"].as_array().unwrap().len(), 1);
}

#[test]
fn bikes_and_engines() {
    let garage = own_garage("bike");
    let listed = answer("bike", &garage, &["bike", "list"]);
    assert_eq!(listed["bikes"].as_array().unwrap().len(), 4);
    answer("bike", &garage, &["bike", "new", "plover"]);
    answer("bike", &garage, &["bike", "retire", "ibex"]);
    answer("engine", &garage, &["engine", "new", "spare"]);
    let engines = answer("engine", &garage, &["engine", "list"]);
    assert!(engines["engines"].as_array().unwrap().iter().any(|engine| engine["bike"].is_null()));
}

#[test]
fn proven() {
    let garage = own_garage("proven");
    answer("proven", &garage, &["proven", "moth", "4", "--why", "it ran"]);
    answer("proven", &garage, &["proven", "moth", "4", "--withdraw"]);
}

#[test]
fn garages() {
    holds("demo", &demo().1);
    answer("garage", &folder("new"), &["garage", "new", "here"]);
    let garage = own_garage("check");
    assert_eq!(answer("check", &garage, &["garage", "check"])["sound"], true);
    fs::write(garage.join("engines/finch/engine.toml"), "[engine]\nbore = \"72 hPa\"\n").unwrap();
    let output = reedbook(&garage, &["garage", "check"]);
    assert_eq!(output.status.code(), Some(1));
    let document = document("check", &output.stdout);
    holds("check", &document);
    assert_eq!(document["findings"][0]["field"], "engine.bore");
}

#[test]
fn errors() {
    let garage = own_garage("errors");
    error(&garage, &["history", "nobody"]);
    error(&garage, &["compare", "moth", "999"]);
    error(&folder("no-garage"), &["bike", "list"]);
    let option = error(&garage, &["air", "--temp", "20 hPa", "--baro", "1008", "--humidity", "50"]);
    assert_eq!((&option["error"]["field"], &option["error"]["file"]), (&json!("temp"), &Value::Null));
    let broken = "engine = \"cicada\"\n[jetting]\nmain = 1720\nmain_numbered_by = \"bore\"\nclip = 12\n";
    fs::write(garage.join("bikes/moth/setup.toml"), broken).unwrap();
    let both = error(&garage, &["change", "moth", "--why", "typed in a hurry"]);
    assert_eq!(both["error"]["code"], "out-of-range");
    assert_eq!(
        (&both["error"]["file"], &both["error"]["line"]),
        (&json!("bikes/moth/setup.toml"), &json!(3))
    );
    assert_eq!(both["more"][0]["field"], "jetting.clip");
    fs::write(garage.join("list.csv"), "temp,baro,humidity\n20,1008,50\n20,1008,500\n").unwrap();
    let output = reedbook(&garage, &["air", "--csv", "list.csv"]);
    assert_eq!(output.status.code(), Some(1));
    let listed = document("error", &output.stderr);
    holds("error", &listed);
    assert_eq!(listed["error"]["line"], 3);
}

#[test]
fn the_engine_is_computed_for_scripts() {
    let garage = own_garage("engine-computed");
    for bike in ["moth", "ibex", "wren"] {
        let package = answer("package", &garage, &["package", bike]);
        assert!(package["pipe"]["rpm"].as_f64().unwrap() > 7000.0, "{package:#}");
        answer("ports", &garage, &["ports", bike]);
        answer("head", &garage, &["head", bike, "--for-trapped", "7.5"]);
    }
    // Where the cylinders of the twin differ each has an answer; where they do not, one is of both.
    for (command, differ) in [
        ("head", true),
        ("intake", true),
        ("ports", false),
        ("pipe", false),
        ("fuel", false),
        ("ignition", false),
    ] {
        let both = answer(command, &garage, &[command, "otter"]);
        let named = both["cylinders"].as_object().map_or(0, serde_json::Map::len);
        assert_eq!((named == 2, both["cylinder"]["of"] == 2), (differ, !differ), "{command}: {both:#}");
    }
    answer("package", &garage, &["package", "moth", "--with", "engine.rod="]);
    error(&garage, &["head", "moth", "--cut-head", "2mm"]);
}

#[test]
fn ignition() {
    let garage = &demo().0;
    let asked = ["ignition", "moth", "--deg", "15", "--travel", "1.15 mm", "--against", "3"];
    let document = answer("ignition", garage, &asked);
    for row in document["firing"].as_array().unwrap() {
        let part = |name: &str| row[name].as_f64().unwrap();
        let sum = part("map_deg") + part("base_deg") - part("lag_deg");
        assert!((sum - part("firing_deg")).abs() < 0.0021, "{row}");
    }
    assert!(!document["against"]["cells"].as_array().unwrap().is_empty());
    let wren = answer("ignition", garage, &["ignition", "wren", "--throttle", "50", "--rpm", "7000,9000"]);
    assert_eq!(wren["firing"].as_array().unwrap().len(), 2);
    let lacking = answer("ignition", garage, &["ignition", "ibex", "--with", "ignition.base="]);
    assert!(lacking["firing"][0]["firing_deg"].is_null() && !lacking["lacks"].as_array().unwrap().is_empty());
}

#[test]
fn map() {
    let garage = own_garage("map");
    for bike in ["moth", "ibex", "wren"] {
        answer("map", &garage, &["map", "show", bike, "ignition", "--against", "1"]);
        let low = ["map", "check", bike, "ignition", "--most-advance", "10"];
        assert!(!answer("map", &garage, &low)["found"].as_array().unwrap().is_empty());
    }
    let scaled = answer("map", &garage, &["map", "scale", "wren", "fuel", "--factor", "0.97"]);
    assert!(scaled["recorded"].is_null() && !scaled["cautions"].as_array().unwrap().is_empty());
    let saved = answer("map", &garage, &["map", "save", "wren", "fuel", "--to", "fuel-map.csv"]);
    assert_eq!(saved["file"], "fuel-map.csv");
    let loaded = answer("map", &garage, &["map", "load", "wren", "fuel", "fuel-map.csv"]);
    assert_eq!(loaded["cells"], json!([]));
    let shifted = ["map", "shift", "wren", "ignition", "--by", "-1", "--rpm", "7000-9000", "--record"];
    assert!(answer("map", &garage, &shifted)["recorded"].is_number());
    error(&garage, &["map", "show", "moth", "fuel"]);
}
