//! What is said of a lean run in the words of the paddock.

mod of_engines;
mod of_hurry;
mod of_paddocks;
mod of_race_days;
mod of_riding;

use super::said_in;

use crate::advice::learning::heard::words::sentence::OwnNames;
use crate::advice::learning::heard::words::signs::{Said, WrittenIn};

#[test]
fn a_run_that_is_called_lean_and_was_not_judged_was_lean() {
    let run = |notes: &str, verdict: &str| {
        let text = format!("date = \"2026-05-16\"\nnotes = \"{notes}\"\n{verdict}");
        toml::from_str::<crate::notebook::Outing>(&text).expect("an outing")
    };
    let is_lean = |notes, verdict| super::lean_sign(&run(notes, verdict)).is_some();
    for notes in [
        "too lean at the top",
        "lean",
        "ran weak flat out",
        "full throttle was lean, white plug",
        "it was lean everywhere",
        "leaned out at the end",
        "leaning out on top",
    ] {
        assert!(is_lean(notes, ""), "{notes}");
        assert!(!is_lean(notes, "[verdict]\nfull = \"right\""), "{notes}");
        assert!(!super::lean_sign(&run(notes, "")).is_some_and(|sign| sign.is_seizure()), "{notes}");
    }
    for notes in [
        "lean at half throttle",
        "leaned into the corner",
        "not lean",
        "a clean run",
        "lean off the bottom",
        "leaned out of the hairpin",
    ] {
        assert!(!is_lean(notes, ""), "{notes}");
    }
    // Where another throttle was judged, words that name none are of that one.
    assert!(
        !is_lean("lean", "[verdict]\nhalf = \"right\"")
            && is_lean("lean on top", "[verdict]\nhalf = \"right\"")
    );
}

/// One word for what a text says.
fn told(text: &str) -> (&'static str, String) {
    match said_in(text, WrittenIn::Anywhere, &OwnNames::default()) {
        Said::Nothing => ("nothing", String::new()),
        Said::Lean(sign) => (if sign.is_seizure() { "seizure" } else { "ping" }, sign.word().to_owned()),
        Said::OfAnother { thing, .. } => ("other", thing),
        Said::Unclear { thing, .. } => ("unclear", thing),
    }
}

