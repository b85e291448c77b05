//! Values written without disturbing the file around them.

pub mod assign;
pub(super) mod assignment;
pub(super) mod cylinders;
pub(super) mod entered;
pub(super) mod error;
pub(super) mod field;
pub(super) mod files;
pub(super) mod map;
pub(super) mod toml;
pub(super) mod value;
