//! What an engine did in other bikes: a seizure goes along with it, and lets go as in its own bike.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::rc::Rc;

use super::combination::other_combination;
use super::hold::{Hold, Tables};
use super::holds::{Holds, Later, RUNS_SINCE, RUNS_THAT_SHOW, SAME_CARBURETOR, mend_did_not_help, mended};
use super::judge::Shelf;
use super::ran::Setups;
use super::sign::{signs, was_judged, was_rich_enough};
use crate::advice::learning::{is_detonation, lean_sign};
use crate::notebook::Combination;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::store::{Book, OutingRecord, StoreError, require_every_outing};

/// What is to be said of a combination's engine that seized in another bike; none where its cause is written down, or where a run on
/// enough more was right since.
pub fn engine_seized_elsewhere(
    book: &Book<'_>,
    bike: &str,
    now: &Combination,
) -> Result<Option<Guidance>, StoreError> {
    let Some(run) = seized_elsewhere(book, bike, now)? else { return Ok(None) };
    Ok(Some(with_its_mend(&run, seized_in_words(&run, now))))
}

/// The same in a sentence.
pub fn engine_seized_in_words(
    book: &Book<'_>,
    bike: &str,
    now: &Combination,
) -> Result<Option<String>, StoreError> {
    Ok(seized_elsewhere(book, bike, now)?.map(|run| seized_in_words(&run, now)))
}

/// The run in another bike that seized the engine and still holds it.
fn seized_elsewhere(
    book: &Book<'_>,
    bike: &str,
    now: &Combination,
) -> Result<Option<OutingRecord>, StoreError> {
    let Some(engine) = now.fields.text("engine") else { return Ok(None) };
    let runs = runs_of(book, engine)?;
    let open = |run: &OutingRecord| run.bike != bike && !run.outing.is_closed() && is_seizure(run);
    if !runs.iter().any(open) {
        return Ok(None);
    }
    if let Some(last) = runs.last().filter(|last| open(last)) {
        return Ok(Some(last.clone()));
    }
    let shelf = Shelf::of(book, bike)?;
    let mut found = Holds::default();
    take_elsewhere(&mut found, (book, bike), (&runs, now), &shelf.tables())?;
    Ok(found.holds.into_iter().find(|hold| hold.seizure).map(|hold| hold.outing))
}

fn is_seizure(run: &OutingRecord) -> bool {
    lean_sign(&run.outing).is_some_and(|sign| sign.is_seizure())
}

fn seized_in_words(run: &OutingRecord, now: &Combination) -> String {
    let word = lean_sign(&run.outing).map(|sign| visible(sign.word())).unwrap_or_default();
    format!(
        "Engine {} seized in {} on {} (\"{word}\"), and no cause is written down: open it and find out why before it is run.",
        visible(now.fields.text("engine").unwrap_or_default()),
        visible(&run.bike),
        run.outing.date.day(),
    )
}

fn with_its_mend(run: &OutingRecord, words: String) -> Guidance {
    let mend = Command::MendOuting(run.bike.clone(), run.id.clone(), OutingChange::CauseAndMend);
    Guidance::from(words + " What was mended is written down with ") + mend + "."
}

