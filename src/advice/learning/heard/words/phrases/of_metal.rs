//! What is seen on a piston and a bore, and what is heard of them.

use super::super::super::phrase_lists as lists;
use super::super::super::word_lists::{ARTICLES, PISTON_AND_ITS_LIKE, REACH};
use super::super::things::{Thing, is_in, listed};
use super::super::{Said, THE_ENGINE, Word};
use super::{WordAt, asked, lean, other};

/// "Picked up on the exhaust side", "pick-up marks"; not speed, places or a puncture.
pub(super) fn picked_up(at: WordAt<'_>) -> Option<Said> {
    if at.word() == "pickup" || at.word() == "pick" && at.next(1) == "up" {
        return picks_up(at, if at.word() == "pickup" { 1 } else { 2 });
    }
    (at.word() == "picked" && at.next(1) == "up").then_some(())?;
    if at.behind(lists::ON_A_PISTON, 6) {
        return Some(lean("picked up"));
    }
    let metal = at.words.iter().take(at.at).rev().take(REACH).any(|word| is_in(lists::METAL, &word.text));
    if metal {
        return Some(lean("picked up"));
    }
    if at.of_a_person() || !(at.ends(2) || listed("slightly lightly badly again at on", at.next(2))) {
        return Some(Said::Nothing);
    }
    let of_engine = matches!(at.subject(), Thing::Piston);
    if of_engine && at.ends(2) {
        return Some(lean("picked up"));
    }
    let unsure = of_engine || at.of_it() && at.ends(2);
    Some(if unsure { asked("picked up", THE_ENGINE) } else { Said::Nothing })
}

/// A pick-up of metal; not the ignition's, not an engine's out of the corner.
fn picks_up(at: WordAt<'_>, by: usize) -> Option<Said> {
    let marks = listed("mark marks marking", at.next(by));
    let on_a_piston = listed("on at by near", at.next(by)) && at.behind(lists::ON_A_PISTON, 6);
    let of_piston = (1..=REACH).any(|by| is_in(lists::METAL, at.back(by)));
    let slight = listed("slight light little some bad heavy", at.back(1)) && at.ends(by);
    if listed("coil gap sensor truck van speed", at.next(by)) {
        return Some(Said::Nothing);
    }
    (marks || on_a_piston || of_piston)
        .then(|| lean("pick-up"))
        .or_else(|| slight.then(|| asked("pick-up", THE_ENGINE)))
}

/// Metal that rubbed or smeared, with nothing named: "scuffed", "scored on the intake side"; not the tyres, not a rider's knee.
pub(super) fn rubbed(at: WordAt<'_>) -> Option<Said> {
    let begins = |list: &[&str]| list.iter().any(|begins| at.word().starts_with(begins));
    let rubs = begins(&["scuff", "smear", "gall", "eroded", "hammered"]) && !begins(&["galler", "gallo"]);
    (rubs || at.word() == "scored" || at.word() == "scoring").then_some(())?;
    let on_a_piston = |word: &str| listed(lists::ON_A_PISTON, word) || is_in(lists::IN_THE_HEAD, word);
    let hammered = at.word() == "hammered" && at.back(1) == "head";
    let near = hammered
        || at.words.iter().skip(at.at + 1).take(6).any(|word| on_a_piston(&word.text))
        || (1..=REACH).any(|by| on_a_piston(at.back(by)));
    match at.subject() {
        Thing::Other(thing) => return Some(other(at.word(), thing)),
        _ if near => return Some(lean(at.word())),
        _ => {}
    }
    if at.anywhere(lists::SCUFFS_TOO) || at.of_a_person() || at.next(1) == "in" {
        return Some(Said::Nothing);
    }
    let bare =
        matches!(at.subject(), Thing::None) || listed("some point slight light minor bit of", at.back(1));
    let alone = bare && at.ends(1) && begins(&["scuff", "smear", "gall"]);
    alone.then(|| asked(at.word(), THE_ENGINE))
}

/// What is eaten or rubbed away of a piston, a crown or a bore, by its place: "dome pitted", "scratches on the exhaust side".
pub(super) fn eaten(at: WordAt<'_>) -> Option<Said> {
    let begins = ["pitt", "blasted", "eaten", "melt", "scratch", "rubb", "shiny", "burnt", "burned"];
    begins.iter().any(|begins| at.word().starts_with(begins)).then_some(())?;
    if at.of_a_person() || at.anywhere(lists::WITH_A_PEN) && !at.word().starts_with("pitt") {
        return None;
    }
    let part = |word: &str| is_in(lists::METAL, word) || is_in(lists::IN_THE_HEAD, word) || word == "bridge";
    let side = |by: usize| {
        listed("exhaust inlet intake", at.next(by)) && listed("side edge bridge port skirt", at.next(by + 1))
    };
    let before = (1..=2).any(|by| part(at.back(by)));
    let behind = (1..=4).any(|by| side(by) || part(at.next(by)) && at.next(1) != "in");
    (before || behind && !at.anywhere("hand hands leg arm finger fingers leathers boot"))
        .then(|| lean(at.word()))
}

