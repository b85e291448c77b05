//! Which of several cylinders the notes of an outing speak of. In doubt they are of all: a seizure that is taken for too many costs a
//! jet, one that is taken for too few an engine (common practice, no source).

use std::collections::BTreeMap;

use super::{Mixture, OwnReading, Verdict};

/// What is said of one cylinder, behind its name or before its number.
const PLACES: [&str; 7] = ["cylinder", "piston", "side", "plug", "bore", "barrel", "pot"];

/// What of these can only be the engine's.
const MADE_OF_METAL: [&str; 5] = ["cylinder", "piston", "bore", "barrel", "pot"];

/// What else stands before a number.
const BEFORE_A_NUMBER: [&str; 3] = ["no", "nr", "number"];

/// What says that more than one is spoken of.
const OF_ALL: [&str; 5] = ["both", "all", "each", "cylinders", "pistons"];

/// Where cylinders stand, as they are called.
const STANDS: [&str; 14] = [
    "left", "right", "front", "rear", "upper", "lower", "top", "bottom", "middle", "centre", "center",
    "inner", "outer", "near",
];

/// How words begin that say that metal touched, melted or was hammered.
const STOPPED: [&str; 12] = [
    "seiz", "nip", "stuck", "locked", "scor", "scuff", "smear", "holed", "melt", "pinged", "pinked",
    "detonat",
];

/// What may stand between a cylinder and such a word.
const BETWEEN: [&str; 7] = ["one", "has", "had", "just", "then", "was", "is"];

/// Words that deny what they stand beside.
const NO: [&str; 6] = ["no", "not", "never", "without", "none", "nothing"];

/// Whether a text of a whole outing is of other cylinders than the one that is asked about; without a name, than those that have nothing
/// of their own. It is where it names one that has something of its own, or where this one was judged right by name and the text
/// names another, or none while what was seen at another says the same already.
pub(super) fn is_of_another(text: &str, name: Option<&str>, own: &BTreeMap<String, OwnReading>) -> bool {
    let parts = parts_of(text);
    let words = || parts.iter().flatten().map(String::as_str);
    if own.is_empty() || words().any(|word| Some(word) == name || OF_ALL.contains(&word)) {
        return false;
    }
    let others = || own.iter().filter(|(other, _)| Some(other.as_str()) != name);
    let stopped = |other: &str| parts.iter().any(|words| stopped_by_name(words, other));
    let has_stopped = words().any(has_stopped);
    if others().any(|(other, _)| names(&parts, other) || (has_stopped && stopped(other))) {
        return true;
    }
    let says_so = || others().any(|(_, seen)| says_lean(seen));
    match name {
        Some(name) => {
            let elsewhere = |word: &str| word != name && names(&parts, word);
            own.get(name).is_some_and(was_right)
                && (says_so()
                    || STANDS.into_iter().any(elsewhere)
                    || ('1'..='6').any(|digit| elsewhere(&digit.to_string())))
        }
        // Of cylinders that have nothing of their own nobody knows: only where there are none the text is of nobody else.
        None => are_all(own) && own.values().any(was_right) && says_so(),
    }
}

/// The cylinders, of those that an engine has, at which a text says by name that metal stopped; none where it says so a second time of
/// nobody by name, or where more than one is spoken of as one.
pub(super) fn stopped_at<'n>(text: &str, engine: &'n [String]) -> Vec<&'n String> {
    let mut all = Vec::new();
    for words in parts_of(text).iter().filter(|words| words.iter().any(|word| has_stopped(word))) {
        let of_all = words.iter().any(|word| OF_ALL.contains(&word.as_str()));
        let named: Vec<_> = engine.iter().filter(|name| !of_all && stopped_by_name(words, name)).collect();
        if named.is_empty() {
            return named;
        }
        all.extend(named);
    }
    all
}

/// Whether words in which metal stopped say that it did so at a cylinder, and nothing else can be meant: "right one seized", "the left
/// nipped up", "seized the rear cylinder"; not "the bike felt right then seized" or "seized on the right side".
fn stopped_by_name(words: &[String], cylinder: &str) -> bool {
    let word = |at: Option<usize>| at.and_then(|at| words.get(at)).map(String::as_str).unwrap_or_default();
    let is_a_word = !is_only_counted(cylinder);
    words.iter().enumerate().filter(|(_, word)| *word == cylinder).any(|(at, _)| {
        let (before, next) = (word(at.checked_sub(1)), word(Some(at + 1)));
        if !is_a_word {
            return MADE_OF_METAL.contains(&before) || BEFORE_A_NUMBER.contains(&before);
        }
        let behind = words.iter().skip(at + 1).find(|word| !["has", "had", "was"].contains(&word.as_str()));
        let bare = matches!(before, "" | "the") && behind.is_some_and(|word| has_stopped(word));
        MADE_OF_METAL.contains(&next) || next == "one" || bare
    })
}

