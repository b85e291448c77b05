//! What an earlier setup cannot bring back: metal that was cut, with the way out, and when it comes back after all.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use crate::moth;

use moth::{ENGINE_THEN, THEN, applied, engines, plan_with, read, sentences, setup_7, text, with};
use reedbook::notebook::RestoreRequest;
use reedbook::notebook::restoring::plan::{at_the_bike, restore};

#[test]
fn cut_metal_stays_cut_and_the_way_out_is_said() {
    let plan = engines(&ENGINE_THEN.replace("25.30", "24.90"), ENGINE_THEN, &setup_7());
    assert!(plan.applied.is_empty());
    assert_eq!(
        sentences(&plan),
        [
            "exhaust upper edge is 0.40 mm higher than in setup 7 (24.90 mm, was 25.30 mm): fit another cylinder, or re-jet for this one"
        ]
    );
    assert_eq!(plan.still_different[0].field, "ports.windows.exhaust.top");
    assert!(at_the_bike(&plan).is_empty());
}

#[test]
fn the_direction_word_fits_the_measurement() {
    let window = |line: &str| format!("[ports.windows.boost]\nkind = \"boost\"\n{line}\n");
    for (now, then, expected) in [
        (
            window("floor = 52"),
            window("floor = 50.5"),
            "boost floor is 1.5 mm lower than in setup 7 (52 mm, was 50.5 mm): fit another cylinder, or",
        ),
        (window("width = 20"), window("width = 21"), "boost width is 1 mm narrower than in"),
        (window("roof_angle = 60"), window("roof_angle = 55"), "boost roof angle is 5 deg steeper than in"),
        (window("count = 2"), window("count = 1"), "boost number of windows is 1 more than in"),
        (
            window("top_radius = 3"),
            window("top_radius = 4"),
            "boost upper corner radius is 1 mm smaller than in",
        ),
        (
            window("top = \"0.98 in\""),
            window("top = \"25.30 mm\""),
            "boost upper edge is 0.41 mm higher than in setup 7 (0.98 in, was 25.30 mm)",
        ),
        (
            "[head]\nsquish_clearance = 0.7".into(),
            "[head]\nsquish_clearance = 0.8".into(),
            "squish clearance is 0.1 mm narrower than in setup 7 (0.7 mm, was 0.8 mm): fit another insert or spacer, or",
        ),
        (
            "[engine]\nrod = 110".into(),
            "[engine]\nrod = 105".into(),
            "rod is 5 mm longer than in setup 7 (110 mm, was 105 mm): fit another bottom end or cylinder, or",
        ),
        (
            "[ports]\nrotary_opens = 40".into(),
            "[ports]\nrotary_opens = 35".into(),
            "rotary valve opening is 5 deg later than in",
        ),
        (
            "[ports]\ndeck_height = -0.2".into(),
            "[ports]\ndeck_height = 0".into(),
            "deck height is 0.2 mm smaller than in",
        ),
    ] {
        let plan = engines(&now, &then, &setup_7());
        assert_eq!(plan.still_different.len(), 1, "{now}");
        let sentence = &plan.still_different[0].sentence;
        assert!(sentence.starts_with(expected), "{sentence}");
        assert!(sentence.ends_with("re-jet for this one"), "{sentence}");
    }
}

#[test]
fn metal_comes_back_with_the_part_it_was_cut_into() {
    let now = ENGINE_THEN.replace("B2", "B1").replace("9.80", "9.20").replace("25.30", "24.90");
    let plan = engines(&now, ENGINE_THEN, &setup_7());
    assert_eq!(applied(&plan), ["head.insert", "head.chamber_volume"]);
    assert_eq!(plan.still_different.len(), 1, "the ports have no drawer");
    assert_eq!(at_the_bike(&plan), ["fit head insert B2"]);
    let cut = engines(&ENGINE_THEN.replace("9.80", "9.20"), ENGINE_THEN, &setup_7());
    assert!(cut.applied.is_empty());
    assert!(
        sentences(&cut)[0].starts_with("chamber volume is 0.60 cc smaller than in setup 7"),
        "{:?}",
        sentences(&cut)
    );
}

#[test]
fn a_pipe_that_was_swapped_comes_back_whole_and_one_that_was_cut_does_not() {
    let header = THEN.replace("200 mm", "190 mm");
    let cut = plan_with(&with(&header, ""), &with(THEN, ""), &setup_7());
    assert!(cut.applied.is_empty());
    assert!(
        sentences(&cut)[0].starts_with("header length is 10 mm shorter than in setup 7"),
        "{:?}",
        sentences(&cut)
    );
    assert!(sentences(&cut)[0].ends_with("fit another pipe, or re-jet for this one"));
    let other = header.replace("P3", "P4") + "\n[pipe.sections.belly]\nplace = 2\nlength = 90\n";
    let swapped = plan_with(&with(&other, ""), &with(THEN, ""), &setup_7());
    assert!(swapped.still_different.is_empty());
    let back = restore(&with(&other, ""), &with(THEN, ""), None, &swapped).unwrap();
    assert!(read(&back).fields.same_as(&read(&with(THEN, "")).fields));
    assert!(!text(&back).contains("belly"));
    assert_eq!(at_the_bike(&swapped), ["fit pipe P3"]);
}

