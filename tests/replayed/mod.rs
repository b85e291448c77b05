//! The demo's two seasons, replayed once for a whole test program: to be read from, or copied to be written in.
#![allow(unreachable_pub, clippy::unwrap_used, reason = "shared by test programs, which may fail loudly")]

use std::path::PathBuf;
use std::sync::OnceLock;

use reedbook::machine::Moment;
use reedbook::notebook::When;
use reedbook::store::{Garage, Replayed, demo_files, replay};
use tempfile::TempDir;

/// A temporary folder, in memory where the system has such a place: most of the time would go into waiting for the disk.
pub fn temporary_folder() -> TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap()
}

/// The folder of the replayed garage, and what the replay did.
pub fn demo() -> (PathBuf, &'static Replayed) {
    static DEMO: OnceLock<(TempDir, Replayed)> = OnceLock::new();
    let (folder, done) = DEMO.get_or_init(|| {
        let folder = temporary_folder();
        let moment = Moment { now: When::default(), seed: Some("demo".into()) };
        let (_, done) = replay(&folder.path().join("garage"), &demo_files(), &moment, |_, _| {}).unwrap();
        (folder, done)
    });
    (folder.path().join("garage"), done)
}

/// The replayed garage, to be read from only.
pub fn demo_garage() -> Garage {
    Garage::open(&demo().0).unwrap()
}
