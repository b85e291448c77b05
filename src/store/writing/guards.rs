//! What a recording is held to before it is made: dates that can be, air that is whole, and whoever else has a say in it.

use crate::machine::Moment;
use crate::notebook::{AirEntry, Combination, When};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;

/// A setup that is about to be recorded, for whoever has a say in it.
pub struct Proposed<'p, 'g> {
    /// The garage's memory.
    pub book: &'p Book<'g>,
    /// The bike.
    pub bike: &'p str,
    /// The setup that was recorded last; none for the bike's first.
    pub before: Option<&'p Combination>,
    /// The one to be recorded.
    pub after: &'p Combination,
    /// The air that goes with it.
    pub air: Option<&'p AirEntry>,
    /// Its date.
    pub date: When,
}

/// Has a say before a setup is recorded: fails where it is not to be. What it gives is recorded as why that was done despite a
/// warning.
pub type Check<'c> = &'c dyn Fn(&Proposed<'_, '_>) -> Result<Option<String>, StoreError>;

/// A garage whose git knows no user still records; it says so once a command.
pub(super) fn identity_remark(garage: &Garage) -> Vec<String> {
    if garage.repository().has_identity() {
        return Vec::new();
    }
    vec!["Git does not know your name, so this is signed \"garage\". Set it with `git config user.name` and `user.email`.".into()]
}

/// What is recorded has happened: a date in the future is a slip. A day's grace covers clocks and time zones.
pub(super) fn check_date(date: When, moment: &Moment) -> Result<(), StoreError> {
    const GRACE_S: i64 = 24 * 3600;
    if date.unix() <= moment.now.unix() + GRACE_S {
        return Ok(());
    }
    Err(StoreError::request(
        Some("date"),
        format!("{} lies in the future.", date.short()),
        "Give the date on which it happened; check the year.",
    ))
}

/// Air that is given must be whole.
pub(super) fn check_air(air: Option<&AirEntry>) -> Result<(), StoreError> {
    match air {
        Some(air) => Ok(air.air().map(|_| ())?),
        None => Ok(()),
    }
}