#[test]
fn signs_are_seen_and_denials_believed() {
    for (text, says, word) in [
        ("It seized at the end of the straight.", "seizure", "seized"),
        ("seized on the straight", "seizure", "seized"),
        ("Seized", "seizure", "seized"),
        ("Nearly a seizure on lap 4", "seizure", "seizure"),
        ("Cold seizure, four corners", "seizure", "seizure"),
        ("cold seized on lap one", "seizure", "seized"),
        ("four-corner scuff on the piston", "seizure", "corner scuff"),
        ("stuck the piston on lap 3", "seizure", "stuck, in the piston"),
        ("scuffed four corners", "seizure", "scuffed four"),
        ("a piston nip, four corners", "seizure", "piston nip"),
        ("nipped past him at the hairpin", "nothing", ""),
        ("the engine seized", "seizure", "seized"),
        ("Bike nearly seized coming out of the hairpin", "seizure", "seized"),
        ("The motor has nipped up", "seizure", "nipped"),
        ("it siezed at the top", "seizure", "siezed"),
        ("locked up solid on the straight", "seizure", "locked up"),
        ("stuck solid, piston welded", "seizure", "stuck solid"),
        ("It tightened up twice", "seizure", "tightened up"),
        ("piston scuffed on the exhaust side", "seizure", "scuffed"),
        ("melted the crown", "seizure", "melted"),
        ("the piston picked up", "seizure", "picked up"),
        ("Picked up speed early", "nothing", ""),
        ("The seat cover melted", "nothing", ""),
        ("Pinged twice under load", "ping", "pinged"),
        ("Heard it pinging; no pepper on the plug", "ping", "pinging"),
        ("Deto marks on the head", "ping", "deto"),
        ("holed piston", "seizure", "holed"),
        ("There is a hole in the piston", "seizure", "hole in the piston"),
        ("Burnt a hole through its crown", "seizure", "hole in the piston"),
        ("A hole in the tank, patched", "nothing", ""),
        ("serrage en bout de droite", "seizure", "serrage"),
        ("motor vastgelopen", "seizure", "vastgelopen"),
        ("It stopped dead on lap 2", "unclear", "the engine"),
        ("it grabbed on the straight", "unclear", "the engine"),
        ("Grabbed the front brake", "other", "brake"),
        ("The rear wheel locked on the straight", "unclear", "the wheel"),
        ("rear wheel locked up, no brake on", "unclear", "the wheel"),
        ("it locked the rear wheel in fifth", "unclear", "the wheel"),
        ("Rear wheel locked under braking", "other", "braking"),
        ("it locked on the straight", "unclear", "the engine"),
        ("the engine locked", "unclear", "the engine"),
        ("Locked in the van overnight", "nothing", ""),
        ("hole in piston", "seizure", "hole in the piston"),
        ("It is holed", "seizure", "holed"),
        ("the piston nipped up on lap 2", "seizure", "nipped"),
        ("no seizure but pinged at the top", "ping", "pinged"),
        ("no seizure, pinging at the top", "ping", "pinging"),
        ("not seized but pinging", "ping", "pinging"),
        ("never seized, but det on the piston", "ping", "det"),
        ("piston stuck", "seizure", "piston stuck"),
        ("it knocked on the straight", "ping", "knocked"),
        ("seized the top end", "seizure", "seized"),
        ("Top end seized in fourth gear", "seizure", "seized"),
        ("piston rings seized in their grooves", "seizure", "seized"),
        ("seized on lap 3 after the gearbox was rebuilt", "seizure", "seized"),
        ("seized the second lap", "seizure", "seized"),
        ("No warning, seized on lap 3", "seizure", "seized"),
        ("Clutch slipped and it seized", "seizure", "seized"),
        ("Clutch fine, engine seized", "seizure", "seized"),
        ("Lap 4 seized", "seizure", "seized"),
        ("At half throttle seized", "seizure", "seized"),
        ("Top gear seized", "seizure", "seized"),
        ("At the old bridge seized", "seizure", "seized"),
        ("Wide open throttle seizure", "seizure", "seizure"),
        ("No pinging. The piston seized.", "seizure", "seized"),
        ("No pepper. Pinging at half throttle.", "ping", "pinging"),
        ("No pinging at all", "nothing", ""),
        ("It did not seize", "nothing", ""),
        ("Never once pinged", "nothing", ""),
        ("It has stopped pinging", "nothing", ""),
        ("no pinging, detonation or seizure", "nothing", ""),
        ("didn't ping, didn't detonate", "nothing", ""),
        ("One richer to avoid a seizure", "nothing", ""),
        ("A new piston ring", "nothing", ""),
        ("Shipping the spare engine", "nothing", ""),
        ("Nipped inside at the hairpin", "nothing", ""),
    ] {
        assert_eq!(told(text), (says, word.to_owned()), "{text}");
    }
}

#[test]
fn what_seizes_without_the_mixture_is_no_lean_run() {
    for (text, thing) in [
        ("gearbox bearing seized", "bearing"),
        ("rear brake locked up into the hairpin", "brake"),
        ("Seized: brake caliper", "brake"),
        ("Rear brake seized on the grid", "brake"),
        ("The caliper pistons seized", "caliper"),
        ("water pump seized", "pump"),
        ("wheel bearings have nearly seized", "bearings"),
        ("seized the clutch", "clutch"),
        ("seizure of the gearbox", "gearbox"),
        ("third gear bearing seized", "bearing"),
        ("the throttle seized", "throttle"),
        ("big end seized", "end"),
        ("Nipped up the head bolts", "bolts"),
        ("engine bearing seized", "bearing"),
        ("chain pinging on its guard", "chain"),
    ] {
        assert_eq!(told(text), ("other", thing.to_owned()), "{text}");
    }
}

#[test]
fn what_neither_list_names_is_asked() {
    for (text, thing) in [
        ("the flange seized", "flange"),
        ("flange seized on lap 3", "flange"),
        ("seized the flange", "flange"),
        ("Gearbox whined and seized", "gearbox"),
    ] {
        assert_eq!(told(text), ("unclear", thing.to_owned()), "{text}");
        assert!(
            matches!(said_in(text, WrittenIn::OnThePiston, &OwnNames::default()), Said::Lean(_)),
            "of the piston: {text}"
        );
    }
}
