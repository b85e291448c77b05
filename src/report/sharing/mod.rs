//! What passes between people: a garage that is shared, a setup that is handed over.

pub mod handed_engine;
pub mod handover;
pub mod sealing;
pub mod share;
