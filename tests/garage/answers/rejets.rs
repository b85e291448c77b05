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
    let colder = ["--temp", "10", "--baro", "1020", "--humidity", "45"];
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
