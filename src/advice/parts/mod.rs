//! Parts by hours: what each has run, when it is due, how long its kind lives, and how fast a dimension wears.

mod count;
mod running;

pub use count::{Count, count};
pub use running::{Run, hours_between, runs};
