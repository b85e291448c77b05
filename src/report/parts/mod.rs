//! Parts by their hours.

pub mod due;
pub mod life;
pub mod list;
pub mod show;
pub mod wear;
pub(super) mod wear_plot;