/// "Barrel marked", "marks on the skirt"; not with a pen.
pub(super) fn marked(at: WordAt<'_>) -> Option<Said> {
    listed("marked marks", at.word()).then_some(())?;
    if at.anywhere(lists::WITH_A_PEN) || at.of_a_person() {
        return Some(Said::Nothing);
    }
    let piston = |word: &&Word| is_in(lists::METAL, &word.text);
    let before = at.words.iter().take(at.at).rev().take(REACH).any(|word| piston(&word));
    let behind = at.behind(lists::ON_A_PISTON, 5);
    if at.word() == "marks" {
        let of_metal = behind && listed("on in down up", at.next(1)) || is_in(lists::METAL, at.back(1));
        return of_metal.then(|| lean("marks"));
    }
    match (before, behind) {
        (true, _) => Some(lean("marked")),
        (false, true) => Some(asked("marked", "the piston or the barrel")),
        (false, false) => None,
    }
}

/// "Lost a piston".
pub(super) fn lost(at: WordAt<'_>) -> Option<Said> {
    if listed("lost dropped", at.word()) && listed("top", at.next(2)) && at.next(3) == "end" {
        return Some(asked("lost the top end", THE_ENGINE));
    }
    let ring = |by: usize| listed("ring rings", at.next(by)) && at.ends(by + 1);
    if at.word() == "hung" && (ring(1) || ring(2)) || at.word() == "snag" && at.back(1) == "ring" {
        return Some(asked("a ring hung", THE_ENGINE));
    }
    if at.word() == "lost" && listed("ring rings", at.next(2)) && listed(ARTICLES, at.next(1)) && at.ends(3) {
        return Some(asked("lost a ring", THE_ENGINE));
    }
    let article = usize::from(listed(ARTICLES, at.next(1)) || listed("another one", at.next(1)));
    (at.word() == "lost" && listed("piston pistons", at.next(1 + article))).then(|| lean("lost a piston"))
}

/// "Burnt a hole": in the piston where nothing else is named.
pub(super) fn hole(at: WordAt<'_>) -> Option<Said> {
    if at.word() == "hole" && (1..=REACH).any(|by| listed("crown piston dome", at.back(by))) {
        return Some(lean("hole in the piston"));
    }
    let hole = listed("burnt burned melted blew blown put punched knocked", at.word())
        && (1..=REACH).any(|by| at.next(by) == "hole");
    hole.then_some(())?;
    let by = (1..=REACH).find(|by| at.next(*by) == "hole")?;
    let made = listed("put punched knocked", at.word()) && !listed("in through", at.next(by + 1));
    if made || at.next(by + 1) == "shot" {
        return None;
    }
    if at.behind(PISTON_AND_ITS_LIKE, 8) || at.behind("it dome", 8) && listed("in through", at.next(by + 1)) {
        return Some(lean("hole in the piston"));
    }
    Some(if listed("in through into", at.next(by + 1)) { Said::Nothing } else { lean("burnt a hole") })
}

/// "The piston kissed the head".
pub(super) fn kissed(at: WordAt<'_>) -> Option<Said> {
    let touched = listed("kissed touched hit tapped kissing touching", at.word());
    let piston =
        (1..=REACH).any(|by| listed("piston pistons", at.back(by))) && at.behind("head heads", REACH);
    let clearance = listed("squish bridge head", at.back(1))
        || at.behind("bridge head", 2) && (at.of_it() || at.back(1) == "s");
    if touched && !piston && clearance && !at.behind("heads", 2) {
        return Some(asked("touched", "the piston"));
    }
    (touched && piston).then(|| lean(&format!("piston {} the head", at.word())))
}

/// "Cooked the piston"; not the brakes.
pub(super) fn cooked(at: WordAt<'_>) -> Option<Said> {
    listed("cooked fried smoked popped", at.word()).then_some(())?;
    let piston = at.behind("piston pistons engine motor bore barrel", REACH);
    let subject = matches!(at.subject(), Thing::Piston) && at.ends(1);
    (piston || subject).then(|| lean(at.word()))
}

/// "Rattling like a bag of nails"; not the chain.
pub(super) fn rattled(at: WordAt<'_>) -> Option<Said> {
    let nails = "nails marbles spanners hammers bolts stones dice nuts";
    if at.word() == "like" && listed(nails, at.next(1)) || at.word() == "like" && at.next(1) == "gravel" {
        return Some(asked("like nails", THE_ENGINE));
    }
    if at.word().starts_with("rattl")
        && at.behind("fairing bracket guard screen silencer mudguard bodywork", 5)
    {
        return Some(Said::Nothing);
    }
    if at.word() == "bag" && at.next(1) == "of" && listed(nails, at.next(2)) {
        return Some(at.by_subject("a bag of nails"));
    }
    at.word().starts_with("rattl").then_some(())?;
    if at.anywhere("nails marbles stones dice") {
        return Some(lean("rattling"));
    }
    let under_load = at.on_the_track() || at.behind("load pull pulling", 5);
    let engine = matches!(at.subject(), Thing::Piston) || matches!(at.subject(), Thing::None);
    Some(if engine && under_load { asked("rattling", THE_ENGINE) } else { Said::Nothing })
}

