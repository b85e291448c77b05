//! Answers of `part life` and `part wear`.

use std::fs;

use super::{answer, error, own_garage};

#[test]
fn part_life_and_part_wear() {
    let garage = own_garage("part-life");
    let parts = garage.join("parts");
    fs::create_dir_all(&parts).unwrap();
    for (number, hours) in [8, 12, 15, 11, 19, 23].into_iter().enumerate() {
        let failed = if hours < 20 {
            "[events.b]\ndate = \"2026-04-02\"\ndid = \"failed\"\nhow = \"crack\"\n"
        } else {
            ""
        };
        let text = format!("kind = \"clutch-bell\"\npast_hours = \"{hours} h\"\n{failed}");
        fs::write(parts.join(format!("t{number}.toml")), text).unwrap();
    }
    let life = ["part", "life", "clutch-bell"];
    let fitted = answer("part-life", &garage, &[&life[..], &["--risk", "5%"]].concat());
    assert!(fitted["shape"]["low"].is_number() && fitted["hours_at_risk_h"]["value"].is_number());
    let few = answer("part-life", &garage, &[&life[..], &["--shape", "3"]].concat());
    assert!(few["shape"]["given"].is_object() && few["hours_at_risk_h"].is_null());
    let engine = fs::read_dir(garage.join("engines")).unwrap().next().unwrap().unwrap();
    let name = engine.file_name().to_string_lossy().into_owned();
    let builds = engine.path().join("builds");
    let _ = fs::remove_dir_all(&builds);
    fs::create_dir_all(&builds).unwrap();
    for month in 3..8_i32 {
        let text =
            format!("date = \"2026-0{month}-01T09:00Z\"\n[piston]\ndiameter = \"53.9{}0 mm\"\n", 9 - month);
        fs::write(builds.join(format!("20260{month}01-0900-aaaaaaaaaaa{month}.toml")), text).unwrap();
    }
    let limit = ["part", "wear", &name, "piston_diameter", "--limit", "53.9 mm"];
    let wear = answer("part-wear", &garage, &limit);
    assert_eq!(wear["limit"]["side"], "least");
    answer("part-wear", &garage, &limit[..4]);
    error(&garage, &["part", "life", "wing"]);
    error(&garage, &["part", "wear", &name, "wing"]);
}
