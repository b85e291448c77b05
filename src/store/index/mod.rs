//! The index of what the garage holds.

mod agreement;
pub(super) mod condition;
pub(super) mod database;
pub(super) mod documents;
pub(super) mod find;
pub(super) mod find_papers;
pub(super) mod hits;
pub(super) mod outings;
pub(super) mod papers;
pub(super) mod rows;
pub(super) mod setups;
pub(super) mod which;
