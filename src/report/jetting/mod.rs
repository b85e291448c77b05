//! What to fit.

pub(super) mod answer;
pub(super) mod card;
pub mod cells;
mod explained;
pub(super) mod first;
mod fitted;
pub(super) mod record;
pub(super) mod words;
