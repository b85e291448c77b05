//! What an engine did in other bikes: it takes that along.

use std::rc::Rc;

use super::combination::BIKE;
use super::hold::Hold;
use super::ran::Setups;
use super::sign::{may_hold, signs, was_judged, was_rich_enough};
use crate::advice::learning::{OwnNames, Said, Sign, lean_sign, said_of_lean};
use crate::advice::parts::IN_THE_BORE;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::{Combination, Deed, FieldSet, Outing, When};
use crate::store::{Book, OutingRecord, StoreError, require_every_outing};

/// Whether a run of a bike may hold it, or one of its engine in another bike: a look at the words alone, before anything is reckoned.
pub fn may_be_held(book: &Book<'_>, bike: &str, now: &FieldSet) -> Result<bool, StoreError> {
    if may_hold(&book.outings(bike)?) {
        return Ok(true);
    }
    // What cannot be read there is said where it is asked for.
    let Ok(carried) = WithEngine::of(book, bike, now) else { return Ok(false) };
    let runs: Vec<OutingRecord> = carried.runs().cloned().collect();
    Ok(may_hold(&runs))
}

/// The judged runs of a combination's engine in other bikes.
#[derive(Default)]
pub(super) struct WithEngine {
    /// Oldest first, with what ran.
    runs: Vec<(OutingRecord, Option<Rc<Combination>>)>,
    /// Whether the engine's newest judged run of all is one of them.
    newest_is_one: bool,
}

impl WithEngine {
    /// Of the engine that a combination of a bike has.
    pub(super) fn of(book: &Book<'_>, bike: &str, now: &FieldSet) -> Result<Self, StoreError> {
        let mut found = Self::default();
        let Some(engine) = now.text("engine") else { return Ok(found) };
        let (bikes, there) = (book.bikes_with_engine(engine)?, book.garage().bikes());
        if !bikes.iter().any(|other| other != bike && there.contains(other)) {
            return Ok(found);
        }
        let mut newest_own = None;
        for other in bikes.into_iter().filter(|other| there.contains(other)) {
            let setups = Setups::of(book, &other)?;
            // What is missing there may be how it ended.
            require_every_outing(book, &other)?;
            for run in book.outings(&other)?.into_iter().filter(|run| was_judged(&run.outing)) {
                let setup = setups.records.iter().find(|setup| Some(setup.number) == run.setup);
                if setup.and_then(|setup| setup.engine.as_deref()) != Some(engine) {
                    continue;
                }
                if other == bike {
                    newest_own = newest_own.max(Some(run.outing.date));
                } else {
                    let ran = setups.that_ran(&run)?;
                    found.runs.push((run, ran));
                }
            }
        }
        found.runs.sort_by_key(|(run, _)| run.outing.date);
        let newest = found.runs.last().map(|(run, _)| run.outing.date);
        found.newest_is_one = newest.is_some() && newest >= newest_own;
        Ok(found)
    }

    /// The runs, oldest first.
    pub(super) fn runs(&self) -> impl Iterator<Item = &OutingRecord> {
        self.runs.iter().map(|(run, _)| run)
    }

    /// What one of them ran on.
    pub(super) fn that_ran(&self, run: &OutingRecord) -> Option<Rc<Combination>> {
        let of_it = self.runs.iter().find(|(other, _)| other.bike == run.bike && other.id == run.id);
        of_it.and_then(|(_, ran)| ran.clone())
    }

    /// The engine's newest run, where that was in another bike and no cause of it is written down.
    fn last(&self) -> Option<&OutingRecord> {
        let (run, _) = self.runs.last().filter(|_| self.newest_is_one)?;
        Some(run).filter(|run| !run.outing.is_closed())
    }

    /// The same as a hold, where it was lean at full throttle.
    pub(super) fn lean_last(&self) -> Option<Hold> {
        let last = self.last()?;
        let full = signs(&last.outing).into_iter().find(|sign| sign.zone == "full")?;
        Some(Hold::new(last.clone(), full, (self.that_ran(last), vec![BIKE])))
    }

