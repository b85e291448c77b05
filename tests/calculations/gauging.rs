//! Doubt and gauging: values from outside (`reference/gauging.toml`), laws, verdicts, and what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failure of a check is a panic")]

mod doubts;
mod edges;
use crate::groups;
mod maps;
mod references;
mod sizes;

use reedbook::engine::EngineError;

#[test]
fn gauging_meets_its_references() {
    assert_eq!(groups::check_all(include_str!("../reference/gauging.toml"), references::value), 270);
}

/// The same within a part in 1e12, or within what a difference of two lengths near 1 leaves behind.
fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs()) + 1e-15
}

/// The quantity that was refused.
#[track_caller]
fn refused<T: std::fmt::Debug>(found: Result<T, EngineError>) -> &'static str {
    found.unwrap_err().quantities()[0]
}
