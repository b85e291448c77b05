//! Readings as they are asked for, and the list of those that are missing.

use serde_json::{Value, json};

use crate::advice::building::Question;
use crate::notebook::DocumentKind;
use crate::notebook::fields::catalogue::Sort;
use crate::notebook::fields::names::visible;
use crate::quantity::Dimension;
use crate::report::out::screen::Screen;
use crate::report::words::layout::count;
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
pub fn invitation(screen: &Screen, record: &BuildRecord, (questions, imperial): (usize, bool)) -> String {
    let units = if imperial { "in inches (temperatures in F)" } else { "in mm (temperatures in C)" };
    let gauges = if record.build.gauges.is_some() {
        " Gauges are those of the build before; what is another one now is said like gauges.outside.resolution=VALUE."
    } else {
        ""
    };
    screen.wrap(
        &format!(
            "{}, {}: {}. Enter leaves one out, or takes what stands in brackets; < goes back one; a point alone is enough for now. A bare number is {units}, or as the question says. What was forgotten can be typed at any question as FIELD=VALUE.{gauges}",
            record.engine,
            record.build.scope.words(),
            count(questions, "question")
        ),
        2,
    )
}

/// One question on one line.
pub fn question(question: &Question, (place, of): (usize, usize), imperial: bool) -> String {
    let degrees = if imperial { ", in F" } else { ", in C" };
    let unit = if is_temperature(&question.field) { degrees } else { "" };
    let last = match (&question.last, question.stays) {
        (Some(last), true) => format!(" [{}]", visible(last)),
        (Some(last), false) => format!(" (last {})", visible(last)),
        (None, _) => String::new(),
    };
    format!("{place:>3}/{of} {}{unit}{last}:", question.words)
}

fn is_temperature(field: &str) -> bool {
    field == "temperature" || field.ends_with(".temperature")
}

/// A bare number as the question meant it, and a decimal comma as the point it stands for: here nobody lists two numbers.
pub fn with_its_unit(field: &str, said: &str, imperial: bool) -> String {
    let number = said.replacen(',', ".", 1);
    if number.parse::<f64>().is_err() {
        return said.to_owned();
    }
    let leaf = DocumentKind::Build.catalogue().leaf(field);
    let unit = match leaf.map(|leaf| &leaf.sort) {
        Some(Sort::Quantity(dimensions, _)) if imperial && dimensions.contains(&Dimension::Length) => " in",
        Some(Sort::Quantity(dimensions, _)) if imperial && dimensions.contains(&Dimension::Temperature) => {
            " F"
        }
        Some(Sort::Quantity(..)) => "",
        _ => return said.to_owned(),
    };
    format!("{number}{unit}")
}
