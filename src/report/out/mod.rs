//! Where words go: the screen, the questions at it, and trouble.

pub(super) mod asking;
pub(super) mod cells;
pub(super) mod each;
pub(super) mod figure;
pub(super) mod frame;
pub(super) mod glue;
pub(super) mod keys;
pub(super) mod progress;
pub(super) mod screen;
pub(super) mod shown;
pub(super) mod trouble;
mod trouble_words;
mod unseen;
pub(super) mod ways;
pub(super) mod width;
