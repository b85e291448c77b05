//! The notes of a phone as their file holds them: JSON with a head and a list of notes. The head is right or nothing is read; each note
//! is read for itself, so that all that is wrong is found at once.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::path::Path;

use serde_json::Value;

use crate::notebook::documents::phone_notes::{PHONE_NOTES_VERSION, PhoneNote};
use crate::notebook::fields::date::When;
use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::names::{is_id, visible};

/// Notes that a file has at most.
pub const MOST_PHONE_NOTES: usize = 1_000;

/// A note of a file.
#[derive(Debug, Clone)]
pub struct ReadNote {
    /// Its line in the file; where it cannot be found, the last before it.
    pub line: usize,
    /// The note.
    pub note: PhoneNote,
}

/// What could be read of a file.
#[derive(Debug, Clone)]
pub struct ReadNotes {
    /// The garage that it was noted for.
    pub garage: String,
    /// When the page was made.
    pub made: When,
    /// The notes, in the order of the file.
    pub notes: Vec<ReadNote>,
    /// What is wrong with notes.
    pub findings: Vec<Finding>,
}

/// What every file of notes begins with.
const BEGINS: &str = "{\"phone_notes\"";

/// Whether a file is notes of a phone, as far as its beginning says: JSON and no table, or words of a message with the notes behind them.
pub fn is_phone_notes(bytes: &[u8]) -> bool {
    let text = as_text(bytes);
    text.trim_start_matches('\u{feff}').trim_start().starts_with(['{', '[']) || text.contains(BEGINS)
}

/// The text of a file as a phone, a message or an editor wrote it: UTF-8, or UTF-16 where it says so.
fn as_text(bytes: &[u8]) -> Cow<'_, str> {
    let wide: fn([u8; 2]) -> u16 = match bytes {
        [0xff, 0xfe, ..] => u16::from_le_bytes,
        [0xfe, 0xff, ..] => u16::from_be_bytes,
        _ => return String::from_utf8_lossy(bytes),
    };
    let units: Vec<u16> = bytes.chunks_exact(2).map(|pair| wide([pair[0], pair[1]])).collect();
    String::from_utf16_lossy(&units).into()
}

/// Text without the words of a message before the notes and after them; what stands before is blank, so that a line stays the same line.
fn without_the_message(text: &str) -> String {
    let Some(start) = text.find(BEGINS) else { return text.to_owned() };
    let (before, notes) = text.split_at(start);
    // What follows a note that was read to its end is no note of it.
    let mut one = serde_json::Deserializer::from_str(notes).into_iter::<serde::de::IgnoredAny>();
    let end = match one.next() {
        Some(Ok(_)) => one.byte_offset(),
        _ => notes.len(),
    };
    let blank: String = before.chars().filter(|c| *c == '\n').collect();
    blank + notes.get(..end).unwrap_or(notes)
}

/// Reads the notes of a phone, or says why the file is none.
pub fn read_phone_notes(file: &Path, bytes: &[u8]) -> Result<ReadNotes, Finding> {
    let finding = |line: Option<usize>, field: Option<&str>, code, message: &str, help: &str| {
        let place = Place { line, field: field.map(str::to_owned), ..Place::file(file) };
        Finding::new(code, place, message, help)
    };
    let anew = "Send the notes from the page again, and import what it sends.";
    let text = as_text(bytes);
    if text.contains('\u{fffd}') {
        return Err(finding(None, None, Code::NotText, "The file is not text.", anew));
    }
    let text = without_the_message(text.trim_start_matches('\u{feff}'));
    let text = text.as_str();
    let whole: Value = serde_json::from_str(text).map_err(|error| {
        let what = if error.is_eof() { "It ends in the middle of a note." } else { "It is no JSON here." };
        finding(Some(error.line()), None, Code::Syntax, what, anew)
    })?;
    let head = |name: &str| whole.get(name).and_then(Value::as_str);
    let missing = |name: &str| {
        finding(
            None,
            Some(name),
            Code::MissingField,
            &format!("These are no notes of a phone: {name} is not there."),
            anew,
        )
    };
    let version = whole.get("phone_notes").and_then(Value::as_u64).ok_or_else(|| missing("phone_notes"))?;
    if version != u64::from(PHONE_NOTES_VERSION) {
        let message =
            format!("The notes have version {version}; this program knows version {PHONE_NOTES_VERSION}.");
        return Err(finding(
            None,
            Some("phone_notes"),
            Code::OutOfRange,
            &message,
            "Use a program that is as new as the one that made the page.",
        ));
    }
    let garage = head("garage").ok_or_else(|| missing("garage"))?.to_owned();
    let made = head("made").ok_or_else(|| missing("made"))?;
    let made = When::parse(made, jiff::tz::Offset::UTC)
        .map_err(|error| finding(None, Some("made"), Code::BadDate, &error.to_string(), anew))?;
    let rows = whole.get("notes").and_then(Value::as_array).ok_or_else(|| missing("notes"))?;
    if rows.len() > MOST_PHONE_NOTES {
        let message = format!("It has {} notes; {MOST_PHONE_NOTES} are taken in at once.", rows.len());
        return Err(finding(
            None,
            Some("notes"),
            Code::OutOfRange,
            &message,
            "Take notes out of the file, import it, and import those then.",
        ));
    }
    let mut read = ReadNotes { garage, made, notes: Vec::new(), findings: Vec::new() };
    let mut seen = BTreeSet::new();
    let mut line = 1;
    for row in rows {
        let id = row.get("id").and_then(Value::as_str).unwrap_or_default();
        line = line_of(text, id).unwrap_or(line);
        let wrong = |field: Option<&str>, code, message: &str, help: &str| {
            finding(Some(line), field, code, message, help)
        };
        match serde_json::from_value::<PhoneNote>(row.clone()) {
            Err(error) => read.findings.push(wrong(
                None,
                Code::WrongSort,
                &format!("The note cannot be read: {}.", cannot_be(&error)),
                "Fix it, or take it out; the schema is schema/files/phone-notes.schema.json.",
            )),
            Ok(note) if !is_id(&note.id) => read.findings.push(wrong(
                Some("id"),
                Code::BadName,
                &format!("\"{}\" is no identity.", visible(&note.id)),
                "It has 12 digits of 0 to 9 and a to f; it is not to be changed.",
            )),
            Ok(note) if note.outing.is_some() == note.tick.is_some() => read.findings.push(wrong(
                None,
                Code::Contradiction,
                "A note is either an outing or the tick of a job.",
                "Take one of them out, or the note.",
            )),
            Ok(note) if !seen.insert(note.id.clone()) => read.findings.push(wrong(
                Some("id"),
                Code::Contradiction,
                &format!("Two notes are {}.", note.id),
                "Take one of them out: an identity is not to be changed.",
            )),
            Ok(note) => read.notes.push(ReadNote { line, note }),
        }
    }
    Ok(read)
}

/// What is wrong with a note, with no word of how it is read.
fn cannot_be(error: &serde_json::Error) -> String {
    let words = error.to_string();
    let unknown = words.strip_prefix("unknown variant `").and_then(|rest| rest.split_once("`, expected "));
    let said = match unknown {
        Some((word, others)) => {
            let others = others.trim_start_matches("one of ").replace('`', "");
            format!("\"{word}\" is none of {others}")
        }
        None => words,
    };
    visible(&said)
}

/// The line on which a note's identity stands.
fn line_of(text: &str, id: &str) -> Option<usize> {
    let at = text.find(&format!("\"{id}\"")).filter(|_| !id.is_empty())?;
    Some(text.get(..at)?.matches('\n').count() + 1)
}
