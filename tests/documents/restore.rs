//! Putting an earlier setup back: what comes back, and what is to be done at the bike.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use crate::moth;

use moth::{ENGINE_THEN, NOW, THEN, applied, engines, plan_with, read, sentences, setup_7, text, with};
use reedbook::notebook::restoring::plan::{at_the_bike, plan, restore};
use reedbook::notebook::{Combination, EditError, RestoreRequest, SetupFiles};

#[test]
fn what_can_be_turned_or_swapped_comes_back() {
    let (now, then) = (with(NOW, ENGINE_THEN), with(THEN, ENGINE_THEN));
    let plan = plan_with(&now, &then, &setup_7());
    assert_eq!(
        applied(&plan),
        [
            "ignition.advance",
            "jetting.main",
            "jetting.clip",
            "jetting.shim",
            "jetting.air_screw",
            "gearing.front",
            "notes"
        ]
    );
    assert!(plan.still_different.is_empty() && plan.engine.is_none());
    let back = restore(&now, &then, None, &plan).unwrap();
    assert!(read(&back).fields.same_as(&read(&then).fields));
    assert_eq!(
        text(&back),
        text(&now)
            .replace("notes = \"wet\"", "notes = \"dry and fast\"")
            .replace("[20, 20, 18]", "[20, 18, 16]")
            .replace("main = 178 # rich", "main = 172 # rich")
            .replace("shim = 0.5\n", "")
            .replace("clip = 3", "clip = 4")
            .replace("air_screw = 1.5", "air_screw = \"1 3/4 turns\"")
            .replace("front = 16", "front = 17"),
        "only the values changed, as the earlier file wrote them, and every comment stayed"
    );
}

#[test]
fn the_list_at_the_bike_is_in_the_words_of_the_trade_with_the_jets_first() {
    let now = with(
        &NOW.replace("front = 16", "front = 16\nratios = { first = 2.5 }"),
        &ENGINE_THEN.replace("B2", "B1"),
    );
    let plan = plan_with(&now, &with(THEN, ENGINE_THEN), &setup_7());
    assert_eq!(
        at_the_bike(&plan),
        [
            "main 178 → 172",
            "clip 3 → 4",
            "shim 0.5 mm → not written",
            "air screw 1.5 → 1.75 turns",
            "load the ignition map: 2.0 degrees less from 9,000 to 10,500 rpm",
            "fit head insert B2",
            "front sprocket 16 → 17",
            "gear first 2.5 → not written",
        ]
    );
}

#[test]
fn a_list_line_for_every_sort_of_change() {
    let line = |now: &str, then: &str| {
        let plan = plan_with(&with(now, ""), &with(then, ""), &setup_7());
        at_the_bike(&plan).join("; ")
    };
    assert_eq!(
        line(
            "[jetting]\npilot = 45\npilot_numbered_by = \"flow\"",
            "[jetting]\npilot = 38\npilot_numbered_by = \"bore\""
        ),
        "pilot 45 by flow → 38 by bore"
    );
    assert_eq!(
        line(
            "[jetting]\npilot = 45\npilot_numbered_by = \"flow\"",
            "[jetting]\npilot = 45\npilot_numbered_by = \"bore\""
        ),
        "pilot jet counted by flow → bore"
    );
    assert_eq!(
        line("", "[ignition]\nmap_kind = \"relative\"\nrpm = [1, 2]\nadvance = [3, 4]"),
        "load the ignition map: a map of 2 points where there was none"
    );
    assert_eq!(
        line("[ignition]\nmap_kind = \"relative\"\nrpm = [1, 2]\nadvance = [3, 4]", ""),
        "take the ignition map out: none is written"
    );
    assert_eq!(
        line("[fuel]\nname = \"pump\"\ndensity = 745", "[fuel]\nname = \"race\"\ndensity = 730"),
        "fuel pump → race"
    );
    assert_eq!(
        line("[extra]\nplug_cap = \"red\"", "[extra]\nplug_cap = \"bl\\u001bue\""),
        "plug cap red → bl\\u{1b}ue"
    );
    assert_eq!(line("notes = \"a\"", "notes = \"b\""), "");
    let reeds =
        |name: &str, thickness: &str| format!("[ports.reed]\nname = \"{name}\"\nthickness = {thickness}");
    let swap = |now: &str, then: &str| at_the_bike(&engines(now, then, &setup_7())).join("; ");
    assert_eq!(swap(&reeds("stiff", "0.4"), &reeds("soft", "0.3")), "fit reed block soft");
    assert_eq!(swap(&reeds("soft", "0.4"), &reeds("soft", "0.3")), "reed thickness 0.4 mm → 0.3 mm");
}

