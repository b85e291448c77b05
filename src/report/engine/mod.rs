//! The engine as it is computed.

pub mod fuel;
pub mod head;
pub(super) mod ignition;
mod ignition_text;
pub mod intake;
pub mod package;
pub mod packages;
pub mod pipe;
pub mod ports;
