//! Outings in the index: read from the files on disk, again only where a file's stamp changed. A file that was written so
//! shortly before it was read that its stamp could hide a second write is read again each time.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, Transaction, params};

use crate::machine;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::{Checked, Code, Outing};
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::entry::About;
use crate::store::folder::gate::{Reader, is_temporary};
use crate::store::index::rows::{densities, insert_fields, insert_words, path_text};
use crate::store::shortened::NewestRecorded;

/// A file whose stamp is younger than this when it is read is not trusted to be unchanged, ns.
const FRESH: i64 = 2_000_000_000;

/// An outing file that is new, changed or gone.
pub(super) enum FileChange {
    /// Read it.
    Read { bike: String, file: PathBuf, stamp: String },
    /// It is gone.
    Gone(String),
}

/// What differs between the index and the files on disk.
pub(super) fn changes(connection: &Connection, garage: &Garage) -> Result<Vec<FileChange>, StoreError> {
    let mut known = Stamps::of(connection, "SELECT file, stamp FROM outings")?;
    let mut found = Vec::new();
    for bike in garage.bikes() {
        let folder = Garage::bike_folder(&bike).join("outings");
        for (file, stamp) in known.differing(garage, &folder)? {
            found.push(FileChange::Read { bike: bike.clone(), file, stamp });
        }
    }
    found.extend(known.gone().map(FileChange::Gone));
    Ok(found)
}

/// The stamps of the files that the index knows.
pub(super) struct Stamps(BTreeMap<String, String>);

impl Stamps {
    /// Those that a query for file and stamp gives.
    pub(super) fn of(connection: &Connection, query: &str) -> Result<Self, StoreError> {
        let mut statement = connection.prepare_cached(query)?;
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(Self(rows.collect::<Result<_, _>>()?))
    }

    /// The documents of a folder that are new or have another stamp, each with the stamp it has now. What is no plain file is
    /// one of them, and so is a folder that cannot be opened: whoever reads it learns what is wrong.
    pub(super) fn differing(
        &mut self,
        garage: &Garage,
        folder: &Path,
    ) -> Result<Vec<(PathBuf, String)>, StoreError> {
        let mut found = Vec::new();
        let mut look = |file: PathBuf, stamp: String| {
            if self.0.remove(&path_text(&file)).as_deref() != Some(&stamp) {
                found.push((file, stamp));
            }
        };
        let open = match garage.gate().folder(folder) {
            Ok(Some(open)) => open,
            Ok(None) => return Ok(found),
            Err(StoreError::Barred(barred)) => {
                look(barred.path.clone(), barred.to_string());
                return Ok(found);
            }
            Err(other) => return Err(other),
        };
        for (name, _) in open.entries()? {
            let Some(name) = name.to_str().filter(|name| name.ends_with(".toml") && !is_temporary(name))
            else {
                continue;
            };
            if let Some(about) = open.about(name)? {
                look(folder.join(name), stamp(&about));
            }
        }
        Ok(found)
    }

    /// The files that were not met: they are gone.
    pub(super) fn gone(self) -> impl Iterator<Item = String> {
        self.0.into_keys()
    }
}

/// Size and times of a file, and the offset of this place, by which a date without one is read; a fresh file gets a stamp
/// that no later look can equal.
fn stamp(about: &About) -> String {
    let now = machine::nanoseconds();
    let fresh = if now - about.modified < FRESH { format!(" read {now}") } else { String::new() };
    format!("{} {}{fresh}", times(about), machine::offset_here())
}

/// Size and times of a file.
pub(super) fn times(about: &About) -> String {
    format!("{} {} {}", about.size, about.modified, about.identity)
}

/// Writes the changes.
pub(super) fn apply(
    transaction: &Transaction<'_>,
    garage: &Garage,
    changes: &[FileChange],
) -> Result<(), StoreError> {
    let (mut reader, mut recorded) = (Reader::of(garage.gate()), NewestRecorded::of(garage));
    for (number, change) in changes.iter().enumerate() {
        garage.tell("reading the outings", number + 1, changes.len());
        match change {
            FileChange::Gone(file) => forget(transaction, file)?,
            FileChange::Read { bike, file, stamp } => {
                let checked =
                    checked((&mut reader, &mut recorded), file, |bytes| checks::outing(garage, file, bytes))?;
                if let Some(checked) = &checked
                    && is_known(transaction, ("outings", &path_text(file), stamp), checked)?
                {
                    continue;
                }
                forget(transaction, &path_text(file))?;
                if let Some(checked) = checked {
                    insert(transaction, bike, file, &lasting(stamp, is_short(&checked)), &checked)?;
                }
            }
        }
    }
    Ok(())
}

