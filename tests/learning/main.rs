//! What the record teaches: the model beside references and simulated bikes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly
#![allow(clippy::disallowed_methods, clippy::duplicate_mod)] // how much is ridden is asked of the environment; a bench shares the simulation

mod advice;
#[allow(dead_code, reason = "others need the rest")]
#[path = "../calculations/bikes.rs"]
mod bikes;
mod calibration;
mod cylinders;
mod demo;
#[path = "../simulation/families.rs"]
mod families;
mod families_table;
#[allow(dead_code, reason = "others need the rest")]
#[path = "../reference/groups.rs"]
mod groups;
mod posterior;
#[allow(dead_code, reason = "others need the rest")]
#[path = "../replayed/mod.rs"]
mod replayed;
#[path = "../simulation/riding.rs"]
mod riding;
mod seasons;
#[path = "../temporary/mod.rs"]
mod temporary;
