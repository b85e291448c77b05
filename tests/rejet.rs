//! The rejet: against values from outside, its laws, its choices and its refusals.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

#[path = "rejet/bikes.rs"]
mod bikes;
#[path = "rejet/boxes.rs"]
mod boxes;
#[path = "rejet/choices.rs"]
mod choices;
#[path = "rejet/fuels.rs"]
mod fuels;
#[path = "reference/groups.rs"]
#[allow(dead_code, reason = "shared with other checks")]
mod groups;
#[path = "rejet/laws.rs"]
mod laws;
#[path = "rejet/reference.rs"]
mod reference;
#[path = "rejet/refusals.rs"]
mod refusals;
#[path = "rejet/smooth.rs"]
mod smooth;
