//! Jets and the screw: the sizes at hand, the main jet with or without its needle, the pilot circuit.

pub(super) mod alone;
pub(super) mod in_bike;
pub(super) mod jets;
pub(super) mod main_jet;
pub(super) mod pilot;
pub(super) mod screw;
mod series;
pub(super) mod simple_rule;
pub(super) mod sizes;
