//! Figures that are known, and what the others lack: for a person and for a script.

use serde_json::{Value as Json, json};

use crate::advice::figures::Known;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::air::reading::rounded;
use crate::report::out::screen::Screen;

/// The setup a report is about.
#[derive(Debug, Clone)]
pub struct Subject {
    /// The bike.
    pub bike: String,
    /// "now" or "setup 12".
    pub setup: String,
    /// What is supposed of it, in words; nothing of it is recorded.
    pub supposed: Vec<String>,
    /// What follows from it, computed, in words.
    pub follows: Vec<String>,
}

impl Subject {
    /// The heading, with what is supposed.
    pub(in crate::report) fn heading(&self, screen: &Screen, what: &str) -> Vec<String> {
        let mut lines = vec![screen.strong(&format!("{}, {}: {what}", self.bike, self.setup))];
        lines.extend(
            self.supposed.iter().map(|words| screen.wrap(&format!("  supposed: {}", visible(words)), 4)),
        );
        lines.extend(self.follows.iter().map(|words| screen.wrap(&format!("  then: {words}"), 4)));
        if !self.supposed.is_empty() {
            lines.push("  Nothing of this is recorded.".into());
        }
        lines
    }

    /// The fields every answer begins with.
    pub(in crate::report) fn json(&self) -> Json {
        json!({ "bike": self.bike, "setup": self.setup, "supposed": self.supposed, "follows": self.follows })
    }
}

/// Puts fields of one object into another.
pub(in crate::report) fn with(mut document: Json, more: Json) -> Json {
    if let (Some(fields), Json::Object(more)) = (document.as_object_mut(), more) {
        fields.extend(more);
    }
    document
}

/// Where what is lacking can be written down.
pub(in crate::report) const WHERE_FIELDS_STAND: &str = "Fields of engine, ports and head stand in the engine's engine.toml, the others in the bike's setup.toml.";

/// A figure in words: the number, or a dash.
pub(in crate::report) fn figure(known: &Known<f64>, decimals: usize) -> String {
    known.as_ref().map_or_else(|_| "-".to_owned(), |value| fixed(*value, decimals))
}

/// "name   value unit", or what it lacks.
pub(in crate::report) fn line(name: &str, known: &Known<String>) -> String {
    match known {
        Ok(words) => format!("  {name:<26}{words}"),
        Err(gap) => format!("  {name:<26}{}", visible(&gap.to_string())),
    }
}

/// A figure for a script; null where it is not known.
pub(in crate::report) fn number(known: &Known<f64>, decimals: usize) -> Json {
    known.as_ref().map_or(Json::Null, |value| rounded(*value, decimals))
}

/// What figures lack, each lack told once with the figures it keeps back: for the list under a table and for a script.
pub(in crate::report) fn lacks<'a>(
    figures: impl IntoIterator<Item = (&'a str, Option<String>)>,
) -> Vec<String> {
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for (name, gap) in figures {
        let Some(gap) = gap else { continue };
        match told.iter_mut().find(|(said, _)| *said == gap) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => told.push((gap, vec![name])),
        }
    }
    told.into_iter().map(|(gap, names)| visible(&format!("{}: {gap}", names.join(", ")))).collect()
}

/// The gap of a figure in words, for [`lacks`].
pub(in crate::report) fn gap<T>(known: &Known<T>) -> Option<String> {
    known.as_ref().err().map(ToString::to_string)
}
