//! Words in an outing's notes that stand for a lean mixture, whatever the verdict says: an engine that seized or pinged was
//! lean, or was not far from it (common practice, no source). A gearbox that seized was not, so it matters what a word is said
//! of: of the piston and what runs with it, or of nothing in particular ("it seized on the straight"), it is a sign; of another
//! thing it is none; of a thing that neither list names it is asked, and taken as lean until that is answered.

mod denials;
mod looks;
mod phrases;
pub(in crate::advice::learning) mod sentence;
pub(in crate::advice::learning) mod signs;
mod spelling;
mod things;

use std::collections::HashMap;
use std::sync::{LazyLock, Mutex, PoisonError};

use self::denials::is_denied;
use self::looks::lean_and_not_judged;
pub use self::looks::{FULL_THROTTLE, looks_lean};
use self::phrases::{phrase_at, seen_said};
use self::things::{Thing, before, behind, engine_is_near};
use super::phrase_lists::{ON_A_PAGE, ON_A_PISTON};
use super::word_lists::{
    ARTICLES, BEFORE_A_LEAD, BEHIND_A_LEAD, BRAKING, DENIALS, DETONATIONS, IN_TWO_WORDS, OF_METAL, PUT_AWAY,
    REACH, RIDING, SEIZED_BY_HAND, SEIZED_ITSELF, SEIZED_WHEN, SEIZURES, STOPPED,
};
use crate::advice::learning::heard::word_lists::listed;
use crate::advice::learning::heard::words::sentence::{OwnNames, words};
use crate::advice::learning::heard::words::signs::{
    LEAN_WORDS, Said, Sign, THE_ENGINE, Word, WrittenIn, is_seizure, is_sign, sign,
};
use crate::notebook::{Mixture, Outing};

/// The word in the notes, plug, piston or feel of an outing that says it was lean, if any, as it was written.
pub fn sign_of_lean(outing: &Outing) -> Option<String> {
    lean_sign(outing).map(|sign| sign.word().to_owned())
}

/// How words begin that may say that it was lean, and words that say so together, for a page that cannot weigh a sentence: it takes all
/// of them as said.
pub fn may_say_lean() -> (Vec<&'static str>, Vec<(&'static str, &'static [&'static str])>) {
    let alone = SEIZURES.into_iter().chain(OF_METAL).chain(DETONATIONS);
    (alone.collect(), IN_TWO_WORDS.into_iter().chain(ON_A_PAGE).collect())
}

/// The sign of lean in an outing's words, if any; one that is still asked counts until it is answered. What was seen at single cylinders
/// is in the outing as it was for each.
pub fn lean_sign(outing: &Outing) -> Option<Sign> {
    match said_of_lean(outing, &OwnNames::default()) {
        Said::Lean(sign) => Some(sign),
        Said::Unclear { word, .. } => Some(sign(word)),
        Said::Nothing | Said::OfAnother { .. } => None,
    }
}

/// Whether it is still asked what a word in an outing was said of.
pub fn is_asked(outing: &Outing, own: &OwnNames) -> bool {
    matches!(said_of_lean(outing, own), Said::Unclear { .. })
}

/// Whether an outing's words say that it was heard to ping, pink or detonate, and nothing worse.
pub fn is_detonation(outing: &Outing) -> bool {
    matches!(lean_sign(outing), Some(Sign::Detonation(word)) if !listed(LEAN_WORDS, &word))
}

/// What the notes, plug, piston and feel of an outing say of a lean run. Full throttle judged lean answers what a
/// word that is not clear was said of; a cause that says it was not the engine answers it the other way.
pub fn said_of_lean(outing: &Outing, own: &OwnNames) -> Said {
    let mut own = own.clone();
    own.0.extend(OwnNames::of(outing.cylinder.keys().map(String::as_str)).0);
    let texts = [
        (&outing.notes, WrittenIn::Anywhere),
        (&outing.piston, WrittenIn::OnThePiston),
        (&outing.plug, WrittenIn::OnThePlug),
        (&outing.feel, WrittenIn::Anywhere),
    ];
    let said = texts.into_iter().filter_map(|(text, seen)| Some(said_in(text.as_deref()?, seen, &own)));
    let said = said.fold(Said::Nothing, graver);
    match said {
        Said::Unclear { word, .. } if outing.at_full_throttle() == Some(Mixture::Lean) => {
            Said::Lean(sign(word))
        }
        Said::Unclear { word, .. } if outing.was_not_the_engine() => {
            Said::OfAnother { word, thing: "not the engine".to_owned() }
        }
        Said::Nothing | Said::OfAnother { .. } => lean_and_not_judged(outing, &own).unwrap_or(said),
        said => said,
    }
}

/// The graver of two.
fn graver(one: Said, other: Said) -> Said {
    let rank = |said: &Said| match said {
        Said::Lean(Sign::Seizure(_)) => 4,
        Said::Lean(Sign::Detonation(_)) => 3,
        Said::Unclear { .. } => 2,
        Said::OfAnother { .. } => 1,
        Said::Nothing => 0,
    };
    if rank(&other) > rank(&one) { other } else { one }
}

