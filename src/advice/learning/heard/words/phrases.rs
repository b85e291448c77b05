//! Plain words of the paddock that mean a seizure only as they are said: "it went tight", "stuck at the end of the straight", "let go
//! in sixth", "would not turn over"; and the same words said of riding, of the track or of a spanner, which mean none (common
//! practice, no source). What may be either is asked.

mod gave_up;
mod of_feel;
mod of_metal;
mod place;
mod seen;

use self::gave_up::{gave_up, kick_stuck, seal_gone};
use self::of_feel::of_feel;
use self::of_metal::{
    cooked, eaten, hole, kissed, knocked, locked, lost, marked, metal_on, nip, nipped, picked_up, pinged,
    rattled, rubbed,
};
pub(super) use self::seen::{is_short_of_fuel, looks_lean_at, seen_said};
use super::super::phrase_lists as lists;
use super::super::word_lists::{BETWEEN, OTHER_THINGS, PISTON_AND_ITS_LIKE, PREPOSITIONS, REACH};
use super::things::Thing;

use crate::advice::learning::heard::word_lists::{is_in, listed};
use crate::advice::learning::heard::words::phrases::place::{WordAt, asked, lean, other};
use crate::advice::learning::heard::words::signs::{Said, THE_ENGINE, Word};

/// What a phrase says, and whether a "not" is part of it.
pub(super) struct Phrase {
    pub(super) said: Said,
    pub(super) has_its_denial: bool,
}

/// What a phrase that begins at a word, or that the word is the heart of, says; none where it is no such word.
pub(super) fn phrase_at(words: &[Word], at: usize) -> Option<Phrase> {
    let place = WordAt { words, at };
    let denying = turning(place).or_else(|| no_compression(place)).or_else(|| kick_stuck(place));
    if let Some(said) = denying {
        return Some(Phrase { said, has_its_denial: true });
    }
    let all = [
        of_feel,
        tight,
        tightened,
        stuck,
        froze,
        stopped,
        picked_up,
        marked,
        lost,
        hole,
        seal_gone,
        blew,
        let_go,
        kissed,
        rattled,
        cooked,
        grabbed,
        locked,
        nip,
        knocked,
        rubbed,
        eaten,
        metal_on,
        pinged,
        nipped,
        gave_up,
        felt_in_french,
    ];
    let said = all.into_iter().find_map(|family| family(place))?;
    Some(Phrase { said, has_its_denial: false })
}

/// "Went tight", "tight again after lap 3"; not a tight corner.
fn tight(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "tight").then_some(())?;
    let mut back = 1;
    while listed(lists::HOW_MUCH, at.back(back)) {
        back += 1;
    }
    let how = at.back(back);
    let words = if how.is_empty() { "tight".to_owned() } else { format!("{how} tight") };
    if at.next(1) == "spot" && at.behind("turned turning hand bore flywheel", 6) {
        return Some(asked("tight spot", THE_ENGINE));
    }
    if is_in(lists::TIGHT_THINGS, at.next(1)) || at.next(1) == "with" || at.of_a_person() {
        return Some(Said::Nothing);
    }
    let verb = WordAt { at: at.at + 1 - back, ..at };
    let subject = WordAt { at: at.at.saturating_sub(back), ..at };
    if listed("went goes go going gone turned", how) {
        if subject.of_a_person() || listed("inside to", at.next(1)) || at.behind("line lines inside", 4) {
            return Some(Said::Nothing);
        }
        return Some(subject.by_subject(&words));
    }
    if how == "and" && at.ends(1) && (2..=4).any(|by| at.back(by) == "went") && !at.of_a_person() {
        return Some(asked("tight", THE_ENGINE));
    }
    if at.next(1) == "again" {
        return Some(verb.by_subject("tight again"));
    }
    if listed("got gets getting became feels felt feeling ran running runs still is was", how) {
        if subject.of_a_person() || at.behind(lists::ON_THE_WAY, 5) {
            return Some(Said::Nothing);
        }
        let of_engine = matches!(subject.subject(), Thing::Piston);
        let said_alone = of_engine || at.on_the_track() || !listed("is was still", how);
        return said_alone.then(|| subject.asked_by_subject(&words)).or(Some(Said::Nothing));
    }
    let then_freed = at.ends(1) && at.behind("backed clutched clutch freed free rolled eased shut cooled", 5);
    let hurried = at.at == 0 && (listed("end mid top lap", at.next(1)) || at.words.len() == 2);
    let place = (hurried || listed("at on after in down along from under", at.next(1))) && at.on_the_track();
    let hot = listed("when once while as", at.next(1)) && listed("hot warm", at.next(2)) && at.ends(3);
    let on_a_piston = matches!(at.subject(), Thing::Piston);
    (hot || then_freed || place || on_a_piston && at.ends(1)).then(|| at.asked_by_subject("tight"))
}

