//! Why there is no rejet, in sentences with the way out.

use thiserror::Error;

use crate::engine::EngineError;
use crate::notebook::NumberedBy;
use crate::notebook::guidance::{Command, CommandOption, Guidance};

/// Why a rejet could not be computed at all. What is merely unknown is a warning of the answer instead.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum RejetError {
    /// No [jetting] and no [injection].
    #[error("The setup has neither a carburetor nor fuel injection, so there is nothing to rejet.")]
    NoFuelSystem,
    /// Both [jetting] and [injection].
    #[error("The setup has both a carburetor and fuel injection, so it is not clear what meters the fuel.")]
    TwoFuelSystems,
    /// A value without which the answer would be a guess.
    #[error("{field} is not known: {why}.")]
    NotKnown {
        /// The field that would supply it.
        field: &'static str,
        /// What it is needed for, without a full stop.
        why: &'static str,
        /// The way out.
        help: String,
    },
    /// A value asked for that no setup may have; worded as in reading a setup.
    #[error("{message}")]
    OutOfRange {
        /// The field.
        field: &'static str,
        /// What was found.
        message: String,
        /// The range.
        help: String,
    },
    /// The setup says one numbering, the series it names has the other.
    #[error("{field} is numbered by {}, but {series_field} names \"{series}\", which is numbered by {}.", word(*.setup), word(*.found))]
    NumberingContradicts {
        /// The jet.
        field: &'static str,
        /// The field that names the series.
        series_field: &'static str,
        /// The series.
        series: String,
        /// What the setup says.
        setup: NumberedBy,
        /// What the series says.
        found: NumberedBy,
    },
    /// The bike's record cannot be weighed.
    #[error("The bike's outings cannot be weighed: {why}")]
    Record {
        /// Why, a sentence.
        why: String,
    },
    /// A value that cannot be calculated with.
    #[error("{field}: {source}")]
    Calculation {
        /// The field, or what was being computed where no single field is to blame.
        field: String,
        /// Why, with the way out.
        source: EngineError,
    },
}

impl RejetError {
    /// What the arithmetic of the record refuses.
    pub(in crate::advice) fn record(why: &impl std::fmt::Display) -> Self {
        Self::Record { why: why.to_string() }
    }

    pub(super) fn calculation(field: impl Into<String>) -> impl FnOnce(EngineError) -> Self {
        let field = field.into();
        move |source| Self::Calculation { field, source }
    }

    /// The dotted field to look at, where there is one.
    pub fn field(&self) -> Option<&str> {
        match self {
            Self::NoFuelSystem => Some("jetting"),
            Self::TwoFuelSystems => Some("injection"),
            Self::NotKnown { field, .. } | Self::OutOfRange { field, .. } => Some(field),
            Self::NumberingContradicts { series_field, .. } => Some(series_field),
            Self::Record { .. } => None,
            Self::Calculation { field, .. } => Some(field),
        }
    }

    /// The way out, as sentences.
    pub fn help(&self) -> Guidance {
        match self {
            Self::NoFuelSystem => {
                "Write down in setup.toml what is on the bike: [jetting] with the main jet at least, or [injection] with its compensation.".into()
            }
            Self::TwoFuelSystems => {
                "Keep [jetting] or [injection] in setup.toml, whichever is on the bike.".into()
            }
            Self::NotKnown { help, .. } | Self::OutOfRange { help, .. } => help.into(),
            Self::NumberingContradicts { series, .. } => format!(
                "Measure a jet with a pin gauge and fix the setup, or numbered_by of \"{series}\" in configs/jets.toml: confusing the two doubles or halves every correction."
            )
            .into(),
            Self::Record { .. } => {
                Guidance::from("Leave the record out with ")
                    + CommandOption::Theory
                    + ", and look at "
                    + Command::ListOutings(None)
                    + " for what is odd."
            }
            Self::Calculation { field, .. } => format!("Check {field}.").into(),
        }
    }
}

/// The word a document uses for a numbering.
pub(super) fn word(numbered_by: NumberedBy) -> &'static str {
    match numbered_by {
        NumberedBy::Flow => "flow",
        NumberedBy::Bore => "bore",
    }
}
