//! The whole carburetor: fuel at every slide lift, the search against an enumeration of its own, and what one setup delivers over
//! another. The bikes are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

#[path = "rejet/bikes.rs"]
#[allow(dead_code, reason = "shared with other checks")]
mod bikes;
#[path = "carburetor_whole/by_hand.rs"]
mod by_hand;
#[path = "carburetor_whole/delivered.rs"]
mod delivered;
#[path = "carburetor_whole/search.rs"]
mod search;
