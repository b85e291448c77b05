//! The index in `.git/reedbook/index.sqlite`: incremental, versioned, and rebuilt whenever it is missing, old or damaged.
//! In a folder that cannot be written it is built in memory; no answer depends on where it lies.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::{Gate, OWN, bound};
use crate::store::history::signs::sign_of_life;
use crate::store::index::agreement;
use crate::store::index::documents;
use crate::store::index::outings;
use crate::store::index::rows::{HistoryRead, known_reach};
use crate::store::index::setups::add_setups;

/// What the file says of itself; another version is built again.
const VERSION: i32 = 10;
/// Marks the file as ours: "reed" in ASCII.
const APPLICATION: i32 = 0x7265_6564;
/// Steps of SQLite's between two signs of life: some hundredths of a millisecond.
const STEPS: i32 = 1_000;
const TABLES: &str = include_str!("../../../schema/index.sql");

/// The index, brought up to date with the garage.
pub(in crate::store) struct Index {
    connection: Connection,
}

impl Index {
    /// Opens the garage's index and brings it up to date.
    pub(in crate::store) fn open(garage: &Garage) -> Result<Self, StoreError> {
        match Self::on_disk(garage) {
            Ok(index) => Ok(index),
            Err(StoreError::Index(error)) if is_busy(&error) => Self::in_memory(garage),
            Err(StoreError::Index(_) | StoreError::Disk { .. } | StoreError::Barred(_)) => {
                // Damaged or not writable: a fresh file, else memory.
                for ending in ENDINGS {
                    let _ = garage.repository().own().remove(&path_of(ending));
                }
                Self::on_disk(garage).or_else(|_| Self::in_memory(garage))
            }
            Err(other) => Err(other),
        }
    }

    /// Builds an index in memory from nothing.
    pub(in crate::store) fn in_memory(garage: &Garage) -> Result<Self, StoreError> {
        let mut index = Self { connection: watched(Connection::open_in_memory()?)? };
        index.connection.execute_batch(TABLES)?;
        index.bring_up_to_date(garage)?;
        Ok(index)
    }

    fn on_disk(garage: &Garage) -> Result<Self, StoreError> {
        let own = garage.repository().own();
        own.make_folder(Path::new(OWN))?;
        for ending in ENDINGS {
            own.require_plain(&path_of(ending))?;
        }
        // SQLite opens it by its path, which may have no link in it.
        let flags = OpenFlags::default() | OpenFlags::SQLITE_OPEN_NOFOLLOW;
        let path = own.real_path(&path_of(""))?;
        let mut index = Self { connection: watched(Connection::open_with_flags(path, flags)?)? };
        index.connection.busy_timeout(Duration::from_secs(5))?;
        index.connection.execute_batch("PRAGMA synchronous = NORMAL; PRAGMA foreign_keys = ON;")?;
        let seal = Seal::of(own);
        index.prepare()?;
        if !seal.is_whole() && !index.is_whole()? {
            return Err(StoreError::Index(rusqlite::Error::InvalidQuery));
        }
        let changed = index.bring_up_to_date(garage)?;
        if changed || !seal.is_whole() {
            seal.renew();
        }
        Ok(index)
    }

    /// Makes the tables; a file of another version or another program is emptied first.
    fn prepare(&mut self) -> Result<(), StoreError> {
        let version: i32 = self.connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
        let application: i32 =
            self.connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
        if version == VERSION && application == APPLICATION {
            return Ok(());
        }
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let version: i32 = transaction.pragma_query_value(None, "user_version", |row| row.get(0))?;
        let application: i32 = transaction.pragma_query_value(None, "application_id", |row| row.get(0))?;
        if version == VERSION && application == APPLICATION {
            return Ok(());
        }
        if version != 0 || application != 0 {
            return Err(StoreError::Index(rusqlite::Error::InvalidQuery));
        }
        transaction.execute_batch(TABLES)?;
        transaction.pragma_update(None, "user_version", VERSION)?;
        transaction.pragma_update(None, "application_id", APPLICATION)?;
        transaction.commit()?;
        Ok(())
    }

    /// Whether the file has our tables and SQLite finds nothing wrong with them. All is read at one moment: the table of words is summed
    /// up from its parts, and who records between two of them would make it look damaged.
    pub(in crate::store) fn is_whole(&self) -> Result<bool, StoreError> {
        let _moment = self.moment()?;
        let verdict: String = self.connection.pragma_query_value(None, "quick_check", |row| row.get(0))?;
        let wanted = Connection::open_in_memory()?;
        wanted.execute_batch(TABLES)?;
        Ok(verdict == "ok" && tables(&self.connection)? == tables(&wanted)?)
    }

