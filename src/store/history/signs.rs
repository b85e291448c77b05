//! Signs of life of whoever reads a garage, by which the watch sees that nothing is stuck.

use std::sync::atomic::{AtomicU64, Ordering};

pub(in crate::store) static SIGNS: AtomicU64 = AtomicU64::new(0);

/// Something was read or is about to be: whoever shows this is not stuck.
pub(in crate::store) fn sign_of_life() {
    SIGNS.fetch_add(1, Ordering::Relaxed);
}

/// How often something moved so far.
pub(in crate::store) fn signs() -> u64 {
    SIGNS.load(Ordering::Relaxed)
}
