//! Documents and maps: reading, checking, changing, comparing and restoring them; and the floors of the house.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

mod circles;
mod compare;
mod cylinders;
mod edit;
mod edit_map;
mod edit_refusals;
#[path = "../fuzz/src/inputs.rs"]
mod inputs;
mod layers;
mod map_replace;
mod map_shape;
#[path = "../moth/mod.rs"]
mod moth;
mod others_text;
mod pages;
#[path = "../pages/reading.rs"]
mod reading;
mod restore;
mod restore_laws;
mod restore_metal;
mod schemas;
mod sources;
