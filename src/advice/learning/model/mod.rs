//! The model: an ordered response over fuel, pure. What it says is [`posterior`], of [`verdicts`]; the rest is its arithmetic.

pub(super) mod foretold;
mod grid;
pub mod kinship;
mod matrix;
mod normal;
mod point;
pub mod posterior;
mod propagation;
pub(super) mod share;
pub mod verdicts;
