//! Drawings in plain characters.

pub(super) mod heat;
pub(super) mod plot;
pub(super) mod spans;
