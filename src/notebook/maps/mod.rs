//! A map as numbers.

pub mod check;
pub(super) mod csv;
pub mod dyno;
pub mod shape;
pub(super) mod shape_error;
pub(super) mod table;
