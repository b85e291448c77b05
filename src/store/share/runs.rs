//! A run that both sides mended. Where it was lean by one of them, how it ran is one judgement: all of it is one question then, and a
//! side that lets a lean run go is not taken without a reason.

use std::path::Path;

use super::merge::Merge;
use super::setups::{FieldRow, Keep};
use super::trees::Differing;
use super::words::word_of;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::{DocumentKind, merge_documents, merge_documents_but, written_values};
use crate::store::book::{OutingRecord, outing_id};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::numbers::Numbers;
use crate::store::index::outings::path_text;
use crate::store::share::setups::SetupQuestion;
use crate::store::writing::outings;

/// What of an outing says how it ran, and on what.
const JUDGED: [&str; 11] = [
    "verdict",
    "notes",
    "plug",
    "piston",
    "feel",
    "exhaust_gas",
    "cylinder",
    "cause",
    "mended",
    "setup",
    "doubted",
];

fn is_judged(field: &str) -> bool {
    JUDGED.contains(&field.split('.').next().unwrap_or_default())
}

impl Merge<'_> {
    /// A run that stands otherwise on both sides: done, or asked about; false where it is like any other document.
    pub(super) fn run(&mut self, file: &Differing) -> Result<bool, StoreError> {
        let (Some(ours), Some(theirs)) = (file.ours, file.theirs) else { return Ok(false) };
        let path = &file.path;
        let base = file.base.map(|id| self.blob(path, id)).transpose()?.unwrap_or_default();
        let (ours, theirs) = (self.blob(path, ours)?, self.blob(path, theirs)?);
        let values = |bytes: &[u8]| written_values(path, bytes);
        let (Ok(was), Ok(own), Ok(other)) = (values(&base), values(&ours), values(&theirs)) else {
            return Ok(false);
        };
        let mut fields: Vec<&String> = own.keys().chain(other.keys()).collect();
        fields.sort_unstable();
        fields.dedup();
        let differing = fields.into_iter().filter(|field| own.get(*field) != other.get(*field));
        let rows: Vec<FieldRow> = differing
            .map(|field| FieldRow {
                field: field.clone(),
                before: was.get(field).cloned(),
                ours: own.get(field).cloned(),
                theirs: other.get(field).cloned(),
                map: None,
            })
            .collect();
        let judged = || rows.iter().filter(|row| is_judged(&row.field));
        let both_judged =
            judged().any(|row| row.ours != row.before) && judged().any(|row| row.theirs != row.before);
        let keeping = |keep: Keep| {
            let (one, kept) = if keep == Keep::Theirs { (&ours, &theirs) } else { (&theirs, &ours) };
            merge_documents_but(DocumentKind::Outing, path, Some(&base), (one, kept), &is_judged)
        };
        let (Ok(kept_ours), Ok(kept_theirs)) = (keeping(Keep::Ours), keeping(Keep::Theirs)) else {
            return Ok(false);
        };
        let Ok(by_field) = merge_documents(DocumentKind::Outing, path, Some(&base), (&ours, &theirs)) else {
            return Ok(false);
        };
        let stands = |bytes: &[u8]| self.as_it_would_stand(path, bytes);
        let (own, other) = (stands(&kept_ours.bytes)?, stands(&kept_theirs.bytes)?);
        let is_lean = |run: &Option<OutingRecord>| run.as_ref().is_some_and(|run| (self.lean)(&run.outing));
        let (own_lean, other_lean) = (is_lean(&own), is_lean(&other));
        let any = own_lean || other_lean || is_lean(&stands(&base)?);
        if by_field.both.is_empty() && !(both_judged && any) {
            return Ok(false);
        }
        let mut question = self.question(file, rows)?;
        question.run_of = path_text(path).split('/').nth(1).map(str::to_owned);
        (question.ours.ran, question.theirs.ran) = (own, other);
        question.ours.lets_go = any && !own_lean;
        question.theirs.lets_go = any && !other_lean;
        match self.answers.get(&question.fingerprint) {
            None => self.plan.questions.push(question),
            Some(keep) => {
                let kept = if *keep == Keep::Theirs { kept_theirs } else { kept_ours };
                self.plan.changes.insert(path.clone(), Some(kept.bytes));
            }
        }
        Ok(true)
    }

    /// A run with the number that its setup has here.
    fn as_it_would_stand(&self, file: &Path, bytes: &[u8]) -> Result<Option<OutingRecord>, StoreError> {
        let text = path_text(file);
        let bike = text.split('/').nth(1).unwrap_or_default().to_owned();
        let Some(outing) = outings::check(self.garage, file, bytes).document else { return Ok(None) };
        let repository = self.garage.repository();
        let numbers = repository
            .file(&repository.tree(self.sides.ours)?, &Garage::bike_folder(&bike).join("numbers"))?;
        let numbers = Numbers::read(&[&String::from_utf8_lossy(&numbers.unwrap_or_default())]);
        let setup = outing.setup.as_deref().and_then(|id| numbers.of(id));
        let id = outing_id(text.rsplit('/').next().unwrap_or_default());
        Ok(Some(OutingRecord { bike, id, file: file.to_owned(), outing, setup, cylinders: Vec::new() }))
    }
}

/// A side of a run that lets go what was lean is kept for a reason that stays in the record.
pub(super) fn require_a_reason(
    question: &SetupQuestion,
    keep: Keep,
    why: Option<&str>,
) -> Result<(), StoreError> {
    let side = if keep == Keep::Theirs { &question.theirs } else { &question.ours };
    if !side.lets_go || why.is_some_and(|why| !why.trim().is_empty()) {
        return Ok(());
    }
    let bike = visible(question.run_of.as_deref().unwrap_or_default());
    let (day, id) = side
        .ran
        .as_ref()
        .map(|run| (format!(" on {}", run.outing.date.short()), run.id.clone()))
        .unwrap_or_default();
    Err(StoreError::request(
        Some("why"),
        format!(
            "On that side the run of {bike}{day} is no lean run any more: what it forbids would be gone."
        ),
        Guidance::from("If it did run lean, keep the other side. If it did not: ")
            + Command::ShareKeepWhy(word_of(keep), visible(&question.subject))
            + ". Once a cause was found and fixed, "
            + Command::MendOuting(bike, id, OutingChange::CauseAndMend)
            + " closes it.",
    ))
}
