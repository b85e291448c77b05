//! What a share says: of a choice in the history, of files in the answer.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use jiff::tz::Offset;

use super::setups::{Keep, SetupQuestion, SideWords};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{Code, ReadOptions, SetupFiles, read};
use crate::store::error::StoreError;
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::{AIR_TRAILER, BIKE_TRAILER, COMBINED_TRAILER, SETUP_TRAILER};
use crate::store::index::rows::path_text;
use crate::store::records::{SetupRecord, outing_id};
use crate::store::share::setups::Chosen;
use crate::store::share::trees::kind_of;

pub(super) fn chosen_message(chosen: &Chosen, id: &str, why: Option<&str>) -> Message {
    let Chosen { question, keep, metal } = chosen;
    let side = |side: &SideWords| {
        let first = side.why.lines().next().unwrap_or_default();
        format!("\"{first}\" by {}", side.author)
    };
    let (mut ours, mut theirs) = (side(&question.ours), side(&question.theirs));
    if ours == theirs && question.ours.date == question.theirs.date {
        // Git put one side's setup onto the other's: the one without a number of its own there is the one that was put.
        let is_theirs = question.theirs.number.is_none() && question.ours.number.is_some();
        let put = if is_theirs { &mut theirs } else { &mut ours };
        "the same, put onto another setup by git".clone_into(put);
    }
    let mut words = match keep {
        Keep::Theirs => format!("Keep {theirs}, not {ours}"),
        Keep::Ours => format!("Keep {ours}, not {theirs}"),
        Keep::Both => format!("Combine {theirs} with {ours}"),
    };
    let stays = metal.iter().filter(|metal| metal.other.is_none());
    let stays: Vec<String> = stays.map(|metal| format!("{} {}", metal.field, metal.holds)).collect();
    if !stays.is_empty() {
        words = format!("{words}; what was cut in metal stays: {}", stays.join(", "));
    }
    let why = why.map_or(words.clone(), |why| format!("{why}\n\n{words}"));
    let mut trailers = vec![(BIKE_TRAILER, question.subject.clone()), (SETUP_TRAILER, id.to_owned())];
    let air = match keep {
        _ if chosen.is_combined() => None,
        Keep::Theirs => question.theirs.air.clone(),
        Keep::Ours | Keep::Both => question.ours.air.clone(),
    };
    trailers.extend(air.map(|air| (AIR_TRAILER, air)));
    if chosen.is_combined() {
        let ids = [&question.theirs.id, &question.ours.id].map(|id| id.clone().unwrap_or_default());
        trailers.push((COMBINED_TRAILER, ids.join(" ")));
    }
    Message { why, trailers }
}

/// A setup that cannot be read is not asked about as if it were empty.
pub(super) fn require_readable(files: &SetupFiles, whence: &str) -> Result<(), StoreError> {
    let engine = files.engine_name.as_deref().map(SetupFiles::engine_path);
    let documents = [
        Some((SetupFiles::setup_path(&files.bike), files.setup.clone())),
        engine.map(|path| (path, files.engine.clone())),
    ];
    let documents: Vec<FileChange> = documents.into_iter().flatten().collect();
    let Some((path, finding)) = broken(&documents) else { return Ok(()) };
    Err(StoreError::request(
        None,
        format!("{} {whence} and cannot be read: {finding}", visible(&path_text(&path))),
        Guidance::from(
            "Both sides recorded a setup of this bike, and one of them is not known, so nothing is chosen: nothing was touched. On the side that recorded it: ",
        ) + way_out_of(&path),
    ))
}

