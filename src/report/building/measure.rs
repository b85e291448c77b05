//! Readings as they are asked for, and the list of those that are missing.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::ReadingQuestion;
use crate::advice::slips::read;
use crate::notebook::DocumentKind;
use crate::notebook::fields::cylinder::common;
use crate::notebook::fields::names::visible;
use crate::notebook::fields::node::Sort;
use crate::quantity::{Dimension, Units, trimmed};
use crate::report::out::screen::Screen;
use crate::report::words::layout::count;
use crate::report::words::sizes::AskedUnits;
use crate::store::BuildRecord;

/// What is still to be measured.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BuildMissingAnswer {
    /// Folder name of the engine.
    engine: String,
    /// Identity of the build.
    build: String,
    /// Readings in the order in which they are asked for.
    missing: Vec<MissingReading>,
    /// What was apart, and when it was put together, in words.
    #[serde(skip)]
    title: String,
}

/// A reading that is missing.
#[derive(Debug, Serialize, JsonSchema)]
struct MissingReading {
    /// The field.
    field: String,
    /// What is asked.
    words: String,
    /// What it was the last time.
    last: Option<String>,
}

impl BuildMissingAnswer {
    /// The questions that a build leaves open.
    pub fn new(record: &BuildRecord, missing: &[ReadingQuestion]) -> Self {
        let build = &record.build;
        let reading = |question: &ReadingQuestion| MissingReading {
            field: question.field.clone(),
            words: question.words.clone(),
            last: question.last.clone(),
        };
        Self {
            engine: record.engine.clone(),
            build: record.id.clone(),
            missing: missing.iter().map(reading).collect(),
            title: format!("{}, {}", build.what_was_apart(), build.date.short()),
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let head = format!("{}, {}", self.engine, self.title);
        if self.missing.is_empty() {
            return format!("{head}: every reading is written down.");
        }
        let readings = count(self.missing.len(), "reading");
        let mut lines = vec![screen.strong(&format!("{head}: {readings} not written down"))];
        lines.extend(self.missing.iter().map(|reading| {
            let last = reading.last.as_deref().map(|last| format!(" (last time {})", visible(last)));
            screen.wrap(&format!("  {}{}", reading.field, last.unwrap_or_default()), 4)
        }));
        lines.push(
            screen.wrap(
                &format!("Write them down:\n  reedbook build measure {} FIELD=VALUE ...", self.engine),
                2,
            ),
        );
        lines.join("\n")
    }
}

/// How to answer.
pub fn invitation(screen: &Screen, record: &BuildRecord, questions: usize, units: Units) -> String {
    let AskedUnits { lengths, temperatures, .. } = AskedUnits::of(units);
    let units = format!("in {lengths} (temperatures in {temperatures})");
    let gauges = if record.build.gauges.is_some() {
        " Gauges are those of the build before; what is another one now is said like gauges.outside.resolution=VALUE."
    } else {
        ""
    };
    screen.wrap(
        &format!(
            "{}, {}: {}. Enter leaves one out, or takes what stands in brackets; < goes back one; a point alone is enough for now. A bare number is {units}, or as the question says. What was forgotten can be typed at any question as FIELD=VALUE.{gauges}",
            record.engine,
            record.build.what_was_apart(),
            count(questions, "question")
        ),
        2,
    )
}

/// One question on one line.
pub fn question(question: &ReadingQuestion, (place, of): (usize, usize), units: Units) -> String {
    let degrees = format!(", in {}", AskedUnits::of(units).temperatures);
    let unit = if is_temperature(&question.field) { &degrees } else { "" };
    let last = match (&question.last, question.stays) {
        (Some(last), true) => format!(" [{}]", visible(last)),
        (Some(last), false) => format!(" (last {})", visible(last)),
        (None, _) => String::new(),
    };
    format!("{place:>3}/{of} {}{unit}{last}:", question.words)
}

/// The unit that a bare number has in a reading's field; none where the question says it, or it is no number.
pub(in crate::report) fn asked_unit(field: &str, units: Units) -> Option<&'static str> {
    AskedUnits::of(units).of_a_number(dimensions(field)?)
}

/// A reading as it was written down, in the unit that its question asks for: "0.203 mm" of "0.0080 in".
pub(in crate::report) fn as_asked(field: &str, written: &str, units: Units) -> String {
    let shown = || {
        let unit = asked_unit(field, units)?;
        let read = read(field, written)?;
        let value = read.in_unit(unit).filter(|_| read.unit() != unit)?;
        // Micrometers read to a thousandth of a millimetre, or to a ten-thousandth of an inch.
        let digits = if unit == "in" { 4 } else { 3 };
        Some(format!("{} {unit}", trimmed(value, digits)))
    };
    shown().unwrap_or_else(|| written.to_owned())
}

/// What a reading can be of.
fn dimensions(field: &str) -> Option<&'static [Dimension]> {
    match &DocumentKind::Build.catalogue().leaf(common(field))?.sort {
        Sort::Quantity(dimensions, _) => Some(dimensions),
        _ => None,
    }
}

fn is_temperature(field: &str) -> bool {
    field == "temperature" || field.ends_with(".temperature")
}

/// A bare number as the question meant it, and a decimal comma as the point it stands for: here nobody lists two numbers.
pub fn with_its_unit(field: &str, said: &str, units: Units) -> String {
    let number = said.replacen(',', ".", 1);
    if number.parse::<f64>().is_err() {
        return said.to_owned();
    }
    let Some(dimensions) = dimensions(field) else { return said.to_owned() };
    match AskedUnits::of(units).to_write(dimensions) {
        Some(unit) => format!("{number} {unit}"),
        None => number,
    }
}
