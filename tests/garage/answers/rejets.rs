//! What `rejet` answers: by theory, by the record, as a card, a plan and cells.

use super::*;

#[test]
fn rejet() {
    let garage = own_garage("rejet");
    let air = ["--temp", "18", "--baro", "845", "--humidity", "45"];
    let document = answer("rejet", &garage, &[&["rejet", "moth"], &air[..]].concat());
    has_fixed_fields("rejet", &document);
    assert!(document["injection_trim_percent"].is_null());
    let injected = answer("rejet", &garage, &[&["rejet", "wren"], &air[..]].concat());
    assert!(injected["injection_trim_percent"].as_f64().unwrap() < -5.0);
    answer("rejet", &garage, &["rejet", "ibex", "--fuel-density", "735 kg/m3"]);
    let recorded = answer("rejet", &garage, &[&["rejet", "wren", "--record"], &air[..]].concat());
    assert!(recorded["recorded"].is_number());
}

#[test]
fn rejets_with_and_without_the_record() {
    let garage = &demo().0;
    let air = ["--temp", "18", "--baro", "845", "--humidity", "45"];
    for bike in ["moth", "ibex", "wren"] {
        let learned = answer("rejet", garage, &[&["rejet", bike, "--explain"], &air[..]].concat());
        let sizes = learned["sizes"].as_array().unwrap();
        let chance = |size: &Value, of: &str| size[of].as_f64().unwrap();
        for size in sizes {
            let sum = chance(size, "p_lean") + chance(size, "p_right") + chance(size, "p_rich");
            assert!((sum - 1.0).abs() < 2e-4, "{size}");
        }
        assert!(sizes.windows(2).all(|pair| chance(&pair[1], "p_lean") <= chance(&pair[0], "p_lean")));
        assert!(learned["lean_risk"].as_f64().unwrap() <= learned["lean_risk_limit"].as_f64().unwrap());
        assert!(learned["evidence"]["outings"].as_u64().unwrap() > 5);
        assert_eq!(
            learned["heard"].as_array().unwrap().len() as u64,
            learned["evidence"]["outings"].as_u64().unwrap()
        );
        let theory = answer("rejet", garage, &[&["rejet", bike, "--theory"], &air[..]].concat());
        assert!(theory["sizes"].as_array().unwrap().is_empty() && theory["lean_risk"].is_null());
        assert_eq!(theory["evidence"], json!({ "outings": 0, "weight_of_record": 0.0 }));
        assert!(theory["exponent"]["sd"].as_f64().unwrap() > learned["exponent"]["sd"].as_f64().unwrap());
        assert_eq!(theory["theory_size"], learned["theory_size"]);
    }
}

#[test]
fn cards_plans_and_cells() {
    let garage = &demo().0;
    let card = answer("rejet-card", garage, &["rejet", "moth", "--card", "--temps", "10 C,20 C"]);
    assert_eq!(card["rows"].as_array().unwrap().len(), 7);
    assert!(card["rows"][0]["cells"][0]["main"].as_f64() >= card["rows"][6]["cells"][1]["main"].as_f64());
    answer("rejet-card", garage, &["rejet", "wren", "--card", "--pressures", "900 hPa,1000 hPa"]);
    let list = folder("plan").join("forecast.csv");
    fs::write(&list, "session,temp,baro,humidity\nheat 1,12,1004,70\nfinal,24,1001,45\n").unwrap();
    let plan = answer("rejet-plan", garage, &["rejet", "ibex", "--plan", list.to_str().unwrap()]);
    assert_eq!(plan["sessions"].as_array().unwrap().len(), 2);
    let air = ["--temp", "18", "--baro", "845", "--humidity", "45"];
    let cells = answer("rejet-cells", garage, &[&["rejet", "wren", "--cells"], &air[..]].concat());
    assert!(cells["duty"]["after"]["percent"].as_f64() < cells["duty"]["before"]["percent"].as_f64());
}