/// "It tightened", "tightening up at the top"; not the head bolts.
fn tightened(at: WordAt<'_>) -> Option<Said> {
    at.word().starts_with("tighten").then_some(())?;
    let begins = "began begins begun started starts starting starting seemed seems wanted tried";
    if at.behind("points standings championship", 4) {
        return Some(Said::Nothing);
    }
    let work =
        listed("needed needs need needing must should we i he they after by for before re", at.back(1))
            || at.back(1) == "to" && !listed(begins, at.back(2));
    let up = usize::from(at.next(1) == "up");
    let words = if up == 1 { format!("{} up", at.word()) } else { at.word().to_owned() };
    if let Thing::Other(thing) = at.subject() {
        return Some(other(&words, thing));
    }
    let next = at.next(1 + up);
    let plain = at.ends(1 + up) || listed(PREPOSITIONS, next) || listed(BETWEEN, next);
    let adverb = listed("itself slightly momentarily briefly quickly badly noticeably down", next);
    if work || at.of_a_person() || !(plain || adverb) {
        return Some(Said::Nothing);
    }
    Some(at.by_subject(&words))
}

/// "It stuck", "stuck momentarily then freed"; not "stuck to the plan", not in the mud.
fn stuck(at: WordAt<'_>) -> Option<Said> {
    listed("stuck sticks sticking", at.word()).then_some(())?;
    if at.word() == "stuck" && (at.back(1) == "cold" || at.behind("ring rings", 2)) {
        return Some(lean("stuck"));
    }
    let of_piston = at.behind("piston pistons", REACH) && at.word() == "stuck";
    if of_piston || matches!(at.back(1), "piston" | "pistons") {
        return None;
    }
    let object = listed("the a my his", at.next(1)) && listed("motor engine slug jug top bottom", at.next(2))
        || at.next(1) == "her" && at.on_the_track();
    let hot = at.word() == "stuck"
        && at.ends(1)
        && (at.back(1) == "and" && at.anywhere("hot lean leaned heat") || at.back(1) == "then");
    if at.word() == "stuck" && (object || hot) {
        return Some(asked("stuck", THE_ENGINE));
    }
    if at.behind(lists::STUCK_IN, 5)
        || listed("to with behind by together out onto down inside around", at.next(1))
        || at.next(1) == "for" && listed("time words grip cash money ideas", at.next(2))
    {
        return Some(Said::Nothing);
    }
    let subject = match at.subject() {
        Thing::Other(thing) | Thing::Joined(thing) => return Some(other(at.word(), thing)),
        Thing::Unknown(thing) if is_in(lists::NO_ENGINE, thing) => return Some(other(at.word(), thing)),
        subject => subject,
    };
    if at.word() != "stuck" && at.next(1) == "in" && at.behind("bore barrel cylinder liner", 3) {
        return Some(lean(at.word()));
    }
    if at.word() != "stuck" {
        return matches!(subject, Thing::Piston).then(|| lean(at.word()));
    }
    if at.next(1) == "it" {
        let on = at.ends(2) || at.on_the_track() && at.next(2) != "in";
        return Some(if on { asked("stuck it", THE_ENGINE) } else { Said::Nothing });
    }
    if at.of_a_person() {
        return Some(Said::Nothing);
    }
    if listed("solid fast", at.next(1)) {
        return None;
    }
    let freed = listed(
        "slightly momentarily briefly again twice for then and when coming under hard tight",
        at.next(1),
    );
    let place = listed("at on in down along after near over", at.next(1)) && at.on_the_track();
    let alone = at.ends(1) && (at.of_it() || !matches!(subject, Thing::None) || at.words.len() < 3);
    let got = listed("got get gets getting was were be is are", at.back(1));
    match subject {
        Thing::Piston => Some(lean("stuck")),
        _ if got && !(at.of_it() && alone) && !place => Some(Said::Nothing),
        _ if freed || place || alone => Some(at.by_subject("stuck")),
        _ => Some(Said::Nothing),
    }
}

