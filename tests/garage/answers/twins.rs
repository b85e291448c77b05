//! What answers say of a twin of which one cylinder ran otherwise.

use super::*;

/// A garage with a twin whose right cylinder was lean in its only run.
fn one_lean(name: &str) -> PathBuf {
    let garage = folder(name);
    let files = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/files");
    answer("garage", &garage, &["garage", "new", ".", "--name", "Fenside"]);
    answer("bike", &garage, &["bike", "new", "sanda", "--cylinders", "left,right"]);
    fs::copy(files.join("twin-setup.toml"), garage.join("bikes/sanda/setup.toml")).unwrap();
    fs::copy(files.join("twin-engine.toml"), garage.join("engines/sanda-engine/engine.toml")).unwrap();
    answer("change", &garage, &["change", "sanda", "--why", "as it stands"]);
    let air = ["--temp", "18", "--baro", "1005", "--humidity", "45"];
    answer(
        "outing",
        &garage,
        &[&["outing", "add", "sanda", "full=right", "right.full=lean"], &air[..]].concat(),
    );
    garage
}

#[test]
fn compare_says_how_each_cylinder_ran() {
    let garage = one_lean("compared");
    answer("change", &garage, &["change", "sanda", "right.main=178", "--why", "up"]);
    let document = answer("compare", &garage, &["compare", "sanda", "1", "2"]);
    let verdict = &document["ran"]["from"]["verdicts"][0];
    assert_eq!(verdict["full"], json!("lean"));
    assert_eq!(verdict["cylinders"]["right"]["full"], json!("lean"));
    assert!(verdict["cylinders"]["left"].is_null(), "what is of all stands once");
}

#[test]
fn find_says_what_was_asked_of_each_cylinder() {
    let garage = one_lean("found");
    let asked = |field: &str| {
        let found = answer("find", &garage, &["find", &format!("{field}=lean"), "--bike", "sanda"]);
        found["found"][0]["outing"]["ran"]["asked"][0]["value"].clone()
    };
    assert_eq!(asked("verdict.full"), json!("right/lean"));
    assert_eq!(asked("right.verdict.full"), json!("lean"));
}