/// Texts that are remembered: the notes of a team's years, four to a run.
const REMEMBERED: usize = 20_000;

/// What was found in texts, by all that it was found from: one answer reads the same notes many times.
static READ: LazyLock<Mutex<HashMap<String, Said>>> = LazyLock::new(Mutex::default);

/// What a text says, or said as it was read before.
fn said_in(text: &str, seen: WrittenIn, own: &OwnNames) -> Said {
    let asked = format!("{seen:?} {own:?} {text}");
    let lock = || READ.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(said) = lock().get(&asked) {
        return said.clone();
    }
    let said = read(text, seen, own);
    let mut known = lock();
    if known.len() >= REMEMBERED {
        known.clear();
    }
    known.insert(asked, said.clone());
    said
}

/// What a text says: a full stop or a semicolon ends what a denial or a thing reaches.
fn read(text: &str, seen: WrittenIn, own: &OwnNames) -> Said {
    text.split(['.', ';', '!', '?', '\n'])
        .map(|sentence| said_in_sentence(&words(sentence, own), seen))
        .fold(Said::Nothing, graver)
}

fn said_in_sentence(words: &[Word], seen: WrittenIn) -> Said {
    let mut said = Said::Nothing;
    let mut denied_before: Option<usize> = None;
    for at in 0..words.len() {
        let phrase = phrase_at(words, at);
        if let Some(phrase) = phrase.as_ref().filter(|phrase| phrase.has_its_denial) {
            said = graver(said, phrase.said.clone());
            continue;
        }
        let found = seen_said(words, at, seen).or_else(|| phrase.map(|phrase| phrase.said));
        let found =
            found.or_else(|| Some(said_at(words, at, &sign_at(words, at)?, seen == WrittenIn::OnThePiston)));
        let Some(found) = found else { continue };
        let free = words.get(at + 1).is_some_and(|word| word.text == "free")
            && words.get(at + 2).is_none_or(|word| word.after_comma);
        if free || is_denied(words, at, denied_before) {
            denied_before = Some(at);
            continue;
        }
        said = graver(said, found);
    }
    said
}

/// The sign that a word is, alone or with the one behind it.
fn sign_at(words: &[Word], at: usize) -> Option<String> {
    let word = words.get(at)?.text.as_str();
    let next = words.get(at + 1).map_or("", |word| word.text.as_str());
    let in_two = IN_TWO_WORDS.iter().any(|(first, then)| word == *first && then.contains(&next));
    if in_two && is_of_metal(word) {
        return Some(format!("{word} {next}"));
    }
    if is_sign(word) || is_of_metal(word) || (STOPPED.contains(&word) && !in_two) {
        return Some(word.to_owned());
    }
    let behind = |reach: usize| words.iter().skip(at + 1).take(reach).map(|word| word.text.as_str());
    if ["hole", "holes"].contains(&word)
        && behind(6).any(|of| ["piston", "pistons", "crown", "slug"].contains(&of))
    {
        return Some(format!("{word} in the piston"));
    }
    if word == "stuck" && !in_two && behind(REACH).any(|of| ["piston", "pistons"].contains(&of)) {
        return Some("stuck, in the piston".to_owned());
    }
    let picked_up = word == "picked" && next == "up";
    (in_two || picked_up).then(|| format!("{word} {next}"))
}

fn is_of_metal(word: &str) -> bool {
    let alone = !word.contains(' ') && OF_METAL.iter().any(|beginning| word.starts_with(beginning));
    ["picked up", "nip"].contains(&word) || alone
}

/// What a sign that is not denied is said of.
fn said_at(words: &[Word], at: usize, word: &str, of_the_piston: bool) -> Said {
    let next = words.get(at + 1).map_or("", |word| word.text.as_str());
    let of_it =
        at.checked_sub(1).and_then(|at| words.get(at)).is_some_and(|word| listed("it she", &word.text));
    let of_metal = || words.iter().skip(at + 1).take(6).any(|word| listed(ON_A_PISTON, &word.text));
    let of_engine =
        || of_it || of_metal() || engine_is_near(words, at) || next == "to" && ended(words, at + 2);
    let ridden = || RIDING.iter().any(|(sign, with)| word == *sign && with.contains(&next)) && !of_engine();
    if ridden() || is_by_hand(words, at) {
        return Said::Nothing;
    }
    let lean = || Said::Lean(sign(word.to_owned()));
    let of_another = |thing: &str| Said::OfAnother { word: word.to_owned(), thing: thing.to_owned() };
    // What pings, and what is seen on the piston, is the engine.
    let is_asked = is_seizure(word) && !word.starts_with("seizure") && !of_the_piston;
    let locked = word.starts_with("locked").then(|| wheel_that_locked(words, at, word));
    if let Some(said) = locked.flatten() {
        return said;
    }
    let subject = before(words, at);
    if word.ends_with(" in the piston") {
        return lean();
    }
    if STOPPED.contains(&word) {
        // So does an engine whose spark has gone.
        return match (subject, behind(words, at)) {
            (Thing::Other(thing), _) | (_, Thing::Other(thing)) => of_another(thing),
            _ => Said::Unclear { word: word.to_owned(), thing: THE_ENGINE.to_owned() },
        };
    }
    if is_of_metal(word) && !of_the_piston {
        let piston = matches!(subject, Thing::Piston) || matches!(behind(words, at), Thing::Piston);
        return if piston { lean() } else { Said::Nothing };
    }
    match (subject, behind(words, at)) {
        (Thing::Other(thing), _) if !of_the_piston => of_another(thing),
        (Thing::Joined(_) | Thing::Unknown(_) | Thing::None, Thing::Other(thing))
            if !of_the_piston && is_seizure(word) =>
        {
            of_another(thing)
        }
        (Thing::Joined(thing) | Thing::Unknown(thing), Thing::None | Thing::Unknown(_))
        | (Thing::None, Thing::Unknown(thing))
            if is_asked =>
        {
            Said::Unclear { word: word.to_owned(), thing: thing.to_owned() }
        }
        _ => lean(),
    }
}

