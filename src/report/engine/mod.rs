//! The engine as it is computed.

pub mod fuel;
pub mod head;
pub(super) mod ignition;
pub mod intake;
pub mod package;
pub mod pipe;
pub mod ports;
