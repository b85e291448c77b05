//! The needle: what stands open beside it, its grooves, and which of them is chosen.

pub(super) mod clip;
pub(super) mod clip_by_thumb;
pub(super) mod grooves;
pub(super) mod hang;
pub(super) mod needle_path;
pub mod needle_table;
pub(super) mod search;