/// Whether a cylinder is called by a number or a letter, which stands for much else.
fn is_only_counted(cylinder: &str) -> bool {
    cylinder.bytes().all(|byte| byte.is_ascii_digit()) || cylinder.len() == 1
}

/// How the cylinders of a twin are called, in the order of the alphabet.
const PAIRS: [[&str; 2]; 5] =
    [["left", "right"], ["front", "rear"], ["lower", "upper"], ["bottom", "top"], ["inner", "outer"]];

/// The cylinders that a text leaves out while it names another one; none where it names nobody, or all.
pub(super) fn not_named(text: &str, own: &BTreeMap<String, OwnReading>) -> Vec<String> {
    let parts = parts_of(text);
    let is_there = |name: &str| {
        let word = |word: &String| word == name;
        if is_only_counted(name) { names(&parts, name) } else { parts.iter().flatten().any(word) }
    };
    let mate = |name: &str| {
        let pair = PAIRS.iter().find(|pair| pair.contains(&name))?;
        pair.iter().find(|other| **other != name).map(|other| (*other).to_owned())
    };
    let mut all: Vec<String> =
        own.keys().flat_map(|name| [Some(name.clone()), mate(name)]).flatten().collect();
    all.sort();
    all.dedup();
    let before = all.len();
    let is_of_all = OF_ALL.iter().any(|word| is_there(word));
    all.retain(|name| !is_there(name));
    if is_of_all || all.len() == before { Vec::new() } else { all }
}

/// Whether these are both cylinders of a twin, by how they are called.
fn are_all(own: &BTreeMap<String, OwnReading>) -> bool {
    PAIRS.iter().any(|pair| own.keys().eq(pair.iter()))
}

/// The words of a text, from one stop or comma to the next.
fn parts_of(text: &str) -> Vec<Vec<String>> {
    let text = text.to_lowercase();
    let parts = text.split(['.', ',', ';', ':', '!', '?', '\n', '(', ')']);
    let words = |part: &str| {
        let words = part.split(|c: char| !c.is_alphanumeric() && c != '-').filter(|word| !word.is_empty());
        words.map(str::to_owned).collect()
    };
    parts.map(words).collect()
}

/// Whether a cylinder is named: "right cylinder", "right one seized", "cylinder 2", "no 2 nipped up".
fn names(parts: &[Vec<String>], cylinder: &str) -> bool {
    let is_number = is_only_counted(cylinder);
    parts.iter().any(|words| {
        words.iter().enumerate().filter(|(_, word)| *word == cylinder).any(|(at, _)| {
            let next = words.get(at + 1).map(String::as_str).unwrap_or_default();
            let before =
                at.checked_sub(1).and_then(|at| words.get(at)).map(String::as_str).unwrap_or_default();
            let mut behind = words.iter().skip(at + 1).skip_while(|word| BETWEEN.contains(&word.as_str()));
            let numbered = is_number && (PLACES.contains(&before) || BEFORE_A_NUMBER.contains(&before));
            let stopped = behind.next().is_some_and(|word| has_stopped(word));
            // A number that begins nothing is a lap's or a corner's.
            let is_article = cylinder == "a";
            numbered
                || (!is_number && PLACES.contains(&next))
                || (stopped && !is_article && (!is_number || at == 0))
        })
    })
}

/// Whether a text says that metal stopped, at which cylinder ever.
pub(super) fn says_stopped(text: &str) -> bool {
    parts_of(text).iter().flatten().any(|word| has_stopped(word))
}

fn has_stopped(word: &str) -> bool {
    STOPPED.iter().any(|stem| word.starts_with(stem))
}

/// Whether what was seen at a cylinder says that it was lean at full throttle or seized.
fn says_lean(seen: &OwnReading) -> bool {
    let judged = seen.verdict.as_ref().and_then(|verdict| verdict.full);
    let read = [&seen.piston, &seen.plug].into_iter().flatten().any(|text| {
        let parts = parts_of(text);
        let words = || parts.iter().flatten();
        words().any(|word| has_stopped(word)) && !words().any(|word| NO.contains(&word.as_str()))
    });
    read || judged.is_some_and(|full| full < Mixture::Right)
}

/// Whether a cylinder was judged right, or richer, by name, and nowhere lean.
fn was_right(seen: &OwnReading) -> bool {
    let zones = seen.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
    let full = zones.iter().any(|(zone, _)| *zone == "full");
    full && zones.iter().all(|(_, mixture)| *mixture >= Mixture::Right) && !says_lean(seen)
}

#[cfg(test)]
mod tests {
    use super::super::Outing;

    /// The cylinders of a twin, and what is written of all, for which a note stands.
    fn held(notes: &str, own: &str) -> Vec<String> {
        let text = format!("date = \"2026-05-16\"\nnotes = \"{notes}\"\n{own}");
        let outing: Outing = toml::from_str(&text).unwrap();
        let of_one = |name: &&str| outing.for_cylinder(name).notes.is_some();
        let mut kept: Vec<String> =
            ["left", "right"].iter().filter(|name| of_one(name)).map(|name| (*name).to_owned()).collect();
        kept.extend(outing.at_each_cylinder()[0].1.notes.iter().map(|_| "all".to_owned()));
        kept
    }

