//! What a share says: of a choice in the history, of files in the answer.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use jiff::tz::Offset;

use super::merge::kind_of;
use super::setups::{Keep, SetupQuestion, SideWords};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, GitCommand, Guidance};
use crate::notebook::{Code, ReadOptions, read};
use crate::store::error::StoreError;
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::{AIR_TRAILER, BIKE_TRAILER, COMBINED_TRAILER, SETUP_TRAILER};
use crate::store::index::outings::path_text;

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
            Guidance::from("No question is open: ") + Command::Share + " brings and sends."
        } else {
            format!("Asked is: {}.", names.join(", ")).into()
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

/// What there is to say of documents that came with fields that are not known here.
pub(super) fn of_newer(changes: &[FileChange]) -> Option<Guidance> {
    let options = ReadOptions { refuse_bare_lengths: false, map_file: &|_| None, here: Offset::UTC };
    let mut strange = changes.iter().filter_map(|(path, bytes)| {
        let path_text = path_text(path);
        let checked = read::<toml::Table>(kind_of(&path_text)?, path, bytes.as_deref()?, options);
        let unknown = checked.findings.into_iter().find(|finding| finding.code == Code::UnknownField)?;
        Some((visible(&path_text), unknown.place.field.unwrap_or_default()))
    });
    let (file, field) = strange.next()?;
    let more = match strange.count() {
        0 => String::new(),
        1 => " (and 1 more file)".to_owned(),
        more => format!(" (and {more} more files)"),
    };
    let has = format!(
        "{file}{more} has {field}, which this program does not know. A newer reedbook may have written it: use that one here. It stays as it is."
    );
    Some(has.into())
}

/// What there is to say of documents that others took out, by what they are.
pub(super) fn of_taken(taken: &BTreeMap<&'static str, usize>) -> Option<Guidance> {
    let counts: Vec<String> = taken
        .iter()
        .filter(|(what, _)| !what.is_empty())
        .map(|(what, count)| format!("{what}: {count}"))
        .collect();
    (!counts.is_empty()).then(|| {
        Guidance::from(format!("Others took out what was here ({}). ", counts.join(", ")))
            + GitCommand::WhatWasTakenOut
            + " names it, and "
            + GitCommand::BringFileBack
            + " brings a file back. A whole bike comes back with "
            + Command::BringBikeBack(None)
            + "."
    })
}

/// The bike that a document retires; none of any other document.
pub(super) fn retired_in(path: &Path, bytes: Option<&[u8]>) -> Option<String> {
    let text = path_text(path);
    let bike = text.strip_prefix("bikes/")?.strip_suffix("/bike.toml")?;
    let document: toml::Table = std::str::from_utf8(bytes?).ok()?.parse().ok()?;
    document.contains_key("retired").then(|| bike.to_owned())
}

/// What there is to say of a bike that the others retired.
pub(super) fn of_retired(bike: &str) -> Guidance {
    let shown = visible(bike);
    Guidance::from(format!(
        "The others retired {shown}: it stands in no overview any more. What was recorded of it here is kept, and it comes back with "
    )) + Command::BringBikeBack(Some(shown))
        + "."
}

/// What there is to say of a number that was shared, and that plain git took out of its list.
pub(super) fn of_lost_number(bike: &str, number: u32) -> Guidance {
    let shown = visible(bike);
    Guidance::from(format!(
        "{shown}: git took setup {number} back, which others know. It keeps its number; what stands now is a setup after it, and what that wants at the bike stands in "
    )) + Command::Jobs
        + "."
}

/// What there is to say of a document that came and cannot be read.
pub(super) fn of_broken(changes: &[FileChange]) -> Option<Guidance> {
    broken(changes).map(|(path, finding)| {
        let came = format!("{} came and cannot be read: {finding} ", visible(&path_text(&path)));
        Guidance::from(came) + way_out_of(&path)
    })
}

/// The first document that is no TOML at all, and why.
pub(super) fn broken(changes: &[FileChange]) -> Option<(PathBuf, String)> {
    let options = ReadOptions { refuse_bare_lengths: false, map_file: &|_| None, here: Offset::UTC };
    changes.iter().find_map(|(path, bytes)| {
        let checked = read::<toml::Table>(kind_of(&path_text(path))?, path, bytes.as_deref()?, options);
        let finding = checked.findings.into_iter().find(|finding| finding.code.is_unreadable())?;
        Some((path.clone(), finding.message))
    })
}

/// How such a document is mended by the program alone, or by hand.
pub(super) fn way_out_of(path: &Path) -> Guidance {
    let text = path_text(path);
    let mended = "then share again; nothing is lost";
    match text.split('/').collect::<Vec<_>>().as_slice() {
        ["bikes", bike, "setup.toml"] => {
            Command::PutNewestBack(visible(bike))
                + format!(" puts a setup that is whole in its place, {mended}.")
        }
        _ => format!("Mend the file and commit it with git, {mended}.").into(),
    }
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
        // Told as setups.
        ["bikes", _, "setup.toml" | "numbers"] | ["bikes", _, "maps", _] => "",
        _ => "other files",
    }
}
