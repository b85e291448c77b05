//! What is heard of the outings: the evidence, how alike each is to the bike as it stands, and notes that stand for lean.

pub(super) mod beside;
pub(super) mod evidence;
pub(super) mod mark;
mod phrase_lists;
pub(super) mod weight;
mod word_lists;
pub(super) mod words;
