//! Seasons typed anew from their events.

pub(super) mod papers;
pub(super) mod season;
