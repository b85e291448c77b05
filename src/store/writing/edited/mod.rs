//! What was edited by hand: in an editor that stood open, or on the disk without a word.

pub(in crate::store) mod by_hand;
pub(in crate::store) mod unrecorded;
