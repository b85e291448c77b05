//! How tight a ring sits: what the fits of bearings and the tolerance zones say alike.

use schemars::JsonSchema;

use serde::Serialize;

use crate::engine::fits::{FitClass, Interference};
use crate::report::out::figure::Figure;
use crate::report::parts::word::{Word, Worded};

/// How tight two parts are in one another.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub(super) struct FitTightness {
    /// The loosest parts, mm; negative is a clearance.
    pub(super) least_mm: Figure<4>,
    /// The middle, mm.
    pub(super) mean_mm: Figure<4>,
    /// The tightest parts, mm.
    pub(super) most_mm: Figure<4>,
    /// What kind of fit; tight and loose are said of measured parts.
    pub(super) kind: Word<FitKind>,
}

/// What kind of fit it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FitKind {
    /// No parts within the zones are tight.
    NeverTight,
    /// Some are tight, others are not.
    Depends,
    /// All are tight.
    AlwaysTight,
    /// Measured parts that are loose.
    Loose,
    /// Measured parts that are tight.
    Tight,
}

impl Worded for FitKind {
    const ALL: &'static [Self] =
        &[Self::NeverTight, Self::Depends, Self::AlwaysTight, Self::Loose, Self::Tight];

    fn word(&self) -> &'static str {
        match self {
            Self::NeverTight => "never tight",
            Self::Depends => "depends on the parts",
            Self::AlwaysTight => "always tight",
            Self::Loose => "loose",
            Self::Tight => "tight",
        }
    }
}

impl From<&Interference> for FitKind {
    /// Of two measured parts there is nothing to depend on.
    fn from(found: &Interference) -> Self {
        match found.kind() {
            FitClass::Clearance if found.is_of_measured_parts() => Self::Loose,
            FitClass::Clearance => Self::NeverTight,
            FitClass::Transition => Self::Depends,
            FitClass::Interference if found.is_of_measured_parts() => Self::Tight,
            FitClass::Interference => Self::AlwaysTight,
        }
    }
}

impl From<&Interference> for FitTightness {
    fn from(found: &Interference) -> Self {
        Self {
            least_mm: Figure(found.least_m * 1e3),
            mean_mm: Figure(found.mean_m * 1e3),
            most_mm: Figure(found.most_m * 1e3),
            kind: Word(FitKind::from(found)),
        }
    }
}
