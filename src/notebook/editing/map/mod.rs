//! Cells and breakpoints of a map that is written to.

pub(in crate::notebook) mod array;
pub(in crate::notebook) mod array_remove;
pub(in crate::notebook) mod cell;
pub(in crate::notebook) mod csv;
pub(in crate::notebook) mod replace;
pub(in crate::notebook) mod sheet;