    /// Whether it holds what another does.
    pub(in crate::store) fn holds_the_same_as(&self, other: &Self) -> Result<bool, StoreError> {
        let _moment = self.moment()?;
        agreement::agree(&self.connection, &other.connection)
    }

    /// Reads what is new; whether anything was.
    fn bring_up_to_date(&mut self, garage: &Garage) -> Result<bool, StoreError> {
        let is_known = self.known_reach()? == HistoryRead::of(garage)?;
        if is_known
            && outings::changes(&self.connection, garage)?.is_empty()
            && documents::changes(&self.connection, garage)?.is_empty()
        {
            return Ok(false);
        }
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        // Looked at again with nobody beside it: what was new before may have been read by another, or be old by now.
        let head = HistoryRead::of(garage)?;
        let outings = outings::changes(&transaction, garage)?;
        let documents = documents::changes(&transaction, garage)?;
        {
            let _copied = Copied::begin();
            add_setups(&transaction, garage, head.as_ref())?;
        }
        outings::apply(&transaction, garage, &outings)?;
        documents::apply(&transaction, garage, &documents)?;
        transaction.commit()?;
        Ok(true)
    }

    /// As long as it lives, all questions are answered as of now, whoever records meanwhile.
    fn moment(&self) -> Result<Transaction<'_>, StoreError> {
        let moment = self.connection.unchecked_transaction()?;
        // A transaction begins with its first question.
        moment.query_row("SELECT count(*) FROM known", [], |_| Ok(()))?;
        Ok(moment)
    }

    fn known_reach(&self) -> Result<Option<HistoryRead>, StoreError> {
        known_reach(&self.connection)
    }

    /// The connection, for questions.
    pub(in crate::store) fn connection(&self) -> &Connection {
        &self.connection
    }
}

/// A question to a large index may take long, or looking it through: it shows that it moves.
fn watched(mut connection: Connection) -> Result<Connection, StoreError> {
    connection.progress_handler(
        STEPS,
        Some(|| {
            sign_of_life();
            false
        }),
    )?;
    Ok(connection)
}

/// While an index is filled the hash of each object is not computed again: it is a copy, the bytes keep their own checksum, and `garage
/// check` reads every object with its hash. Two thirds of a first index were that.
struct Copied;

impl Copied {
    fn begin() -> Self {
        git2::opts::strict_hash_verification(false);
        Self
    }
}

impl Drop for Copied {
    fn drop(&mut self) {
        git2::opts::strict_hash_verification(true);
    }
}

/// Size and times of the index file as we left it, in a file beside it: one that somebody else touched since is looked
/// through before it is believed.
struct Seal<'g> {
    own: &'g Gate,
    whole: bool,
}

impl<'g> Seal<'g> {
    fn of(own: &'g Gate) -> Self {
        let known = own.read_at_most(&Self::path(), bound::LINE).ok().flatten();
        let whole = known.is_some() && known == Self::text(own).map(String::into_bytes);
        Self { own, whole }
    }

    fn path() -> PathBuf {
        Path::new(OWN).join("index.seal")
    }

    fn text(own: &Gate) -> Option<String> {
        own.about(&path_of("")).ok().flatten().map(|about| outings::times(&about))
    }

    fn is_whole(&self) -> bool {
        self.whole
    }

    /// Without a seal the index is only looked through each time.
    fn renew(&self) {
        if let Some(text) = Self::text(self.own) {
            let _ = self.own.own_file(&Self::path()).map(|mut file| file.say(text.as_bytes()));
        }
    }
}

/// The files of the index: what SQLite puts beside it is part of it.
const ENDINGS: [&str; 4] = ["", "-journal", "-wal", "-shm"];

fn path_of(ending: &str) -> PathBuf {
    Path::new(OWN).join(format!("index.sqlite{ending}"))
}

/// Names and texts of all tables.
fn tables(connection: &Connection) -> Result<Vec<(String, Option<String>)>, StoreError> {
    let mut statement = connection.prepare("SELECT name, sql FROM sqlite_schema ORDER BY name")?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

fn is_busy(error: &rusqlite::Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(rusqlite::ErrorCode::DatabaseBusy | rusqlite::ErrorCode::DatabaseLocked)
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used)] // a test may fail loudly
mod tests {
    use super::*;
    use crate::store::history::signs::signs;

    #[test]
    fn a_long_question_shows_that_it_moves() {
        let connection = watched(Connection::open_in_memory().unwrap()).unwrap();
        let before = signs();
        let count = "WITH RECURSIVE n (x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n WHERE x < 300000) SELECT count(*) FROM n";
        let counted: i64 = connection.query_row(count, [], |row| row.get(0)).unwrap();
        assert_eq!(counted, 300_000);
        assert!(signs() - before > 1_000, "{} signs", signs() - before);
    }
}