#[test]
fn restoring_the_restored_gives_the_first_values_back() {
    let (now, then) = (with(NOW, ENGINE_THEN), with(THEN, ENGINE_THEN));
    let there = restore(&now, &then, None, &plan_with(&now, &then, &setup_7())).unwrap();
    let back = restore(&there, &now, None, &plan_with(&there, &now, &setup_7())).unwrap();
    assert!(read(&back).fields.same_as(&read(&now).fields));
    for comment in
        ["# Moth, as she stands", "# the good one", "# all by the plug", "# rich", "# for the rain"]
    {
        assert!(text(&back).contains(comment), "{comment}");
    }
}

#[test]
fn only_the_sections_asked_for_are_touched() {
    let (now, then) = (with(NOW, &ENGINE_THEN.replace("25.30", "24.90")), with(THEN, ENGINE_THEN));
    let only = |sections: &[&str]| RestoreRequest {
        only: sections.iter().map(|s| (*s).to_owned()).collect(),
        ..setup_7()
    };
    let plan = plan_with(&now, &then, &only(&["ignition"]));
    assert_eq!(applied(&plan), ["ignition.advance"]);
    assert!(plan.still_different.is_empty());
    let both = plan_with(&now, &then, &only(&["gearing", "ports"]));
    assert_eq!((applied(&both), both.still_different.len()), (vec!["gearing.front"], 1));
    let error =
        reedbook::notebook::restoring::plan::plan(&read(&now), &read(&then), &only(&["wheels"])).unwrap_err();
    assert_eq!(error.to_string(), "There is no section \"wheels\".");
    assert!(error.help().starts_with("Sections: engine, ports, head, ignition, "), "{}", error.help());
    let fitted = RestoreRequest { fitted: vec!["gearing".into()], ..setup_7() };
    let error = reedbook::notebook::restoring::plan::plan(&read(&now), &read(&then), &fitted).unwrap_err();
    assert_eq!(error.help(), "Sections: ports, head, engine, pipe, all.");
    assert!(matches!(error, EditError::UnknownSection { .. }));
}

const ENGINE_B: &str = "# the old one\n[ports.windows.exhaust]\nkind = \"exhaust\"\ntop = \"26.00 mm\" # never cut\n\n[head]\nplug = \"middle\"\n";

#[test]
fn another_engine_goes_in_and_is_compared_with_its_own_past() {
    let then = with(&THEN.replace("a1", "b2"), ENGINE_B);
    let now = with(THEN, ENGINE_THEN);
    let b_now = ENGINE_B.replace("26.00", "25.80").replace("middle", "cold");
    let b_readings = read(&with("engine = \"b2\"\n", &b_now)).fields;
    let request = RestoreRequest { target_engine_now: Some(&b_readings), ..setup_7() };
    let plan = plan_with(&now, &then, &request);
    assert_eq!((applied(&plan), plan.engine.as_deref()), (vec!["engine", "head.plug"], Some("b2")));
    assert_eq!(
        sentences(&plan),
        [
            "exhaust upper edge is 0.20 mm higher than in setup 7 (25.80 mm, was 26.00 mm): fit another cylinder, or re-jet for this one"
        ]
    );
    assert_eq!(at_the_bike(&plan), ["put engine b2 in", "fit spark plug middle"]);
    let back = restore(&now, &then, Some(b_now.as_bytes()), &plan).unwrap();
    assert_eq!(back.engine_name.as_deref(), Some("b2"));
    assert_eq!(back.engine, Some(b_now.replace("cold", "middle").into_bytes()));
    assert_eq!(read(&back).fields.text("engine"), Some("b2"));
}

#[test]
fn an_engine_whose_file_is_gone_comes_back_as_it_was() {
    let (now, then) = (with(THEN, ENGINE_THEN), with(&THEN.replace("a1", "b2"), ENGINE_B));
    let plan = plan_with(&now, &then, &setup_7());
    let back = restore(&now, &then, None, &plan).unwrap();
    assert_eq!(back.engine.as_deref(), Some(ENGINE_B.as_bytes()));
    assert!(read(&back).fields.same_as(&read(&then).fields));
}

#[test]
fn an_engine_that_is_in_another_bike_stays_there() {
    let (now, then) = (with(NOW, ENGINE_THEN), with(&THEN.replace("a1", "a2"), ENGINE_B));
    let request = RestoreRequest { engine_elsewhere: Some("tern".into()), ..setup_7() };
    let plan = plan_with(&now, &then, &request);
    assert_eq!(sentences(&plan), ["engine a2 is in bike tern now: take it out there first"]);
    assert!(
        plan.engine.is_none()
            && !applied(&plan).contains(&"engine")
            && applied(&plan).contains(&"jetting.main")
    );
    let back = restore(&now, &then, None, &plan).unwrap();
    assert_eq!((back.engine_name.as_deref(), &back.engine), (Some("a1"), &now.engine));
}

