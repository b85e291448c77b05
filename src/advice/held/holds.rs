//! All the runs that hold a bike, from its record.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use super::combination::{FUEL, other_combination};
use super::hold::{Hold, Tables};
use super::sign::{signs, was_judged, was_rich_enough};
use crate::advice::learning::{Sign, lean_sign};
use crate::air::Air;
use crate::notebook::fields::names::visible;
use crate::notebook::{Combination, Doubted, FieldSet, Setup};
use crate::store::{Book, OutingRecord, SetupRecord, StoreError};

/// Parts that one carburetor feeds alike: another of them does not say that the jets were right.
const FED_BY_IT: [&str; 3] = ["engine", "pipe", "ignition box"];

/// The runs that hold a combination.
#[derive(Debug, Clone, Default)]
pub struct Holds {
    /// Those that forbid going leaner, newest first; a run that does so at several zones stands here for each.
    pub holds: Vec<Hold>,
    /// The combination's newest judged run.
    pub last_run: Option<OutingRecord>,
    /// The holds of that run: empty where it was right or rich.
    pub of_last_run: Vec<Hold>,
    /// Seizures with no cause found that a later run on more fuel has let go: what ran then is still what seized.
    pub outlived: Vec<Hold>,
    /// The engine seized in another bike, and nobody has found out why: a sentence.
    pub engine_seized: Option<String>,
    /// What else should be known, in sentences.
    pub remarks: Vec<String>,
}

impl Holds {
    /// Whether nothing is forbidden.
    pub fn is_empty(&self) -> bool {
        self.holds.is_empty()
    }

    /// The hold that demands most at a zone, and the least fuel it allows in an air over what a reference setup delivers there. One
    /// that cannot be reckoned demands what is on the bike.
    pub fn least<'h>(
        &'h self,
        zone: &str,
        (reference, on_the_bike): (&Setup, &Setup),
        air: Option<&Air>,
        tables: &Tables<'_>,
    ) -> Option<(&'h Hold, f64)> {
        let mut stands: Option<Option<f64>> = None;
        let least = |hold: &'h Hold| {
            let least = hold
                .least_over(reference, air, tables)
                .or_else(|| *stands.get_or_insert_with(|| tables.delivered(reference, on_the_bike, zone)));
            Some((hold, least?))
        };
        let all = self.holds.iter().filter(|hold| hold.zone == zone).filter_map(least);
        // The newest of those that demand the same is the one to be named.
        all.reduce(|most, one| if one.1 > most.1 { one } else { most })
    }
}

/// The runs that hold the combination of a bike as it is `now`, by all that is written down: one that is dated later than the clock
/// holds as well, for one of the two is wrong.
pub fn holds(
    book: &Book<'_>,
    bike: &str,
    now: &Combination,
    tables: &Tables<'_>,
) -> Result<Holds, StoreError> {
    let setups = Setups { book, bike, records: book.setups(bike)?, read: RefCell::default() };
    let runs = book.outings(bike)?;
    let engine_seized = seized_in_another_bike(book, bike, &now.fields)?;
    Ok(Holds { engine_seized, ..holding(&runs, &now.fields, &|run| setups.that_ran(run), tables)? })
}

/// What is to be said of an engine whose newest run was in another bike, seized it, and has no cause written down.
fn seized_in_another_bike(book: &Book<'_>, bike: &str, now: &FieldSet) -> Result<Option<String>, StoreError> {
    let Some(engine) = now.text("engine") else { return Ok(None) };
    let mut newest: Option<OutingRecord> = None;
    for bike in book.garage().bikes() {
        let setups = book.setups(&bike)?;
        let ran_in = |run: &OutingRecord| {
            let setup = setups.iter().find(|setup| Some(setup.number) == run.setup);
            setup.and_then(|setup| setup.engine.as_deref()) == Some(engine)
        };
        let outings = book.outings(&bike)?;
        let last = outings.into_iter().rfind(|run| was_judged(&run.outing) && ran_in(run));
        if last
            .as_ref()
            .is_some_and(|last| newest.as_ref().is_none_or(|one| one.outing.date < last.outing.date))
        {
            newest = last;
        }
    }
    let seized = |run: &OutingRecord| {
        let sign = lean_sign(&run.outing).filter(Sign::is_seizure)?;
        let (engine, other, day) = (visible(engine), visible(&run.bike), run.outing.date.day());
        Some(format!(
            "Engine {engine} seized in {other} on {day} (\"{}\"), and no cause is written down: open it and find out why before it is run. What was mended is written down with `reedbook outing edit {} {} --cause \"…\" --mended \"…\"`.",
            visible(sign.word()),
            run.bike,
            run.id
        ))
    };
    Ok(newest.filter(|run| run.bike != bike && !run.outing.is_closed()).as_ref().and_then(seized))
}

/// Setups that ran, each read once and only when it is asked for.
struct Setups<'b, 'g> {
    book: &'b Book<'g>,
    bike: &'b str,
    records: Vec<SetupRecord>,
    read: RefCell<HashMap<u32, Rc<Combination>>>,
}

