//! Two who shape one map at once: either both shifts stand, one on the other, or one is refused; none is lost silently.
//! No outside source is needed: the map on disk is the judge.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;

use common::{Answer, Shed, setup_file};

/// The first cell of the bike's ignition map.
fn first_cell(shed: &Shed) -> f64 {
    let map = shed.json(&["map", "show", "moth", "ignition"]);
    map["map"]["rows"][0][0].as_f64().unwrap()
}

#[test]
fn a_shift_made_from_an_older_map_is_refused_and_not_written_over_the_newer_one() {
    let shed = Shed::new();
    let map = "base = 15\nmap_kind = \"relative\"\nrpm = [3000, 9000]\nadvance = [5.5, 3]\n";
    shed.edit(&setup_file("moth"), "base = 15\n", map);
    shed.run(&["change", "moth", "--why", "a map"]).done();
    for _ in 0..4 {
        let before = first_cell(&shed);
        let shifts = [1.0, 3.0];
        let started = shifts.map(|by: f64| {
            let by = by.to_string();
            shed.start(&["map", "shift", "moth", "ignition", "--by", &by, "--record"])
        });
        let mut expected = before;
        for (child, by) in started.into_iter().zip(shifts) {
            let answer: Answer = child.wait_with_output().unwrap().into();
            if answer.code == Some(0) {
                expected += by;
            } else {
                let words = answer.refused();
                assert!(
                    words.contains("was changed by someone else") || words.contains("never recorded"),
                    "{words}"
                );
            }
        }
        assert!(expected > before, "one of two must get through");
        let found = first_cell(&shed);
        assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
        let back = format!("{}", before - found);
        shed.run(&["map", "shift", "moth", "ignition", "--by", &back, "--record"]).done();
    }
    shed.assert_clean();
    shed.assert_sound();
}
