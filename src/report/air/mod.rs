//! The air.

pub(super) mod kept;
pub(super) mod list;
pub(super) mod reading;
