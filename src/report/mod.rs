//! Everything a person or a script sees: tables, words and JSON.

mod air;
mod air_list;
pub mod bikes;
pub mod check;
mod compare;
pub mod found;
pub mod history;
mod layout;
pub mod outing;
pub mod recorded;
mod rejet;
mod screen;
pub mod show;
mod trouble;

pub use air::AirReport;
pub use air_list::air_list;
pub use compare::{ComparisonReport, KnownAir};
pub use layout::air_in_short;
pub use rejet::RejetReport;
pub use screen::Screen;
pub use trouble::Trouble;
