//! What a share says: of a choice in the history, of files in the answer.

use super::setups::{Keep, SetupQuestion, SideWords};
use crate::notebook::fields::names::visible;
use crate::store::error::StoreError;
use crate::store::history::repository::Message;
use crate::store::history::scan::{AIR_TRAILER, BIKE_TRAILER, COMBINED_TRAILER, SETUP_TRAILER};

pub(super) fn chosen_message(question: &SetupQuestion, keep: Keep, id: &str, why: Option<&str>) -> Message {
    let side = |side: &SideWords| {
        let first = side.why.lines().next().unwrap_or_default();
        format!("\"{first}\" by {}", side.author)
    };
    let (ours, theirs) = (side(&question.ours), side(&question.theirs));
    let chosen = match keep {
        Keep::Theirs => format!("Keep {theirs}, not {ours}"),
        Keep::Ours => format!("Keep {ours}, not {theirs}"),
        Keep::Both => format!("Combine {theirs} with {ours}"),
    };
    let why = why.map_or(chosen.clone(), |why| format!("{why}\n\n{chosen}"));
    let mut trailers = vec![(BIKE_TRAILER, question.subject.clone()), (SETUP_TRAILER, id.to_owned())];
    let air = match keep {
        Keep::Theirs => question.theirs.air.clone(),
        Keep::Ours => question.ours.air.clone(),
        Keep::Both => None,
    };
    trailers.extend(air.map(|air| (AIR_TRAILER, air)));
    if keep == Keep::Both {
        let ids = [&question.theirs.id, &question.ours.id].map(|id| id.clone().unwrap_or_default());
        trailers.push((COMBINED_TRAILER, ids.join(" ")));
    }
    Message { why, trailers }
}

pub(super) fn not_asked(subject: &str, open: &[SetupQuestion]) -> StoreError {
    let names: Vec<String> = open.iter().map(|question| visible(&question.subject)).collect();
    StoreError::request(
        Some("keep"),
        format!("Nothing is asked of {}.", visible(subject)),
        if names.is_empty() {
            "No question is open: `reedbook share` brings and sends.".to_owned()
        } else {
            format!("Asked is: {}.", names.join(", "))
        },
    )
}

pub(super) fn word_of(keep: Keep) -> &'static str {
    match keep {
        Keep::Theirs => "theirs",
        Keep::Ours => "ours",
        Keep::Both => "both",
    }
}

pub(super) fn keep_of(word: &str) -> Option<Keep> {
    [Keep::Theirs, Keep::Ours, Keep::Both].into_iter().find(|keep| word_of(*keep) == word)
}

/// What a file is, in the plural.
pub(super) fn what(path: &str) -> &'static str {
    match path.split('/').collect::<Vec<_>>().as_slice() {
        ["bikes", _, "outings", name] if name.ends_with(".toml") => "outings",
        ["bikes", _, "bike.toml"] => "bikes",
        ["engines", _, "engine.toml"] => "engines",
        ["engines", _, "builds", name] if name.ends_with(".toml") => "builds",
        ["parts", _] => "parts",
        ["places", _] => "places",
        ["jobs", _] => "lists of jobs",
        _ => "",
    }
}
