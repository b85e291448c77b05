//! Parts by their hours.

pub mod done;
pub mod due;
pub(super) mod due_text;
pub mod life;
pub(super) mod life_plot;
pub(super) mod life_words;
pub mod list;
pub mod show;
pub mod standing;
pub mod wear;
pub(in crate::report) mod wear_paper;
pub(in crate::report) mod wear_plot;
pub(super) mod wear_words;
pub(in crate::report) mod word;
