//! Rows of the index: how far the history was read, values and words.

use git2::Oid;

use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::notebook::{AirEntry, FieldSet, Value};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;

use std::path::Path;

/// How far the history was read: to which commit, and from which on where the clone has only the end of it.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct HistoryRead {
    pub(super) head: Oid,
    pub(super) from: String,
}

impl HistoryRead {
    pub(super) fn of(garage: &Garage) -> Result<Option<Self>, StoreError> {
        let repository = garage.repository();
        let from = repository.first_commits()?;
        Ok(repository.head()?.map(|head| Self { head, from }))
    }
}

pub(super) fn known_reach(connection: &Connection) -> Result<Option<HistoryRead>, StoreError> {
    let text: Option<String> =
        connection.query_row("SELECT head FROM known", [], |row| row.get(0)).optional()?;
    Ok(text.and_then(|text| {
        let (head, from) = text.split_once(' ').unwrap_or((&text, ""));
        Some(HistoryRead { head: Oid::from_str(head).ok()?, from: from.to_owned() })
    }))
}

/// Writes the values of a setup or an outing.
pub(super) fn insert_fields(
    transaction: &Transaction<'_>,
    table: &str,
    key_column: &str,
    key: &dyn rusqlite::ToSql,
    fields: &FieldSet,
) -> Result<(), StoreError> {
    let sql = format!(
        "INSERT OR REPLACE INTO {table} ({key_column}, field, dimension, si, text) VALUES (?1, ?2, ?3, ?4, ?5)"
    );
    let mut statement = transaction.prepare_cached(&sql)?;
    for (field, entry) in fields.iter() {
        let (dimension, si) = match &entry.value {
            Value::Quantity(quantity) => (Some(quantity.dimension().with_article()), Some(quantity.si())),
            _ => (None, None),
        };
        statement.execute(params![key, field, dimension, si, entry.value.typed()])?;
    }
    Ok(())
}

/// Writes the words that can be searched.
pub(super) fn insert_words(transaction: &Transaction<'_>, place: &str, body: &str) -> Result<(), StoreError> {
    transaction
        .prepare_cached("INSERT INTO words (place, body) VALUES (?1, ?2)")?
        .execute(params![place, body])?;
    Ok(())
}

/// Dry density and temperature of an air entry, where it is whole.
pub(super) fn densities(air: Option<&AirEntry>) -> (Option<f64>, Option<f64>) {
    let air = air.and_then(|entry| entry.air().ok());
    (air.map(|a| a.dry_density()), air.map(|a| a.temperature_c()))
}

/// Path as it stands in the index: with forward slashes everywhere.
pub(in crate::store) fn path_text(path: &Path) -> String {
    path.to_string_lossy().replace('\\', "/")
}