#[test]
fn a_twin_has_one_answer_with_each_cylinder_by_its_name() {
    let garage = own_garage("twin");
    let files = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/files");
    answer("bike", &garage, &["bike", "new", "sanda", "--cylinders", "left,right"]);
    fs::copy(files.join("twin-setup.toml"), garage.join("bikes/sanda/setup.toml")).unwrap();
    fs::copy(files.join("twin-engine.toml"), garage.join("engines/sanda-engine/engine.toml")).unwrap();
    answer("change", &garage, &["change", "sanda", "--why", "as it stands"]);
    let air = ["--temp", "18", "--baro", "1005", "--humidity", "45"];
    answer("outing", &garage, &[&["outing", "add", "sanda", "full=right"], &air[..]].concat());
    let colder = ["--temp", "10", "--baro", "1015", "--humidity", "45"];
    let document = answer("rejet", &garage, &[&["rejet", "sanda"], &colder[..]].concat());
    has_fixed_fields("rejet", &document["cylinders"]["left"]);
    let circuits = |of: &Value| -> Vec<String> {
        let jets = of["jets"].as_array().unwrap().iter();
        jets.map(|jet| jet["circuit"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(circuits(&document), ["pilot"]);
    assert!(document["lean_risk"].is_null() && document["cylinders"]["right"]["lean_risk"].is_number());
    for (name, main) in [("left", 172.0), ("right", 175.0)] {
        let own = &document["cylinders"][name];
        assert_eq!(circuits(own), ["main", "pilot"]);
        assert_eq!(own["jets"][0]["current"], json!(main));
    }
    answer("rejet-card", &garage, &["rejet", "sanda", "--card", "--temps", "10 C,20 C"]);
    let list = folder("plan-of-a-twin").join("forecast.csv");
    fs::write(&list, "session,temp,baro,humidity\nheat 1,12,1004,70\n").unwrap();
    let plan = answer("rejet-plan", &garage, &["rejet", "sanda", "--plan", list.to_str().unwrap()]);
    assert_eq!(plan["cylinders"]["left"]["sessions"].as_array().unwrap().len(), 1);
    let recorded = answer("rejet", &garage, &[&["rejet", "sanda", "--record"], &colder[..]].concat());
    assert_eq!(recorded["recorded"], json!(2));
}

/// What was recorded and not ticked is named where an advice takes it back.
#[test]
fn what_an_advice_takes_back_is_told() {
    let garage = garage_of("taken-back", Some("left"));
    let air = ["--temp", "18", "--baro", "1005", "--humidity", "45"];
    answer("outing", &garage, &[&["outing", "add", "sanda", "full=right"], &air[..]].concat());
    let asked = [&["rejet", "sanda"], &air[..]].concat();
    assert!(answer("rejet", &garage, &asked)["taken_back"].is_null());
    answer("change", &garage, &["change", "sanda", "main=180", "--why", "it held back"]);
    let document = answer("rejet", &garage, &asked);
    let back = &document["taken_back"][0];
    assert_eq!((&back["field"], &back["recorded"]), (&json!("jetting.main"), &json!("180")));
    assert_eq!(
        (&back["fit"], &back["what"]),
        (&document["assignments"][0]["value"], &json!("main 172 → 180"))
    );
    let back = &document["taken_back"];
    assert_eq!(&answer("rejet", &garage, &[&asked[..], &["--record"]].concat())["taken_back"], back);
    assert!(answer("rejet", &garage, &asked)["taken_back"].is_null());
}

/// Runs of a twin by its cylinders: jets, then what was said at full throttle, left and right.
const RUNS: [(&str, &str, &str, &str); 4] = [
    ("2026-09-05T12:00+02:00", "20", "right", "right"),
    ("2026-09-12T12:00+02:00", "14", "right", "slightly lean"),
    ("2026-09-19T12:00+02:00", "24", "slightly rich", "right"),
    ("2026-09-26T12:00+02:00", "17", "right", "right"),
];

/// A garage of its own with a twin, or with one of its cylinders as a bike.
fn garage_of(name: &str, cylinder: Option<&str>) -> PathBuf {
    let garage = folder(name);
    let files = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/files");
    answer("garage", &garage, &["garage", "new", ".", "--name", "Fenside"]);
    let named: &[&str] = if cylinder.is_none() { &["--cylinders", "left,right"] } else { &[] };
    answer("bike", &garage, &[&["bike", "new", "sanda"], named].concat());
    let mut setup = fs::read_to_string(files.join("twin-setup.toml")).unwrap();
    let mut engine = fs::read_to_string(files.join("twin-engine.toml")).unwrap();
    if let Some(cylinder) = cylinder {
        let (common, _) = setup.split_once("[cylinder.right").unwrap();
        setup = common.replace("main = 172", if cylinder == "left" { "main = 172" } else { "main = 175" });
        let (common, _) = engine.split_once("[cylinders]").unwrap();
        engine = common.replace("cylinders = 2", "cylinders = 1");
        if cylinder == "right" {
            engine = engine.replace("chamber_volume = 9.0", "chamber_volume = 9.3");
            engine = engine.replace("squish_clearance = 0.8", "squish_clearance = 0.9");
        }
    }
    fs::write(garage.join("bikes/sanda/setup.toml"), setup).unwrap();
    fs::write(garage.join("engines/sanda-engine/engine.toml"), engine).unwrap();
    answer(
        "change",
        &garage,
        &["change", "sanda", "--why", "as it stands", "--date", "2026-09-01T12:00+02:00"],
    );
    for (date, temp, left, right) in RUNS {
        let said = match cylinder {
            None => vec![format!("left.full={left}"), format!("right.full={right}")],
            Some("left") => vec![format!("full={left}")],
            Some(_) => vec![format!("full={right}")],
        };
        let said: Vec<&str> = said.iter().map(String::as_str).collect();
        let air = ["--temp", temp, "--baro", "1000", "--humidity", "50", "--date", date];
        answer("outing", &garage, &[&["outing", "add", "sanda"], &said[..], &air[..]].concat());
    }
    garage
}

#[test]
fn a_twin_told_to_be_unrelated_answers_as_two_singles_do() {
    let air = ["rejet", "sanda", "--temp", "12", "--baro", "1010", "--humidity", "50"];
    let garage = garage_of("unrelated", None);
    let pooled = answer("rejet", &garage, &air);
    let file = garage.join("configs/assumptions.toml");
    let told = fs::read_to_string(&file).unwrap();
    let apart = told.replace("other_cylinder = \"1.5 %\"", "other_cylinder = \"10 %\"");
    assert_ne!(told, apart);
    fs::write(&file, apart).unwrap();
    let unrelated = answer("rejet", &garage, &air);
    let figures = ["head", "ports"];
    for cylinder in ["left", "right"] {
        let single = garage_of(&format!("single-{cylinder}"), Some(cylinder));
        let alone = answer("rejet", &single, &air);
        let own = &unrelated["cylinders"][cylinder];
        for field in
            ["jets", "fit", "sizes", "lean_risk", "evidence", "exponent", "right_size", "zones", "factor"]
        {
            assert_eq!(own[field], alone[field], "{cylinder}: {field}");
        }
        let held = |of: &Value| of["held"].as_array().unwrap().len();
        assert_eq!(held(own), held(&alone), "{cylinder}");
        // Related, each knows more of its own fuel than alone.
        let doubt = |of: &Value| {
            of["right_size"]["high"].as_f64().unwrap() - of["right_size"]["low"].as_f64().unwrap()
        };
        assert!(doubt(&pooled["cylinders"][cylinder]) < doubt(&alone));
        let packages = answer("package", &garage, &["package", "sanda"]);
        assert_eq!(packages["cylinders"][cylinder]["cylinder"]["name"], json!(cylinder));
        for figure in figures {
            let mut of_twin = answer(figure, &garage, &[figure, "sanda", "--cylinder", cylinder]);
            let of_single = answer(figure, &single, &[figure, "sanda"]);
            of_twin.as_object_mut().unwrap().remove("cylinder");
            assert_eq!(of_twin, of_single, "{cylinder}: {figure}");
        }
    }
}

#[test]
fn a_twin_of_which_one_was_never_right_answers_for_the_other() {
    let garage = own_garage("one-never-right");
    let files = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/files");
    answer("bike", &garage, &["bike", "new", "sanda", "--cylinders", "left,right"]);
    fs::copy(files.join("twin-setup.toml"), garage.join("bikes/sanda/setup.toml")).unwrap();
    fs::copy(files.join("twin-engine.toml"), garage.join("engines/sanda-engine/engine.toml")).unwrap();
    answer("change", &garage, &["change", "sanda", "--why", "as it stands"]);
    let run = ["outing", "add", "sanda", "left.full=right", "right.full=rich"];
    let air = ["--temp", "18", "--baro", "1005", "--humidity", "45"];
    answer("outing", &garage, &[&run[..], &air[..]].concat());
    let asked = [&["rejet", "sanda"][..], &air[..]].concat();
    let answered = answer("rejet", &garage, &asked);
    let names = |of: &str| answered[of].as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    assert_eq!(
        (names("cylinders"), names("unanswered")),
        (vec!["left".to_owned()], vec!["right".to_owned()])
    );
    let refused = error(&garage, &[&asked[..], &["--record"]].concat());
    assert!(refused["error"]["message"].as_str().unwrap().starts_with("Cylinder right: "), "{refused:#}");
    // Who reads what stands above the cylinders reads it of each of them: nothing of an advice stands there.
    let colder = ["rejet", "sanda", "--temp", "10", "--baro", "1015", "--humidity", "45"];
    let document = answer("rejet", &garage, &colder);
    let own = &document["cylinders"]["left"];
    for field in ["fit", "assignments", "jets", "then", "sizes", "held"] {
        assert_eq!(document[field], json!([]), "{field}");
    }
    assert_ne!((&own["fit"], &own["jets"]), (&json!([]), &json!([])));
    for field in ["baseline", "clip", "factor", "lean_risk", "exponent"] {
        assert!(document[field].is_null() && !own[field].is_null(), "{field}");
    }
    for field in ["bike", "air", "kept", "cautions"] {
        assert_eq!(document[field], own[field], "{field}");
    }
}

/// What was right at one cylinder takes nothing from the other where that seized: it is answered as a bike with one is.
#[test]
fn a_cylinder_that_seized_is_answered_as_a_single_is() {
    let asked = ["rejet", "sanda", "--temp", "12", "--baro", "1010", "--humidity", "50"];
    let air = ["--temp", "14", "--baro", "1005", "--humidity", "50"];
    let seized = |name: &str, cylinder: Option<&str>, said: &[&str]| {
        let garage = garage_of(name, cylinder);
        answer("outing", &garage, &[&["outing", "add", "sanda"], said, &air[..]].concat());
        answer("rejet", &garage, &asked)
    };
    let note = ["--note", "right one seized"];
    let twin = seized("seized-twin", None, &[&["left.full=right", "right.full=lean"], &note[..]].concat());
    let alone = seized("seized-alone", Some("right"), &[&["full=lean"], &note[..]].concat());
    let own = &twin["cylinders"]["right"];
    for field in ["fit", "sizes", "lean_risk", "right_size"] {
        assert_eq!(own[field], alone[field], "{field}");
    }
    assert_eq!(own["held"].as_array().unwrap().len(), 1);
}