/// "It froze on the straight"; not the rider in the cold.
fn froze(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "froze" || at.word() == "frozen" || at.word() == "freezes").then_some(())?;
    if at.near(lists::COLD, 6) || at.of_a_person() || at.next(1) == "out" {
        return Some(Said::Nothing);
    }
    Some(match at.subject() {
        Thing::Piston => lean(at.word()),
        Thing::None if at.anywhere(lists::FROZE_TOO) => Said::Nothing,
        Thing::Other(thing) | Thing::Joined(thing) => other(at.word(), thing),
        Thing::Unknown(thing) if is_in(lists::NO_ENGINE, thing) => other(at.word(), thing),
        _ if at.word() != "froze" => Said::Nothing,
        Thing::Unknown(thing) => asked(at.word(), thing),
        Thing::None if at.of_it() || at.on_the_track() => lean(at.word()),
        Thing::None => asked(at.word(), THE_ENGINE),
    })
}

/// "It would not turn over", "let it cool before it would turn"; not into the corner.
fn turning(at: WordAt<'_>) -> Option<Said> {
    listed("turn turned turning rotate kick roll spin crank", at.word()).then_some(())?;
    if listed("spin crank", at.word()) {
        let not = listed("not cannot wouldnt wont couldnt", at.back(1)) || at.back(1).ends_with("n't");
        let plain = at.ends(1) || at.next(1) == "over" || at.next(1) == "it";
        let other =
            at.anywhere("wheel wheels tyre rear battery starter") && !at.anywhere("roller engine motor");
        return (not && plain && !other).then(|| asked(&format!("would not {}", at.word()), THE_ENGINE));
    }
    if at.word() == "roll" {
        let not = at.back(1) == "not" || at.back(1).ends_with("n't") || listed("wouldnt wont", at.back(1));
        return (not && at.behind("gear", 2)).then(|| asked("would not roll in gear", THE_ENGINE));
    }
    if listed("rear back", at.back(5))
        || (1..=6).any(|by| listed("rear back", at.back(by)) && at.back(by - 1) == "wheel")
    {
        let still = (1..=4).any(|by| listed("not won't wouldn't stopped wouldnt wont", at.back(by)));
        let braked = at.anywhere("brake brakes caliper pads");
        return (still && !braked).then(|| asked("rear wheel would not turn", THE_ENGINE));
    }
    let it = at.next(1) == "it" || listed("engine motor crank flywheel", at.next(2)) && at.next(3) == "over";
    let over = at.next(1) == "over" || it && (at.next(2) == "over" || at.next(3) == "over");
    if at.word() != "rotate" && !over && !at.ends(1) && !listed("again when till by at for", at.next(1)) {
        return None;
    }
    let near: Vec<&str> = (1..=5).map(|by| at.back(by)).collect();
    let may = |word: &&&str| {
        listed("would wouldn't won't wont wouldnt will could couldn't couldnt can't cant cannot", word)
    };
    let may = near.iter().find(may)?;
    let not = |word: &&str| {
        listed("not no never before until till cannot cant wont wouldnt couldnt", word)
            || word.ends_with("n't")
    };
    near.iter().any(not).then_some(())?;
    if !over && at.behind("hairpin chicane corner corners bend apex turn", 4) {
        return Some(Said::Nothing);
    }
    let clause = (0..=at.at).rev().find(|from| at.words.get(*from).is_some_and(|word| word.after_comma));
    let mut of_clause = at.words.iter().skip(clause.unwrap_or(0));
    let named = of_clause.find(|word| is_in(lists::TURNS_TOO, &word.text) || is_in(OTHER_THINGS, &word.text));
    // A crank that will not turn has its piston stuck, or its bearings.
    if let Some(thing) = named.filter(|thing| !listed("crank crankshaft", &thing.text)) {
        return Some(other("would not turn", &thing.text));
    }
    let words = format!("{} {}turn", may, if may.ends_with("n't") { "" } else { "not " });
    let words = if may.starts_with("would") && !near.contains(&"not") && !may.ends_with("n't") {
        "before it would turn".to_owned()
    } else {
        words
    };
    if at.word() == "turn"
        && !over
        && !at.anywhere("cool cooled cooling kick push pushed engine motor kickstart")
    {
        // So does a bike that understeers.
        return Some(asked(&words, THE_ENGINE));
    }
    if at.word() == "kick" && !over && at.ends(1) {
        return Some(asked(&words, THE_ENGINE));
    }
    (at.word() != "kick" || over).then(|| lean(&words))
}

