//! A place that is new and is called nearly like one that is known: it is asked, for what was learned at the one is not found at the
//! other.

use super::slip::{Questioned, Slip};
use crate::notebook::fields::names::same_name;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{CommandOption, Guidance, Typed};
use crate::notebook::nearest_name;

/// Names shorter than this differ by a letter as often as not.
const LEAST_LETTERS: usize = 5;
/// A known name may be meant by so many of its first letters.
const LEAST_BEGINNING: usize = 3;
/// Letters that a slip changes at most (common practice, no source).
const LETTERS: usize = 2;

/// The question about a place, where a known one is called nearly like it.
pub(super) fn misspelt<'p>(typed: Option<&str>, known: impl Iterator<Item = &'p str>) -> Option<Slip> {
    let typed = typed?;
    let known: Vec<&str> = known.collect();
    if known.iter().any(|one| same_name(one, typed)) {
        return None;
    }
    let begins = |one: &&str| {
        let (one, typed) = (one.to_lowercase(), typed.trim().to_lowercase());
        typed.chars().count() >= LEAST_BEGINNING && one.starts_with(&typed)
    };
    let is_near = |one: &&str| {
        let letters = one.chars().count().min(typed.chars().count());
        letters >= LEAST_LETTERS && is_nearly(one, typed)
    };
    let beginning = known.iter().copied().find(begins);
    let near = beginning.or_else(|| nearest_name(typed, known.into_iter().filter(is_near)))?;
    Some(Slip {
        what: Questioned::Place,
        field: "place".into(),
        question: format!("No run was at {} yet: is it {}?", visible(typed), visible(near)),
        instead: Guidance::from("Then say ") + CommandOption::Place(visible(near)) + ".",
    })
}

/// The same of places where nothing ran yet: that one was written down first says nothing of which of the two is right.
pub(super) fn of_a_new_one<'p>(typed: Option<&str>, written: impl Iterator<Item = &'p str>) -> Option<Slip> {
    let written: Vec<&str> = written.collect();
    let slip = misspelt(typed, written.iter().copied())?;
    let called = slip.instead.typed().find_map(|typed| match typed {
        Typed::Option(CommandOption::Place(name)) => Some(name.clone()),
        _ => None,
    })?;
    let new = visible(typed?);
    Some(Slip {
        question: format!("{new} and {called} are both new, no run was at either: which is right?"),
        instead: Guidance::from(format!("If {called} is, say "))
            + CommandOption::Place(called.clone())
            + format!(". If it is {new}, take the file of {called} out of places/ afterwards."),
        ..slip
    })
}

/// Whether two texts are one but for a letter or two.
pub(super) fn is_nearly(one: &str, other: &str) -> bool {
    !differs_in_a_number(one, other) && apart(one, other) <= LETTERS
}

/// "Loop 1" and "Loop 2" are two places.
fn differs_in_a_number(one: &str, other: &str) -> bool {
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    digits(one) != digits(other)
}

/// Letters to be put in, taken out, changed, or exchanged with their neighbour.
fn apart(one: &str, other: &str) -> usize {
    strsim::damerau_levenshtein(&one.to_lowercase(), &other.to_lowercase())
}

#[cfg(test)]
mod tests {
    use super::misspelt;

    #[test]
    fn a_place_called_nearly_like_a_known_one_is_asked() {
        let known = ["Tarnedge", "High Corrie", "Loop 1", "Mere"];
        let asked = |typed| misspelt(Some(typed), known.into_iter()).map(|slip| slip.question);
        for (typed, meant) in [
            ("Tarnege", "Tarnedge"),
            ("Tarn", "Tarnedge"),
            ("Hihg Corrie", "High Corrie"),
            ("Tarnegde", "Tarnedge"),
        ] {
            assert!(
                asked(typed).is_some_and(|question| question.ends_with(&format!("is it {meant}?"))),
                "{typed}"
            );
        }
        for typed in ["tarnedge", "high-corrie", "Loop 2", "Mare", "Fennmoor", "Ta"] {
            assert_eq!(asked(typed), None);
        }
    }
}
