//! What a field is: its place, its value, its names, and what is found wrong with it.

pub mod called;
pub mod catalogue;
pub mod combination;
pub mod cylinder;
pub(super) mod date;
pub(super) mod editor_schema;
pub(super) mod finding;
pub mod meaning;
pub mod names;
pub mod node;
pub(super) mod order;
pub(super) mod path;
pub(super) mod value;
