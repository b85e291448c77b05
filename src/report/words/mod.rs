//! Words and tables that several reports share.

pub(super) mod cells;
pub(super) mod known;
pub(super) mod layout;
