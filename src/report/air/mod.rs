//! The air.

pub(super) mod list;
pub(super) mod reading;
