//! Builds of an engine, and fits.

pub mod build;
pub(super) mod compare;
pub mod fit;
pub(super) mod fit_words;
pub mod measure;
pub mod steps;
