//! What an engine did in other bikes: it takes that along.

use std::rc::Rc;

use super::combination::BIKE;
use super::hold::Hold;
use super::ran::Setups;
use super::sign::{may_hold, signs, was_judged, was_rich_enough};
use crate::advice::learning::{Sign, lean_sign};
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

/// What the part book alone says of an engine: something in its bore failed by seizing, no run around that day says so, and none since was
/// right at full throttle. A sentence.
pub fn seized_by_its_parts(
    book: &Book<'_>,
    bike: &str,
    now: &FieldSet,
) -> Result<Option<Guidance>, StoreError> {
    let Some(engine) = now.text("engine") else { return Ok(None) };
    // What seized one cylinder stopped all of them.
    let book = &book.of_all();
    let mut newest: Option<(When, String, String)> = None;
    for record in book.parts()?.iter().filter(|one| IN_THE_BORE.contains(&one.part.kind.as_str())) {
        let mut was_in = None;
        for (_, event) in record.part.events_in_order() {
            let how = event.how.as_deref().filter(|_| event.did == Deed::Failed && was_in == Some(engine));
            let said = how.filter(|how| is_a_seizure(how));
            if let Some(how) = said.filter(|_| newest.as_ref().is_none_or(|(date, ..)| *date < event.date)) {
                newest = Some((event.date, record.name.clone(), how.to_owned()));
            }
            was_in = event.engine.as_deref().or(was_in);
        }
    }
    let Some((date, part, how)) = newest else { return Ok(None) };
    for other in book.bikes_with_engine(engine)? {
        let setups = Setups::of(book, &other)?;
        for run in book.outings(&other)? {
            let setup = setups.records.iter().find(|setup| Some(setup.number) == run.setup);
            if setup.and_then(|setup| setup.engine.as_deref()) != Some(engine) {
                continue;
            }
            let around = run.outing.date >= date.minutes_later(-AROUND)
                && run.outing.date <= date.minutes_later(AROUND);
            let each = run.outing.at_each_cylinder();
            let is_lean = |own: &Outing| signs(own).iter().any(|sign| sign.zone == "full");
            let says_so = each.iter().any(|(_, own)| is_lean(own));
            let was_right = each.iter().any(|(_, own)| was_rich_enough(own, "full")) && !says_so;
            if around && says_so || run.outing.date > date && was_right {
                return Ok(None);
            }
        }
    }
    let words = format!(
        "Engine {}: {} failed on {} (\"{}\"), and no run says that it seized: find the cause before it is started again, and log the run that did it, with its verdict, its words and its air: ",
        visible(engine),
        visible(&part),
        date.day(),
        visible(&how)
    );
    Ok(Some(Guidance::from(words) + Command::AddOuting(bike.to_owned()) + "."))
}

/// Whether what is written of a part that failed says that it seized.
fn is_a_seizure(how: &str) -> bool {
    let seen = Outing { piston: Some(how.to_owned()), ..Outing::default() };
    lean_sign(&seen).is_some_and(|sign| sign.is_seizure())
}
