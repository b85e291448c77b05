//! What a field is: its place, its value, its names, and what is found wrong with it.

pub mod called;
pub mod catalogue;
pub mod cylinder;
pub(super) mod date;
pub(super) mod editor_schema;
pub(super) mod finding;
pub mod meaning;
pub mod names;
pub(super) mod value;
