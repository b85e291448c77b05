//! What the book is asked: what is on the bike, what was, and what differs.

pub(super) mod compare;
pub(super) mod find;
pub(super) mod history;
pub(super) mod now;
pub(super) mod show;
