//! A lean run of which nobody knows what was on the bike: the richest that may have been.

use super::{Season, air, alone, ran};

/// Lean on 174 by the record, behind a run on what was fitted before.
fn season(before: &str, doubted: &str) -> Season {
    Season::new()
        .run(before, &ran("full = \"right\"", 20.0))
        .run("174", &format!("{doubted}{}", ran("full = \"lean\"", 20.0)))
}

#[test]
fn a_run_with_jobs_open_is_held_to_the_richer_jet() {
    let doubted = season("178", "doubted = [\"setup\"]\n");
    let hold = &doubted.holds("174").holds[0];
    assert_eq!((hold.setup(), hold.main), (Some(1), Some(178.0)));
    assert!(!doubted.allows("178", Some(&air(20.0))));
    assert!(doubted.allows("180", Some(&air(20.0))));
    // Said what it ran on: that alone counts.
    let said = season("178", "");
    assert_eq!(said.holds("174").holds[0].main, Some(174.0));
    assert!(said.allows("176", Some(&air(20.0))));
}

#[test]
fn a_leaner_jet_before_it_changes_nothing() {
    let doubted = season("170", "doubted = [\"setup\"]\n");
    let hold = &doubted.holds("174").holds[0];
    assert_eq!((hold.setup(), hold.main), (Some(2), Some(174.0)));
    let setup = doubted.setup("174");
    let least = |season: &Season| {
        season.holds("174").least("full", (alone(&setup), &setup), None, &season.tables()).unwrap().1
    };
    assert!((least(&doubted) - least(&season("170", ""))).abs() < 1e-12);
}
