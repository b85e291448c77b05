//! Setups in the index: what the history made since it was read last, each written down as it is found.

use std::collections::HashSet;

use git2::Oid;
use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::notebook::AirEntry;
use crate::notebook::fields::cylinder::{CARBURETORS, NAMES, groups_of};
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;
use crate::store::history::scan::{self, FoundSetup, KnownSetup, Ledger};
use crate::store::index::rows::{HistoryRead, densities, insert_fields, insert_words, known_reach};
use crate::store::records::SetupRecord;

/// Adds the setups of new commits. Those of a merge may belong between setups that are known: what both sides made since they were one
/// is read, nothing from before. Starts anew when the history was rewritten, or reaches further back than it did.
pub(super) fn add_setups(
    transaction: &Transaction<'_>,
    garage: &Garage,
    reach: Option<&HistoryRead>,
) -> Result<(), StoreError> {
    let known = known_reach(transaction)?;
    if known.as_ref() == reach && known.is_some() {
        return Ok(());
    }
    let grown = match (&known, reach) {
        (Some(known), Some(now)) if known.from == now.from => {
            garage.repository().grown(known.head, now.head)?
        }
        _ => None,
    };
    let (begin, again) = match grown {
        Some((begin, commits)) => (Some(begin), commits.iter().map(ToString::to_string).collect()),
        None => (None, HashSet::new()),
    };
    if known.is_some() && begin.is_none() {
        forget_setups(transaction, 0)?;
        transaction.execute("DELETE FROM known", [])?;
    }
    let Some(HistoryRead { head, from }) = reach else {
        return Ok(());
    };
    take_back(transaction, &again)?;
    scan::setups(garage, *head, begin, &Kept(transaction))?;
    transaction.execute("DELETE FROM known", [])?;
    transaction.execute("INSERT INTO known (head) VALUES (?1)", [format!("{head} {from}").trim_end()])?;
    Ok(())
}

/// The names of the cylinders that a recorded setup has; none of an engine with one.
pub(in crate::store) fn cylinders_of(connection: &Connection, setup: &SetupRecord) -> Vec<String> {
    let names = text_of(connection, setup, NAMES);
    names.split(", ").filter(|name| !name.is_empty()).map(str::to_owned).collect()
}

/// The other cylinders that the carburetor of one feeds in a recorded setup.
pub(in crate::store) fn sharing_with(
    connection: &Connection,
    setup: &SetupRecord,
    name: &str,
) -> Vec<String> {
    let groups = groups_of(&text_of(connection, setup, CARBURETORS));
    let group = groups.into_iter().find(|group| group.iter().any(|one| one == name));
    group.into_iter().flatten().filter(|other| other != name).collect()
}

/// A field of a recorded setup as text; empty where it has none.
fn text_of(connection: &Connection, setup: &SetupRecord, field: &str) -> String {
    let asked = "SELECT text FROM setup_fields JOIN setups USING (position) WHERE id = ?1 AND bike = ?2 AND field = ?3";
    let text = connection.prepare_cached(asked).and_then(|mut asked| {
        asked.query_row([setup.id.as_str(), &setup.bike, field], |row| row.get::<_, String>(0))
    });
    text.unwrap_or_default()
}

/// Takes out the setups from a position on.
fn forget_setups(transaction: &Transaction<'_>, from: i64) -> Result<(), StoreError> {
    transaction.execute(
        "DELETE FROM words WHERE place LIKE 'setup %' AND CAST(substr(place, 7) AS INTEGER) >= ?1",
        [from],
    )?;
    transaction.execute("DELETE FROM setup_fields WHERE position >= ?1", [from])?;
    transaction.execute("DELETE FROM setups WHERE position >= ?1", [from])?;
    Ok(())
}

/// Takes out what the commits that are read `again` had made: it stands behind all the rest.
fn take_back(transaction: &Transaction<'_>, again: &HashSet<String>) -> Result<(), StoreError> {
    let mut statement =
        transaction.prepare("SELECT position, commit_id FROM setups ORDER BY position DESC")?;
    let mut rows = statement.query([])?;
    let mut from = None;
    while let Some(row) = rows.next()? {
        if !again.contains(&row.get::<_, String>(1)?) {
            break;
        }
        from = Some(row.get(0)?);
    }
    drop(rows);
    from.map_or(Ok(()), |from| forget_setups(transaction, from))
}

/// The setups of the index as they stand in a transaction.
struct Kept<'t>(&'t Transaction<'t>);

impl Ledger for Kept<'_> {
    fn newest(&self, bike: &str) -> Result<Option<KnownSetup>, StoreError> {
        let question =
            "SELECT id, engine, commit_id FROM setups WHERE bike = ?1 ORDER BY position DESC LIMIT 1";
        let mut statement = self.0.prepare_cached(question)?;
        let row = statement
            .query_row([bike], |row| Ok((row.get(0)?, row.get(1)?, row.get::<_, String>(2)?)))
            .optional()?;
        let Some((id, engine, commit)) = row else { return Ok(None) };
        let commit = Oid::from_str(&commit).map_err(git("read a commit's id"))?;
        Ok(Some(KnownSetup { id, engine, commit }))
    }

    fn holder(&self, engine: &str) -> Result<Option<String>, StoreError> {
        let question = "SELECT bike FROM setups WHERE engine = ?1 ORDER BY position DESC LIMIT 1";
        Ok(self.0.prepare_cached(question)?.query_row([engine], |row| row.get(0)).optional()?)
    }

    fn has(&self, bike: &str, id: &str) -> Result<bool, StoreError> {
        let mut statement = self.0.prepare_cached("SELECT 1 FROM setups WHERE id = ?1 AND bike = ?2")?;
        let row: Option<i64> = statement.query_row([id, bike], |row| row.get(0)).optional()?;
        Ok(row.is_some())
    }

    fn take(&self, setup: &FoundSetup) -> Result<(), StoreError> {
        insert_setup(self.0, setup)
    }
}

fn insert_setup(transaction: &Transaction<'_>, setup: &FoundSetup) -> Result<(), StoreError> {
    let (dry, temperature) =
        densities(setup.air.as_deref().and_then(|line| AirEntry::parse(line).ok()).as_ref());
    transaction
        .prepare_cached(
            "INSERT INTO setups (bike, id, commit_id, unix, offset_minutes, why, air, dry_density, temperature_c, engine, readable, despite, combined, author, made_from, combined_of)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
        )?
        .execute(params![
            setup.bike,
            setup.id,
            setup.commit.to_string(),
            setup.date.unix(),
            setup.date.offset_minutes(),
            setup.why,
            setup.air,
            dry,
            temperature,
            setup.engine,
            setup.readable,
            setup.despite,
            setup.combined,
            setup.author,
            setup.made_from,
            setup.combined_of
        ])?;
    let position = transaction.last_insert_rowid();
    insert_fields(transaction, "setup_fields", "position", &position, &setup.fields.in_use())?;
    let mut words = setup.why.clone();
    for field in ["notes", "engine_notes"] {
        if let Some(text) = setup.fields.text(field) {
            words.push('\n');
            words.push_str(text);
        }
    }
    insert_words(transaction, &format!("setup {position}"), &words)
}
