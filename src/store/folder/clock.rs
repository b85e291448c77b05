//! The clock that recordings are dated by.

use crate::notebook::When;
use crate::store::error::StoreError;

/// A clock that was never set would date what is recorded wrongly for good.
pub(in crate::store) fn check_clock(now: When) -> Result<(), StoreError> {
    /// This program is younger than 2010, and its dates end before 2200.
    const SET_S: std::ops::Range<i64> = 1_262_304_000..7_258_118_400;
    if SET_S.contains(&now.unix()) {
        return Ok(());
    }
    Err(StoreError::request(
        None,
        format!("The clock of this machine says {}, so it is not set.", now.short()),
        "Set the clock and try again; nothing was recorded.",
    ))
}