/// "To a stop", "to death".
fn ended(words: &[Word], at: usize) -> bool {
    words.iter().skip(at).take(2).any(|word| listed("stop halt death buggery bits pieces hell", &word.text))
}

/// "Seized the lead"; not where the engine or its piston is named: "seized the inside of the bore", "engine seized in second place".
fn is_by_hand(words: &[Word], at: usize) -> bool {
    if engine_is_near(words, at)
        || words.iter().skip(at + 1).take(6).any(|word| listed(ON_A_PISTON, &word.text))
    {
        return false;
    }
    let text = |at: usize| words.get(at).map_or("", |word| word.text.as_str());
    let by_itself = at.checked_sub(1).is_some_and(|at| listed("it she bike kart machine", text(at)));
    let mut thing = at + 1;
    while words.get(thing).is_some_and(|word| !word.after_comma)
        && (listed(ARTICLES, text(thing)) || listed(BEFORE_A_LEAD, text(thing)))
    {
        thing += 1;
    }
    let ends = words.get(thing + 1).is_none_or(|word| word.after_comma);
    // "Seized the moment I opened it", "seized the day before".
    let tells_when = listed(SEIZED_WHEN, text(thing)) && !ends && !listed(BEHIND_A_LEAD, text(thing + 1));
    let is_taken = listed(SEIZED_BY_HAND, text(thing))
        && !words.get(thing).is_some_and(|word| word.after_comma)
        || thing > at + 1 && listed(SEIZED_ITSELF, text(thing));
    !by_itself && !tells_when && is_taken
}

/// "Locked in the van", "locked in third place"; not "locked in sixth", and not what an engine or a wheel did.
fn is_put_away(words: &[Word], at: usize) -> bool {
    let text = |at: usize| words.get(at).map_or("", |word| word.text.as_str());
    let by_itself =
        at.checked_sub(1).is_some_and(|at| listed("it she bike kart machine rear back wheel", text(at)));
    let in_gear = listed("second third fourth fifth sixth top 2nd 3rd 4th 5th 6th", text(at + 2))
        && !listed("place position overall row spot", text(at + 3));
    !engine_is_near(words, at) && !by_itself && !in_gear
}

/// A rear wheel that locked, and not by the brake, may be how a seizure throws its rider: that is asked.
fn wheel_that_locked(words: &[Word], at: usize, word: &str) -> Option<Said> {
    let text = |word: &Word| word.text.clone();
    let next = words.get(at + 1).map(text).unwrap_or_default();
    if word == "locked" && listed(PUT_AWAY, &next) && is_put_away(words, at) {
        return Some(Said::Nothing);
    }
    let starts = (0..=at).rev().find(|from| words.get(*from).is_some_and(|word| word.after_comma));
    let before = words.get(at.saturating_sub(REACH).max(starts.unwrap_or(0))..at)?;
    let behind = words.iter().skip(at + 1).take(REACH).take_while(|word| !word.after_comma);
    let mut near = before.iter().chain(behind);
    let whole_engine = words.iter().any(|word| listed("cylinder pot barrel piston", &word.text));
    let is_wheel = |word: &Word| {
        ["wheel", "tyre", "tire"].contains(&word.text.as_str())
            || !whole_engine && ["rear", "back"].contains(&word.text.as_str())
    };
    near.any(is_wheel).then_some(())?;
    let braked = words.iter().enumerate().find(|(at, word)| {
        let denied = words.iter().take(*at).rev().take(REACH).any(|word| listed(DENIALS, &word.text));
        let fine =
            words.iter().skip(at + 1).take(2).any(|word| listed("fine ok good new perfect off", &word.text));
        listed(BRAKING, &word.text) && !denied && !fine
    });
    let braked = braked.map(|(_, word)| word);
    let rear = || before.iter().any(|word| listed("rear back", &word.text));
    let front = words.iter().find(|word| word.text == "front" && !rear());
    Some(match braked.or(front) {
        Some(thing) => Said::OfAnother { word: word.to_owned(), thing: text(thing) },
        None => Said::Unclear { word: word.to_owned(), thing: "the wheel".to_owned() },
    })
}

#[cfg(test)]
mod tests;
