//! What `fit` answers: a bearing with and without a sleeve and ceramic balls, a zone, a pair.

use super::*;

#[test]
fn fits() {
    let nowhere = folder("no-garage-for-a-fit");
    let words = ["fit", "bearing", "25", "62", "--case", "N7", "--shaft", "k5", "--group", "C3"];
    let zones = answer("fit", &nowhere, &words);
    assert_eq!((&zones["case"]["zone"], &zones["sleeve"]), (&json!("N7"), &json!(null)));
    assert!(zones["clearance"]["ball_mm"].is_null());
    let ceramic = answer("fit", &nowhere, &[&words[..], &["--balls", "ceramic"]].concat());
    assert!(ceramic["clearance"]["ceramic_gain_mm"].as_f64().unwrap() > 0.01);
    let sleeve = ["--sleeve-outside", "68 mm r6", "--sleeve-bore", "N7"];
    let bushed =
        answer("fit", &nowhere, &[&["fit", "bearing", "25", "62", "--case", "H7"], &sleeve[..]].concat());
    assert!(bushed["sleeve"].is_object() && bushed["shaft"].is_null() && bushed["clearance"].is_null());
    assert!(!bushed["not_known"].as_array().unwrap().is_empty());
    assert!(answer("fit", &nowhere, &["fit", "zone", "H7", "62 mm"])["fit"].is_null());
    assert_eq!(
        answer("fit", &nowhere, &["fit", "zone", "H7/k6", "25"])["fit"]["kind"],
        "depends on the parts"
    );
    error(&nowhere, &["fit", "zone", "H7/k6", "0.5"]);
}
