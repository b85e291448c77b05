//! One struct for each document of a garage.

pub(super) mod air_entry;
pub(super) mod build;
mod cause;
pub(super) mod engine;
pub(super) mod garage;
pub(super) mod gauges;
pub(super) mod handed_engine;
pub(super) mod handover;
pub(super) mod job;
pub(super) mod outing;
pub(super) mod part;
pub(super) mod phone_notes;
pub(super) mod place;
pub(super) mod setup;
