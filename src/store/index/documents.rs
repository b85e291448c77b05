//! Builds, parts and jobs in the index, read from the files on disk like outings, again only where a file's stamp changed.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, Transaction, params};
use serde::Serialize;

use crate::notebook::fields::cylinder::own_of;
use crate::notebook::{Build, Checked, DocumentKind, Job, Part};
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::Reader;
use crate::store::index::outings::{Stamps, checked, is_short, lasting};
use crate::store::index::rows::{insert_fields, insert_words, path_text};
use crate::store::shortened::NewestRecorded;

/// What a file of the index is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::store) enum Paper {
    /// An assembly of an engine.
    Build,
    /// A part.
    Part,
    /// What is to be done at a bike.
    Job,
}

impl Paper {
    /// Its word in the index.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Build => "build",
            Self::Part => "part",
            Self::Job => "job",
        }
    }
}

/// A file that is new, changed or gone.
pub(super) enum FileChange {
    /// Read it.
    Read { paper: Paper, owner: String, file: PathBuf, stamp: String },
    /// It is gone.
    Gone(String),
}

/// What differs between the index and the files on disk.
pub(super) fn changes(connection: &Connection, garage: &Garage) -> Result<Vec<FileChange>, StoreError> {
    let mut known = Stamps::of(connection, "SELECT file, stamp FROM documents")?;
    let mut found = Vec::new();
    for engine in garage.engines() {
        for (file, stamp) in known.differing(garage, &Garage::builds_folder(&engine))? {
            found.push(FileChange::Read { paper: Paper::Build, owner: engine.clone(), file, stamp });
        }
    }
    for (folder, paper) in [("parts", Paper::Part), (checks::JOBS, Paper::Job)] {
        for (file, stamp) in known.differing(garage, Path::new(folder))? {
            let owner = file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
            found.push(FileChange::Read { paper, owner, file, stamp });
        }
    }
    found.extend(known.gone().map(FileChange::Gone));
    Ok(found)
}

/// Writes the changes.
pub(super) fn apply(
    transaction: &Transaction<'_>,
    garage: &Garage,
    changes: &[FileChange],
) -> Result<(), StoreError> {
    let (mut reader, mut recorded) = (Reader::of(garage.gate()), NewestRecorded::of(garage));
    for (number, change) in changes.iter().enumerate() {
        garage.tell("reading builds, parts and jobs", number + 1, changes.len());
        match change {
            FileChange::Gone(file) => forget(transaction, file)?,
            FileChange::Read { paper, owner, file, stamp } => {
                let row = match paper {
                    Paper::Build => checked((&mut reader, &mut recorded), file, |bytes| {
                        checks::build(garage, file, bytes)
                    })?
                    .map(|checked| {
                        IndexedDocument::of(checked, |build: &Build| (build.date.unix(), build_words(build)))
                    }),
                    Paper::Part => checked((&mut reader, &mut recorded), file, |bytes| {
                        checks::part(garage, file, bytes)
                    })?
                    .map(|checked| IndexedDocument::of(checked, |part: &Part| (0, part_words(part)))),
                    Paper::Job => {
                        checked((&mut reader, &mut recorded), file, |bytes| checks::job(garage, file, bytes))?
                            .map(|checked| {
                                IndexedDocument::of(checked, |job: &Job| (job.date.unix(), String::new()))
                            })
                    }
                };
                if let Some(row) = &row
                    && row.is_known(transaction, &path_text(file), stamp)?
                {
                    continue;
                }
                forget(transaction, &path_text(file))?;
                let Some(row) = row else { continue };
                row.insert(transaction, *paper, owner, &path_text(file), &row.stamp(stamp))?;
            }
        }
    }
    Ok(())
}

