//! Sums of the engine, from a setup or from what is typed.

pub(super) mod fit;
pub(super) mod fuel;
pub(super) mod head;
pub(super) mod ignition;
pub(super) mod intake;
pub(super) mod map;
pub(super) mod package;
pub(super) mod pipe;
pub(super) mod ports;
