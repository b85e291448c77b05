//! What is and was on the bikes.

pub mod bikes;
pub mod check;
pub(super) mod compare;
pub mod found;
pub(super) mod maps;
pub mod noted_air;
pub mod outing;
mod outing_text;
pub mod questioned;
pub mod recorded;
pub mod setups;
pub mod show;
