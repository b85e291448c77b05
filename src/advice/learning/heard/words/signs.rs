//! Signs that it ran lean, and the words of a sentence in which they stand.

use crate::advice::learning::heard::word_lists::{DETONATIONS, OF_METAL, SEIZURES, listed};

/// A sign that it ran lean, with the word that says it as it was written, or meant, in small letters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sign {
    /// The piston seized, nipped up or was holed: the metal says it, and the next run wants more than one size.
    Seizure(String),
    /// It pinged, pinked or detonated: the ear says it. Or it is called lean where full throttle was not judged.
    Detonation(String),
}

impl Sign {
    /// The word.
    pub fn word(&self) -> &str {
        match self {
            Self::Seizure(word) | Self::Detonation(word) => word,
        }
    }

    /// Whether it is a mark on metal alone, a scuff or a score: dirt leaves such a one too.
    pub fn is_a_mark(&self) -> bool {
        OF_METAL.iter().any(|beginning| self.word().starts_with(beginning))
    }

    /// Whether metal has touched or melted.
    pub fn is_seizure(&self) -> bool {
        matches!(self, Self::Seizure(_))
    }
}

/// What the words of an outing say of a lean run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// Nothing.
    Nothing,
    /// It was lean.
    Lean(Sign),
    /// A word like it, said of a thing that has nothing to do with the mixture.
    OfAnother {
        /// The word.
        word: String,
        /// The thing.
        thing: String,
    },
    /// A word like it, said of a thing that is not known: taken as lean until somebody says what it was.
    Unclear {
        /// The word.
        word: String,
        /// The thing.
        thing: String,
    },
}

/// What a word may be said of where nothing is named.
pub const THE_ENGINE: &str = "the engine";

/// A word as a sign.
pub(super) fn sign(word: String) -> Sign {
    if is_seizure(&word) { Sign::Seizure(word) } else { Sign::Detonation(word) }
}

pub(super) fn is_seizure(word: &str) -> bool {
    !is_heard(word) && !listed(LEAN_WORDS, word)
}

pub(super) fn is_heard(word: &str) -> bool {
    listed(
        "deto det dets detted detting ping knock knocked knocks rattling pitted pepper peppered preignition crackling det'd deto'd ping'd",
        word,
    ) || DETONATIONS.iter().any(|beginning| word.starts_with(beginning))
}

pub(super) fn is_sign(word: &str) -> bool {
    is_heard(word) || SEIZURES.iter().any(|beginning| word.starts_with(beginning))
}

/// A word of a sentence, in small letters, and whether a comma stands before it.
pub(super) struct Word {
    pub(super) text: String,
    pub(super) after_comma: bool,
}

/// Where a text was written: of a piston or a plug more words say that it was lean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum WrittenIn {
    Anywhere,
    OnThePiston,
    OnThePlug,
}

/// How a mixture is called that is short of fuel.
pub(super) const LEAN_WORDS: &str = "lean weak";
