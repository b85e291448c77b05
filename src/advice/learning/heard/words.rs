//! Words in an outing's notes that stand for a lean mixture, whatever the verdict says: an engine that seized or pinged was
//! lean, or was not far from it (common practice, no source). A gearbox that seized was not, so it matters what a word is said
//! of: of the piston and what runs with it, or of nothing in particular ("it seized on the straight"), it is a sign; of another
//! thing it is none; of a thing that neither list names it is asked.

use super::word_lists::{
    ARTICLES, BETWEEN, BRAKING, DENIALS, DETONATIONS, HOW_FAR, IN_TWO_WORDS, JOINING, NO_THINGS, OF_METAL,
    OTHER_ENDS, OTHER_THINGS, PISTON_AND_ITS_LIKE, PREPOSITIONS, PUT_AWAY, REACH, RIDING, SEIZURES, STOPPED,
};
use crate::notebook::{Mixture, Outing};

/// A sign that it ran lean, with the word that says it as it was written, in small letters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sign {
    /// The piston seized, nipped up or was holed: the metal says it, and the next run wants more than one size.
    Seizure(String),
    /// It pinged, pinked or detonated: the ear says it.
    Detonation(String),
}

impl Sign {
    /// The word.
    pub fn word(&self) -> &str {
        match self {
            Self::Seizure(word) | Self::Detonation(word) => word,
        }
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
    /// A word like it, said of a thing that is not known: counts for nothing until the verdict says lean.
    Unclear {
        /// The word.
        word: String,
        /// The thing.
        thing: String,
    },
}

/// The word in the notes, plug, piston or feel of an outing that says it was lean, if any, as it was written.
pub fn sign_of_lean(outing: &Outing) -> Option<String> {
    lean_sign(outing).map(|sign| sign.word().to_owned())
}

/// How words begin that may say that it was lean, and words that say so together, for a page that cannot weigh a sentence: it takes all
/// of them as said.
pub fn may_say_lean() -> (Vec<&'static str>, Vec<(&'static str, &'static [&'static str])>) {
    let alone = SEIZURES.into_iter().chain(OF_METAL).chain(DETONATIONS);
    (alone.collect(), IN_TWO_WORDS.to_vec())
}

/// The sign of lean in an outing's words, if any.
pub fn lean_sign(outing: &Outing) -> Option<Sign> {
    match said_of_lean(outing) {
        Said::Lean(sign) => Some(sign),
        _ => None,
    }
}

/// Whether an outing's words say that it was heard to ping, pink or detonate, and nothing worse.
pub fn is_detonation(outing: &Outing) -> bool {
    matches!(lean_sign(outing), Some(Sign::Detonation(_)))
}

