//! The result of checking a garage.

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::check::GarageCheck;
use crate::notebook::Finding;
use crate::notebook::fields::names::visible;
use crate::report::history::outing::path;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::CodeWord;
use crate::report::out::ways;
use crate::report::words::layout::count;
use crate::store::{FileState, Unrecorded};

/// The result of checking a garage.
#[derive(Debug, Serialize, JsonSchema)]
pub struct CheckAnswer<'a> {
    /// Whether nothing is wrong; the exit code is 0 then, else 1.
    pub sound: bool,
    /// How many files were read.
    files: usize,
    /// How many setups were read again from git.
    setups: usize,
    /// What is wrong in files.
    findings: Vec<FindingEntry<'a>>,
    /// Git objects that are damaged, by their identity.
    damaged_objects: &'a [String],
    /// Whether the index answers as one built anew does.
    index_agrees: bool,
    /// Files of the garage that are not as they were recorded, and what nobody reads.
    unrecorded: Vec<UnrecordedFile>,
    /// What is worth knowing and not wrong.
    remarks: Vec<String>,
    /// Whether git is half-way through something, which the first remark says.
    #[serde(skip)]
    under_way: bool,
}

/// One thing that is wrong in a file.
#[derive(Debug, Serialize, JsonSchema)]
struct FindingEntry<'a> {
    /// Sort of the finding.
    code: CodeWord,
    /// File, relative to the garage.
    file: String,
    /// Line in the file, from 1.
    #[schemars(range(min = 1))]
    line: Option<usize>,
    /// Dotted field, or the name of the option that was given.
    field: Option<&'a str>,
    /// What was found, as a sentence.
    message: &'a str,
    /// What is allowed and the way out; empty where there is none.
    help: Cow<'a, str>,
    /// The finding.
    #[serde(skip)]
    finding: &'a Finding,
}

/// A file that is otherwise on disk than recorded.
#[derive(Debug, Serialize, JsonSchema)]
struct UnrecordedFile {
    /// File, relative to the garage.
    file: String,
    /// What became of it.
    state: StateWord,
    /// What to do, as a sentence.
    help: String,
}

/// What became of a file.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum StateWord {
    /// It is not on disk any more.
    Deleted,
    /// It is another one on disk.
    Changed,
    /// It was never recorded.
    New,
    /// The disk has what was recorded, git's index something else.
    Staged,
    /// It looks like a document, and nobody reads it.
    Overlooked,
}

impl StateWord {
    fn of(state: FileState) -> Self {
        match state {
            FileState::Deleted => Self::Deleted,
            FileState::Changed => Self::Changed,
            FileState::New => Self::New,
            FileState::Staged => Self::Staged,
            FileState::Overlooked => Self::Overlooked,
        }
    }

    /// What there is to say of a file.
    fn words(self) -> &'static str {
        match self {
            Self::Deleted => "is deleted on disk and not recorded",
            Self::Changed => "is changed on disk and not recorded",
            Self::New => "was never recorded",
            Self::Staged => "is as it was recorded, and otherwise in git's index",
            Self::Overlooked => "is overlooked",
        }
    }
}

impl<'a> FindingEntry<'a> {
    fn of(finding: &'a Finding) -> Self {
        Self {
            code: CodeWord(finding.code),
            file: path(&finding.place.file),
            line: finding.place.line,
            field: finding.place.field.as_deref(),
            message: &finding.message,
            help: ways::of_finding(finding).into(),
            finding,
        }
    }
}

impl UnrecordedFile {
    fn of(one: &Unrecorded) -> Self {
        Self { file: path(&one.file), state: StateWord::of(one.state), help: ways::worded(&one.help) }
    }
}

impl<'a> CheckAnswer<'a> {
    /// The answer, of what was checked.
    pub fn of(check: &'a GarageCheck) -> Self {
        Self {
            sound: check.is_sound(),
            files: check.files,
            setups: check.setups,
            findings: check.findings.iter().map(FindingEntry::of).collect(),
            damaged_objects: &check.damaged,
            index_agrees: check.index_agrees,
            unrecorded: check.unrecorded.iter().map(UnrecordedFile::of).collect(),
            remarks: ways::all_worded(&check.remarks),
            under_way: check.under_way,
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = Vec::new();
        let (first, others) = self.remarks.split_at(usize::from(self.under_way));
        lines.extend(first.iter().map(|remark| screen.known(remark)));
        for one in &self.findings {
            lines.push(screen.wrap(&one.finding.to_string(), 2));
            // Only what ends it can be done now.
            if !self.under_way {
                lines.push(screen.wrap(&format!("  what to do: {}", one.help), 4));
            }
        }
        for object in self.damaged_objects {
            lines.push(format!(
                "git object {object} is damaged, or larger than any of a garage: take it from a copy of the garage"
            ));
        }
        if !self.index_agrees {
            lines.push(
                "the index is not what the files say: delete .git/reedbook/index.sqlite, it is built again"
                    .into(),
            );
        }
        for one in &self.unrecorded {
            let text = format!("{} {}. {}", one.file, one.state.words(), one.help);
            lines.push(screen.known(visible(&text)));
        }
        for remark in others {
            lines.push(screen.known(remark));
        }
        let verdict = if self.sound { "all sound" } else { "NOT SOUND" };
        let read = format!(
            "{} and {} read, git's objects and the index checked: {verdict}.",
            count(self.files, "file"),
            count(self.setups, "setup")
        );
        lines.push(screen.strong(&screen.wrap(&read, 2)));
        lines.join("\n")
    }
}
