//! Readings as they are asked for, and the list of those that are missing.

use serde_json::{Value, json};

use super::layout::count;
use super::screen::Screen;
use crate::advice::building::Question;
use crate::notebook::names::visible;
use crate::store::BuildRecord;

/// What is still to be measured, for a script.
pub fn json(record: &BuildRecord, missing: &[Question]) -> Value {
    let missing: Vec<_> = missing
        .iter()
        .map(|question| json!({ "field": question.field, "words": question.words, "last": question.last }))
        .collect();
    json!({ "engine": record.engine, "build": record.id, "missing": missing })
}

/// What is still to be measured, for a person.
pub fn text(screen: &Screen, record: &BuildRecord, missing: &[Question]) -> String {
    let build = &record.build;
    let head = format!("{}, {}, {}", record.engine, build.scope.words(), build.date.short());
    if missing.is_empty() {
        return format!("{head}: every reading is written down.");
    }
    let mut lines =
        vec![screen.strong(&format!("{head}: {} not written down", count(missing.len(), "reading")))];
    lines.extend(missing.iter().map(|question| {
        let last = question
            .last
            .as_deref()
            .map(|last| format!(" (last time {})", visible(last)))
            .unwrap_or_default();
        screen.wrap(&format!("  {}{last}", question.field), 4)
    }));
    lines.push(
        screen.wrap(&format!("Write them down: reedbook build measure {} FIELD=VALUE ...", record.engine), 2),
    );
    lines.join("\n")
}

/// How to answer.
pub fn invitation(screen: &Screen, record: &BuildRecord, questions: usize) -> String {
    screen.wrap(
        &format!(
            "{}, {}: {}. Enter leaves one out, or takes what stands in [ ]; < goes back one; a point alone is enough for now. A bare number is in mm, or as the question says. What was forgotten can be typed at any question as FIELD=VALUE.",
            record.engine,
            record.build.scope.words(),
            count(questions, "question")
        ),
        2,
    )
}

/// One question on one line.
pub fn question(question: &Question, (place, of): (usize, usize)) -> String {
    let last = match (&question.last, question.stays) {
        (Some(last), true) => format!(" [{}]", visible(last)),
        (Some(last), false) => format!(" (last {})", visible(last)),
        (None, _) => String::new(),
    };
    format!("{place:>3}/{of} {}{last}:", question.words)
}