impl Setups<'_, '_> {
    fn that_ran(&self, run: &OutingRecord) -> Result<Option<Rc<Combination>>, StoreError> {
        let Some(record) = self.records.iter().find(|record| Some(record.number) == run.setup) else {
            return Ok(None);
        };
        if let Some(known) = self.read.borrow().get(&record.number) {
            return Ok(Some(Rc::clone(known)));
        }
        let whole = Rc::new(self.book.combination(self.bike, Some(record))?);
        self.read.borrow_mut().insert(record.number, Rc::clone(&whole));
        Ok(Some(whole))
    }
}

/// Gives the setup that a run had, none where it is not known.
pub(super) type ThatRan<'r> = &'r dyn Fn(&OutingRecord) -> Result<Option<Rc<Combination>>, StoreError>;

/// Those of `runs`, oldest first, that hold a combination.
pub(super) fn holding(
    runs: &[OutingRecord],
    now: &FieldSet,
    that_ran: ThatRan<'_>,
    tables: &Tables<'_>,
) -> Result<Holds, StoreError> {
    let mut found = Holds::default();
    // On this combination, newest first: what a lean run that comes up next may be let go by.
    let mut later: Vec<Later<'_>> = Vec::new();
    let mut elsewhere: Vec<Later<'_>> = Vec::new();
    let mut fuels_told = false;
    for run in runs.iter().rev().filter(|run| was_judged(&run.outing)) {
        let ran = that_ran(run)?;
        let others = ran.as_ref().map(|ran| other_combination(now, &ran.fields)).unwrap_or_default();
        let signs = signs(&run.outing);
        let closed = run.outing.is_closed();
        if !others.is_empty() {
            // Until its cause is found a seizure holds whatever is fed by the same carburetor with the same fuel.
            if !closed && others.iter().all(|part| FED_BY_IT.contains(part)) {
                let seizures = signs.iter().filter(|sign| sign.seizure).cloned();
                let holds = seizures.map(|sign| Hold::new(run.clone(), sign, ran.clone()));
                let stand = holds.filter(|hold| {
                    let on_its_own = elsewhere.iter().filter(|later| later.ran_on(hold));
                    !later.iter().chain(on_its_own).any(|later| later.lets_go(hold, tables))
                });
                found.holds.extend(stand);
            }
            // Once this fuel was judged itself, the other says nothing more.
            let unjudged = found.last_run.is_none() && !fuels_told;
            if others == [FUEL] && !signs.is_empty() && !closed && unjudged {
                fuels_told = true;
                found.remarks.push(on_another_fuel(run, ran.as_deref()));
            }
            elsewhere.push(Later { run, ran });
            continue;
        }
        let first_of_run = found.holds.len();
        for sign in signs.into_iter().filter(|_| !closed) {
            let hold = Hold::new(run.clone(), sign, ran.clone());
            if !later.iter().any(|later| later.lets_go(&hold, tables)) {
                found.holds.push(hold);
            } else if hold.seizure {
                found.outlived.push(hold);
            }
        }
        if found.last_run.is_none() {
            found.last_run = Some(run.clone());
            found.of_last_run = found.holds.iter().skip(first_of_run).cloned().collect();
        }
        later.push(Later { run, ran });
    }
    Ok(found)
}

/// A run that came after.
struct Later<'r> {
    run: &'r OutingRecord,
    ran: Option<Rc<Combination>>,
}

impl Later<'_> {
    /// Whether it ran on the combination of a hold.
    fn ran_on(&self, hold: &Hold) -> bool {
        let both = self.ran.as_ref().zip(hold.ran.as_ref());
        both.is_some_and(|(one, other)| other_combination(&one.fields, &other.fields).is_empty())
    }

    /// Whether it shows that what a hold asks for is enough: it was right or rich at that throttle, on at least that much fuel for
    /// the air it ran in. Where the lean run's fuel cannot be reckoned any such run has to do.
    fn lets_go(&self, hold: &Hold, tables: &Tables<'_>) -> bool {
        let after = self.run.outing.date > hold.outing.outing.date;
        if !after || !was_rich_enough(&self.run.outing, hold.zone) {
            return false;
        }
        // Away from full throttle an engine runs lean without seizing, and clips and screws go to and fro: any later run will do.
        if hold.zone != "full" && !hold.seizure {
            return true;
        }
        let Some(setup) = self.ran.as_ref().and_then(|ran| ran.setup.as_ref()) else {
            return false;
        };
        let air = self.run.outing.air.as_ref().filter(|_| !self.run.outing.doubts(Doubted::Air));
        let air = air.and_then(|air| air.air().ok());
        // Right in an air that nobody knows says nothing of the air of the lean run.
        if hold.air().is_some() && air.is_none() {
            return false;
        }
        hold.least_over(setup, air.as_ref(), tables).is_none_or(|least| least <= 1.0)
    }
}

fn on_another_fuel(run: &OutingRecord, ran: Option<&Combination>) -> String {
    let name = ran.and_then(|ran| ran.fields.text("fuel.name")).map(visible).unwrap_or_default();
    format!(
        "The run of {} was lean on another fuel ({name}): it says nothing sure of this one, so start rich.",
        run.outing.date.day()
    )
}
