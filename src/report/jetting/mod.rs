//! What to fit.

pub(super) mod answer;
pub(super) mod card;
pub mod cautions;
pub mod cells;
mod explained;
pub mod first;
mod fitted;
mod hands;
pub mod in_part;
pub mod machine;
mod moves;
pub(super) mod record;
mod stands_on;
mod text;
pub(super) mod words;
