//! A twin on two sides: what holds for both cylinders changed here, what one has of its own changed there, is one bike's setup.

use super::Yard;
use crate::common::{SETUP, in_a_line};

/// The twin with a main jet of the right cylinder's own; both sides have changed it.
fn twins() -> Yard {
    let yard = Yard::new();
    yard.done("shop", "16T11", &["bike", "new", "otter", "--cylinders", "left,right"]);
    let setup = SETUP.replace("ENGINE", "otter-engine");
    std::fs::write(yard.at("shop").join("bikes/otter/setup.toml"), setup).unwrap();
    yard.done("shop", "16T12", &["change", "otter", "right.jetting.main=172", "--why", "as bought"]);
    yard.done("shop", "16T13", &["share"]);
    yard.done("track", "16T14", &["share"]);
    yard.done("track", "16T15", &["change", "otter", "right.jetting.main=176", "--why", "right is dry"]);
    yard.done("track", "16T16", &["share"]);
    let words = ["change", "otter", "jetting.main=168", "right.jetting.main=172", "--why", "left is wet"];
    yard.done("shop", "16T17", &words);
    yard
}

#[test]
fn what_holds_for_both_and_what_one_has_of_its_own_are_one_question() {
    let yard = twins();
    let asked = yard.run("shop", "17T10", &["share"]);
    assert_eq!(asked.code, Some(1), "{}", asked.out);
    let said = in_a_line(&asked.out);
    for wanted in [
        "Two setups of otter",
        "jetting.main 170 170 168",
        "right.jetting.main 172 176 172",
        "share --keep both otter",
    ] {
        assert!(said.contains(wanted), "{wanted}: {}", asked.out);
    }
    // Combined, each cylinder has what its side gave it: the left 168, the right 176.
    yard.done("shop", "17T11", &["share", "--keep", "both", "otter"]);
    yard.done("track", "17T12", &["share"]);
    yard.assert_one(&["shop", "track"]);
    let setup = yard.read("track", "bikes/otter/setup.toml");
    assert!(setup.contains("main = 168") && setup.contains("main = 176"), "{setup}");
    let history = yard.json("track", "17T13", &["history", "otter"]);
    assert_eq!(history["setups"][0]["combined"], true, "{history:#}");
}

#[test]
fn whose_the_engine_is_survives_whichever_side_is_kept() {
    for keep in ["there", "here", "both"] {
        let yard = twins();
        yard.done("shop", "16T18", &["engine", "owner", "otter-engine", "Carla"]);
        // Shown is the setup, and not that.
        let asked = yard.run("shop", "17T10", &["share"]);
        assert!(asked.out.contains("left is wet") && !asked.out.contains("Carla"), "{}", asked.out);
        yard.done("shop", "17T11", &["share", "--keep", keep, "otter"]);
        yard.done("track", "17T12", &["share"]);
        yard.assert_one(&["shop", "track"]);
        assert!(
            yard.read("track", "engines/otter-engine/engine.toml").contains("owner = \"Carla\""),
            "{keep}"
        );
    }
    // On different sides: the owner here, the setup there.
    let yard = Yard::new();
    yard.done("track", "16T12", &["change", "moth", "ports.base_gasket=0.5 mm", "--why", "thicker"]);
    yard.done("track", "16T13", &["share"]);
    yard.done("shop", "16T14", &["engine", "owner", "moth-engine", "Carla"]);
    yard.done("shop", "16T15", &["share"]);
    yard.done("track", "16T16", &["share"]);
    yard.assert_one(&["shop", "track"]);
    let engine = yard.read("track", "engines/moth-engine/engine.toml");
    assert!(engine.contains("owner = \"Carla\"") && engine.contains("base_gasket = \"0.5 mm\""), "{engine}");
}
