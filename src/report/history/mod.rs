//! What is and was on the bikes.

pub mod bikes;
pub(in crate::report) mod brief;
mod changes;
pub mod check;
pub(super) mod compare;
pub mod found;
pub mod garages;
pub mod imported;
pub mod jobs;
pub(super) mod maps;
pub mod noted_air;
pub mod now;
pub mod outing;
mod outing_calls;
pub(super) mod outing_text;
pub mod proven;
pub mod questioned;
pub mod recorded;
mod runs;
pub mod setups;
pub mod sheet;
pub mod show;
mod step;
