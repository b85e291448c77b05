//! The air that an answer is for: kept at a place, and asked back where it cannot be.

pub mod asked;
pub mod kept;
