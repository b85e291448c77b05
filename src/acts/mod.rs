//! What is done for an answer from beginning to end: read, decided, recorded, and put together as it is shown. The commands and the
//! pages of `serve` both ask here, so that a page says and records nothing else than the command does.

pub mod air;
pub mod build;
pub mod compare;
pub mod due;
pub mod each;
pub mod history;
pub mod now;
pub mod outing;
pub mod rejet;
pub mod typed;
