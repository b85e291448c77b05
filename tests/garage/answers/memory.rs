//! What is remembered and found.

use serde_json::json;

use super::{answer, demo, has_fixed_fields, own_garage};

#[test]
fn history() {
    let document = answer("history", &demo().0, &["history", "moth"]);
    has_fixed_fields("history", &document);
    let numbers: Vec<_> =
        document["setups"].as_array().unwrap().iter().map(|setup| setup["number"].as_u64()).collect();
    assert!(
        numbers.len() > 20 && numbers.windows(2).all(|pair| pair[0] > pair[1]),
        "not newest first: {numbers:?}"
    );
    for bike in ["ibex", "wren"] {
        answer("history", &demo().0, &["history", bike, "--last", "3"]);
    }
}

#[test]
fn find() {
    let garage = &demo().0;
    let by_field = answer("find", garage, &["find", "jetting.main>=170", "--bike", "moth"]);
    let found = by_field["found"].as_array().unwrap();
    assert!(found.iter().any(|one| one.get("setup").is_some()), "no setup was found");
    assert!(found.iter().any(|one| one.get("outing").is_some()), "no outing was found");
    let air =
        ["find", "--bike", "ibex", "--temp", "12", "--baro", "805", "--humidity", "55", "--within", "3"];
    let by_air = answer("find", garage, &air);
    assert!(by_air["found"].as_array().unwrap().iter().any(|one| one["air_off_percent"].is_number()));
    assert_eq!(answer("find", garage, &["find", "--words", "zeppelin"])["found"], json!([]));
}

#[test]
fn what_was_before() {
    let garage = own_garage("before");
    let before = answer("share-before", &garage, &["share", "--before"]);
    assert_eq!((&before["stood"], &before["documents"]), (&json!(null), &json!([])));
    let part = garage.join("parts/mains-1.toml");
    let whole = std::fs::read(&part).unwrap();
    std::fs::write(&part, "][").unwrap();
    let mended = answer("files-back", &garage, &["garage", "fix", "parts/mains-1.toml"]);
    assert_eq!(mended["files"], json!(["parts/mains-1.toml"]));
    assert_eq!(std::fs::read(&part).unwrap(), whole);
}
