//! What is wrong in a document, as data: every finding names its place and the way out, and all are reported.

use std::fmt;
use std::path::{Path, PathBuf};

use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;

/// The sort of a finding. Each has a test page under tests/pages/invalid/ that shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Code {
    /// The file is not TOML.
    Syntax,
    /// The file holds both sides of a merge.
    BothSides,
    /// The file is not text.
    NotText,
    /// The file is only the beginning of what was recorded.
    CutShort,
    /// A field that no document of this kind has.
    UnknownField,
    /// A value of the wrong sort: a table where a number belongs.
    WrongSort,
    /// A quantity that cannot be read, or whose unit measures something else.
    BadQuantity,
    /// A length without a unit in an imperial garage.
    BareLength,
    /// Outside the allowed range.
    OutOfRange,
    /// A word that is not one of the allowed ones.
    NotAChoice,
    /// A field that is needed beside another one.
    MissingField,
    /// Two fields that cannot stand together.
    Contradiction,
    /// An axis that does not ascend.
    AxisOrder,
    /// Rows of different lengths, or not as many as the axes want.
    RaggedMap,
    /// A map file that is not there or cannot be read.
    MapFile,
    /// An engine or a setup that is named but not there.
    Dangling,
    /// A name that cannot be a folder's.
    BadName,
    /// A date that cannot be read.
    BadDate,
    /// Air that cannot exist.
    BadAir,
    /// More than one cylinder.
    Cylinders,
}

impl Code {
    /// All of them.
    pub const ALL: [Self; 20] = [
        Self::Syntax,
        Self::BothSides,
        Self::NotText,
        Self::CutShort,
        Self::UnknownField,
        Self::WrongSort,
        Self::BadQuantity,
        Self::BareLength,
        Self::OutOfRange,
        Self::NotAChoice,
        Self::MissingField,
        Self::Contradiction,
        Self::AxisOrder,
        Self::RaggedMap,
        Self::MapFile,
        Self::Dangling,
        Self::BadName,
        Self::BadDate,
        Self::BadAir,
        Self::Cylinders,
    ];

    /// Whether nothing of a file with it can be read: it is no TOML. What a newer version wrote is not broken, only not known.
    pub fn is_unreadable(self) -> bool {
        matches!(self, Self::BothSides | Self::Syntax | Self::NotText | Self::CutShort)
    }

    /// Its name in messages for scripts and in the names of test pages.
    pub fn name(self) -> &'static str {
        match self {
            Self::Syntax => "syntax",
            Self::BothSides => "both-sides",
            Self::NotText => "not-text",
            Self::CutShort => "cut-short",
            Self::UnknownField => "unknown-field",
            Self::WrongSort => "wrong-sort",
            Self::BadQuantity => "bad-quantity",
            Self::BareLength => "bare-length",
            Self::OutOfRange => "out-of-range",
            Self::NotAChoice => "not-a-choice",
            Self::MissingField => "missing-field",
            Self::Contradiction => "contradiction",
            Self::AxisOrder => "axis-order",
            Self::RaggedMap => "ragged-map",
            Self::MapFile => "map-file",
            Self::Dangling => "dangling",
            Self::BadName => "bad-name",
            Self::BadDate => "bad-date",
            Self::BadAir => "bad-air",
            Self::Cylinders => "cylinders",
        }
    }
}

/// Where in the garage something stands.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Place {
    /// File, relative to the garage.
    pub file: PathBuf,
    /// Line, from 1.
    pub line: Option<usize>,
    /// Dotted field.
    pub field: Option<String>,
}

impl Place {
    /// A whole file.
    pub fn file(file: &Path) -> Self {
        Self { file: file.to_owned(), ..Self::default() }
    }
}

/// One thing that is wrong in a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Its sort.
    pub code: Code,
    /// Its place.
    pub place: Place,
    /// What was found, as a sentence.
    pub message: String,
    /// What is allowed and the way out, as sentences.
    pub help: Guidance,
}

impl Finding {
    /// A finding whose words may hold what stood in a file: control characters are made visible, so that nothing of it moves
    /// a terminal's cursor.
    pub fn new(code: Code, place: Place, message: &str, help: impl Into<Guidance>) -> Self {
        let place = Place { field: place.field.as_deref().map(visible), ..place };
        Self { code, place, message: visible(message), help: help.into().map_words(visible) }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&visible(&self.place.file.to_string_lossy()))?;
        if let Some(line) = self.place.line {
            write!(f, ":{line}")?;
        }
        write!(f, ": {}", self.message)
    }
}
