//! Errors of every floor turned into words, in one place: what, where, the way out.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};

use crate::advice::RejetError;
use crate::advice::asking::Unanswered;
use crate::advice::building::Unjudged;
use crate::engine::EngineError;
use crate::notebook::fields::cylinder::at_cylinder;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::notebook::{AirEntryError, Code, DateError, EditError, Finding, Place};
use crate::report::out::ways;

use crate::store::StoreError;

/// The longest message that is told, characters: what a file holds may be as long as its bound.
const LONGEST: usize = 4_000;

/// A message, cut where it quotes more than anybody reads.
pub(super) fn bounded(message: &str) -> Cow<'_, str> {
    match message.char_indices().nth(LONGEST) {
        None => message.into(),
        Some((end, _)) => {
            let more = message[end..].chars().count();
            format!("{}… ({more} more characters)", &message[..end]).into()
        }
    }
}

/// What went wrong, ready to be told.
#[derive(Debug, Clone)]
pub struct Trouble {
    pub(super) message: String,
    pub(super) place: Place,
    pub(super) help: String,
    /// Whatever else is wrong in the same documents.
    pub(super) more: Vec<Trouble>,
    code: Option<Code>,
    /// Whether the message names the field.
    pub(super) is_named: bool,
    /// Whether nothing is wrong: there is only nothing to do.
    is_nothing: bool,
}

/// There is nothing to do: what was asked for is so already.
#[derive(Debug, Serialize, JsonSchema)]
pub struct NothingAnswer<'a> {
    /// What is so already, in a sentence.
    pub(super) nothing_to_do: &'a str,
}

impl Trouble {
    /// A request that cannot be done.
    pub fn request(field: Option<&str>, message: impl Into<String>, help: impl Into<Guidance>) -> Self {
        Self {
            message: message.into(),
            place: Place { field: field.map(str::to_owned), ..Place::default() },
            help: ways::worded(&help.into()),
            more: Vec::new(),
            code: None,
            is_named: false,
            is_nothing: false,
        }
    }

    /// Everything that is wrong in one or more documents.
    pub fn findings(findings: Vec<Finding>) -> Self {
        let one = |finding: Finding| Self {
            help: ways::of_finding(&finding),
            message: finding.message,
            place: finding.place,
            more: Vec::new(),
            code: Some(finding.code),
            is_named: false,
            is_nothing: false,
        };
        Self::of_many(findings.into_iter().map(one))
            .unwrap_or_else(|| Self::request(None, "Something is wrong with the data.", ""))
    }

    /// Several at once; none where there is none.
    pub fn of_many(troubles: impl IntoIterator<Item = Self>) -> Option<Self> {
        let mut troubles = troubles.into_iter();
        let mut first = troubles.next()?;
        first.more.extend(troubles);
        Some(first)
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

    /// The same where what was asked for is recorded all the same.
    #[must_use]
    pub fn after_recording(mut self) -> Self {
        for said in ["; nothing was recorded", " Nothing was recorded."] {
            self.help = self.help.replace(said, "");
        }
        self.message.push_str(" What was to be recorded is recorded.");
        self
    }

    /// The same, and what goes with it, in a sentence.
    #[must_use]
    pub fn and(mut self, more: &str) -> Self {
        self.message = format!("{} {more}", self.message);
        self
    }

    /// The same with another way out beside its own.
    #[must_use]
    pub fn or(mut self, help: &str) -> Self {
        let gap = if self.help.is_empty() { "" } else { " " };
        self.help = format!("{}{gap}{help}", self.help);
        self
    }

    /// The same, said of one cylinder.
    #[must_use]
    pub fn of_cylinder(mut self, name: &str) -> Self {
        self.message = at_cylinder(name, &self.message);
        self.asking_for_runs_at(name)
    }

    /// The same, with the run that it asks for judged at that cylinder.
    #[must_use]
    pub fn asking_for_runs_at(mut self, name: &str) -> Self {
        if !name.contains('+') {
            self.help = self.help.replace(" full=…", &format!(" {}.full=…", visible(name)));
        }
        self
    }

    /// Whether another says the same, in the same words.
    pub fn says_the_same(&self, other: &Self) -> bool {
        self.message_and_help() == other.message_and_help()
    }

    /// Whether another says the same of the same field, wherever that stands.
    pub(in crate::report) fn is_of_the_same_field(&self, other: &Self) -> bool {
        self.says_the_same(other) && self.place.field == other.place.field
    }

    /// What to say where nothing is wrong and there is only nothing to do.
    pub fn nothing_to_do(&self) -> Option<NothingAnswer<'_>> {
        (self.is_nothing && self.more.is_empty()).then(|| NothingAnswer { nothing_to_do: &self.message })
    }

    /// The same with the file and line of a list that was being read.
    #[must_use]
    pub fn at(mut self, file: &std::path::Path, line: usize) -> Self {
        file.clone_into(&mut self.place.file);
        self.place.line = Some(line);
        self
    }

