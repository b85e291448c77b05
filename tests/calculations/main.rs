//! What is computed, beside references, laws and refusals: air, engine, carburetor, fits, parts and jetting.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

mod air_laws;
mod air_reference;
#[allow(dead_code, reason = "others need the rest")]
mod bikes;
mod building;
mod carburetor_laws;
mod carburetor_needle;
mod carburetor_reference;
mod carburetor_refusals;
mod carburetor_whole;
mod engine_blend;
mod engine_crank;
mod engine_fits;
mod engine_fits_seats;
mod engine_fits_warm;
mod engine_head;
mod engine_intake;
mod engine_life;
mod engine_pipe;
mod engine_ports;
mod engine_spark;
mod engine_wear;
mod gauging;
#[allow(dead_code, reason = "others need the rest")]
#[path = "../reference/groups.rs"]
mod groups;
#[path = "../parts/mod.rs"]
mod parts;
mod parts_due;
mod parts_life;
mod parts_wear;
mod rejet;
mod trim_map;
