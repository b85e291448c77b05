//! The file that a page becomes, and the bikes that it is of.

use std::path::Path;
use std::{fs, io};

use crate::advice::parts::Counted;
use crate::commands::desk::require_no_pipe;
use crate::report::Trouble;
use crate::report::page::sheet::is_sheet;
use crate::store::Garage;

/// The bikes that are named, or all that are not retired; one at least.
pub(super) fn bikes_meant(
    garage: &Garage,
    counted: &Counted,
    (named, of): (&[String], &str),
) -> Result<Vec<String>, Trouble> {
    let names = if named.is_empty() { counted.in_use(garage) } else { named.to_vec() };
    if names.is_empty() {
        return Err(Trouble::request(
            Some("bikes"),
            format!("There is no bike for the {of}."),
            "`reedbook bike new NAME` makes one.",
        ));
    }
    names.iter().try_for_each(|bike| garage.require_bike(bike))?;
    Ok(names)
}

/// Writes a page; only a sheet of ours is written over.
pub(super) fn write(file: &Path, page: impl AsRef<[u8]>) -> Result<(), Trouble> {
    require_no_pipe(file)?;
    match fs::read(file) {
        Ok(old) if !is_sheet(&old) => {
            return Err(Trouble::request(
                Some("to"),
                format!("{} is there already and is not a sheet: it was left as it is.", file.display()),
                "Name another file: --to FILE.",
            ));
        }
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            return Err(Trouble::file("Cannot write", file, &error));
        }
        _ => {}
    }
    fs::write(file, page).map_err(|error| Trouble::file("Cannot write", file, &error))
}
