//! A whole question put to a bike and its record: what to fit in other air or on other fuel.

mod answer;
mod card;
mod floors;
mod foundation;
mod question;
pub mod span;

pub use answer::{Answered, Weighed};
pub use card::InOneAir;
pub use floors::short_of;
pub use foundation::Terms;
pub use question::Question;

use super::RejetError;
use crate::notebook::{AirEntryError, Finding};
use crate::store::StoreError;

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum Unanswered {
    /// A document cannot be read: what cannot be read is not answered from.
    #[error("A document cannot be read.")]
    Findings(Vec<Finding>),
    /// The garage or its records.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// An air that is not one.
    #[error(transparent)]
    Air(#[from] AirEntryError),
    /// The calculation.
    #[error(transparent)]
    Rejet(#[from] RejetError),
    /// An alcohol of which only the name is known: what it wants of the jets cannot be reckoned.
    #[error(
        "No jet is reckoned for {after} from the figures of {before}: an alcohol wants half as much again and more."
    )]
    Alcohol {
        /// The fuel it would be reckoned from.
        before: String,
        /// The alcohol.
        after: String,
    },
    /// The air that the setup was right in is not known.
    #[error("The air that setup {number} was right in is not known.")]
    AirNotKnown {
        /// The bike.
        bike: String,
        /// Number of the setup.
        number: u32,
        /// Whether that setup is marked proven.
        is_marked: bool,
    },
    /// No run was right yet in an air that is known, and no setup is marked: there is nothing to work from.
    #[error(
        "No run of {bike} was right at full throttle yet in an air that is written down: there is nothing to work from."
    )]
    NeverRight {
        /// The bike.
        bike: String,
        /// The newest run that was right without an air: its date in short, and its id.
        right_without_air: Option<(String, String)>,
        /// The runs that were lean at full throttle; none where none was.
        lean: Option<LeanSoFar>,
    },
}

/// Runs that were lean at full throttle, where none was right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeanSoFar {
    /// How many.
    pub runs: usize,
    /// The day of the last.
    pub last: String,
    /// What it had, "main 165"; none where that is not known.
    pub metered: Option<String>,
}
