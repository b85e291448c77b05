//! Words that a rider or a mechanic says of an engine that ran lean: none may be passed over.

use super::super::said_in;

use crate::advice::learning::heard::words::sentence::OwnNames;
use crate::advice::learning::heard::words::signs::{Said, WrittenIn};

fn own() -> OwnNames {
    OwnNames::of(["solo", "cicada", "cricket", "Moth", "spare", "red bike"])
}

/// Whether a text is taken as lean, at once or until it is answered.
fn is_taken(text: &str, seen: WrittenIn) -> bool {
    matches!(said_in(text, seen, &OwnNames::default()), Said::Lean(_) | Said::Unclear { .. })
}

#[test]
fn what_an_engine_does_is_taken_as_lean() {
    for text in [
        "engine went tight, backed off and it freed",
        "went tight at the end of the straight and I clutched it",
        "tight again after lap 3",
        "it tightened",
        "It tightened slightly at the top",
        "felt it tightening at the end of the straight",
        "started to tighten up on lap 4",
        "left side went tight",
        "going tight in top",
        "Tight on the straight",
        "engine felt tight on the straight",
        "it stuck",
        "the engine stuck",
        "engine got stuck",
        "stuck at the end of the straight",
        "stuck momentarily then freed off",
        "stuck it on lap 3",
        "it froze on the long straight",
        "it froze",
        "Engine froze",
        "slowed itself down on the straight, binding",
        "it slowed on its own at the top",
        "engine binding",
        "it would not turn over",
        "wouldn't turn over",
        "won’t turn over now",
        "engine will not turn",
        "had to let it cool before it would turn",
        "could not kick it over, solid",
        "engine stopped on the straight, no compression now",
        "no compression",
        "compression gone",
        "the engine stopped on the straight",
        "it picked up on the exhaust side",
        "picked up on the skirt",
        "piston picked up slightly",
        "Barrel marked",
        "marked bore",
        "marks on the exhaust side",
        "lost a piston",
        "lost another piston",
        "burnt a hole",
        "burned a hole in it",
        "sandblasted piston edge",
        "sand-blasted crown",
        "pitted crown",
        "blew up",
        "blew up on lap 2",
        "engine blew",
        "motor blew up",
        "engine let go in 6th",
        "it let go on the straight",
        "piston kissed the head",
        "rattling like a bag of nails",
        "detting",
        "a ping at the top",
        "slight knock at full throttle",
        "plug melted",
        "melted the plug electrode",
        "grabbed on the overrun",
        "engine grabbed coming into the hairpin",
        "engine locked, slid into the gravel",
        "rear wheel locked on the straight, engine stopped",
        "solo nipped up",
        "cicada seized on the straight",
        "cricket nipped up, exhaust side",
        "Moth nipped up",
        "spare seized again",
        "left nipped up",
        "left pot seized",
        "R/H seized",
        "L/H cylinder tightened",
        "number two seized",
        "no 2 seized",
        "rear barrel seized",
        "front nipped up",
        "hat gefressen",
        "gefressen",
        "il a grippé",
        "a serré dans la ligne droite",
        "kolben geklemmt",
        "went solid in top",
        "slight nip at lap 3",
        "cooked the piston",
        "felt like the brakes were on at the top",
        "without warning it seized",
        "No warning it nipped up",
        "not sure but it seized",
        "not sure if it nipped up",
        "stopped and seized",
        "did not finish, seized",
        "didn't finish because it seized",
        "no doubt it seized",
        "it seized (no warning)",
        "Seized: new piston needed",
        "it nearly tightened up twice",
    ] {
        assert!(is_taken(text, WrittenIn::Anywhere), "{text}");
    }
}

#[test]
fn a_plug_and_a_piston_say_it_too() {
    for text in [
        "white, glazed, electrode melted",
        "white blistered",
        "melted",
        "silver beads",
        "aluminium on it",
        "peppered",
        "black specks",
        "electrode melted",
    ] {
        assert!(is_taken(text, WrittenIn::OnThePlug), "{text}");
    }
    for text in ["pitted crown", "marks on the exhaust side", "scuffed", "smeared over the ring", "marked"] {
        assert!(is_taken(text, WrittenIn::OnThePiston), "{text}");
    }
    for text in [
        "tan",
        "bone white",
        "brown, clean ring",
        "glazed",
        "no specks",
        "wet and black",
        "light brown, speckle of carbon",
    ] {
        assert!(!is_taken(text, WrittenIn::OnThePlug), "{text}");
    }
}

#[test]
fn a_name_of_the_garage_is_an_engine() {
    for text in [
        "solo nipped up at the end of the straight",
        "cicada seized on the straight",
        "cricket nipped up, exhaust side",
        "Moth nipped up",
        "spare seized again",
        "the red bike seized",
        "Moth went tight",
    ] {
        assert!(matches!(said_in(text, WrittenIn::Anywhere, &own()), Said::Lean(_)), "{text}");
    }
    for text in ["spare gearbox seized", "Moth's rear brake seized", "solo rear wheel bearing nipped up"] {
        assert!(matches!(said_in(text, WrittenIn::Anywhere, &own()), Said::OfAnother { .. }), "{text}");
    }
    let clutch = OwnNames::of(["clutch"]);
    assert!(matches!(said_in("clutch seized", WrittenIn::Anywhere, &clutch), Said::OfAnother { .. }));
}
