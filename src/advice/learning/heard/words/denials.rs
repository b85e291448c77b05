//! Whether a word like "seized" is taken back: "no sign of a seizure", "did not ping".

use super::super::word_lists::{DENIALS, DENIES_ANOTHER, FILLING, REACH, STOPPED_IT, TURNING};
use super::Word;
use super::things::listed;

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
    let (word, next) = (text(from), text(from + 1));
    if listed(STOPPED_IT, word) {
        return (from + 1..at).all(|between| listed("it the that all any its from", text(between)));
    }
    // "Free of pinging": of nothing that stands in between.
    if ["free", "clear"].contains(&word) && next == "of" {
        return (from + 1..at).all(|between| listed(FILLING, text(between)));
    }
    let denies = listed(DENIALS, word) || word.ends_with("n't");
    let first = (from + 1..at).find(|at| !listed("a an the", text(*at)));
    let another = first.is_some_and(|first| listed(DENIES_ANOTHER, text(first)));
    let number =
        word == "no" && (next.chars().all(|c| c.is_ascii_digit()) || listed("one two three four", next));
    denies && !another && !number
}