#[test]
fn ports_and_head_come_only_with_their_engine() {
    let (now, then) = (with(NOW, ENGINE_THEN), with(&THEN.replace("a1", "b2"), ENGINE_B));
    let only = |section: &str| RestoreRequest { only: vec![section.into()], ..setup_7() };
    assert_eq!(
        sentences(&plan_with(&now, &then, &only("head"))),
        ["setup 7 ran engine b2: its ports and head come back only with the engine"]
    );
    assert!(plan_with(&now, &then, &only("ignition")).still_different.is_empty());
    let nameless = with(&THEN.replace("engine = \"a1\"\n", ""), "");
    assert_eq!(
        sentences(&plan_with(&now, &nameless, &setup_7())),
        ["setup 7 names no engine: engine a1 stays in"]
    );
    let unknown = SetupFiles { engine: None, ..with(THEN, "") };
    let plan = plan(&read(&now), &Combination::read(&unknown, false), &setup_7()).unwrap();
    assert_eq!(sentences(&plan), ["setup 7 says nothing about engine a1: it stays as it is"]);
    assert!(!applied(&plan).iter().any(|field| field.starts_with("head")));
}

#[test]
fn the_notes_of_the_engine_stay_with_the_engine() {
    let cracked = format!("engine_notes = \"crack beside the boost\"\n{ENGINE_THEN}");
    let plan = engines(&cracked, ENGINE_THEN, &setup_7());
    assert!(plan.applied.is_empty());
    assert_eq!(
        sentences(&plan),
        ["the engine's notes stay as they are: they are about the engine, not about setup 7"]
    );
}

#[test]
fn a_map_that_was_kept_in_a_file_comes_back_in_that_file() {
    let kept = THEN
        .replace("rpm = [8000, 9000, 10500]\nadvance = [20, 18, 16]", "advance = \"maps/dry.csv\" # copied");
    let mut then = with(&kept, "");
    then.maps.insert("maps/dry.csv".into(), b"rpm,8000,9000\n,21,20\n".to_vec());
    let mut now = with(NOW, "");
    now.maps.insert("maps/dry.csv".into(), b"rpm,8000,9000\n,9,9\n".to_vec());
    let back = restore(&now, &then, None, &plan_with(&now, &then, &setup_7())).unwrap();
    assert!(read(&back).fields.same_as(&read(&then).fields));
    assert_eq!(back.maps, then.maps);
    assert!(
        text(&back).contains("map_kind = \"relative\"\n# same box\nadvance = \"maps/dry.csv\"\n"),
        "{}",
        text(&back)
    );
    let again = restore(&back, &now, None, &plan_with(&back, &now, &setup_7())).unwrap();
    assert!(read(&again).fields.same_as(&read(&now).fields));
    assert!(text(&again).contains("advance = [20, 20, 18]"), "{}", text(&again));
}

#[test]
fn the_free_part_comes_back_even_where_a_value_and_a_table_swapped_places() {
    let (a, b) = (with("[extra]\nfan = \"off\"\ncap = 1\n", ""), with("[extra.fan]\nspeed = 2\n", ""));
    for (now, then) in [(&a, &b), (&b, &a)] {
        let back = restore(now, then, None, &plan_with(now, then, &setup_7())).unwrap();
        assert!(read(&back).fields.same_as(&read(then).fields), "{}", text(&back));
    }
    let dotted = with("[extra]\n\"spark.cap\" = \"red\"\n", "");
    let back = restore(&with("", ""), &dotted, None, &plan_with(&with("", ""), &dotted, &setup_7())).unwrap();
    assert_eq!(text(&back), "[extra]\n\"spark.cap\" = \"red\"\n\n");
}

#[test]
fn a_file_that_cannot_be_read_is_not_restored_over() {
    let (now, then) = (with(NOW, ENGINE_THEN), with(THEN, ENGINE_THEN));
    let plan = plan_with(&now, &then, &setup_7());
    let broken = SetupFiles { setup: Some(b"[jetting\n".to_vec()), ..now.clone() };
    assert!(matches!(restore(&broken, &then, None, &plan), Err(EditError::Unreadable(_))));
    let plan = engines(&ENGINE_THEN.replace("0.30", "0.50"), ENGINE_THEN, &setup_7());
    let no_engine = SetupFiles { engine: None, ..now };
    assert!(matches!(restore(&no_engine, &then, None, &plan), Err(EditError::NoEngine { .. })));
}
