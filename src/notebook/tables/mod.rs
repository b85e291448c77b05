//! The tuner's own tables in configs/.

pub(super) mod assumptions;
pub(super) mod boxes;
pub(super) mod checklists;
pub(super) mod limits;
