//! What is written of a piston that was looked at and of a plug; and what only looks lean.

use super::super::super::phrase_lists as lists;
use super::super::super::word_lists::REACH;

use crate::advice::learning::heard::word_lists::listed;
use crate::advice::learning::heard::words::phrases::place::{WordAt, lean};
use crate::advice::learning::heard::words::signs::{Said, Sign, Word, WrittenIn};

/// What is seen on a piston that is marked, and on a plug: metal on it or melted, blisters, pepper.
pub(in super::super) fn seen_said(words: &[Word], at: usize, seen: WrittenIn) -> Option<Said> {
    let place = WordAt { words, at };
    let word = place.word();
    if seen == WrittenIn::OnThePiston {
        let marked = listed("marked marks", word) && !place.anywhere(lists::WITH_A_PEN);
        let metal = listed("picked pickup nip eaten bitten blued tight stuck grabbed", word)
            || word == "pick" && place.next(1) == "up"
            || word == "shiny" && place.anywhere("edge edges skirt squish");
        return (marked || metal).then(|| lean(word));
    }
    let near = words.iter().skip(at.saturating_sub(REACH)).take(2 * REACH + 1);
    let mut parts = near.map(|word| word.text.as_str()).filter(|word| listed(lists::OF_A_PLUG, word));
    if let Some(part) = parts.next().filter(|_| listed(lists::EATEN, word) && !place.anywhere("cap lead")) {
        return Some(Said::Lean(Sign::Seizure(format!("{part} {word}"))));
    }
    let of_the_plug = seen == WrittenIn::OnThePlug;
    let of_plug = of_the_plug || place.near(lists::PLUG, REACH + 1) && !place.anywhere("cap lead");
    of_plug.then_some(())?;
    // A plug is of metal too: "the metal ring is clean".
    let of_itself =
        listed("ring rim shell body strap end clean bright", place.next(1)) || place.back(1) == "base";
    let on_it = listed("ali ally alloy metal", word)
        && !of_itself
        && !place.anywhere("thread threads washer gasket no");
    let metal = on_it
        || ["melt", "alumin", "silver", "glitter"].iter().any(|begins| word.starts_with(begins))
        || listed("beads balls", word) && of_the_plug;
    let burnt = ["blister", "bubbl", "pepper"].iter().any(|begins| word.starts_with(begins))
        || (word.starts_with("speck")
            || word.starts_with("fleck")
            || listed("specs spots spotted spotty", word))
            && !place.anywhere("carbon soot oil")
        || word.starts_with("glaz") && place.anywhere("white bone chalk chalky");
    if metal {
        return Some(Said::Lean(Sign::Seizure(word.to_owned())));
    }
    let burnt = burnt || word == "glowing";
    burnt.then(|| Said::Lean(Sign::Detonation(word.to_owned())))
}

/// Whether a word looks lean, and is no sign of damage: a white plug, "lean on top", an engine that fades or revs on.
pub(in super::super) fn looks_lean_at(words: &[Word], at: usize, seen: WrittenIn) -> bool {
    let place = WordAt { words, at };
    let word = place.word();
    if seen == WrittenIn::OnThePlug {
        let no_ring = word == "ring" && place.back(1) == "no";
        let good = words.iter().enumerate().any(|(at, word)| {
            let denied =
                words.get(at.wrapping_sub(1)).is_some_and(|word| ["no", "not"].contains(&word.text.as_str()));
            listed(lists::GOOD_COLOUR, &word.text) && !denied
        });
        return no_ring || !good && listed("white whitish bone chalk chalky ash lean weak glazed", word);
    }
    let of_the_crown = seen == WrittenIn::OnThePiston || place.near("crown crowns", REACH);
    if of_the_crown && listed("white silver bone", word) && !place.anywhere("no metal pen paint") {
        return true;
    }
    let of_riding =
        listed("angle angles over into out in against back burn", place.next(1)) || place.of_a_person();
    let lean =
        word == "lean" && !of_riding && !listed("to less was from", place.back(1)) && place.next(1) != "to";
    let weak = word == "weak" && listed("running runs ran", place.back(1));
    let leak = word == "leak" && place.back(1) == "air" && !listed("test check checks tests", place.next(1));
    let dry = listed("fuel petrol gas", word)
        && place.back(1) == "of"
        && place.back(2) == "out"
        && place.on_the_track();
    let lean =
        lean || at_the_plug(place) || draws_air(place) || is_short_of_fuel(words, at) || ran_hot(place);
    lean || weak || leak || dry || fades(place) || revs_on(place)
}

