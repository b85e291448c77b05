//! Pistons, rings and cylinders that seized, in sentences.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::parts::{CYLINDER, SeizedPart};
use crate::notebook::When;
use crate::notebook::fields::names::{in_words, visible};

/// A part that was there when its cylinder seized.
#[derive(Debug, Serialize, JsonSchema)]
pub(in crate::report::parts) struct SeizedEntry {
    /// Name of the part.
    part: String,
    /// Its kind.
    kind: String,
    /// Folder name of the engine it is in.
    engine: String,
    /// The cylinder it is at, of an engine with several; null where it is of all.
    cylinder: Option<String>,
    /// The cylinder that seized, where it is another than the one it is at now; else null.
    was_at: Option<String>,
    /// Folder name of the bike; null on the bench.
    bike: Option<String>,
    /// When it seized.
    #[schemars(with = "String")]
    date: When,
    /// The word that says so.
    word: String,
}

impl From<&SeizedPart> for SeizedEntry {
    fn from(part: &SeizedPart) -> Self {
        let SeizedPart { part, kind, engine, cylinder, was_at, bike, date, word } = part.clone();
        Self { part, kind, engine, cylinder, was_at, bike, date, word }
    }
}

/// Parts of one place that seized together, in sentences.
pub(in crate::report::parts) fn seized_in_words(all: &[SeizedEntry]) -> Vec<String> {
    let mut places: Vec<(&SeizedEntry, Vec<&SeizedEntry>)> = Vec::new();
    for one in all {
        let key = |other: &SeizedEntry| {
            (&other.engine, &other.cylinder, &other.was_at, other.date)
                == (&one.engine, &one.cylinder, &one.was_at, one.date)
        };
        match places.iter_mut().find(|(first, _)| key(first)) {
            Some((_, parts)) => parts.push(one),
            None => places.push((one, vec![one])),
        }
    }
    let sentence = |(one, parts): (&SeizedEntry, Vec<&SeizedEntry>)| {
        let names: Vec<String> = parts.iter().map(|part| visible(&part.part)).collect();
        // Where the cylinder is no part of its own its wall is named all the same.
        let wall =
            if parts.iter().any(|part| part.kind == CYLINDER) { "" } else { " and at the cylinder's wall" };
        let whose = visible(one.bike.as_ref().unwrap_or(&one.engine));
        let at = one.cylinder.as_deref().map(|name| format!(", {}", in_words(name))).unwrap_or_default();
        let (their, them) = if names.len() == 1 { ("its", "it") } else { ("their", "them") };
        let what = match (&one.was_at, &one.cylinder) {
            (Some(was), Some(_)) => format!("{} seized with {them} in it", in_words(was)),
            (_, Some(_)) => format!("{their} cylinder seized"),
            (_, None) => "the engine seized".to_owned(),
        };
        format!(
            "{whose}: {}{at}: {what} on {} (\"{}\"): look at {them}{wall} before it runs.",
            names.join(" and "),
            one.date.day(),
            visible(&one.word)
        )
    };
    places.into_iter().map(sentence).collect()
}
