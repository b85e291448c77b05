//! Words and tables that several reports share.

pub(super) mod assumed;
pub(super) mod cells;
pub(super) mod known;
pub(super) mod layout;
pub(super) mod sizes;
pub(super) mod subject;
