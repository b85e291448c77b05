//! Options that several commands take.

pub(super) mod air;
pub(super) mod card;
pub(super) mod cylinder;
pub(super) mod engine;
pub(super) mod fit;
pub(super) mod guard;
pub(super) mod map;
pub(super) mod order;
pub(super) mod outing;
