//! Whether two indexes hold the same: one that grew with the garage, and one built from nothing.

use rusqlite::Connection;
use rusqlite::types::Value;

use crate::store::error::StoreError;

/// What an index holds, a question a table. The stamps of files are left out: they say when a file was looked at.
const CONTENTS: [&str; 8] = [
    "SELECT head FROM known",
    "SELECT * FROM setups ORDER BY position",
    "SELECT * FROM setup_fields ORDER BY position, field",
    "SELECT file, bike, document, findings, unix, place, dry_density, temperature_c FROM outings ORDER BY file",
    "SELECT * FROM outing_fields ORDER BY file, field",
    "SELECT file, kind, owner, document, findings, unix FROM documents ORDER BY file",
    "SELECT * FROM document_fields ORDER BY file, field",
    "SELECT place, body FROM words ORDER BY place, body",
];

/// Whether every table holds the same rows.
pub(super) fn agree(one: &Connection, other: &Connection) -> Result<bool, StoreError> {
    for question in CONTENTS {
        if rows(one, question)? != rows(other, question)? {
            return Ok(false);
        }
    }
    Ok(true)
}

fn rows(connection: &Connection, question: &str) -> Result<Vec<Vec<Value>>, StoreError> {
    let mut statement = connection.prepare(question)?;
    let columns = statement.column_count();
    let rows = statement.query_map([], |row| (0..columns).map(|column| row.get(column)).collect())?;
    Ok(rows.collect::<Result<_, _>>()?)
}
