//! The rejet: against values from outside, its laws, its choices and its refusals.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

mod boxes;
mod choices;
mod fuels;
mod laws;
mod reference;
mod refusals;
mod smooth;
