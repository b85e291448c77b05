//! Everything that is recorded.

pub(super) mod builds;
pub(super) mod change;
pub(super) mod edited;
pub(super) mod engine_owner;
pub(super) mod file_back;
pub(super) mod guards;
pub(super) mod jobs;
pub(super) mod lost;
pub(super) mod map_edit;
pub(super) mod outings;
pub(super) mod parts;
pub(super) mod places;
pub(super) mod proven;
pub(super) mod rollback;
