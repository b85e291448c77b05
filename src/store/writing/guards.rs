//! What a recording is held to before it is made: dates that can be, air that is whole, and whoever else has a say in it.

use crate::machine::Moment;
use crate::notebook::guidance::{Command, GitCommand, Guidance};
use crate::notebook::{AirEntry, Combination, When};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::clock::check_clock;
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
pub(super) fn identity_remark(garage: &Garage) -> Vec<Guidance> {
    if garage.repository().has_identity() {
        return Vec::new();
    }
    vec![
        Guidance::from("Signed \"garage\": git does not know your name. Say it once: ")
            + GitCommand::UserName,
    ]
}

/// Whoever records something of a bike that is retired is told so: it stands in no list of what is in use.
pub fn retired_remark(garage: &Garage, bike: &str) -> Option<Guidance> {
    let since = garage.bike(bike).ok()?.retired?;
    let since = format!(
        "{bike} is retired since {}: it stands in no overview and has no jobs. It comes back with ",
        since.day()
    );
    Some(Guidance::from(since) + Command::BringBikeBack(Some(bike.to_owned())) + ".")
}

/// What is recorded has happened: a date in the future is a slip. A day's grace covers clocks and time zones.
pub(super) fn check_date(date: When, moment: &Moment) -> Result<(), StoreError> {
    const GRACE_S: i64 = 24 * 3600;
    /// Git keeps no date before 1970, and a clock without its battery shows that year.
    const EARLIEST_S: i64 = 365 * 24 * 3600;
    check_clock(moment.now)?;
    if date.unix() < EARLIEST_S {
        return Err(StoreError::request(
            Some("date"),
            format!("{} is before all that can be recorded.", date.short()),
            "Give a date from 1971 on; check the year.",
        ));
    }
    if date.unix() <= moment.now.unix() + GRACE_S {
        return Ok(());
    }
    Err(StoreError::request(
        Some("date"),
        format!("{} lies in the future.", date.short()),
        "Give the date on which it happened; check the year.",
    ))
}

/// A run that is dated hours ahead is a slip; one that is dated by its day alone stands at noon.
pub(super) fn check_date_of_run(date: When, moment: &Moment) -> Result<(), StoreError> {
    const CLOCKS_S: i64 = 2 * 3600;
    check_date(date, moment)?;
    if date.is_noon() || date.unix() <= moment.now.unix() + CLOCKS_S {
        return Ok(());
    }
    Err(StoreError::request(
        Some("date"),
        format!("{} lies ahead: it is {} now.", date.short(), moment.now.short()),
        "Give the time at which it ran, like 9:40; without one the run is of now.",
    ))
}

/// Air that is given must be whole.
pub(super) fn check_air(air: Option<&AirEntry>) -> Result<(), StoreError> {
    match air {
        Some(air) => Ok(air.air().map(|_| ())?),
        None => Ok(()),
    }
}