fn forget(transaction: &Transaction<'_>, file: &str) -> Result<(), StoreError> {
    transaction.execute("DELETE FROM document_fields WHERE file = ?1", [file])?;
    let known = transaction.execute("DELETE FROM documents WHERE file = ?1", [file])?;
    // The words are looked through from end to end for it: not for one that is new.
    if known > 0 {
        for paper in [Paper::Build, Paper::Part] {
            transaction
                .execute("DELETE FROM words WHERE place = ?1", [format!("{} {file}", paper.word())])?;
        }
    }
    Ok(())
}

/// A document as the index keeps it.
struct IndexedDocument {
    /// Whether it is less than what was recorded.
    is_short: bool,
    document: Option<String>,
    findings: Vec<String>,
    unix: Option<i64>,
    words: String,
    fields: crate::notebook::FieldSet,
}

impl IndexedDocument {
    fn of<T: Serialize>(checked: Checked<T>, telling: impl Fn(&T) -> (i64, String)) -> Self {
        let (unix, words) = match checked.document.as_ref().map(telling) {
            Some((unix, words)) => (Some(unix), words),
            None => (None, String::new()),
        };
        Self {
            is_short: is_short(&checked),
            document: checked.document.and_then(|document| serde_json::to_string(&document).ok()),
            findings: checked.findings.iter().map(ToString::to_string).collect(),
            unix,
            words,
            fields: checked.fields,
        }
    }

    /// The stamp under which it is kept.
    fn stamp(&self, of_file: &str) -> String {
        lasting(of_file, self.is_short)
    }

    /// Whether it stands in the index as it is read now, without a finding; it has its new stamp then.
    fn is_known(&self, transaction: &Transaction<'_>, file: &str, stamp: &str) -> Result<bool, StoreError> {
        let Some(document) = self.document.as_ref().filter(|_| self.findings.is_empty()) else {
            return Ok(false);
        };
        let mut update = transaction.prepare_cached(
            "UPDATE documents SET stamp = ?1 WHERE file = ?2 AND document = ?3 AND findings IS NULL",
        )?;
        Ok(update.execute(params![stamp, file, document])? > 0)
    }

    fn insert(
        &self,
        transaction: &Transaction<'_>,
        paper: Paper,
        owner: &str,
        file: &str,
        stamp: &str,
    ) -> Result<(), StoreError> {
        transaction.execute(
            "INSERT INTO documents (file, kind, owner, stamp, document, findings, unix) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![
                file,
                paper.word(),
                owner,
                stamp,
                self.document,
                (!self.findings.is_empty()).then(|| self.findings.join("\n")),
                self.unix
            ],
        )?;
        if paper == Paper::Job {
            // What was searched for in it stands in the setup that wants it.
            return Ok(());
        }
        insert_fields(transaction, "document_fields", "file", &file, &self.fields)?;
        insert_words(transaction, &format!("{} {file}", paper.word()), &format!("{owner}\n{}", self.words))
    }
}

fn build_words(build: &Build) -> String {
    let steps = build.steps_in_order().into_iter();
    let of_steps = steps.flat_map(|(_, step)| [&step.note, &step.left_out, &step.by]);
    let words: Vec<_> =
        [&build.why, &build.by, &build.notes].into_iter().chain(of_steps).flatten().cloned().collect();
    words.join("\n")
}

fn part_words(part: &Part) -> String {
    let of_events = part.events.values().flat_map(|event| [&event.how, &event.note, &event.by]);
    let own = [&part.title, &part.number, &part.notes].into_iter();
    let words: Vec<_> = own.chain(of_events).flatten().chain([&part.kind]).cloned().collect();
    words.join("\n")
}

/// The kind of document that a field of a condition is one of, and the field in it.
pub(super) fn paper_of(field: &str) -> Option<(Paper, DocumentKind, &str)> {
    let (start, inner) = field.split_once('.')?;
    let (paper, kind) = match start {
        "build" => (Paper::Build, DocumentKind::Build),
        "part" => (Paper::Part, DocumentKind::Part),
        _ => return None,
    };
    let own = || paper == Paper::Build && own_of(inner).is_some();
    (kind.catalogue().leaf(inner).is_some() || own()).then_some((paper, kind, inner))
}