    #[test]
    fn a_note_is_of_the_cylinder_that_it_names_and_in_doubt_of_all() {
        let left = "[cylinder.left.verdict]\nfull = \"right\"\n";
        let piston = "[cylinder.right]\npiston = \"seized on the exhaust side\"\n";
        let fine = "[cylinder.right]\npiston = \"clean, no seizure\"\n";
        let both = format!("{left}{piston}");
        for (notes, own, expected) in [
            ("right one seized at the end of the straight", both.as_str(), vec!["right"]),
            ("seized at the end of the straight", &both, vec!["right"]),
            ("Right nipped up", &both, vec!["right"]),
            ("right cylinder seized", piston, vec!["right"]),
            // The other one was judged right, and this one has nothing of its own yet.
            ("right one seized", left, vec!["right", "all"]),
            // What names none stays of all where none was judged right, or where nothing else says it.
            ("seized at the end", piston, vec!["left", "right", "all"]),
            ("seized at the end", left, vec!["left", "right", "all"]),
            ("seized at the end", &format!("{left}{fine}"), vec!["left", "right", "all"]),
            ("it felt right, seized all the same", piston, vec!["left", "right", "all"]),
            ("it was right; seized at the end", &format!("{left}{fine}"), vec!["left", "right", "all"]),
            ("both seized", &both, vec!["left", "right", "all"]),
            ("right one seized, the left is scored", &both, vec!["left", "right"]),
        ] {
            assert_eq!(held(notes, own), expected, "{notes} | {own}");
        }
    }

    /// The cylinders of a twin that a note alone speaks of, by its engine's names.
    fn heard(notes: &str, names: [&str; 2]) -> Vec<String> {
        let mut outing: Outing =
            toml::from_str(&format!("date = \"2026-05-16\"\nnotes = \"{notes}\"\n")).unwrap();
        let names = names.map(str::to_owned);
        outing.hear_names(&names);
        let of_one = |name: &&String| outing.for_cylinder(name).notes.is_some();
        names.iter().filter(of_one).cloned().collect()
    }

    #[test]
    fn a_note_alone_is_of_the_cylinder_at_which_it_says_that_metal_stopped() {
        for (notes, expected) in [
            ("right one seized", vec!["right"]),
            ("Right seized at the end of the straight", vec!["right"]),
            ("the left nipped up", vec!["left"]),
            ("seized the right cylinder, pushed it home", vec!["right"]),
            ("left piston scored", vec!["left"]),
            // In doubt it is of both.
            ("right one seized, then the left one nipped up", vec!["left", "right"]),
            ("right one seized. Seized again in the last lap", vec!["left", "right"]),
            ("right one seized, no seizure at the left", vec!["left", "right"]),
            ("it ran right then seized", vec!["left", "right"]),
            ("all right and seized", vec!["left", "right"]),
            ("seized on the right side of the track", vec!["left", "right"]),
            ("both seized, the right one worse", vec!["left", "right"]),
            ("front one seized", vec!["left", "right"]),
            ("seized", vec!["left", "right"]),
        ] {
            assert_eq!(heard(notes, ["left", "right"]), expected, "{notes}");
        }
        for (notes, expected) in [
            ("cylinder a seized", vec!["a"]),
            ("had a seizure in lap 3", vec!["a", "b"]),
            ("a nip on the straight", vec!["a", "b"]),
        ] {
            assert_eq!(heard(notes, ["a", "b"]), expected, "{notes}");
        }
        assert_eq!(heard("no 2 nipped up", ["1", "2"]), ["2"]);
        assert_eq!(heard("seized in lap 2", ["1", "2"]), ["1", "2"]);
    }

    #[test]
    fn a_number_is_a_cylinder_where_one_says_so() {
        let of = |notes: &str| {
            let text = format!(
                "date = \"2026-05-16\"\nnotes = \"{notes}\"\n[cylinder.1.verdict]\nfull = \"right\"\n[cylinder.4]\npiston = \"dark\"\n"
            );
            let outing: Outing = toml::from_str(&text).unwrap();
            ["1", "2", "4"].map(|name| outing.for_cylinder(name).notes.is_some())
        };
        assert_eq!(of("cylinder 4 seized"), [false, false, true]);
        assert_eq!(of("no 4 nipped up"), [false, false, true]);
        assert_eq!(of("seized in lap 4"), [true, true, true]);
        // Of four cylinders those that have nothing of their own are not left out.
        let four: Outing = toml::from_str(
            "date = \"2026-05-16\"\nnotes = \"seized\"\n[cylinder.1.verdict]\nfull = \"right\"\n[cylinder.4]\npiston = \"seized\"\n",
        )
        .unwrap();
        assert!(four.for_cylinder("1").notes.is_none() && four.for_cylinder("2").notes.is_some());
        assert!(four.at_each_cylinder()[0].1.notes.is_some());
    }
}