/// "A slight nip"; not in the air.
pub(super) fn nip(at: WordAt<'_>) -> Option<Said> {
    let a = listed("a slight small little light another mild bit hot full proper quick", at.back(1));
    let air = listed("in of and", at.next(1)) && at.behind("air tuck morning", 3);
    let after = at.back(1) == "after" || at.back(2) == "after" && listed("the this that", at.back(1));
    let a = a
        || after
        || at.back(1) == "to"
            && listed("about going started starting wanted trying beginning began", at.back(2));
    let a = a || listed("mark marks", at.next(1));
    (at.word() == "nip" && a && !air && at.next(1) != "up").then(|| lean("nip"))
}

/// "A slight knock at the top", "a ping"; not knocked off.
pub(super) fn knocked(at: WordAt<'_>) -> Option<Said> {
    if at.next(1) == "on" && at.behind("door effect wood head", 3) {
        return at.word().starts_with("knock").then_some(Said::Nothing);
    }
    if listed("knocked knocks knocking", at.word()) {
        let off = listed(lists::KNOCKED, at.next(1)) || at.of_a_person();
        return off.then_some(Said::Nothing);
    }
    let heard = listed("a slight some light heard heavy bit of engine bad", at.back(1));
    let not = listed("sensor on off down over about back box kneed", at.next(1));
    (at.word() == "knock" && heard && !not).then(|| lean("knock"))
}

/// A ping that is no engine's: of a bell, a beam, a telephone; and a counter of detonation that counted none.
pub(super) fn pinged(at: WordAt<'_>) -> Option<Said> {
    let is_ping = at.word().starts_with("ping") || at.word().starts_with("pink");
    let counts = listed("deto det detonation knock", at.word())
        && listed("counter can cans phones headphones sensor gauge meter kit light count", at.next(1));
    if counts {
        return at.anywhere(lists::COUNTED_NONE).then_some(Said::Nothing);
    }
    let went = |by: usize| listed("gone cured stopped vanished disappeared", at.next(by));
    let noun = listed("pinging pinking knocking detonation det deto knock", at.word());
    if noun && (went(1) || listed("has is all now s had", at.next(1)) && went(2)) {
        return Some(Said::Nothing);
    }
    is_ping.then_some(())?;
    let person = listed("him me us them everyone everybody", at.next(1));
    let engine = (2..=3).any(|by| is_in(PISTON_AND_ITS_LIKE, at.next(by)));
    let object = listed(ARTICLES, at.next(1)) && !listed(lists::HOW_LONG, at.next(2)) && !engine;
    let elsewhere = at.word() == "ping" && at.near(lists::PINGS_TOO, 6);
    (person || object && !at.ends(2) || elsewhere).then_some(Said::Nothing)
}

/// "Nipped up the inside", "nipped in front": riding. "Nips when held flat": may be the engine.
pub(super) fn nipped(at: WordAt<'_>) -> Option<Said> {
    if listed("nips nipping", at.word()) && at.next(1) != "up" {
        let open = at.next(1) == "on"
            || listed("at when in if", at.next(1)) && (at.on_the_track() || at.behind("hot held", 3));
        let said = || at.asked_by_subject(at.word());
        return (open && !at.behind("heels", 3) && !at.of_a_person()).then(said);
    }
    (at.word() == "nipped").then_some(())?;
    let up = listed("inside outside order field road pack", at.next(3)) && at.next(1) == "up";
    let ridden = listed("him them her off back under between ahead across", at.next(1))
        || at.next(1) == "in" && listed("front ahead between to for under", at.next(2));
    (up || ridden).then_some(Said::Nothing)
}

/// Light metal where none should be: "ali on the bore", "alloy on the plug"; and what melted down.
pub(super) fn metal_on(at: WordAt<'_>) -> Option<Said> {
    let on = listed("on in from off", at.next(1)) || listed("stuck smeared transferred", at.next(1));
    let where_it_is = at.behind(lists::ON_A_PISTON, 5) || at.behind(lists::PLUG, 5);
    if listed("ali ally alloy aluminium aluminum metal", at.word()) && on && where_it_is {
        return Some(lean(&format!("{} on it", at.word())));
    }
    let down = at.word() == "melted" && at.next(1) == "down";
    down.then(|| asked("melted down", THE_ENGINE)).filter(|_| !at.of_a_person())
}
