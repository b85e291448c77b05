//! A TOML file that is written to.

pub(in crate::notebook) mod heading;
pub(in crate::notebook) mod page;
pub(in crate::notebook) mod reveal;
pub(in crate::notebook) mod text;
