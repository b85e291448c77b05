//! What is cut in metal stays whichever side is kept, as it does when an earlier setup is put back.

use std::fs;

use super::Yard;
use crate::common::in_a_line;

const ENGINE: &str = "engines/moth-engine/engine.toml";
const PORT: &str = "ports.windows.exhaust.top";

/// A yard whose moth has an exhaust window that both sides know; then the shop files it and the track changes the sprocket.
fn filed() -> Yard {
    let yard = Yard::new();
    let words = ["change", "moth", "ports.windows.exhaust.kind=exhaust", "ports.windows.exhaust.top=25.4 mm"];
    yard.done(
        "shop",
        "16T09",
        &[&words[..], &["ports.windows.exhaust.width=40 mm", "--why", "measured"]].concat(),
    );
    yard.done("shop", "16T10", &["share"]);
    yard.done("track", "16T11", &["share"]);
    yard.done("shop", "16T12", &["change", "moth", &format!("{PORT}=25.2 mm"), "--why", "filed"]);
    yard.done("shop", "16T13", &["share"]);
    yard.done("track", "16T14", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard
}

#[test]
fn a_filed_port_is_not_put_back_by_a_choice() {
    let yard = filed();
    let said = yard.json("track", "17T09", &["share"]);
    assert_eq!(said["questions"][0]["metal"], serde_json::json!([PORT]), "{said:#}");
    assert!(
        in_a_line(&yard.run("track", "17T09", &["share"]).out).contains("it stays whichever of them holds")
    );
    let said = in_a_line(&yard.done("track", "17T10", &["share", "--keep", "here", "moth"]));
    assert!(said.contains(&format!("{PORT} stays 25.2 mm")), "{said}");
    assert!(said.contains("Combined, never run"), "{said}");
    yard.done("shop", "17T11", &["share"]);
    yard.assert_one(&["shop", "track"]);
    for side in ["shop", "track"] {
        assert!(yard.read(side, ENGINE).contains("25.2 mm"), "{side}: {}", yard.read(side, ENGINE));
        assert!(yard.read(side, "bikes/moth/setup.toml").contains("rear = 41"));
    }
    let setup = &yard.json("shop", "17T12", &["history", "moth"])["setups"][0];
    assert_eq!(setup["combined"], true, "{setup:#}");
    assert!(setup["why"].as_str().unwrap().contains("what was cut in metal stays"), "{setup:#}");
}

#[test]
fn metal_of_our_own_stays_where_theirs_holds_and_what_both_cut_is_said() {
    let yard = filed();
    yard.done(
        "track",
        "16T15",
        &["change", "moth", "ports.deck_height=-0.10 mm", "--why", "decked", "--sure"],
    );
    yard.done("track", "16T16", &["change", "moth", &format!("{PORT}=25.3 mm"), "--why", "filed", "--sure"]);
    let said = in_a_line(&yard.done("track", "17T10", &["share", "--keep", "there", "moth"]));
    assert!(said.contains("ports.deck_height stays -0.10 mm"), "{said}");
    assert!(
        said.contains(&format!(
            "!! Both sides cut {PORT}: 25.2 mm holds by the record, 25.3 mm on the other"
        )),
        "{said}"
    );
    let engine = yard.read("track", ENGINE);
    assert!(engine.contains("-0.10 mm") && engine.contains("25.2 mm"), "{engine}");
    assert!(yard.read("track", "bikes/moth/setup.toml").contains("rear = 40"));
}

/// What one side took out of the bike is another engine: its file stays as that side has it.
#[test]
fn an_engine_that_is_not_kept_in_keeps_what_was_cut_in_it() {
    let yard = Yard::new();
    yard.done(
        "shop",
        "16T09",
        &["change", "moth", "ports.deck_height=0.00 mm", "--why", "measured", "--sure"],
    );
    yard.done("shop", "16T10", &["share"]);
    yard.done("track", "16T11", &["share"]);
    yard.done(
        "shop",
        "16T12",
        &["change", "moth", "ports.deck_height=-0.10 mm", "--why", "decked", "--sure"],
    );
    yard.done("shop", "16T13", &["share"]);
    fs::create_dir_all(yard.at("track").join("engines")).unwrap();
    yard.done("track", "16T14", &["engine", "new", "spare"]);
    yard.done("track", "16T15", &["change", "moth", "engine=spare", "--why", "spare in", "--sure"]);
    yard.done("track", "17T10", &["share", "--keep", "here", "moth"]);
    assert!(yard.read("track", ENGINE).contains("-0.10 mm"), "{}", yard.read("track", ENGINE));
    assert!(yard.read("track", "bikes/moth/setup.toml").contains("engine = \"spare\""));
}
