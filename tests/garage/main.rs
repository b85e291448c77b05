//! A garage on disk, mostly by the program itself: recording, finding, the index, and what is answered.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

mod answers;
mod browser;
mod budgets;
mod build_asking;
mod build_store;
mod cards;
mod check_files;
#[path = "../common/mod.rs"]
mod common;
mod cut_short;
mod demo;
mod edit_documents;
mod gate;
mod handover;
mod held;
mod index;
mod killed;
mod long_history;
mod map_writers;
mod pages;
mod paging;
#[path = "../parts/mod.rs"]
mod parts;
mod parts_answers;
mod parts_count;
mod plain_git;
mod pocket;
mod quick_entry;
mod readme;
mod recorded;
#[path = "../replayed/mod.rs"]
mod replayed;
mod serve;
mod sharing;
mod shortened;
mod slips;
mod stands_still;
mod taken_out;
#[path = "../temporary/mod.rs"]
mod temporary;
mod writers;
