//! Errors of every floor turned into words, in one place: what, where, the way out.

use serde_json::{Value, json};

use crate::advice::RejetError;
use crate::engine::EngineError;
use crate::notebook::fields::names::visible_lines;
use crate::notebook::{AirEntryError, Code, DateError, EditError, Finding, Place};
use crate::store::StoreError;

/// What went wrong, ready to be told.
#[derive(Debug, Clone)]
pub struct Trouble {
    message: String,
    place: Place,
    help: String,
    /// Further findings in the same documents.
    more: Vec<Finding>,
    code: Option<Code>,
}

impl Trouble {
    /// A request that cannot be done.
    pub fn request(field: Option<&str>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            place: Place { field: field.map(str::to_owned), ..Place::default() },
            help: help.into(),
            more: Vec::new(),
            code: None,
        }
    }

    /// Everything that is wrong in one or more documents.
    pub fn findings(findings: Vec<Finding>) -> Self {
        let mut findings = findings.into_iter();
        match findings.next() {
            Some(first) => Self {
                message: first.message,
                place: first.place,
                help: first.help,
                more: findings.collect(),
                code: Some(first.code),
            },
            None => Self::request(None, "Something is wrong with the data.", ""),
        }
    }

    /// Values of a setup that the engine cannot be computed with.
    pub fn calculation(place: Place, error: &EngineError) -> Self {
        let field = place.field.as_deref().map(|field| format!("{field}: ")).unwrap_or_default();
        let mut trouble = Self::request(
            None,
            format!("{field}{error}"),
            "Correct the field with `reedbook change`, or what was supposed with --with.",
        );
        trouble.place = place;
        trouble
    }

    /// Standard output cannot be written.
    pub fn output(error: &std::io::Error) -> Self {
        Self::request(None, format!("The output cannot be written: {error}."), "Check where it was sent to.")
    }

    /// A file that the user named cannot be read or written.
    pub fn file(doing: &str, path: &std::path::Path, error: &std::io::Error) -> Self {
        let mut trouble = Self::request(
            None,
            format!("{doing} {}: {error}.", path.display()),
            "Check the name and that the file may be used.",
        );
        trouble.place = Place::file(path);
        trouble
    }

    /// The same with the file and line of a list that was being read.
    #[must_use]
    pub fn at(mut self, file: &std::path::Path, line: usize) -> Self {
        file.clone_into(&mut self.place.file);
        self.place.line = Some(line);
        self
    }

    /// For a person.
    pub fn words(&self) -> String {
        let mut text = told(&self.message, &self.place, &self.help);
        for finding in &self.more {
            text.push('\n');
            text.push_str(&told(&finding.message, &finding.place, &finding.help));
        }
        text
    }

    /// For somebody who is being asked: what is wrong with the answer, and the way out.
    pub fn in_short(&self, screen: &crate::report::Screen) -> String {
        let message = format!("        no: {}", visible_lines(&self.message));
        let help = format!("        {}", visible_lines(&self.help));
        format!("{}\n{}", screen.wrap(&message, 8), screen.wrap(&help, 8))
    }

    /// For a script.
    pub fn json(&self) -> String {
        let more: Vec<_> =
            self.more.iter().map(|f| error_json(&f.message, &f.place, &f.help, Some(f.code))).collect();
        let mut document = json!({ "error": error_json(&self.message, &self.place, &self.help, self.code) });
        if !more.is_empty() {
            document["more"] = Value::Array(more);
        }
        serde_json::to_string_pretty(&document).unwrap_or_default()
    }
}

fn told(message: &str, place: &Place, help: &str) -> String {
    let mut text = format!("error: {}", visible_lines(message));
    let mut at = Vec::new();
    if place.file.as_os_str().is_empty() {
        at.extend(place.field.clone());
    } else {
        at.push(match place.line {
            Some(line) => format!("{}, line {line}", place.file.display()),
            None => place.file.display().to_string(),
        });
        at.extend(place.field.clone());
    }
    if !at.is_empty() {
        text.push_str(&format!("\n  where: {}", at.join(", ")));
    }
    if !help.is_empty() {
        text.push_str(&format!("\n  way out: {}", visible_lines(help)));
    }
    text
}

fn error_json(message: &str, place: &Place, help: &str, code: Option<Code>) -> Value {
    let file = place.file.to_string_lossy().replace('\\', "/");
    json!({
        "message": message,
        "file": (!file.is_empty()).then_some(file),
        "line": place.line,
        "field": place.field,
        "help": help,
        "code": code.map(Code::name),
    })
}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Findings(findings) => Self::findings(findings),
            StoreError::Edit(error) => error.into(),
            other => Self {
                message: other.to_string(),
                place: other.place(),
                help: other.help(),
                more: Vec::new(),
                code: None,
            },
        }
    }
}

impl From<AirEntryError> for Trouble {
    fn from(error: AirEntryError) -> Self {
        Self::request(Some(error.field()), error.to_string(), error.help())
    }
}

impl From<DateError> for Trouble {
    fn from(error: DateError) -> Self {
        Self::request(Some("date"), error.to_string(), error.help())
    }
}

impl From<EditError> for Trouble {
    fn from(error: EditError) -> Self {
        Self {
            message: error.to_string(),
            place: error.place(),
            help: error.help(),
            more: Vec::new(),
            code: error.code(),
        }
    }
}

impl From<RejetError> for Trouble {
    fn from(error: RejetError) -> Self {
        Self::request(error.field(), error.to_string(), error.help())
    }
}
