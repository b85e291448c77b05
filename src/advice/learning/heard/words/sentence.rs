//! The words of a sentence, names of the garage's own among them.

use crate::advice::learning::heard::words::signs::Word;
use crate::advice::learning::heard::words::spelling::as_meant;
use crate::advice::learning::heard::words::things::{in_a_list, is_known};
use crate::store::Garage;

/// Names of the garage's own: of bikes, engines and cylinders. What seizes under such a name is an engine.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OwnNames(pub(super) Vec<String>);

impl OwnNames {
    /// The names, whatever their capitals.
    pub fn of<'n>(names: impl IntoIterator<Item = &'n str>) -> Self {
        let known = |word: &str| is_known(word) || word.chars().count() < 2;
        let words = names.into_iter().flat_map(|name| name.split(|c: char| !c.is_alphanumeric()));
        Self(words.map(str::to_lowercase).filter(|word| !known(word)).collect())
    }

    /// Those of a garage: its bikes and engines.
    pub fn of_garage(garage: &Garage) -> Self {
        Self::of(garage.bikes().iter().chain(&garage.engines()).map(String::as_str))
    }

    pub(super) fn has(&self, word: &str) -> bool {
        self.0.iter().any(|name| name == word)
    }
}

/// The words of a sentence; a name of the garage's own is read as the engine that it is.
pub(super) fn words(sentence: &str, own: &OwnNames) -> Vec<Word> {
    let mut words = Vec::new();
    for (clause, text) in sentence.replace('’', "'").split([',', '(', ')']).enumerate() {
        let parts = text.split(|c: char| !c.is_alphanumeric() && c != '\'').filter(|word| !word.is_empty());
        let parts: Vec<_> = parts.map(str::to_lowercase).collect();
        for (at, word) in parts.iter().enumerate() {
            let next = parts.get(at + 1).map_or("", String::as_str);
            let word = if own.has(word) { word } else { as_meant(word, next) };
            let whole = word.strip_suffix("'s").filter(|whole| own.has(whole) || in_a_list(whole));
            let text = whole.unwrap_or(word);
            let text = if own.has(text) { "engine" } else { text }.to_owned();
            words.push(Word { text, after_comma: clause > 0 && at == 0 });
            // "The motor's stuffed": it is.
            words.extend(whole.map(|_| Word { text: "s".to_owned(), after_comma: false }));
        }
    }
    words
}
