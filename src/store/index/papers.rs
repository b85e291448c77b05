//! What builds and parts have in common: reading them from the index, and taking in what was edited by hand.

use std::path::{Path, PathBuf};

use rusqlite::params;
use serde::de::DeserializeOwned;

use crate::machine::Moment;
use crate::notebook::Finding;
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::folder::gate::entry::EntryKind;
use crate::store::folder::gate::{Barred, Odd};
use crate::store::history::repository::{FileChange, Message};
use crate::store::index::documents::Paper;
use crate::store::records::BrokenOuting;
use crate::store::shortened::{is_beginning, shortened};

/// A document of the index.
pub(in crate::store) struct PaperRow<T> {
    /// Engine of a build, name of a part.
    pub owner: String,
    /// Its file in the garage.
    pub file: String,
    /// The document.
    pub document: T,
}

impl Book<'_> {
    /// Builds or parts that can be read, by date and file.
    pub(in crate::store) fn papers<T: DeserializeOwned>(
        &self,
        paper: Paper,
        owner: Option<&str>,
    ) -> Result<Vec<PaperRow<T>>, StoreError> {
        let mut statement = self.index().connection().prepare_cached(
            "SELECT owner, file, document FROM documents WHERE kind = ?1 AND (?2 IS NULL OR owner = ?2)
             AND document IS NOT NULL AND findings IS NULL ORDER BY unix, file",
        )?;
        let rows = statement
            .query_map(params![paper.word(), owner], |row| {
                Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?, row.get::<_, String>(2)?))
            })?
            .collect::<Result<Vec<_>, _>>()?;
        let read = rows.into_iter().filter_map(|(owner, file, text)| {
            Some(PaperRow { owner, file, document: serde_json::from_str(&text).ok()? })
        });
        Ok(read.collect())
    }

    /// Builds or parts that cannot be read.
    pub(in crate::store) fn broken_papers(
        &self,
        paper: Paper,
        owner: Option<&str>,
    ) -> Result<Vec<BrokenOuting>, StoreError> {
        let mut statement = self.index().connection().prepare_cached(
            "SELECT file, findings FROM documents WHERE kind = ?1 AND (?2 IS NULL OR owner = ?2)
             AND findings IS NOT NULL ORDER BY file",
        )?;
        let rows = statement.query_map(params![paper.word(), owner], |row| {
            Ok(BrokenOuting { file: PathBuf::from(row.get::<_, String>(0)?), findings: row.get(1)? })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

impl BrokenOuting {
    /// Fails with what is wrong with the file, from its bytes where it is a plain one.
    pub(in crate::store) fn refuse(
        &self,
        garage: &Garage,
        check: impl Fn(&Path, &[u8]) -> Vec<Finding>,
    ) -> Result<(), StoreError> {
        let bytes = garage.read(&self.file)?.unwrap_or_default();
        match shortened(garage, &self.file, &bytes)? {
            Some(finding) => Err(StoreError::Findings(vec![finding])),
            None => no_findings(check(&self.file, &bytes)),
        }
    }
}

/// Documents of a folder that are no plain files: a folder or a link in a document's place would be overlooked otherwise.
pub fn no_plain_files(garage: &Garage, folder: &Path) -> Result<Vec<Finding>, StoreError> {
    let entries = match garage.entries(folder) {
        Err(StoreError::Barred(barred)) => return Ok(vec![barred.finding()]),
        entries => entries?,
    };
    let odd = entries.into_iter().filter_map(|(name, kind)| {
        let what = match kind {
            EntryKind::Plain => return None,
            EntryKind::Folder => Odd::Folder,
            EntryKind::Odd(what) => what,
        };
        let path = folder.join(&name);
        path.extension().is_some_and(|ending| ending == "toml").then(|| Barred { path, what }.finding())
    });
    Ok(odd.collect())
}

impl Garage {
    /// A file as it was recorded last.
    pub(in crate::store) fn recorded(&self, file: &Path) -> Result<Option<Vec<u8>>, StoreError> {
        let repository = self.repository();
        match repository.head()? {
            Some(head) => repository.file(&repository.tree(head)?, file),
            None => Ok(None),
        }
    }
}

/// Records the builds of an engine, or the parts, that were written or edited by hand. Files with errors stay as they are.
pub(in crate::store) fn take_in(
    garage: &Garage,
    paper: Paper,
    engine: Option<&str>,
    moment: &Moment,
) -> Result<(), StoreError> {
    let (folder, what) = match (paper, engine) {
        (Paper::Build, Some(engine)) => (Garage::builds_folder(engine), format!("builds of {engine}")),
        (Paper::Job, _) => (PathBuf::from(checks::JOBS), "jobs".to_owned()),
        _ => (PathBuf::from("parts"), "parts".to_owned()),
    };
    let sound = |file: &Path, bytes: &[u8]| match paper {
        Paper::Build => checks::build(garage, file, bytes).findings.is_empty(),
        Paper::Part => checks::part(garage, file, bytes).findings.is_empty(),
        Paper::Job => checks::job(garage, file, bytes).findings.is_empty(),
    };
    let changes = edited_by_hand(garage, &folder, sound)?;
    if changes.is_empty() {
        return Ok(());
    }
    let message = Message { why: format!("Take in {what} that were edited by hand"), trailers: Vec::new() };
    garage.repository().record_by_the_way(&changes, &message, moment.now, moment.now).map(|_| ())
}

/// The files of a folder that are new on disk or other than recorded; a TOML file counts only when it is sound, and none that is cut short. One that is
/// missing is not taken for one that was removed: what a slip deleted is still recorded, and can be brought back.
pub(in crate::store) fn edited_by_hand(
    garage: &Garage,
    folder: &Path,
    sound: impl Fn(&Path, &[u8]) -> bool,
) -> Result<Vec<FileChange>, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else {
        return Ok(Vec::new());
    };
    let tree = repository.tree(head)?;
    let recorded: std::collections::BTreeMap<_, _> = repository.names_in(&tree, folder).into_iter().collect();
    let mut changes: Vec<FileChange> = Vec::new();
    for name in garage.file_names(folder)? {
        let file = folder.join(&name);
        let known = recorded.get(&name);
        let bytes = match garage.read(&file) {
            Ok(Some(bytes)) => bytes,
            Ok(None) | Err(StoreError::Barred(_)) => continue,
            Err(other) => return Err(other),
        };
        let same = known.is_some_and(|id| {
            git2::Oid::hash_object(git2::ObjectType::Blob, &bytes).is_ok_and(|hash| hash == *id)
        });
        let is_document = name.ends_with(".toml");
        if let Some(id) = known.filter(|_| !same)
            && is_beginning(repository, &file, (*id, &bytes))?
        {
            continue;
        }
        if !same && (is_document || name.ends_with(".csv")) && (!is_document || sound(&file, &bytes)) {
            changes.push((file, Some(bytes)));
        }
    }
    // Only what is not there at all was removed: a link in its place is none of ours.
    Ok(changes)
}
