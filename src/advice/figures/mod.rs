//! The engine, computed from what a setup says: one file a figure's family, each figure known or saying what it lacks.
//!
//! Nothing is guessed: what the setup does not hold comes from `configs/assumptions.toml` and is named, or the figure is not
//! known.

pub mod bench;
pub mod fuel;
pub mod head;
pub mod ignition;
pub mod intake;
pub mod known;
pub mod pipe;
pub mod ports;

pub use bench::{Bench, Valve};
pub use known::{Gap, Known};
