//! What to fit.

pub(super) mod answer;
pub mod before;
pub(super) mod card;
pub(in crate::report) mod card_paper;
pub mod cautions;
pub(super) mod cell;
pub mod cells;
mod explained;
pub(super) mod first;
mod fitted;
mod hands;
pub mod machine;
pub mod moved_on;
mod moves;
pub(super) mod plan;
pub(super) mod record;
pub(super) mod record_text;
mod text;
pub(super) mod words;