/// The question that is meant: by the bike or the file, by the end of the file's name, and of a run by its identity or its bike.
pub(super) fn asked_of<'q>(
    subject: &str,
    open: &'q [SetupQuestion],
) -> Result<&'q SetupQuestion, StoreError> {
    let is_named = |question: &&SetupQuestion| {
        let named = question.subject.strip_suffix(".toml").unwrap_or(&question.subject);
        [question.subject.as_str(), named]
            .iter()
            .any(|known| *known == subject || known.ends_with(&format!("/{subject}")))
    };
    if let Some(question) = open.iter().find(is_named) {
        return Ok(question);
    }
    let id = |question: &SetupQuestion| outing_id(question.subject.rsplit('/').next().unwrap_or_default());
    let is_run = |question: &&SetupQuestion| {
        let begins = subject.len() >= SHORTEST && id(question).starts_with(subject);
        question.run_of.as_deref().is_some_and(|bike| bike == subject || begins)
    };
    match open.iter().filter(is_run).collect::<Vec<_>>().as_slice() {
        [] => Err(not_asked(subject, open)),
        [question] => Ok(question),
        several => Err(StoreError::request(
            Some("keep"),
            format!("{} runs of {} are asked about.", several.len(), visible(subject)),
            format!("Name one: {}.", several.iter().map(|one| id(one)).collect::<Vec<_>>().join(", ")),
        )),
    }
}

/// So many letters of a run's identity are enough, as elsewhere.
const SHORTEST: usize = 3;

fn not_asked(subject: &str, open: &[SetupQuestion]) -> StoreError {
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
        Keep::Theirs => "there",
        Keep::Ours => "here",
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
        // A list of jobs goes with the setup that it was for.
        .filter(|(what, _)| !what.is_empty() && **what != "lists of jobs")
        .map(|(what, count)| format!("{what}: {count}"))
        .collect();
    let whole_bike = if taken.contains_key("bikes") {
        Guidance::from(" A whole bike comes back with ") + Command::BringBikeBack(None) + "."
    } else {
        Guidance::default()
    };
    (!counts.is_empty()).then(|| {
        Guidance::from(format!("Others took out what was here ({}). ", counts.join(", ")))
            + Command::ShareBefore
            + " names it, and what brings it back."
            + whole_bike
    })
}

/// What there is to say of a bike that is retired here, where others went on with it.
pub(super) fn of_going_on(bike: &str, authors: &BTreeSet<String>) -> Guidance {
    let shown = visible(bike);
    let who: Vec<String> = authors.iter().map(|author| visible(author)).collect();
    let who = if who.is_empty() { "others".to_owned() } else { who.join(", ") };
    Guidance::from(format!("{shown} is retired here, and went on elsewhere ({who}). If it is in use: "))
        + Command::BringBikeBack(Some(shown))
        + ". Else tell them."
}

/// What there is to say of an engine that the setups of several bikes name.
pub(super) fn of_two_bikes(engine: &str, setups: &[SetupRecord]) -> Guidance {
    let each: Vec<String> = setups
        .iter()
        .map(|setup| format!("{} (setup {}, {})", visible(&setup.bike), setup.number, visible(&setup.author)))
        .collect();
    let each = each.join(" and in ");
    let bike = setups.first().map(|setup| visible(&setup.bike)).unwrap_or_default();
    Guidance::from(format!(
        "The engine {} is in {each} by the record: it can be in one only, and its hours count wrong until that is said. Name what is in the other one: ",
        visible(engine)
    )) + Command::SayEngine(bike)
        + "."
}

/// A table that everything here reads is not taken in where it cannot be read: no bike would answer any more.
pub(super) fn require_tables(changes: &[FileChange]) -> Result<(), StoreError> {
    let tables: Vec<FileChange> =
        changes.iter().filter(|(path, _)| path.starts_with("configs")).cloned().collect();
    let Some((path, finding)) = broken(&tables) else { return Ok(()) };
    Err(StoreError::request(
        None,
        format!(
            "What the other side has is not taken in: {} cannot be read: {finding}",
            visible(&path_text(&path))
        ),
        "Every answer reads that table, so nothing here was touched. Ask whoever changed it to fix it and share again.",
    ))
}

/// A proven mark that others set, or took back.
pub(super) struct BroughtMark {
    pub bike: String,
    /// Identity of the setup.
    pub setup: String,
    /// Why; none where it was taken back.
    why: Option<String>,
}

