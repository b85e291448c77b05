//! Everything that is recorded.

pub(super) mod builds;
pub(super) mod change;
pub(super) mod cylinders;
pub(super) mod engine_owner;
pub(super) mod guards;
pub(super) mod hand_edit;
pub(super) mod jobs;
pub(super) mod map_edit;
pub(super) mod outing_remove;
pub(super) mod outings;
pub(super) mod outings_import;
pub(super) mod part_places;
pub(super) mod parts;
pub(super) mod phone_ticks;
pub(super) mod places;
pub(super) mod proven;
pub(super) mod put_off;
pub(super) mod rollback;
pub(super) mod unrecorded;
