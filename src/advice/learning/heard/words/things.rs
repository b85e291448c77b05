//! What a word like "seized" is said of: the piston, another thing, or nothing in particular.

use super::super::word_lists::{
    ARTICLES, BETWEEN, ENGINES, HOW_FAR, JOINING, NO_THINGS, OTHER_ENDS, OTHER_THINGS, PISTON_AND_ITS_LIKE,
    PREPOSITIONS, REACH, SIDES,
};

use crate::advice::learning::heard::word_lists::{is_in, listed};
use crate::advice::learning::heard::words::signs::{Word, is_sign};

/// What a sign may be said of.
pub(super) enum Thing<'w> {
    /// The piston, or what runs lean with it.
    Piston,
    /// Another thing.
    Other(&'w str),
    /// Another thing, joined with "and" or "then": it may be the subject, or not.
    Joined(&'w str),
    /// A thing in neither list.
    Unknown(&'w str),
    /// Nothing in particular.
    None,
}

/// What stands just before a sign: "the gearbox bearing has nearly seized".
pub(super) fn before(words: &[Word], at: usize) -> Thing<'_> {
    let mut at = at;
    let mut joined = false;
    while at > 0 && !words.get(at).is_some_and(|word| word.after_comma) {
        at -= 1;
        let Some(word) = words.get(at).map(|word| word.text.as_str()) else { break };
        if listed(JOINING, word) {
            joined = true;
        } else if joined {
            // "The clutch slipped and seized": whatever is named first may be meant.
            match known(words, at) {
                Thing::Other(thing) => return Thing::Joined(thing),
                Thing::Piston => return Thing::Piston,
                _ if ["it", "she", "he", "we"].contains(&word) => return Thing::None,
                _ => {}
            }
        } else if !listed(BETWEEN, word) {
            return match known(words, at) {
                Thing::Unknown(word) if listed(NO_THINGS, word) || is_where(words, at) => Thing::None,
                thing => thing,
            };
        }
    }
    Thing::None
}

/// Whether a word tells where or when: a number, or "at the old bridge".
pub(super) fn is_where(words: &[Word], at: usize) -> bool {
    let text = |at: usize| words.get(at).map_or("", |word| word.text.as_str());
    text(at).chars().all(|c| c.is_ascii_digit())
        || (at.saturating_sub(REACH)..at).any(|before| listed(PREPOSITIONS, text(before)))
}

/// The thing that a word names together with those just before it: the piston of a brake is the brake's.
pub(super) fn known(words: &[Word], at: usize) -> Thing<'_> {
    let text = |at: usize| words.get(at).map_or("", |word| word.text.as_str());
    let last = text(at);
    if last == "end" && at > 0 {
        return match text(at - 1) {
            "top" => Thing::Piston,
            which if listed(OTHER_ENDS, which) => Thing::Other(last),
            _ => Thing::None,
        };
    }
    if ["gear", "throttle"].contains(&last) && at > 0 && listed(HOW_FAR, text(at - 1)) {
        return Thing::None;
    }
    if listed(SIDES, last) {
        return Thing::Piston;
    }
    let whole = [at.checked_sub(2), at.checked_sub(1), Some(at)];
    let mut run = whole.into_iter().flatten().rev().map(text).take_while(|word| in_a_list(word));
    if let Some(other) = run.clone().find(|word| is_in(OTHER_THINGS, word)) {
        Thing::Other(other)
    } else if run.next().is_some() {
        Thing::Piston
    } else {
        Thing::Unknown(last)
    }
}

/// What stands behind a sign: "a seized piston", "Seized: brake caliper", "seizure of the gearbox".
pub(super) fn behind(words: &[Word], at: usize) -> Thing<'_> {
    let announced = words.get(at + 1).is_some_and(|word| listed(ARTICLES, word.text.as_str()));
    let follows = words.iter().skip(at + 1).take_while(|word| {
        !word.after_comma && !listed(PREPOSITIONS, word.text.as_str()) && !is_sign(&word.text)
    });
    let follows: Vec<&str> = follows.map(|word| word.text.as_str()).take(REACH + 1).collect();
    if let Some(first) = follows.iter().position(|word| in_a_list(word)) {
        let run = || follows.iter().skip(first).take_while(|word| in_a_list(word));
        return match run().find(|word| is_in(OTHER_THINGS, word)) {
            Some(other) => Thing::Other(other),
            None => Thing::Piston,
        };
    }
    if follows.contains(&"end") {
        return match follows.iter().find(|word| listed(OTHER_ENDS, word)) {
            Some(which) => Thing::Other(which),
            None => Thing::Piston,
        };
    }
    let plain = |word: &&&str| !listed(NO_THINGS, word) && !listed(BETWEEN, word);
    match follows.iter().find(plain) {
        Some(thing) if announced && !follows.iter().any(|word| ["lap", "time", "race"].contains(word)) => {
            Thing::Unknown(thing)
        }
        _ => Thing::None,
    }
}

/// Whether the engine or a part of it that runs lean is named just before or behind a word, on its side of the comma; a bike is ridden too.
pub(super) fn engine_is_near(words: &[Word], at: usize) -> bool {
    let engine = |word: &&Word| is_in(ENGINES, &word.text);
    let clause = (0..=at).rev().find(|from| words.get(*from).is_some_and(|word| word.after_comma));
    let from = at.saturating_sub(REACH + 1).max(clause.unwrap_or(0));
    let before = words.get(from..at).unwrap_or_default();
    let behind = words.iter().skip(at + 1).take(REACH).take_while(|word| !word.after_comma);
    before.iter().chain(behind).any(|word| engine(&word))
}

/// Whether a word has a meaning here of its own, so that no name changes it.
pub(super) fn is_known(word: &str) -> bool {
    in_a_list(word)
        || [BETWEEN, NO_THINGS, PREPOSITIONS, JOINING, SIDES].iter().any(|list| listed(list, word))
}

pub(super) fn in_a_list(word: &str) -> bool {
    is_in(PISTON_AND_ITS_LIKE, word) || is_in(OTHER_THINGS, word)
}
