//! The program about itself: its guide, its manual pages, its completions and the cautions.

pub(super) mod cautions;
pub(super) mod completions;
pub(super) mod guide;
pub(super) mod manual;
