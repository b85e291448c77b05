//! From bytes to values and findings.

pub(super) mod combination;
pub(super) mod cylinder;
pub(super) mod document;
pub mod map;
mod numbers;
pub mod phone_notes;
pub mod session_sheet;
mod sorts;
pub(super) mod toml_fault;
pub(super) mod walk;
