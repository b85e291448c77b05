//! What is seen on a piston, a bore and a plug, and what is heard of them.

use super::super::super::phrase_lists as lists;
use super::super::super::word_lists::{ARTICLES, PISTON_AND_ITS_LIKE, REACH};
use super::super::things::{Thing, is_in, listed};
use super::super::{Said, Sign, THE_ENGINE, Word, WrittenIn};
use super::{WordAt, asked, lean};

/// "Picked up on the exhaust side"; not speed, places or a puncture.
pub(super) fn picked_up(at: WordAt<'_>) -> Option<Said> {
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
    let article = usize::from(listed(ARTICLES, at.next(1)) || listed("another one", at.next(1)));
    (at.word() == "lost" && listed("piston pistons", at.next(1 + article))).then(|| lean("lost a piston"))
}

/// "Burnt a hole": in the piston where nothing else is named.
pub(super) fn hole(at: WordAt<'_>) -> Option<Said> {
    let hole =
        listed("burnt burned melted blew blown", at.word()) && (1..=REACH).any(|by| at.next(by) == "hole");
    hole.then_some(())?;
    let by = (1..=REACH).find(|by| at.next(*by) == "hole")?;
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
    let a = listed("a slight small little light another mild bit hot", at.back(1));
    let air = listed("in of and", at.next(1)) && at.behind("air tuck morning", 3);
    (at.word() == "nip" && a && !air && at.next(1) != "up").then(|| lean("nip"))
}

/// "A slight knock at the top", "a ping"; not knocked off.
pub(super) fn knocked(at: WordAt<'_>) -> Option<Said> {
    if listed("knocked knocks knocking", at.word()) {
        let off = listed(lists::KNOCKED, at.next(1)) || at.of_a_person();
        return off.then_some(Said::Nothing);
    }
    let heard = listed("a slight some light heard heavy bit of engine bad", at.back(1));
    let not = listed("sensor on off down over about back box kneed", at.next(1));
    (at.word() == "knock" && heard && !not).then(|| lean("knock"))
}

/// What is seen on a piston that is marked, and on a plug: metal on it or melted, blisters, pepper.
pub(in super::super) fn seen_said(words: &[Word], at: usize, seen: WrittenIn) -> Option<Said> {
    let place = WordAt { words, at };
    let word = place.word();
    if seen == WrittenIn::OnThePiston && listed("marked marks", word) && !place.anywhere(lists::WITH_A_PEN) {
        return Some(lean(word));
    }
    let of_the_plug = seen == WrittenIn::OnThePlug;
    let of_plug = of_the_plug || place.near(lists::PLUG, REACH + 1) && !place.anywhere("cap lead");
    of_plug.then_some(())?;
    let metal = ["melt", "alumin", "silver"].iter().any(|begins| word.starts_with(begins))
        || listed("beads balls", word) && of_the_plug;
    let burnt = ["blister", "bubbl", "pepper"].iter().any(|begins| word.starts_with(begins))
        || word.starts_with("speck") && !place.anywhere("carbon soot oil")
        || word.starts_with("glaz") && place.anywhere("white bone chalk chalky");
    if metal {
        return Some(Said::Lean(Sign::Seizure(word.to_owned())));
    }
    burnt.then(|| Said::Lean(Sign::Detonation(word.to_owned())))
}

/// Whether a word looks lean, and is no sign of damage: a white plug, "lean on top".
pub(in super::super) fn looks_lean_at(words: &[Word], at: usize, seen: WrittenIn) -> bool {
    let place = WordAt { words, at };
    if seen == WrittenIn::OnThePlug {
        let no_ring = place.word() == "ring" && place.back(1) == "no";
        return no_ring || listed("white bone chalk chalky lean weak", place.word());
    }
    let of_riding =
        listed("angle angles over into out in against back burn", place.next(1)) || place.of_a_person();
    place.word() == "lean" && !of_riding && !listed("to less was from", place.back(1))
}
