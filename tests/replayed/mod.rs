//! The demo's two seasons, replayed once for a whole test program by the program itself: to be read from, or copied to be written in.
#![allow(unused_imports, unreachable_pub)] // each test program uses its own part of this
#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "shared by test programs, which may fail loudly"
)]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use reedbook::store::Garage;
use serde_json::Value;

pub use crate::temporary::temporary_folder;
use crate::temporary::{copy, shared_folder};

/// The folder of the replayed garage, to be read from only, and what the program said of it in JSON. The command makes the same of its
/// events whoever asks for it and whenever.
pub fn demo() -> &'static (PathBuf, Value) {
    static DEMO: OnceLock<(PathBuf, Value)> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = shared_folder();
        let done = Command::new(env!("CARGO_BIN_EXE_reedbook"))
            .args(["demo", "demo", "--no-tour", "--json"])
            .current_dir(folder)
            .env("HOME", folder)
            .env("TZ", "UTC")
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("REEDBOOK_NOW", "2026-10-10T13:40+02:00")
            .output()
            .unwrap();
        let errors = String::from_utf8_lossy(&done.stderr);
        assert!(done.status.success(), "{errors}");
        assert_eq!(errors, "", "how far it is would be told to a terminal only");
        (folder.join("demo"), serde_json::from_slice(&done.stdout).unwrap())
    })
}

/// The replayed garage, to be read from only.
pub fn demo_garage() -> Garage {
    Garage::open(&demo().0).unwrap()
}

/// A demo to write in. Git's objects are linked, as git itself does it in a clone: nobody writes in one that is there, and who wants to
/// damage one copies the garage whole.
pub fn demo_in(folder: &Path) {
    copy(&demo().0, folder, &|file| file.components().any(|part| part.as_os_str() == "objects"));
}
