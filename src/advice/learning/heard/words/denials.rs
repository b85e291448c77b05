//! Whether a word like "seized" is taken back: "no sign of a seizure", "did not ping".

use super::super::word_lists::{
    DENIALS, DENIES_ANOTHER, FILLING, IN_VAIN, NOT_SO_MUCH, REACH, STOPPED_IT, STOPPING, TURNING,
};

use crate::advice::learning::heard::word_lists::listed;
use crate::advice::learning::heard::words::signs::Word;

/// Whether a sign is denied: just before it and on its side of the comma, or in one list with a sign that is ("no pinging,
/// detonation or seizure").
pub(super) fn is_denied(words: &[Word], at: usize, denied_before: Option<usize>) -> bool {
    let mut counted = 0;
    for from in (0..at).rev() {
        let between = words.get(from + 1..=at).unwrap_or_default();
        if between.iter().any(turns) {
            break;
        }
        let Some(word) = words.get(from) else { break };
        if is_denial(words, from, at) {
            return true;
        }
        // "No sign of a seizure": what only fills does not count.
        if !listed(FILLING, &word.text) {
            counted += 1;
        }
        if counted >= REACH {
            break;
        }
    }
    denied_before.is_some_and(|before| {
        let between = words.get(before + 1..at).unwrap_or_default();
        // After a comma only in a list: "no pinging, detonation or seizure".
        let in_a_list = |words: &[Word]| words.iter().any(|word| ["or", "nor"].contains(&word.text.as_str()));
        let comma = words.get(before + 1..=at).unwrap_or_default().iter().any(|word| word.after_comma);
        between.iter().all(|word| ["or", "nor"].contains(&word.text.as_str()))
            && (!comma || in_a_list(words.get(at..).unwrap_or_default()))
    })
}

/// What a denial does not reach over.
fn turns(word: &Word) -> bool {
    word.after_comma || listed(TURNING, &word.text)
}

/// Whether a word denies what stands at `at`, and not something else: "no warning", "no 2", "not sure".
fn is_denial(words: &[Word], from: usize, at: usize) -> bool {
    let text = |at: usize| words.get(at).map_or("", |word| word.text.as_str());
    let ends = |at: usize| words.get(at).is_none_or(|word| word.after_comma);
    let (word, next) = (text(from), text(from + 1));
    let before = from.checked_sub(1).map_or("", text);
    let denied = |word: &str| listed(DENIALS, word) || word.ends_with("n't");
    let two_before = from.checked_sub(2).map_or("", text);
    // "Lucky not to seize".
    if [before, two_before].iter().any(|word| listed("lucky luckily", word)) {
        return false;
    }
    // "Stopped pinging", "zero pinging"; an engine that "stopped seized" did.
    let noun = !text(at).ends_with("ed") && !listed("stuck froze solid tight went let like", text(at));
    let rid = word == "rid" && next == "of" || word == "stop" && before == "to";
    let avoids = listed("avoid avoiding prevent", word);
    if listed(STOPPED_IT, word) || rid || avoids {
        // "Nothing cured the pinging", "could not avoid pinging", "never got rid of it", "had to stop, pinging".
        let back = || from.saturating_sub(3)..from;
        let in_vain =
            back().any(|at| denied(text(at)) || listed(IN_VAIN, text(at)) || rid && text(at) == "had");
        let right_behind = || (from + 1..at).all(|at| listed("of it the that all any its from", text(at)));
        return !in_vain && noun && (avoids || right_behind());
    }
    // "Free of pinging": of nothing that stands in between.
    if ["free", "clear"].contains(&word) && next == "of" {
        return (from + 1..at).all(|between| listed(FILLING, text(between)));
    }
    // "Zero pinging"; "revs dropped to zero and it seized".
    if word == "zero" {
        let above = listed("not non above over from to isn't wasn't", before);
        return noun && !above && (from + 1..at).all(|between| listed(FILLING, text(between)));
    }
    let denies = denied(word);
    let mut between = (from + 1..at).map(text);
    let first = between.clone().find(|word| !listed("a an the any real", word)).unwrap_or_default();
    // "No jet stopped the pinging", "no, it seized", "without the 180 it pings".
    let turned = between.clone().any(|word| listed(STOPPING, word))
        || listed("no without zero", word) && between.any(|word| ["it", "she"].contains(&word))
        || word == "no"
            && from + 1 == at
            && text(at).ends_with("ed")
            && (ends(at + 1) || text(at + 1) == "again");
    // "No more than a bit of pinging", "no det until the end", "never pinged before", "not pinging as badly".
    let than = listed("more less worse other", next) && text(from + 2) == "than";
    let until = listed("until till", text(at + 1))
        || listed("never not", word) && text(at + 1) == "before" && ends(at + 2);
    let how = at + 1 + usize::from(listed("as so too very", text(at + 1)));
    let less = word != "no" && listed(NOT_SO_MUCH, text(how));
    let number =
        word == "no" && (next.chars().all(|c| c.is_ascii_digit()) || listed("one two three four", next));
    denies && !listed(DENIES_ANOTHER, first) && !turned && !than && !until && !less && !number
}
