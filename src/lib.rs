//! reedbook: a notebook that keeps a race bike's whole combination as one versioned setup in git.
//!
//! The house, top floor first; each floor imports only those below it (`tests/documents/layers.rs` enforces it):
//!
//! ```text
//! main        arguments in, exit code out
//! commands    one short file a command: read, call, show
//! serve       pages of the same answers, from the laptop to the phones around it
//! acts        an answer from beginning to end: what commands and pages have in common
//! report      tables, words and JSON: everything a person or a script sees
//! advice      decisions: what a rollback can put back, what today's air wants
//! store       the garage on disk, its history in git, the index
//! notebook    the documents, their checks, two of them compared
//! engine      fuel through a carburetor or an injector: pure functions
//! air         moist air, standard atmosphere, METAR, uncertainty: pure functions
//! quantity    lengths, pressures, temperatures with their units
//! ```

pub mod acts;
pub mod advice;
pub mod air;
pub mod commands;
pub mod engine;
pub mod machine;
pub mod notebook;
pub mod quantity;
pub mod report;
pub mod serve;
pub mod store;
