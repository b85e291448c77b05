//! The whole carburetor: fuel at every slide lift, the search against an enumeration of its own, and what one setup delivers over
//! another. The bikes are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

mod by_hand;
mod delivered;
mod search;