/// "No compression now"; not "no compression test".
fn no_compression(at: WordAt<'_>) -> Option<Said> {
    listed("compression comp", at.word()).then_some(())?;
    if listed(
        "leak leaks test tester loss reading readings ratio figures gauge change numbers issues problem problems",
        at.next(1),
    ) {
        return None;
    }
    let none = listed("no zero without", at.back(1));
    let gone = listed("gone lost went", at.next(1)) && !listed("no not", at.back(1));
    (none || gone).then(|| lean(if none { "no compression" } else { "compression gone" }))
}

/// An engine that stopped on the straight: its spark may have gone, or its piston stuck.
fn stopped(at: WordAt<'_>) -> Option<Said> {
    listed("stopped stops quit died", at.word()).then_some(())?;
    let subject = (1..=REACH).map(|by| at.back(by)).find(|word| !listed(BETWEEN, word) && *word != "just");
    (listed("engine motor", subject.unwrap_or_default()) && at.next(1) != "dead").then_some(())?;
    if listed("pinging pinking detonating knocking rattling", at.next(1))
        || at.anywhere(lists::WHY_IT_STOPPED)
    {
        return None;
    }
    at.on_the_track().then(|| asked(&format!("engine {}", at.word()), THE_ENGINE))
}

/// "Blew up", "engine blew"; not past him, not the tyre.
fn blew(at: WordAt<'_>) -> Option<Said> {
    listed("blew blown blow blows", at.word()).then_some(())?;
    let up = at.next(1) == "up";
    let engine = matches!(at.subject(), Thing::Piston);
    let by = 1 + usize::from(up);
    let next = at.next(by);
    let plain = at.ends(by)
        || listed(PREPOSITIONS, next)
        || listed("again itself big spectacularly completely to", next);
    if up {
        if let Thing::Other(thing) = at.subject() {
            return Some(other("blew up", thing));
        }
        if plain {
            return Some(at.by_subject(&format!("{} up", at.word())));
        }
        let engine_behind = at.behind(PISTON_AND_ITS_LIKE, 4);
        return Some(if engine_behind { lean("blew up") } else { Said::Nothing });
    }
    let past = listed("past by through over off out away apart in into", next);
    if engine && plain && !past && at.word() != "blow" {
        return Some(lean(at.word()));
    }
    let asks = at.word() == "blew" && at.of_it() && at.ends(1);
    Some(if asks { asked("blew", THE_ENGINE) } else { Said::Nothing })
}

/// "The engine let go in sixth"; not of the clutch, not the rear tyre.
fn let_go(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "let" && at.next(1) == "go").then_some(())?;
    if listed("of the a my his too", at.next(2)) || at.of_a_person() {
        return Some(Said::Nothing);
    }
    if (1..=2).any(|by| listed("rear back", at.back(by))) && at.behind("clutch clutched", 6) {
        return Some(asked("let go", THE_ENGINE));
    }
    Some(match at.subject() {
        Thing::Piston => lean("let go"),
        Thing::Other(thing) | Thing::Joined(thing) => other("let go", thing),
        Thing::Unknown(thing) if is_in(lists::NO_ENGINE, thing) => other("let go", thing),
        Thing::Unknown(thing) => asked("let go", thing),
        Thing::None if at.of_it() || at.on_the_track() || at.words.len() == 2 => asked("let go", THE_ENGINE),
        Thing::None => Said::Nothing,
    })
}

/// "It grabbed" may be the piston; what is grabbed by somebody is not.
fn grabbed(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "grabbed").then_some(())?;
    if let Thing::Other(thing) = at.subject() {
        return Some(other("grabbed", thing));
    }
    let next = at.next(1);
    let object = !at.ends(1) && !listed(PREPOSITIONS, next) && !listed(BETWEEN, next) && next != "coming";
    let named = at.words.iter().skip(at.at + 1).take(REACH).find(|word| is_in(OTHER_THINGS, &word.text));
    match named {
        Some(thing) if object => Some(other("grabbed", &thing.text)),
        _ if object && (is_in(PISTON_AND_ITS_LIKE, next) || is_in(lists::METAL, at.next(2))) => None,
        _ if object || at.of_a_person() => Some(Said::Nothing),
        _ => None,
    }
}

/// "Il a serré", "hat gefressen", not a tight corner.
fn felt_in_french(at: WordAt<'_>) -> Option<Said> {
    let serré =
        listed("serré serre grippe bloqué bloque", at.word()) && listed("a moteur piston", at.back(1));
    let fest = at.word() == "fest" && listed("motor kolben", at.back(1));
    (serré || fest).then(|| lean(at.word()))
}
