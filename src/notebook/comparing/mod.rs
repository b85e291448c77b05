//! What differs between two setups.

pub(super) mod fields;
pub(super) mod map;
pub(super) mod prose;
