//! Putting an earlier setup back.

pub(super) mod at_the_bike;
pub mod on_the_bike;
mod only;
pub mod plan;
pub(super) mod words;
pub(super) mod write;