/// What the notes, plug, piston and feel of an outing say of a lean run. A word that is said of a thing not known is believed
/// where full throttle was judged lean: that is how the question is answered.
pub fn said_of_lean(outing: &Outing) -> Said {
    let texts =
        [(&outing.notes, false), (&outing.piston, true), (&outing.plug, false), (&outing.feel, false)];
    let lean = outing.verdict.as_ref().is_some_and(|verdict| verdict.full == Some(Mixture::Lean));
    let said = texts
        .into_iter()
        .filter_map(|(text, of_the_piston)| Some(said_in(text.as_deref()?, of_the_piston)))
        .fold(Said::Nothing, graver);
    match said {
        Said::Unclear { word, .. } if lean => Said::Lean(sign(word)),
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

/// A word as a sign.
fn sign(word: String) -> Sign {
    if is_seizure(&word) { Sign::Seizure(word) } else { Sign::Detonation(word) }
}

fn is_seizure(word: &str) -> bool {
    !is_heard(word)
}

fn is_heard(word: &str) -> bool {
    ["deto", "det", "knocked", "knocks"].contains(&word)
        || DETONATIONS.iter().any(|beginning| word.starts_with(beginning))
}

fn is_sign(word: &str) -> bool {
    is_heard(word) || SEIZURES.iter().any(|beginning| word.starts_with(beginning))
}

/// A word of a sentence, in small letters, and whether a comma stands before it.
struct Word {
    text: String,
    after_comma: bool,
}

/// What a text says: a full stop or a semicolon ends what a denial or a thing reaches.
fn said_in(text: &str, of_the_piston: bool) -> Said {
    text.split(['.', ';', '!', '?', '\n'])
        .map(|sentence| said_in_sentence(&words(sentence), of_the_piston))
        .fold(Said::Nothing, graver)
}

fn words(sentence: &str) -> Vec<Word> {
    let mut words = Vec::new();
    for (clause, text) in sentence.split(',').enumerate() {
        let parts = text.split(|c: char| !c.is_alphanumeric() && c != '\'').filter(|word| !word.is_empty());
        for (at, word) in parts.enumerate() {
            words.push(Word { text: word.to_lowercase(), after_comma: clause > 0 && at == 0 });
        }
    }
    words
}

fn said_in_sentence(words: &[Word], of_the_piston: bool) -> Said {
    let mut said = Said::Nothing;
    let mut denied_before: Option<usize> = None;
    for at in 0..words.len() {
        let Some(sign) = sign_at(words, at) else { continue };
        if is_denied(words, at, denied_before) {
            denied_before = Some(at);
            continue;
        }
        said = graver(said, said_at(words, at, &sign, of_the_piston));
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
    let behind = || words.iter().skip(at + 1).take(REACH).map(|word| word.text.as_str());
    if ["hole", "holes"].contains(&word) && behind().any(|of| ["piston", "pistons", "crown"].contains(&of)) {
        return Some(format!("{word} in the piston"));
    }
    if word == "stuck" && !in_two && behind().any(|of| ["piston", "pistons"].contains(&of)) {
        return Some("stuck, in the piston".to_owned());
    }
    let picked_up = word == "picked" && next == "up";
    (in_two || picked_up).then(|| format!("{word} {next}"))
}

fn is_of_metal(word: &str) -> bool {
    let alone = !word.contains(' ') && OF_METAL.iter().any(|beginning| word.starts_with(beginning));
    ["picked up", "nip"].contains(&word) || alone
}

/// Whether a sign is denied: just before it and on its side of the comma, or in one list with a sign that is ("no pinging,
/// detonation or seizure").
fn is_denied(words: &[Word], at: usize, denied_before: Option<usize>) -> bool {
    let denial = |word: &Word| listed(DENIALS, word.text.as_str()) || word.text.ends_with("n't");
    for (from, word) in words.iter().enumerate().take(at).skip(at.saturating_sub(REACH)) {
        let between = words.get(from + 1..=at).unwrap_or_default();
        let turns = |word: &Word| {
            word.after_comma || ["but", "though", "only", "however"].contains(&word.text.as_str())
        };
        if denial(word) && !between.iter().any(turns) {
            return true;
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

/// What a sign that is not denied is said of.
fn said_at(words: &[Word], at: usize, word: &str, of_the_piston: bool) -> Said {
    let next = words.get(at + 1).map_or("", |word| word.text.as_str());
    if RIDING.iter().any(|(sign, with)| word == *sign && with.contains(&next)) {
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
            _ => Said::Unclear { word: word.to_owned(), thing: "the engine".to_owned() },
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

/// A rear wheel that locked, and not by the brake, may be how a seizure throws its rider: that is asked.
fn wheel_that_locked(words: &[Word], at: usize, word: &str) -> Option<Said> {
    let text = |word: &Word| word.text.clone();
    let next = words.get(at + 1).map(text).unwrap_or_default();
    if word == "locked" && listed(PUT_AWAY, &next) {
        return Some(Said::Nothing);
    }
    let before = words.get(at.saturating_sub(REACH)..at)?;
    let behind = words.iter().skip(at + 1).take(REACH);
    let mut near = before.iter().chain(behind);
    near.any(|word| ["wheel", "tyre", "tire"].contains(&word.text.as_str())).then_some(())?;
    let braked = words.iter().enumerate().find(|(at, word)| {
        let denied = words.iter().take(*at).rev().take(REACH).any(|word| listed(DENIALS, &word.text));
        listed(BRAKING, &word.text) && !denied
    });
    let braked = braked.map(|(_, word)| word);
    let front = words.iter().find(|word| word.text == "front");
    Some(match braked.or(front) {
        Some(thing) => Said::OfAnother { word: word.to_owned(), thing: text(thing) },
        None => Said::Unclear { word: word.to_owned(), thing: "the wheel".to_owned() },
    })
}

/// What a sign may be said of.
enum Thing<'w> {
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
fn before(words: &[Word], at: usize) -> Thing<'_> {
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
fn is_where(words: &[Word], at: usize) -> bool {
    let text = |at: usize| words.get(at).map_or("", |word| word.text.as_str());
    text(at).chars().all(|c| c.is_ascii_digit())
        || (at.saturating_sub(REACH)..at).any(|before| listed(PREPOSITIONS, text(before)))
}

/// The thing that a word names together with those just before it: the piston of a brake is the brake's.
fn known(words: &[Word], at: usize) -> Thing<'_> {
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
fn behind(words: &[Word], at: usize) -> Thing<'_> {
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

fn in_a_list(word: &str) -> bool {
    is_in(PISTON_AND_ITS_LIKE, word) || is_in(OTHER_THINGS, word)
}

/// Whether a word, or it without its plural s, is in a list.
fn is_in(list: &str, word: &str) -> bool {
    listed(list, word) || word.strip_suffix('s').is_some_and(|one| listed(list, one))
}

/// Whether a word is in a list.
fn listed(list: &str, word: &str) -> bool {
    list.split_ascii_whitespace().any(|one| one == word)
}

#[cfg(test)]
mod tests;
