//! The throttle zones.

/// The throttle zones: as written in a document, as typed in a hurry, and the share of the slide's lift.
pub const ZONES: [(&str, &str, f64); 6] = [
    ("idle", "0", 0.0),
    ("eighth", "1/8", 0.125),
    ("quarter", "1/4", 0.25),
    ("half", "1/2", 0.5),
    ("three_quarters", "3/4", 0.75),
    ("full", "1", 1.0),
];

/// A zone in words: "half throttle".
pub fn throttle(zone: &str) -> String {
    match zone {
        "idle" => "idle".to_owned(),
        "three_quarters" => "three-quarter throttle".to_owned(),
        "eighth" => "eighth throttle".to_owned(),
        "quarter" => "quarter throttle".to_owned(),
        zone => format!("{zone} throttle"),
    }
}