/// Whether a document without a finding stands in the index as it is read now, which then has its new stamp: after a clone all files are
/// so fresh that they are read twice, and to put words in anew, those that are there are looked through from end to end.
pub(super) fn is_known<T: serde::Serialize>(
    transaction: &Transaction<'_>,
    (table, file, stamp): (&str, &str, &str),
    checked: &Checked<T>,
) -> Result<bool, StoreError> {
    let Some(document) = checked.document.as_ref().filter(|_| checked.findings.is_empty()) else {
        return Ok(false);
    };
    let document = serde_json::to_string(document).ok();
    let sql = format!("UPDATE {table} SET stamp = ?1 WHERE file = ?2 AND document = ?3 AND findings IS NULL");
    let mut update = transaction.prepare_cached(&sql)?;
    Ok(update.execute(params![stamp, file, document])? > 0)
}

fn forget(transaction: &Transaction<'_>, file: &str) -> Result<(), StoreError> {
    transaction.execute("DELETE FROM outing_fields WHERE file = ?1", [file])?;
    let known = transaction.execute("DELETE FROM outings WHERE file = ?1", [file])?;
    // The words are looked through from end to end for it: not for one that is new.
    if known > 0 {
        transaction.execute("DELETE FROM words WHERE place = ?1", [format!("outing {file}")])?;
    }
    Ok(())
}

/// The stamp under which a document is kept: one that is less than what was recorded is read again each time, for what was recorded may
/// change without it.
pub(super) fn lasting(stamp: &str, is_short: bool) -> String {
    if is_short { format!("{stamp} read {}", machine::nanoseconds()) } else { stamp.to_owned() }
}

/// Whether a document is less than what was recorded.
pub(super) fn is_short<T>(checked: &Checked<T>) -> bool {
    checked.findings.iter().any(|finding| finding.code == Code::CutShort)
}

/// A document with what is wrong with it; one that cannot be opened, or that is cut short, has only that. None where it is gone meanwhile.
pub(super) fn checked<T>(
    (reader, recorded): (&mut Reader<'_>, &mut NewestRecorded<'_>),
    file: &Path,
    check: impl Fn(&[u8]) -> Checked<T>,
) -> Result<Option<Checked<T>>, StoreError> {
    match reader.read(file) {
        Ok(Some(bytes)) => Ok(Some(match recorded.shortened(file, &bytes)? {
            Some(finding) => Checked::of_findings(vec![finding]),
            None => check(&bytes),
        })),
        Ok(None) => Ok(None),
        Err(StoreError::Barred(barred)) => Ok(Some(Checked::of_findings(vec![barred.finding()]))),
        Err(other) => Err(other),
    }
}

fn insert(
    transaction: &Transaction<'_>,
    bike: &str,
    file: &Path,
    stamp: &str,
    checked: &Checked<Outing>,
) -> Result<(), StoreError> {
    let outing = checked.document.as_ref();
    let document = outing.and_then(|outing| serde_json::to_string(outing).ok());
    let findings: Vec<_> = checked.findings.iter().map(ToString::to_string).collect();
    let (dry, temperature) = densities(outing.and_then(|outing| outing.air.as_ref()));
    let name = path_text(file);
    transaction.execute(
        "INSERT INTO outings (file, bike, stamp, document, findings, unix, place, dry_density, temperature_c)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        params![
            name,
            bike,
            stamp,
            document,
            (!findings.is_empty()).then(|| findings.join("\n")),
            outing.map(|outing| outing.date.unix()),
            outing.and_then(|outing| outing.place.clone()),
            dry,
            temperature
        ],
    )?;
    insert_fields(transaction, "outing_fields", "file", &name, &checked.fields)?;
    let words: Vec<_> = ["place", "session", "fuel_batch", "plug", "piston", "lap", "feel", "notes"]
        .iter()
        .filter_map(|field| checked.fields.text(field))
        .chain(checked.fields.iter().filter_map(|(field, _)| {
            let (_, reading) = own_of(field)?;
            checked.fields.text(field).filter(|_| ["plug", "piston"].contains(&reading))
        }))
        .collect();
    insert_words(transaction, &format!("outing {name}"), &words.join("\n"))
}