    /// The newest run was there and seized it: a sentence.
    fn seized_last(&self, now: &FieldSet) -> Option<Guidance> {
        let (last, engine) = (self.last()?, now.text("engine")?);
        let sign = lean_sign(&last.outing).filter(Sign::is_seizure)?;
        let (name, other, day) = (visible(engine), visible(&last.bike), last.outing.date.day());
        let seized = format!(
            "Engine {name} seized in {other} on {day} (\"{}\"), and no cause is written down: open it and find out why before it is run. What was fixed is written down with ",
            visible(sign.word())
        );
        let mend = Command::MendOuting(last.bike.clone(), last.id.clone(), OutingChange::CauseAndMend);
        Some(Guidance::from(seized) + mend + ".")
    }

    /// The same, or what the part book alone says.
    pub(super) fn seized(
        &self,
        book: &Book<'_>,
        bike: &str,
        now: &FieldSet,
    ) -> Result<Option<Guidance>, StoreError> {
        match self.seized_last(now) {
            None => seized_by_its_parts(book, bike, now),
            found => Ok(found),
        }
    }

    /// The newest run was there and lean at full throttle, without seizing: a sentence.
    pub(super) fn was_lean(&self, now: &FieldSet) -> Option<String> {
        let (last, engine) = (self.last()?, now.text("engine")?);
        if lean_sign(&last.outing).is_some_and(|sign| sign.is_seizure()) {
            return None;
        }
        let full = signs(&last.outing).into_iter().find(|sign| sign.zone == "full")?;
        Some(format!(
            "Engine {} was {} at full throttle in its last run, in {} on {}: carburetor and pipe may be others here, so start rich.",
            visible(engine),
            visible(&full.words),
            visible(&last.bike),
            last.outing.date.day()
        ))
    }
}

/// A seizure is logged within so many minutes of what it broke, before it or after.
const AROUND: i64 = 2 * 24 * 60;

/// Who looks at a part or puts an engine together tells of what may be so many minutes old: half a year (common practice, no source).
const TOLD_OF: i64 = 180 * 24 * 60;

/// What a book beside the runs says of a seizure.
struct Written {
    date: When,
    /// Where it stands, and what: "piston-1 failed on 2026-05-17 ("seized")".
    words: String,
    /// How far back a run may lie that says so itself, minutes.
    back: i64,
}

/// What the book of parts and the builds alone say of an engine: that it seized, no run says so, and none since was right at full throttle.
/// A sentence.
pub fn seized_by_its_parts(
    book: &Book<'_>,
    bike: &str,
    now: &FieldSet,
) -> Result<Option<Guidance>, StoreError> {
    let Some(engine) = now.text("engine") else { return Ok(None) };
    // What seized one cylinder stopped all of them.
    let book = &book.of_all();
    let mut written = said_of_its_parts(book, engine)?;
    written.extend(said_of_its_builds(book, engine)?);
    written.sort_by_key(|one| std::cmp::Reverse(one.date));
    if written.is_empty() {
        return Ok(None);
    }
    let runs = how_it_ran(book, engine)?;
    let is_answered = |one: &Written| {
        let around = one.date.minutes_later(-one.back)..=one.date.minutes_later(AROUND);
        runs.iter()
            .any(|run| run.was_lean && around.contains(&run.date) || run.was_right && run.date > one.date)
    };
    let Some(open) = written.iter().find(|one| !is_answered(one)) else { return Ok(None) };
    let words = format!(
        "Engine {}: {}, and no run says that it seized: find the cause before it is started again, and log the run that did it, with its verdict, its words and its air: ",
        visible(engine),
        open.words
    );
    Ok(Some(Guidance::from(words) + Command::AddOuting(bike.to_owned()) + "."))
}

