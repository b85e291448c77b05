//! Builds of an engine, and fits.

pub(super) mod bench;
pub mod build;
pub(super) mod compare;
pub(super) mod figure;
pub mod fit;
pub(super) mod fit_words;
pub mod list;
pub mod measure;
pub(in crate::report) mod paper;
pub(super) mod side_by_side;
pub mod steps;
pub(in crate::report) mod tightness;
pub mod zone;