/// Adds what the bike's engine did in other bikes to what holds it.
pub(super) fn add_elsewhere(
    found: &mut Holds,
    (book, bike): (&Book<'_>, &str),
    now: &Combination,
    tables: &Tables<'_>,
) -> Result<(), StoreError> {
    let Some(engine) = now.fields.text("engine") else { return Ok(()) };
    let runs = runs_of(book, engine)?;
    let before = found.holds.len();
    take_elsewhere(found, (book, bike), (&runs, now), tables)?;
    if let Some(last) = runs.last().filter(|run| run.bike != bike && !run.outing.is_closed()) {
        if is_seizure(last) {
            found.engine_seized = Some(with_its_mend(last, seized_in_words(last, now)));
        } else if let Some(sign) = signs(&last.outing).iter().find(|sign| sign.zone == "full") {
            found.remarks.push(format!(
                "Engine {} was {} at full throttle in its last run, in {} on {}: carburetor and pipe may be others here, so start rich.",
                visible(engine),
                visible(&sign.words),
                visible(&last.bike),
                last.outing.date.day()
            ));
        }
    }
    if found.engine_seized.is_none() {
        let seized = found.holds.iter().skip(before).find(|hold| hold.seizure);
        found.engine_seized =
            seized.map(|hold| with_its_mend(&hold.outing, seized_in_words(&hold.outing, now)));
    }
    Ok(())
}

/// Adds the seizures and the pinging of an engine in other bikes, each as it holds after what the engine ran since.
fn take_elsewhere(
    found: &mut Holds,
    (book, bike): (&Book<'_>, &str),
    (runs, now): (&[OutingRecord], &Combination),
    tables: &Tables<'_>,
) -> Result<(), StoreError> {
    let counts = |run: &OutingRecord| run.bike != bike && (is_seizure(run) || is_detonation(&run.outing));
    let Some(first) = runs.iter().position(counts) else { return Ok(()) };
    let mut setups: BTreeMap<&str, Setups<'_, '_>> = BTreeMap::new();
    let mut since: Vec<(&OutingRecord, Option<Rc<Combination>>)> = Vec::new();
    for run in runs.iter().skip(first) {
        let of_its_bike = match setups.entry(&run.bike) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(new) => new.insert(Setups::of(book, &run.bike)?),
        };
        since.push((run, of_its_bike.that_ran(run)?));
    }
    for (at, (run, ran)) in since.iter().enumerate().rev().filter(|(_, (run, _))| counts(run)) {
        let later = || since.iter().skip(at + 1).map(|(run, ran)| Later { run, ran: ran.clone() });
        let others = ran.as_ref().map(|ran| other_combination(&now.fields, &ran.fields)).unwrap_or_default();
        let signs = signs(&run.outing);
        // Its carburetor may be another one here: then what it gave cannot be set against anything.
        let worst = signs.into_iter().find(|sign| sign.zone == "full" || sign.seizure);
        let Some(sign) = worst.filter(|_| others.iter().all(|part| SAME_CARBURETOR.contains(part))) else {
            continue;
        };
        let elsewhere = others.into_iter().chain(["bike"]).collect();
        let hold = Hold::new((*run).clone(), sign, (ran.clone(), elsewhere));
        let closed = run.outing.is_closed();
        let again = closed && was_lean_next(&hold, later());
        if again {
            found.remarks.push(mend_did_not_help(run));
        } else if closed {
            // It has not run since its mend: in another bike it is run in as in its own.
            if later().next().is_none() && found.mended.is_none() {
                found.mended = Some(mended(run, hold.zone == "full"));
                found.run_in.extend((hold.zone == "full").then(|| hold.clone().run_in()));
                found.of_the_mended.push(hold);
            }
            continue;
        }
        let showing = later().filter(|later| later.lets_go(&hold, tables)).count();
        if showing == 0 {
            found.holds.push(hold);
            continue;
        }
        // Of a seizure both are wanted, for its cause is not known; as in its own bike.
        let recent = later().count() < RUNS_SINCE;
        let lasts = if hold.seizure {
            recent || showing < RUNS_THAT_SHOW
        } else {
            recent && showing < RUNS_THAT_SHOW
        };
        if hold.zone == "full" && lasts {
            found.not_again.push(hold.clone());
        }
        found.outlived.push(hold);
    }
    Ok(())
}

/// Whether the next run that was judged at a hold's throttle was lean there as well, with no cause of its own.
fn was_lean_next<'r>(hold: &Hold, later: impl Iterator<Item = Later<'r>>) -> bool {
    for Later { run, .. } in later {
        let lean = signs(&run.outing).iter().any(|sign| sign.zone == hold.zone || sign.seizure);
        if lean && !run.outing.is_closed() {
            return true;
        }
        if was_rich_enough(&run.outing, hold.zone) {
            return false;
        }
    }
    false
}

/// An engine's judged runs in whatever bike, oldest first.
fn runs_of(book: &Book<'_>, engine: &str) -> Result<Vec<OutingRecord>, StoreError> {
    let mut runs = Vec::new();
    for bike in book.garage().bikes() {
        let setups = Setups::of(book, &bike)?;
        let is_of_it = |number: Option<u32>| {
            let setup = setups.records.iter().find(|setup| Some(setup.number) == number);
            setup.and_then(|setup| setup.engine.as_deref()) == Some(engine)
        };
        if !setups.records.iter().any(|setup| is_of_it(Some(setup.number))) {
            continue;
        }
        // What is missing there may be how it ended.
        require_every_outing(book, &bike)?;
        let judged = book.outings(&bike)?.into_iter().filter(|run| was_judged(&run.outing));
        runs.extend(judged.filter(|run| is_of_it(run.setup)));
    }
    runs.sort_by_key(|run| run.outing.date);
    Ok(runs)
}
