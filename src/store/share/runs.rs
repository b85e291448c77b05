//! A run that both sides mended. Where it was lean by one of them, how it ran is one judgement: all of it is one question then, and a
//! side that lets a lean run go is not taken without a reason.

use std::path::Path;

use git2::Oid;
use jiff::tz::Offset;
use toml_edit::Array;

use super::merge::Merge;
use super::setups::{FieldRow, Keep};
use super::trees::Differing;
use super::words::word_of;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::{
    DocumentKind, Doubted, Page, When, merge_documents, merge_documents_but, written_values,
};
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::numbers::Numbers;
use crate::store::index::rows::path_text;
use crate::store::records::{OutingRecord, outing_id};
use crate::store::share::setups::SetupQuestion;

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

    /// Runs of one side that were logged on a setup of before after the other had its own on the bike, by its ticks or its runs: whoever
    /// logged them knew nothing of it. They are on what was on the bike then, as if nothing had been said.
    pub(super) fn runs_behind(&mut self, differing: &[Differing]) -> Result<(), StoreError> {
        let of_side =
            [(|file| (file.ours, file.theirs)) as fn(&Differing) -> _, |file| (file.theirs, file.ours)];
        for (of_side, tip) in of_side.into_iter().zip([self.sides.ours, self.sides.theirs]) {
            let new = |file: &&Differing| file.base.is_none() && of_side(file).1.is_none();
            let other = |file: &&Differing| file.base.is_none() && of_side(file).0.is_none();
            let mut on_it = Vec::new();
            for file in differing.iter().filter(other) {
                let Some(blob) = of_side(file).1 else { continue };
                on_it.extend(had_on_it(&file.path, &self.blob(&file.path, blob)?));
            }
            for file in differing.iter().filter(new) {
                let Some(blob) = of_side(file).0 else { continue };
                let bytes = self.blob(&file.path, blob)?;
                let Some(run) = had_on_it(&file.path, &bytes).filter(|run| run.is_run) else { continue };
                let numbers = self.numbers_at(tip, &run.bike)?;
                // Where this side changed the bike as well it ran on that, and the setups are a question.
                if self.numbers_at(self.sides.base, &run.bike)?.count() != numbers.count() {
                    continue;
                }
                let later = on_it.iter().any(|other| {
                    other.bike == run.bike && other.date <= run.date && numbers.of(&other.setup).is_none()
                });
                if later {
                    let mut page = Page::open(&file.path, Some(&bytes))?;
                    page.take_out("setup");
                    // Which of the two it ran on nobody said: where it was lean, the richer one is taken to have been lean.
                    let ran = self.as_it_would_stand(&file.path, &bytes)?;
                    let lean = ran.filter(|ran| (self.lean)(&ran.outing));
                    if let Some(ran) = &lean {
                        let doubted = |what: &Doubted| *what == Doubted::Setup || ran.outing.doubts(*what);
                        let words: Array =
                            Doubted::ALL.into_iter().filter(doubted).map(Doubted::word).collect();
                        page.write("doubted", words.into(), DocumentKind::Outing.catalogue())?;
                    }
                    self.plan.changes.insert(file.path.clone(), Some(page.bytes()));
                    let id = outing_id(path_text(&file.path).rsplit('/').next().unwrap_or_default());
                    self.plan.notes.push(on_what_was_on_it(
                        &run,
                        (numbers.of(&run.setup), lean.is_some()),
                        id,
                    ));
                }
            }
        }
        Ok(())
    }

    fn numbers_at(&self, tip: Oid, bike: &str) -> Result<Numbers, StoreError> {
        let repository = self.garage.repository();
        let numbers = repository.file(&repository.tree(tip)?, &Garage::bike_folder(bike).join("numbers"))?;
        Ok(Numbers::read(&[&String::from_utf8_lossy(&numbers.unwrap_or_default())]))
    }

    /// Says of each side of a bike's setup which lean run of the other one it was recorded without.
    pub(super) fn lean_runs_of_either(
        &self,
        question: &mut SetupQuestion,
        differing: &[Differing],
    ) -> Result<(), StoreError> {
        let folder = Garage::bike_folder(&question.subject).join("outings");
        for file in differing.iter().filter(|file| file.path.parent() == Some(folder.as_path())) {
            let (run, side) = match (file.ours, file.theirs) {
                (Some(ours), None) => (ours, &mut question.theirs),
                (None, Some(theirs)) => (theirs, &mut question.ours),
                _ => continue,
            };
            // One that both had before was known to both.
            let run = self.as_it_would_stand(&file.path, &self.blob(&file.path, run)?)?;
            let Some(run) = run.filter(|run| file.base.is_none() && (self.lean)(&run.outing)) else {
                continue;
            };
            let is_newer = side.unaware_of.as_ref().is_none_or(|known| known.outing.date < run.outing.date);
            if is_newer {
                side.unaware_of = Some(run);
            }
        }
        Ok(())
    }

    /// A run with the number that its setup has here.
    fn as_it_would_stand(&self, file: &Path, bytes: &[u8]) -> Result<Option<OutingRecord>, StoreError> {
        let text = path_text(file);
        let bike = text.split('/').nth(1).unwrap_or_default().to_owned();
        let Some(outing) = checks::outing(self.garage, file, bytes).document else { return Ok(None) };
        let numbers = self.numbers_at(self.sides.ours, &bike)?;
        let setup = outing.setup.as_deref().and_then(|id| numbers.of(id));
        let id = outing_id(text.rsplit('/').next().unwrap_or_default());
        Ok(Some(OutingRecord { bike, id, file: file.to_owned(), outing, setup, cylinders: Vec::new() }))
    }
}

