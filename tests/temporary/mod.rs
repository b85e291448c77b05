//! Temporary folders of the tests, in memory where the system has such a place, and what many tests of one test program share.
#![allow(dead_code, unreachable_pub)] // each test program uses its own part of this
#![allow(clippy::unwrap_used, reason = "shared by test programs, which may fail loudly")]

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use tempfile::TempDir;

/// Where temporary folders are made: in memory where the system has such a place, for most of the time would go into waiting for the
/// disk. Not under the checkout: a garage is not made inside another repository.
fn place() -> PathBuf {
    let memory = Path::new("/dev/shm");
    if tempfile::tempdir_in(memory).is_ok() { memory.to_owned() } else { std::env::temp_dir() }
}

/// A temporary folder.
pub fn temporary_folder() -> TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap()
}

/// A folder for what many tests share, as long as this test program runs. Nothing is cleared away at the end of a test program, so
/// that the next one does it: whose lock nobody holds is over.
pub fn shared_folder() -> &'static Path {
    const NAME: &str = "reedbook-shared-";
    static SHARED: OnceLock<(PathBuf, File)> = OnceLock::new();
    let (folder, _) = SHARED.get_or_init(|| {
        let place = place();
        for entry in fs::read_dir(&place).unwrap().flatten() {
            let is_over = entry.file_name().to_string_lossy().starts_with(NAME)
                && File::open(entry.path().join("lock")).is_ok_and(|lock| lock.try_lock().is_ok());
            if is_over {
                // Another may be clearing it away, too.
                let _ = fs::remove_dir_all(entry.path());
            }
        }
        let folder = tempfile::Builder::new().prefix(NAME).tempdir_in(place).unwrap().keep();
        // It has its name only once it is locked.
        let lock = File::create(folder.join("lock-to-be")).unwrap();
        lock.lock().unwrap();
        fs::rename(folder.join("lock-to-be"), folder.join("lock")).unwrap();
        (folder, lock)
    });
    folder
}

/// Copies a folder with everything in it, except that files are linked of which `linked` says so. Files keep their dates: fresh ones
/// would be read again by every command for a while.
pub fn copy(from: &Path, to: &Path, linked: &dyn Fn(&Path) -> bool) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let (path, target) = (entry.path(), to.join(entry.file_name()));
        if entry.file_type().unwrap().is_dir() {
            copy(&path, &target, linked);
        } else if !linked(&path) || fs::hard_link(&path, &target).is_err() {
            fs::copy(&path, &target).unwrap();
            let about = entry.metadata().unwrap();
            // Nobody asks the age of git's objects, which nobody may write to.
            if !about.permissions().readonly() {
                let file = File::options().append(true).open(&target).unwrap();
                file.set_modified(about.modified().unwrap()).unwrap();
            }
        }
    }
}
