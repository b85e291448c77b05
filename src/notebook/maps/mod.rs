//! A map as numbers.

pub mod check;
pub(super) mod csv;
pub mod csv_read;
pub mod dyno;
pub mod rules;
pub mod shape;
pub(super) mod shape_error;
pub(super) mod table;