/// A setup that a bike had on it at a moment, by a run on it or by a tick.
struct HadOnIt {
    bike: String,
    setup: String,
    date: When,
    is_run: bool,
}

/// What a new document says of that; none of any other, and of a job that is not ticked.
fn had_on_it(path: &Path, bytes: &[u8]) -> Option<HadOnIt> {
    let text = path_text(path);
    let table = std::str::from_utf8(bytes).ok()?.parse::<toml::Table>().ok()?;
    let said = |name: &str| table.get(name)?.as_str().map(str::to_owned);
    let ticked = || {
        let items = table.get("items").and_then(toml::Value::as_table)?;
        items.values().any(|item| item.get("done").is_some()).then(|| said("bike"))?
    };
    let (bike, is_run) = match text.split('/').collect::<Vec<_>>().as_slice() {
        ["bikes", bike, "outings", _] => (Some((*bike).to_owned()), true),
        ["jobs", _] => (ticked(), false),
        _ => (None, false),
    };
    let date = When::parse(&said("date")?, Offset::UTC).ok()?;
    Some(HadOnIt { bike: bike?, setup: said("setup")?, date, is_run })
}

fn on_what_was_on_it(run: &HadOnIt, (number, lean): (Option<u32>, bool), id: String) -> Guidance {
    let bike = visible(&run.bike);
    let on = number.map(|number| format!(" on setup {number}")).unwrap_or_default();
    let as_logged = number.map_or(OutingChange::Setup, OutingChange::SetupOf);
    Guidance::from(format!(
        "The run of {bike} of {} was logged{on} where nobody knew that the other side had changed the bike before it: it counts as on what they had put on it{}. If it ran as it was logged: ",
        run.date.short(),
        if lean { ", and the richer of the two is taken to have been lean" } else { "" }
    )) + Command::MendOuting(bike, id, as_logged)
        + "."
}

/// A side of a run that lets go what was lean is kept for a reason that stays in the record; so is a setup that was recorded without a lean
/// run of the other side.
pub(super) fn require_a_reason(
    question: &SetupQuestion,
    keep: Keep,
    why: Option<&str>,
) -> Result<(), StoreError> {
    let side = if keep == Keep::Theirs { &question.theirs } else { &question.ours };
    if why.is_some_and(|why| !why.trim().is_empty()) {
        return Ok(());
    }
    if let Some(run) = side.unaware_of.as_ref().filter(|_| keep != Keep::Both) {
        return Err(StoreError::request(
            Some("why"),
            format!(
                "Who recorded that side did not know the lean run of {} on {}, which may forbid it.",
                visible(&question.subject),
                run.outing.date.short()
            ),
            Guidance::from("Keep the other side; or say why this one is safe: ")
                + Command::ShareKeepWhy(word_of(keep), visible(&question.subject))
                + ".",
        ));
    }
    if !side.lets_go {
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