    /// The answer.
    pub(super) fn answer(&self) -> ErrorAnswer<'_> {
        ErrorAnswer {
            error: ErrorEntry::of(&self.message, &self.place, self.help.as_str().into(), self.code),
            more: self
                .more
                .iter()
                .map(|one| ErrorEntry::of(&one.message, &one.place, one.help.as_str().into(), one.code))
                .collect(),
        }
    }

    /// The same where the message names the field already: it needs no line of its own for a person.
    #[must_use]
    pub fn where_it_stands(mut self) -> Self {
        self.is_named = true;
        self
    }

    /// What is wrong, and the way out.
    pub(in crate::report) fn message_and_help(&self) -> (&str, &str) {
        (&self.message, &self.help)
    }

    /// The field that it is of, as whoever said it calls it.
    pub fn field(&self) -> Option<&str> {
        self.place.field.as_deref()
    }

    /// The same said of a field of a form, by the label that stands at it; `help` in place of a way out that no form has.
    #[must_use]
    pub fn at_field(mut self, name: &str, label: &str, help: Option<&str>) -> Self {
        self.place.field = Some(name.to_owned());
        if !label.is_empty() && !self.message.starts_with(label) {
            self.message = format!("{label}: {}", self.message);
        }
        if let Some(help) = help {
            help.clone_into(&mut self.help);
        }
        self
    }

    /// Whether its way out names something.
    pub fn offers(&self, what: &str) -> bool {
        self.help.contains(what)
    }

    /// The same with a name that only a file has said in a form's words.
    #[must_use]
    pub fn calling(mut self, name: &str, words: &str) -> Self {
        self.message = self.message.replace(name, words);
        self.help = self.help.replace(name, words);
        self
    }

    /// For a script.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(&self.answer()).unwrap_or_default()
    }
}

/// What went wrong; the exit code is 1. Wrong usage of the command line is told in words, with exit code 2.
#[derive(Debug, Serialize, JsonSchema)]
pub(in crate::report) struct ErrorAnswer<'a> {
    /// What is wrong, the first of it.
    pub(super) error: ErrorEntry<'a>,
    /// Whatever else is wrong in the same documents; not there when there is nothing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(min = 1))]
    pub(super) more: Vec<ErrorEntry<'a>>,
}

/// One thing that is wrong.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ErrorEntry<'a> {
    /// What was found, as a sentence.
    pub(super) message: Cow<'a, str>,
    /// File, relative to the garage.
    pub(super) file: Option<String>,
    /// Line in the file, from 1.
    #[schemars(range(min = 1))]
    pub(super) line: Option<usize>,
    /// Dotted field, or the name of the option that was given.
    pub(super) field: Option<Cow<'a, str>>,
    /// What is allowed and the way out; empty where there is none.
    pub(super) help: Cow<'a, str>,
    /// Sort of the finding, where it is one in a document; else null.
    code: Option<CodeWord>,
    /// Where it is.
    #[serde(skip)]
    pub(super) place: &'a Place,
}

/// The sort of a finding by its name.
#[derive(Debug, Clone, Copy)]
pub(in crate::report) struct CodeWord(pub(in crate::report) Code);

impl Serialize for CodeWord {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.name())
    }
}

impl JsonSchema for CodeWord {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Code".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "enum": Code::ALL.map(Code::name) })
    }
}

impl<'a> ErrorEntry<'a> {
    fn of(message: &'a str, place: &'a Place, help: Cow<'a, str>, code: Option<Code>) -> Self {
        let file = place.file.to_string_lossy().replace('\\', "/");
        Self {
            message: bounded(message),
            file: (!file.is_empty()).then_some(file),
            line: place.line,
            field: place.field.as_deref().map(bounded),
            help,
            code: code.map(CodeWord),
            place,
        }
    }
}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Findings(findings) => Self::findings(findings),
            StoreError::Edit(error) => error.into(),
            StoreError::Air(error) => error.into(),
            other => Self {
                is_nothing: matches!(other, StoreError::NothingChanged { .. }),
                message: ways::worded(&other.message()),
                place: other.place(),
                help: ways::worded(&other.help()),
                more: Vec::new(),
                code: None,
                is_named: false,
            },
        }
    }
}

impl From<AirEntryError> for Trouble {
    fn from(error: AirEntryError) -> Self {
        Self::request(Some(error.field()), error.to_string(), ways::of_air(&error))
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
            help: ways::of_edit(&error),
            more: Vec::new(),
            code: error.code(),
            is_named: false,
            is_nothing: false,
        }
    }
}

impl From<RejetError> for Trouble {
    fn from(error: RejetError) -> Self {
        Self::request(error.field(), error.to_string(), error.help())
    }
}

impl From<Unjudged> for Trouble {
    fn from(error: Unjudged) -> Self {
        match error {
            Unjudged::Store(error) => error.into(),
            Unjudged::Readings(error) => Self::calculation(Place::default(), &error),
        }
    }
}

impl From<Unanswered> for Trouble {
    fn from(error: Unanswered) -> Self {
        let message = error.to_string();
        match error {
            Unanswered::Findings(findings) => Self::findings(findings),
            Unanswered::Store(error) => error.into(),
            Unanswered::Air(error) => error.into(),
            Unanswered::Rejet(error) => error.into(),
            Unanswered::Alcohol { .. } => Self::request(
                Some("fuel.name"),
                message,
                "Give what its maker writes of it: --fuel-density … --stoichiometric-ratio …; by change: fuel.density, fuel.stoichiometric_ratio.",
            ),
            Unanswered::AirNotKnown { bike, number, is_marked } => {
                let help = ways::of_unknown_air(&bike, number, is_marked);
                Self::request(Some("baseline_air"), message, help)
            }
            Unanswered::NeverRight { bike, right_without_air, lean } => {
                let message = lean
                    .as_ref()
                    .map_or(message.clone(), |lean| format!("{} {message}", ways::only_lean(lean)));
                let way_out = ways::of_never_right(&bike, right_without_air.as_ref(), lean.is_some());
                Self::request(None, message, way_out)
            }
        }
    }
}
