//! Cards of the demo's bikes in airs half a percent apart: from cell to cell one thing at a time, by a quarter turn or one size.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::collections::BTreeSet;
use std::process::Command;

use serde_json::Value;

use crate::replayed::{demo_in, temporary_folder};

/// What one circuit has in two cells that lie beside each other; none where one of them lacks it.
fn apart(cells: &[&Value], of: &str) -> Option<f64> {
    Some(cells[1][of].as_f64()? - cells[0][of].as_f64()?)
}

/// Goes down a card from the densest air; `size` is the widest step between two main jets of the box there, or of the trim in percent, and
/// `stays` what is on the bike, which stays in the air in which it was right: from that the next cell may be two sizes away.
fn goes_down(card: &Value, (size, stays): (f64, f64)) {
    let cells: Vec<&Value> = card["rows"].as_array().unwrap().iter().map(|row| &row["cells"][0]).collect();
    assert_eq!(cells.len(), 31);
    let mut others = BTreeSet::new();
    for pair in cells.windows(2) {
        let why = || format!("{}\n{}", pair[0], pair[1]);
        let is_on_the_bike = |of: &str| {
            pair.iter().any(|cell| cell[of].as_f64().is_some_and(|now| (now - stays).abs() < 1e-9))
        };
        for of in ["main", "trim_percent"] {
            let most = if is_on_the_bike(of) { 2.0 * size } else { size };
            assert!(apart(pair, of).is_none_or(|apart| apart.abs() <= most + 1e-9), "{of}\n{}", why());
        }
        if pair[0]["needle"] != pair[1]["needle"] {
            others.insert(pair[1]["needle"].as_str().unwrap());
            continue;
        }
        assert!(apart(pair, "clip").is_none_or(|apart| apart.abs() <= 1.0), "clip\n{}", why());
        match apart(pair, "pilot") {
            Some(pilot) if pilot != 0.0 => assert!((-2.5..=0.0).contains(&pilot), "pilot\n{}", why()),
            _ => {
                let turned = apart(pair, "screw_turns");
                assert!(turned.is_none_or(|turned| (0.0..=0.25).contains(&turned)), "screw\n{}", why());
            }
        }
    }
    assert!(others.len() <= 1, "a carburetor that is taken apart twice: {others:?}");
}

#[test]
fn cards_of_the_demo_are_smooth_in_air() {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    let heights: Vec<String> = (0..=30).map(|step| format!("{} m", 80 * step)).collect();
    for (bike, cylinders, bounds) in [
        ("moth", vec![], (2.0, 172.0)),
        ("otter", vec!["left", "right"], (2.5, f64::NAN)),
        ("wren", vec![], (1.1, 0.0)),
        ("ibex", vec![], (5.0, 305.0)),
    ] {
        let out = Command::new(env!("CARGO_BIN_EXE_reedbook"))
            .args(["rejet", bike, "--card", "--json", "--temps", "15 C", "--elevations", &heights.join(",")])
            .current_dir(&garage)
            .env("HOME", folder.path())
            .env("TZ", "UTC")
            .env("REEDBOOK_NOW", "2026-11-28T18:00+00:00")
            .output()
            .unwrap();
        assert!(out.status.success(), "{bike}: {}", String::from_utf8_lossy(&out.stderr));
        let card: Value = serde_json::from_slice(&out.stdout).unwrap();
        if cylinders.is_empty() {
            goes_down(&card, bounds);
        }
        for cylinder in cylinders {
            goes_down(&card["cylinders"][cylinder], bounds);
        }
    }
}