/// Parts of an engine's bore that failed by seizing, or were found seized.
fn said_of_its_parts(book: &Book<'_>, engine: &str) -> Result<Vec<Written>, StoreError> {
    let mut found = Vec::new();
    for record in book.parts()?.iter().filter(|one| IN_THE_BORE.contains(&one.part.kind.as_str())) {
        let mut was_in = None;
        for (_, event) in record.part.events_in_order() {
            let of_failing =
                event.how.as_deref().filter(|how| event.did == Deed::Failed && is_a_seizure(how));
            let noted =
                event.note.as_deref().filter(|_| event.did != Deed::Fitted).and_then(tells_of_a_seizure);
            let (said, back) = (of_failing.or(noted), if of_failing.is_some() { AROUND } else { TOLD_OF });
            if let Some(said) = said.filter(|_| was_in == Some(engine)) {
                let was = if event.did == Deed::Failed { "" } else { "was " };
                let words = format!(
                    "{} {was}{} on {} (\"{}\")",
                    visible(&record.name),
                    event.did.past(),
                    event.date.day(),
                    visible(said)
                );
                found.push(Written { date: event.date, words, back });
            }
            was_in = event.engine.as_deref().or(was_in);
        }
    }
    Ok(found)
}

/// Builds of an engine whose notes, reason or steps say that it seized.
fn said_of_its_builds(book: &Book<'_>, engine: &str) -> Result<Vec<Written>, StoreError> {
    let builds = book.builds(engine)?;
    let said = builds.iter().filter_map(|record| {
        let build = &record.build;
        let of_steps = build.steps.values().filter_map(|step| step.note.as_deref());
        let mut texts = build.notes.as_deref().into_iter().chain(build.why.as_deref()).chain(of_steps);
        let said = texts.find_map(tells_of_a_seizure)?;
        let words = format!("its build of {} says \"{}\"", build.date.day(), visible(said));
        Some(Written { date: build.date, words, back: TOLD_OF })
    });
    Ok(said.collect())
}

/// A run of an engine, as far as it speaks of full throttle.
struct RanSo {
    date: When,
    was_lean: bool,
    was_right: bool,
}

/// All runs of an engine, in whatever bike.
fn how_it_ran(book: &Book<'_>, engine: &str) -> Result<Vec<RanSo>, StoreError> {
    let mut found = Vec::new();
    for other in book.bikes_with_engine(engine)? {
        let setups = Setups::of(book, &other)?;
        for run in book.outings(&other)? {
            let setup = setups.records.iter().find(|setup| Some(setup.number) == run.setup);
            if setup.and_then(|setup| setup.engine.as_deref()) != Some(engine) {
                continue;
            }
            let each = run.outing.at_each_cylinder();
            let is_lean = |own: &Outing| signs(own).iter().any(|sign| sign.zone == "full");
            let was_lean = each.iter().any(|(_, own)| is_lean(own));
            let was_right = each.iter().any(|(_, own)| was_rich_enough(own, "full")) && !was_lean;
            found.push(RanSo { date: run.outing.date, was_lean, was_right });
        }
    }
    Ok(found)
}

/// Whether what is written of a part that failed says that it seized.
pub(in crate::advice) fn is_a_seizure(how: &str) -> bool {
    let seen = Outing { piston: Some(how.to_owned()), ..Outing::default() };
    lean_sign(&seen).is_some_and(|sign| sign.is_seizure())
}

/// The sentence of a note that says so beyond doubt: of what may be another thing, or only a mark, nobody can be asked in a book of parts.
fn tells_of_a_seizure(note: &str) -> Option<&str> {
    let says_so = |sentence: &&str| {
        let noted = Outing { notes: Some((*sentence).to_owned()), ..Outing::default() };
        matches!(said_of_lean(&noted, &OwnNames::default()), Said::Lean(sign) if sign.is_seizure() && !sign.is_a_mark())
    };
    note.split(['.', ';', '!', '?', '\n']).map(str::trim).find(says_so)
}
