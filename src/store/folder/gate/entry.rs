//! What stands in a folder: its kind, its size and its times.

use crate::store::folder::gate::barred::Odd;

/// What lies under a name, the name itself not followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntryKind {
    /// A plain file.
    Plain,
    /// A folder.
    Folder,
    /// Anything else.
    Odd(Odd),
}

/// What the system says of a name.
#[derive(Debug, Clone)]
pub(in crate::store) struct About {
    /// What lies there.
    pub(in crate::store) kind: EntryKind,
    /// Size in bytes.
    pub(in crate::store) size: u64,
    /// When it was written, nanoseconds since 1970.
    pub(in crate::store) modified: i64,
    /// What else tells one file from another that took its place.
    pub(in crate::store) identity: String,
    /// Permissions, where the system has them.
    pub(in crate::store) mode: Option<u32>,
    /// How many names the file has.
    pub(in crate::store) names: u64,
}
