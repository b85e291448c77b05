//! The answers about builds, and about the air.

use serde_json::Value;

use super::{answer, demo, folder, has_fixed_fields, own_garage};

#[test]
fn air() {
    let nowhere = folder("nowhere");
    let read = ["air", "--temp", "20", "--baro", "1008 hPa", "--humidity", "50"];
    has_fixed_fields("air", &answer("air", &nowhere, &read));
    let dry = answer("air", &nowhere, &["air", "--temp", "20", "--baro", "1008 hPa", "--humidity", "0"]);
    assert!(dry["dew_point_c"].is_null());
    let metar = "METAR ZZZZ 161250Z 24008KT 9999 SCT040 19/11 Q1014";
    let far = answer("air", &demo().0, &["air", "--metar", metar, "--elevation", "1655 m"]);
    assert!(far["station_pressure_hpa"].as_f64().unwrap() < 850.0);
}

#[test]
fn a_look_a_page_and_the_cautions() {
    let garage = &demo().0;
    let one = answer("now", garage, &["now", "moth"]);
    assert_eq!((&one["bikes"][0]["setup"], &one["bikes"][0]["proven"]), (&38.into(), &true.into()));
    assert_eq!(answer("now", garage, &["now"])["bikes"].as_array().unwrap().len(), 4);
    // The top end that was done after the last race is a job until the bike runs.
    let jobs = answer("job", garage, &["job", "moth"]);
    let parts: Vec<_> = jobs["jobs"].as_array().unwrap().iter().map(|job| &job["part"]).collect();
    assert_eq!(parts, ["piston-5", "ring-6", "small-end-3"]);
    assert_eq!(one["bikes"][0]["jobs"], jobs["jobs"]);
    answer("guide", garage, &["guide"]);
    answer("guide", garage, &["guide", "jetting"]);
    let all = answer("cautions", garage, &["cautions"]);
    assert!(all["cautions"].as_array().unwrap().len() > 8);
}

#[test]
fn builds() {
    let garage = own_garage("builds");
    let shown = answer("build", &demo().0, &["build", "show", "cicada"]);
    assert!(shown["figures"].as_array().unwrap().iter().any(|one| one["figure"] == "piston_clearance"));
    assert!(
        !shown["parts"].as_array().unwrap().is_empty() && !shown["gap_checks"].as_array().unwrap().is_empty()
    );
    let begun = answer("build", &garage, &["build", "new", "cicada", "--scope", "whole", "temperature=18 C"]);
    assert_eq!((&begun["ready"], &begun["temperature_c"]), (&false.into(), &18.0.into()));
    let seat = ["seats.main-left.case_bore=51.985", "seats.main-left.bearing_outside=51.995"];
    let measured = answer("build", &garage, &["build", "measure", "cicada", seat[0], seat[1]]);
    assert!(measured["seats"][0]["in_case"]["cold_mm"].as_f64().unwrap() > 0.0);
    let missing = answer("build-missing", &garage, &["build", "measure", "cicada"]);
    assert!(missing["missing"].as_array().unwrap().len() > 20);
    let ticked = answer("build-steps", &garage, &["build", "tick", "cicada", "circlips", "--by", "Oskar"]);
    let steps = answer("build-steps", &garage, &["build", "steps", "cicada"]);
    assert_eq!(ticked, steps);
    let list = answer("build-list", &garage, &["build", "list", "cicada"]);
    assert_eq!(list["builds"].as_array().unwrap().len(), 7);
    let before = list["builds"][1]["id"].as_str().unwrap();
    let apart = answer("build-compare", &garage, &["build", "compare", "cicada", before]);
    assert!(apart["figures"][0]["new"].is_null(), "nothing of the new one was measured");
    answer("build-compare", &demo().0, &["build", "compare", "cricket"]);
}

/// What is assumed stands in the answer for scripts as it does in the text.
#[test]
fn what_a_build_assumes_is_a_remark() {
    let garage = own_garage("build-assumes");
    answer("build", &garage, &["build", "new", "finch", "--scope", "whole"]);
    let measured =
        answer("build", &garage, &["build", "measure", "finch", "seats.main-left.case_bore=51.985"]);
    let remarks: Vec<_> = measured["remarks"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    assert!(remarks.iter().any(|remark| remark.contains("20 C is assumed")), "{remarks:?}");
}

#[test]
fn builds_and_parts_are_found() {
    let found = answer("find", &demo().0, &["find", "--words", "cracked"]);
    let found = found["found"].as_array().unwrap();
    assert!(
        found.iter().any(|one| one.get("build").is_some())
            && found.iter().any(|one| one.get("part").is_some())
    );
}
