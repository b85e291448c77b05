//! What passes between people: a garage that is shared, a setup that is handed over.

pub mod before;
mod brought_runs;
pub mod handed_engine;
pub mod handover;
mod kept_metal;
pub mod sealing;
pub mod share;
mod side;
