//! Files written so that a loss of power leaves the old or the new one, never half: temporary file, sync, rename, folder sync.

use std::fs::{self, File};
use std::io::Write;
use std::path::Path;

use crate::store::error::{StoreError, disk};

/// Beginning of the names of our temporary files.
pub(super) const TEMPORARY: &str = ".reedbook-";

/// Reads a file; `None` when it is not there.
pub(in crate::store) fn read(path: &Path) -> Result<Option<Vec<u8>>, StoreError> {
    match fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error)
            if matches!(error.kind(), std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory) =>
        {
            Ok(None)
        }
        Err(error) => Err(disk("Cannot read", path)(error)),
    }
}

/// Writes a file whole, with its folders.
pub(in crate::store) fn write(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    let folder = path.parent().unwrap_or(Path::new("."));
    make_folder(folder).map_err(disk("Cannot make the folder of", path))?;
    let place = || -> std::io::Result<()> {
        let mut temporary = temporary_file(folder)?;
        temporary.write_all(bytes)?;
        keep_permissions(path, temporary.as_file())?;
        temporary.as_file().sync_all()?;
        temporary.persist(path).map_err(|error| error.error)?;
        sync_folder(folder)
    };
    place().map_err(|error| disk("Cannot write", path)(without_temporary_name(error)))
}

/// The system's own error, without the name of our temporary file around it.
fn without_temporary_name(error: std::io::Error) -> std::io::Error {
    let inner = error.get_ref().and_then(|wrapped| wrapped.source());
    let code =
        inner.and_then(|inner| inner.downcast_ref::<std::io::Error>()).and_then(std::io::Error::raw_os_error);
    code.map_or(error, std::io::Error::from_raw_os_error)
}

/// Removes a file if it is there.
pub(in crate::store) fn remove(path: &Path) -> Result<(), StoreError> {
    match fs::remove_file(path) {
        Ok(()) => sync_folder(path.parent().unwrap_or(Path::new("."))).map_err(disk("Cannot remove", path)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(disk("Cannot remove", path)(error)),
    }
}

/// Removes temporary files that a killed process left in a folder.
pub(super) fn clear_temporary(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        if entry.file_name().to_string_lossy().starts_with(TEMPORARY) {
            // Only tidiness: a file that stays is overlooked by every reader.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Makes a folder and those above it, each on disk before anything is put into it.
fn make_folder(folder: &Path) -> std::io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let above = folder.parent().filter(|above| !above.as_os_str().is_empty()).unwrap_or(Path::new("."));
    make_folder(above)?;
    match fs::create_dir(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::AlreadyExists => Err(error),
        _ => sync_folder(above),
    }
}

/// A temporary file with the permissions an editor would give it, not private ones.
fn temporary_file(folder: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

/// A file that is replaced keeps its permissions.
#[cfg(unix)]
fn keep_permissions(path: &Path, file: &File) -> std::io::Result<()> {
    match fs::metadata(path) {
        Ok(known) => file.set_permissions(known.permissions()),
        Err(_) => Ok(()),
    }
}

#[cfg(not(unix))]
fn keep_permissions(_: &Path, _: &File) -> std::io::Result<()> {
    Ok(())
}

#[cfg(unix)]
pub(in crate::store) fn sync_folder(folder: &Path) -> std::io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
pub(super) fn sync_folder(_: &Path) -> std::io::Result<()> {
    Ok(())
}
