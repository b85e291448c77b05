//! A place in a sentence, and what is said there.

use crate::advice::learning::heard::phrase_lists as lists;
use crate::advice::learning::heard::word_lists::{BETWEEN, JOINING, is_in, listed};
use crate::advice::learning::heard::words::signs::{Said, THE_ENGINE, Word, sign};
use crate::advice::learning::heard::words::things::{Thing, before};

/// A place in a sentence.
#[derive(Clone, Copy)]
pub(super) struct WordAt<'w> {
    pub(super) words: &'w [Word],
    pub(super) at: usize,
}

impl<'w> WordAt<'w> {
    /// The word so many places on, "" beyond the sentence.
    pub(super) fn next(self, by: usize) -> &'w str {
        self.words.get(self.at + by).map_or("", |word| word.text.as_str())
    }

    /// The word so many places back.
    pub(super) fn back(self, by: usize) -> &'w str {
        self.at.checked_sub(by).and_then(|at| self.words.get(at)).map_or("", |word| word.text.as_str())
    }

    pub(super) fn word(self) -> &'w str {
        self.next(0)
    }

    /// Whether nothing more is said of it: the sentence or its part ends, or goes on with "and".
    pub(super) fn ends(self, by: usize) -> bool {
        let ended = self.words.get(self.at + by).is_none_or(|word| word.after_comma);
        ended || listed(JOINING, self.next(by))
    }

    /// Whether one of some words stands among so many behind it.
    pub(super) fn behind(self, list: &str, reach: usize) -> bool {
        self.words.iter().skip(self.at + 1).take(reach).any(|word| listed(list, &word.text))
    }

    pub(super) fn anywhere(self, list: &str) -> bool {
        self.words.iter().any(|word| listed(list, &word.text))
    }

    /// The same, on its side of the commas.
    pub(super) fn in_clause(self, list: &str) -> bool {
        let ahead = self.words.iter().skip(self.at + 1).take_while(|word| !word.after_comma);
        let starts = (0..=self.at).rev().find(|at| self.words.get(*at).is_some_and(|word| word.after_comma));
        let before = self.words.get(starts.unwrap_or(0)..=self.at).unwrap_or_default();
        before.iter().chain(ahead).any(|word| listed(list, &word.text))
    }

    pub(super) fn near(self, list: &str, reach: usize) -> bool {
        let from = self.at.saturating_sub(reach);
        self.words.iter().skip(from).take(2 * reach + 1).any(|word| listed(list, &word.text))
    }

    /// Whether it is said of a person: "we stuck", "he nearly froze".
    pub(super) fn of_a_person(self) -> bool {
        let before = self.words.iter().take(self.at).rev();
        let mut before = before.map(|word| word.text.as_str());
        let nearest = before.find(|word| !listed(BETWEEN, word) && *word != "then");
        nearest.is_some_and(|word| listed(lists::PERSONS, word))
    }

    pub(super) fn subject(self) -> Thing<'w> {
        before(self.words, self.at)
    }

    /// Whether an "it", "she" or "that" is its subject.
    pub(super) fn of_it(self) -> bool {
        let before = self.words.iter().take(self.at).rev().map(|word| word.text.as_str());
        let mut before = before.skip_while(|word| listed(BETWEEN, word));
        before.next().is_some_and(|word| ["it", "she"].contains(&word))
    }

    /// Whether it happened where an engine is held open: on the straight, in top, on lap 3, at 12000.
    pub(super) fn on_the_track(self) -> bool {
        let revs = |word: &str| word.parse::<u32>().is_ok_and(|revs| (5_000..=20_000).contains(&revs));
        let lap = |word: &str| {
            ["lap", "l"].iter().any(|lap| word.strip_prefix(lap).is_some_and(|lap| lap.parse::<u8>().is_ok()))
        };
        let mut behind = self.words.iter().skip(self.at + 1).take(6).map(|word| word.text.as_str());
        self.behind(lists::AT_SPEED, 6) || behind.any(|word| revs(word) || lap(word))
    }

    /// Sure of the engine, asked of a thing not known, nothing of another.
    pub(super) fn by_subject(self, words: &str) -> Said {
        match self.subject() {
            Thing::Other(thing) | Thing::Joined(thing) => other(words, thing),
            Thing::Unknown(thing) if is_in(lists::NO_ENGINE, thing) => other(words, thing),
            Thing::Unknown(thing) => asked(words, thing),
            _ if self.of_a_person() => Said::Nothing,
            Thing::Piston | Thing::None => lean(words),
        }
    }

    /// The same, but asked where nothing is named.
    pub(super) fn asked_by_subject(self, words: &str) -> Said {
        match (self.subject(), self.by_subject(words)) {
            (Thing::None, Said::Lean(_)) => asked(words, THE_ENGINE),
            (_, said) => said,
        }
    }
}

pub(super) fn lean(words: &str) -> Said {
    Said::Lean(sign(words.to_owned()))
}

pub(super) fn asked(words: &str, thing: &str) -> Said {
    Said::Unclear { word: words.to_owned(), thing: thing.to_owned() }
}

pub(super) fn other(words: &str, thing: &str) -> Said {
    Said::OfAnother { word: words.to_owned(), thing: thing.to_owned() }
}