/// The proven marks in which a bike's document that was known differs from what came.
pub(super) fn marks_in(path: &Path, before: Option<&[u8]>, now: Option<&[u8]>) -> Vec<BroughtMark> {
    let text = path_text(path);
    let bike = text.strip_prefix("bikes/").and_then(|rest| rest.strip_suffix("/bike.toml"));
    let marks = |bytes: Option<&[u8]>| -> Option<toml::Table> {
        let document: toml::Table = std::str::from_utf8(bytes?).ok()?.parse().ok()?;
        Some(document.get("proven").and_then(toml::Value::as_table).cloned().unwrap_or_default())
    };
    let (Some(bike), Some(before), Some(now)) = (bike, marks(before), marks(now)) else { return Vec::new() };
    let of = |setup: &String, why| BroughtMark { bike: bike.to_owned(), setup: setup.clone(), why };
    let why =
        |mark: &toml::Value| mark.get("why").and_then(toml::Value::as_str).unwrap_or_default().to_owned();
    let set = now.iter().filter(|(setup, mark)| before.get(*setup) != Some(*mark));
    let gone = before.keys().filter(|setup| !now.contains_key(*setup)).map(|setup| of(setup, None));
    set.map(|(setup, mark)| of(setup, Some(why(mark)))).chain(gone).collect()
}

/// What there is to say of a proven mark that came.
pub(super) fn of_mark(mark: &BroughtMark, number: u32, author: Option<&str>) -> Guidance {
    let by = author.map(|author| format!(" by {}", visible(author))).unwrap_or_default();
    let (bike, done) =
        (visible(&mark.bike), if mark.why.is_some() { "marked proven" } else { "proven no more" });
    let why = mark.why.as_deref().and_then(|why| why.lines().next()).filter(|why| !why.is_empty());
    let end = why.map_or_else(|| ".".to_owned(), |why| format!(": \"{}\"", visible(why)));
    Guidance::from(format!("{bike}: setup {number} is {done}{by}{end}"))
}

/// What there is to say of a bike that the others retired.
pub(super) fn of_retired(bike: &str) -> Guidance {
    let shown = visible(bike);
    Guidance::from(format!(
        "The others retired {shown}: it stands in no overview any more. What was recorded of it here is kept, and it comes back with "
    )) + Command::BringBikeBack(Some(shown))
        + "."
}

/// What there is to say of numbers that were shared, and that plain git took out of their list; none of none.
pub(super) fn of_lost_numbers(bike: &str, numbers: &[u32]) -> Option<Guidance> {
    let shown = visible(bike);
    let (what, stays) = match numbers {
        [] => return None,
        [one] => (format!("setup {one}"), "It keeps its number; what stands now is a setup after it"),
        [all @ .., last] => {
            let all: Vec<String> = all.iter().map(u32::to_string).collect();
            let what = format!("the numbers {} and {last}", all.join(", "));
            (what, "They stay with their setups; what stands now is a setup after them")
        }
    };
    let said = format!(
        "{shown}: git took {what} back, which others know. {stays}, and what that wants at the bike stands in "
    );
    Some(Guidance::from(said) + Command::Jobs + ".")
}

/// What there is to say of a document that came and cannot be read.
pub(super) fn of_broken(changes: &[FileChange]) -> Option<Guidance> {
    let (path, finding) = broken(changes)?;
    let more = changes.iter().filter(|change| broken(std::slice::from_ref(change)).is_some()).count() - 1;
    let more = match more {
        0 => String::new(),
        1 => " (1 more file, too)".to_owned(),
        more => format!(" ({more} more files, too)"),
    };
    let came = format!("{} came and cannot be read{more}: {finding} ", visible(&path_text(&path)));
    Some(Guidance::from(came) + way_out_of(&path))
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

/// Whether a file is one of a garage's documents, and TOML.
pub(in crate::store) fn is_readable(path: &Path, bytes: &[u8]) -> bool {
    broken(&[(path.to_owned(), Some(bytes.to_vec()))]).is_none()
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
        _ if kind_of(&text).is_some() => {
            Command::MendFile(visible(&text))
                + format!(" puts it back as it was recorded last while it could be read, {mended}.")
        }
        _ => format!("Fix the file and commit it with git, {mended}.").into(),
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