/// Whether somebody says that it wants more fuel: a bigger main, more petrol at the top, a main that is too small, an engine that starved.
pub(in super::super) fn is_short_of_fuel(words: &[Word], at: usize) -> bool {
    let place = WordAt { words, at };
    // More petrol may be wanted for the drum.
    let held_open = || place.on_the_track() || place.anywhere("top straight throttle mid bottom revs");
    let wanted =
        |word: &str| listed("main jet jets", word) || listed("fuel petrol mixture", word) && held_open();
    let more = listed("bigger larger richer more", place.word())
        && (1..=2).any(|by| wanted(place.next(by)))
        && (1..=REACH).any(|by| listed("need needs needed want wants wanted", place.back(by)));
    let small = place.word() == "small" && place.back(1) == "too" && place.near("main jet jets", REACH);
    let starved = place.word().starts_with("starv") && !place.anywhere("float tap vent hose filter");
    (more || small || starved) && !place.of_a_person()
}

/// It ran hot and had less power, or its coolant was too hot: it overheated, it boiled over, the temperature light came on.
fn ran_hot(at: WordAt<'_>) -> bool {
    let weak =
        at.word() == "hot" && listed("ran running", at.back(1)) && at.anywhere("lost slower slowed power");
    let overheated = at.word().starts_with("overheat")
        && !at.of_a_person()
        && !at.anywhere("brake brakes clutch tyre tyres shock box regulator");
    let boiled = listed("boiled boiling boils", at.word()) && at.next(1) == "over";
    let light = listed("light lamp", at.word()) && listed("temp temperature coolant", at.back(1));
    weak || overheated || boiled || light
}

/// It faded, lost power or was weak where it was held open.
fn fades(at: WordAt<'_>) -> bool {
    let power = at.word() == "lost" && listed("power revs", at.next(1));
    let faded = listed("faded fades fading weak surged surges surging starved starving", at.word());
    let of_riding = listed("of over into through", at.next(2)) || at.of_a_person();
    let out = listed("leaned leant leaning leans", at.word()) && at.next(1) == "out" && !of_riding;
    let leaned = out || listed("leaned leant leaning", at.word()) && at.behind("out", 2) && at.of_it();
    let of_another =
        at.anywhere("brake brakes tyre tyres grip headwind uphill valve suspension") || at.of_a_person();
    leaned || (power || faded) && (at.on_the_track() || at.anywhere("straight top flat wot")) && !of_another
}

/// A white plug, in the notes.
fn at_the_plug(at: WordAt<'_>) -> bool {
    listed("white whiter bone chalk chalky", at.word())
        && at.near("plug plugs insulator porcelain electrode", REACH)
        && !at.anywhere("lead cap wire tan brown new fresh")
}

/// Air where only mixture should come in, or fuel that does not.
fn draws_air(at: WordAt<'_>) -> bool {
    let sucks = listed("sucking sucked drawing", at.word()) && at.next(1) == "air";
    let starved = at.word().starts_with("starv") && at.near("fuel petrol gas it", REACH);
    let kept = listed("running ran", at.word()) && at.behind("kill", 4) && at.behind("switch button", 6);
    let read = listed("egt egts", at.word())
        && (1..=3)
            .filter_map(|by| at.next(by).parse::<u32>().ok())
            .any(|read| (701..1000).contains(&read) || read > 1292);
    let gone = listed("gone leaking leaks leaked blocked split", at.word())
        && (1..=2).any(|by| listed("seal seals gasket jet vent breather boot rubber manifold", at.back(by)));
    sucks || starved || gone || kept || read || at.word().starts_with("diesel") || at.word() == "runaway"
}

/// Revs that hang, an engine that runs on: it draws air.
fn revs_on(at: WordAt<'_>) -> bool {
    let hangs = listed("hang hangs hanging hung", at.word())
        && (at.behind("revs idle rpm throttle", 2)
            || (1..=REACH).any(|by| listed("revs idle rpm", at.back(by))));
    let on = listed("revved ran", at.word())
        && at.next(1) == "on"
        && at.behind("shut off cut stop switch switched", 5);
    hangs || on
}
