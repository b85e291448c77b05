//! What passes between people: a garage that is shared, a setup that is handed over.

pub mod handover;
pub mod share;
