//! Everything a person or a script sees: tables, words and JSON.

mod air;
mod air_list;
pub mod bikes;
pub mod check;
mod compare;
pub mod found;
pub mod fuel;
pub mod head;
mod heat;
pub mod history;
mod ignition;
pub mod intake;
mod known;
mod layout;
mod maps;
pub mod outing;
pub mod package;
pub mod pipe;
mod plot;
pub mod ports;
pub mod recorded;
mod rejet;
mod screen;
pub mod show;
mod spans;
mod trouble;

pub use air::AirReport;
pub use air_list::air_list;
pub use compare::{ComparisonReport, KnownAir};
pub use ignition::{AgainstIgnition, Conversion, FiringRow, IgnitionReport};
pub use known::Subject;
pub use layout::air_in_short;
pub use maps::{MapDeed, MapReport};
pub use rejet::RejetReport;
pub use screen::Screen;
pub use trouble::Trouble;
