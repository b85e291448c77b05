//! The garage as a git repository.

mod branch_gone;
pub(super) mod cut_short;
pub(super) mod doubled;
pub(super) mod lately;
pub(super) mod loggers;
pub(super) mod mended;
pub(super) mod numbers;
pub(super) mod recording;
pub(super) mod repository;
pub(super) mod scan;
pub(super) mod signed;
pub(super) mod signs;
pub(super) mod sizes;
mod staging;