#[test]
fn an_unnamed_part_does_not_lie_in_a_drawer() {
    let unnamed = ENGINE_THEN.replace("insert = \"B2\"\n", "").replace("9.80", "9.20");
    let plan = engines(ENGINE_THEN, &unnamed, &setup_7());
    assert_eq!(applied(&plan), ["head.insert"]);
    assert_eq!(plan.still_different.len(), 1);
}

#[test]
fn what_was_fitted_counts_as_it_was_then() {
    let now = ENGINE_THEN.replace("25.30", "24.90").replace("9.80", "9.20").replace("54 mm", "54.25 mm");
    let with_ports = RestoreRequest { fitted: vec!["ports".into()], ..setup_7() };
    let plan = engines(&now, ENGINE_THEN, &with_ports);
    assert_eq!(applied(&plan), ["ports.windows.exhaust.top"]);
    assert_eq!(plan.still_different.len(), 2);
    let all = RestoreRequest { fitted: vec!["all".into()], ..setup_7() };
    assert!(engines(&now, ENGINE_THEN, &all).still_different.is_empty());
    assert!(at_the_bike(&engines(&now, ENGINE_THEN, &all)).is_empty(), "what was fitted is done");
}

#[test]
fn a_squish_clearance_comes_back_with_a_gasket_unless_it_was_cut_otherwise() {
    let thick = ENGINE_THEN.replace("0.30 mm", "0.50 mm").replace("0.80", "1.00");
    assert_eq!(applied(&engines(&thick, ENGINE_THEN, &setup_7())), ["head.gasket", "head.squish_clearance"]);
    let skimmed = engines(&thick.replace("9.80", "9.20"), ENGINE_THEN, &setup_7());
    assert_eq!(applied(&skimmed), ["head.gasket"]);
    assert_eq!(
        sentences(&skimmed)[1],
        "squish clearance is 0.20 mm wider than in setup 7 (1.00 mm, was 0.80 mm): measure it with solder when the head is on"
    );
}

#[test]
fn a_deck_height_comes_back_with_the_base_gasket_that_explains_it() {
    let ports = |gasket: &str, deck: &str| format!("[ports]\nbase_gasket = {gasket}\ndeck_height = {deck}\n");
    let thin = engines(&ports("0.40", "0.00"), &ports("0.50", "0.10"), &setup_7());
    assert_eq!(applied(&thin), ["ports.base_gasket", "ports.deck_height"]);
    let skimmed = engines(&ports("0.40", "-0.20"), &ports("0.50", "0.10"), &setup_7());
    assert_eq!(applied(&skimmed), ["ports.base_gasket"]);
    assert_eq!(skimmed.still_different[0].field, "ports.deck_height");
}

#[test]
fn a_measurement_that_one_of_the_setups_lacks_is_neither_made_nor_lost() {
    let without = ENGINE_THEN.replace("top = \"25.30 mm\"\n", "");
    assert_eq!(
        sentences(&engines(ENGINE_THEN, &without, &setup_7())),
        ["exhaust upper edge (25.30 mm) is not written in setup 7: it stays as it is"]
    );
    assert_eq!(
        sentences(&engines(&without, ENGINE_THEN, &setup_7())),
        ["exhaust upper edge was 25.30 mm in setup 7 and is not written now: measure it"]
    );
}

#[test]
fn a_window_that_only_one_setup_has_is_said_once_and_stays() {
    let more = format!("{ENGINE_THEN}[ports.windows.boost]\nkind = \"boost\"\ntop = 38\nwidth = 20\n");
    let plan = engines(&more, ENGINE_THEN, &setup_7());
    assert_eq!(sentences(&plan), ["window boost is not written in setup 7: it stays as it is"]);
    assert_eq!(plan.still_different[0].field, "ports.windows.boost");
    let less = engines(ENGINE_THEN, &more, &setup_7());
    assert_eq!(
        sentences(&less),
        ["window boost is in setup 7 and not written now: fit another cylinder, or re-jet for this one"]
    );
    assert!(plan.applied.is_empty() && less.applied.is_empty());
    let kind = engines(&ENGINE_THEN.replace("\"exhaust\"", "\"auxiliary\""), ENGINE_THEN, &setup_7());
    assert_eq!(
        sentences(&kind),
        ["exhaust kind is auxiliary, was exhaust in setup 7: fit another cylinder, or re-jet for this one"]
    );
}
