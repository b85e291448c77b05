//! What is and was on the bikes.

pub mod bikes;
pub mod check;
pub mod found;
pub mod garages;
mod in_few_words;
pub mod jobs;
pub(super) mod maps;
pub mod noted_air;
pub mod now;
pub mod outing;
pub mod questioned;
mod ran;
pub(in crate::report) mod runs;
mod sections;
pub mod setups;
mod stops;
