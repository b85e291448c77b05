//! The garage as a folder.

pub(super) mod clock;
pub(super) mod defaults;
pub(super) mod finding;
pub(super) mod garage;
pub(super) mod gate;
pub(super) mod lock;
pub(super) mod make;
pub(super) mod pages;
mod templates;
mod waiting;
