//! What a change does that hurts beside less fuel: an earlier spark, a tighter head, a shorter or narrower stinger, less oil.

pub(super) mod harm;
pub(super) mod metal;
pub(super) mod oil;
mod span;
pub(super) mod spark;
mod trade;

pub use metal::Tightened;
pub(in crate::advice) use metal::insert_bore;
pub(super) use metal::{shorter_stinger, tighter_head};
pub(super) use oil::{less_oil, petrol_more};
pub(super) use span::less_span;
pub(super) use spark::SAME_DEG;
pub(in crate::advice) use spark::{FAR_DEG, FAR_M, degrees as spark_degrees};
pub(super) use spark::{degrees_earlier_in_all, degrees_earlier_in_another_box, earlier_spark};
pub use trade::LeastSquish;
pub(super) use trade::Trade;
