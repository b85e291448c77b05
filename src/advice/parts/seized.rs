//! Pistons, rings and cylinders that seized and that nobody has seen since: they are looked at before they run, whatever is left of
//! their hours (common practice, no source).

use std::collections::HashMap;

use super::Overdue;
use super::counted::Counted;
use super::due::as_written;
use crate::advice::learning::{Sign, lean_sign};
use crate::notebook::fields::names::visible;
use crate::notebook::{Build, Deed, Outing, When};
use crate::store::{Book, OutingRecord, PartRecord, StoreError};

/// Kinds of part that run in the bore, and the bore itself: a wall that is scored scores the next piston.
pub(in crate::advice) const IN_THE_BORE: [&str; 3] = ["piston", "ring", CYLINDER];

/// The kind that the wall is of.
pub const CYLINDER: &str = "cylinder";

/// A part that was there when its cylinder seized.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeizedPart {
    /// The part.
    pub part: String,
    /// Its kind.
    pub kind: String,
    /// The engine it is in.
    pub engine: String,
    /// The cylinder it is at now, of an engine with several.
    pub cylinder: Option<String>,
    /// The cylinder that seized, where it is said and is another than the one it is at now.
    pub was_at: Option<String>,
    /// The bike that engine is in.
    pub bike: Option<String>,
    /// When it seized.
    pub date: When,
    /// The word that says so, as it was written.
    pub word: String,
}

/// The newest run in which a part was there when it seized.
struct Seizure {
    run: OutingRecord,
    /// The engine that it ran in.
    engine: String,
    /// The word that says so.
    word: String,
    /// The cylinder, where it is said.
    was_at: Option<String>,
}

/// The outings of bikes by their ids.
type Outings = HashMap<String, HashMap<String, OutingRecord>>;

impl Counted {
    /// The pistons, rings and cylinders that were there when one seized and sit in an engine, and were not looked at, made new or fitted
    /// again since, nor the engine put together; of all bikes in use, or of one. Where its cause is closed and the engine ran since, it
    /// was somebody's decision.
    pub fn seized(&self, book: &Book<'_>, bike: Option<&str>) -> Result<Vec<SeizedPart>, StoreError> {
        let until = as_written(self.now);
        let mut known = Outings::default();
        let mut found = Vec::new();
        for record in self.parts.iter().filter(|record| IN_THE_BORE.contains(&record.part.kind.as_str())) {
            let Some(place) = record.part.place_at(until) else { continue };
            let holder = self.holders.get(place.engine).map(|(bike, _)| bike.clone());
            let other = bike.is_some_and(|bike| holder.as_deref() != Some(bike));
            if other || holder.as_ref().is_some_and(|bike| self.retired.contains(bike)) {
                continue;
            }
            let Some(Seizure { run, word, was_at, .. }) =
                self.seizure_of((book, &mut known), record, until)?
            else {
                continue;
            };
            let at = |name: Option<&str>| name.map(str::to_owned);
            found.push(SeizedPart {
                part: record.name.clone(),
                kind: record.part.kind.clone(),
                engine: place.engine.to_owned(),
                was_at: was_at.filter(|was| Some(was.as_str()) != place.cylinder),
                cylinder: at(place.cylinder),
                bike: holder,
                date: run.outing.date,
                word,
            });
        }
        found.sort_by(|a, b| {
            (b.date, &a.engine, &a.cylinder, &a.part).cmp(&(a.date, &b.engine, &b.cylinder, &b.part))
        });
        Ok(found)
    }

    /// The newest run in which a part was there when it seized, with the word and the cylinder.
    fn seizure_of(
        &self,
        (book, known): (&Book<'_>, &mut Outings),
        record: &PartRecord,
        until: When,
    ) -> Result<Option<Seizure>, StoreError> {
        let seen = last_seen(record, until);
        let runs = self.runs.iter().rev();
        let runs = runs.filter(|run| run.date <= until && seen.is_none_or(|seen| run.date >= seen));
        let mut ran_since: Vec<&str> = Vec::new();
        for run in runs {
            let Some(place) = record.part.place_at(run.date).filter(|place| place.engine == run.engine)
            else {
                continue;
            };
            if !known.contains_key(&run.bike) {
                let of_bike = book.outings(&run.bike)?;
                let by_id = of_bike.into_iter().map(|outing| (outing.id.clone(), outing)).collect();
                known.insert(run.bike.clone(), by_id);
            }
            let Some(outing) = known.get(&run.bike).and_then(|of_bike| of_bike.get(&run.outing)) else {
                continue;
            };
            let sign = seizure_at(&outing.outing, place.cylinder);
            // What was mended at the engine that seized says nothing of a part that went on in another one.
            let was_decided = ran_since.contains(&run.engine.as_str()) && outing.outing.is_closed();
            if let Some((word, was_at)) = sign.filter(|_| !was_decided) {
                // A build of one cylinder says nothing of another.
                let had_apart = |build: &Build| {
                    let of_one = |name| build.cylinder.contains_key(name);
                    build.cylinder.is_empty() || place.cylinder.is_none_or(of_one)
                };
                let since = |build: &Build| build.date > run.date && build.date <= until;
                let builds = book.builds(&run.engine)?;
                let was_built = builds.iter().any(|built| since(&built.build) && had_apart(&built.build));
                let (run, engine) = (outing.clone(), run.engine.clone());
                return Ok((!was_built).then_some(Seizure { run, engine, word, was_at }));
            }
            ran_since.push(&run.engine);
        }
        Ok(None)
    }
}

/// Parts of an engine that were in another one when that seized, and that nobody has looked at since: the engine they are in now knows
/// nothing of it.
pub fn brought(
    book: &Book<'_>,
    (engine, date): (&str, When),
    parts: &[PartRecord],
) -> Result<Vec<Overdue>, StoreError> {
    let of_the_bore = |record: &&PartRecord| IN_THE_BORE.contains(&record.part.kind.as_str());
    let was_elsewhere = |record: &&PartRecord| {
        record
            .part
            .events_in_order()
            .iter()
            .any(|(_, event)| event.engine.as_deref().is_some_and(|was| was != engine))
    };
    let moved: Vec<&PartRecord> = parts.iter().filter(of_the_bore).filter(was_elsewhere).collect();
    if moved.is_empty() {
        return Ok(Vec::new());
    }
    let (counted, mut known, mut found) = (Counted::in_book(book, date)?, Outings::default(), Vec::new());
    for record in moved {
        let seizure = counted.seizure_of((book, &mut known), record, as_written(date))?;
        if let Some(Seizure { run, engine: was_in, word, .. }) = seizure.filter(|one| one.engine != engine) {
            let words = format!(
                "{} was in {} when it seized on {} (\"{}\")",
                visible(&record.name),
                visible(&was_in),
                run.outing.date.day(),
                visible(&word)
            );
            found.push(Overdue { words, deed: "look at it before it runs", can_break: true });
        }
    }
    Ok(found)
}

/// When somebody had a part in hands last; a move from one cylinder to another is no look.
fn last_seen(record: &PartRecord, until: When) -> Option<When> {
    let events = record.part.events_in_order();
    let mut out: Option<When> = None;
    let mut seen = None;
    for (_, event) in events.into_iter().filter(|(_, event)| event.date <= until) {
        match event.did {
            Deed::Fitted if out == Some(event.date) => {}
            Deed::Fitted | Deed::Inspected | Deed::Renewed => seen = Some(event.date),
            _ => {}
        }
        out = (event.did == Deed::Removed).then_some(event.date);
    }
    seen
}

/// Whether a run seized at a cylinder, or anywhere where none is said: the word, and the cylinder that is known.
fn seizure_at(outing: &Outing, cylinder: Option<&str>) -> Option<(String, Option<String>)> {
    let seized =
        |outing: &Outing| lean_sign(outing).filter(Sign::is_seizure).map(|sign| sign.word().to_owned());
    if let Some(name) = cylinder {
        return Some((seized(&outing.for_cylinder(name))?, Some(name.to_owned())));
    }
    let each = outing.at_each_cylinder();
    each.iter().find_map(|(name, outing)| Some((seized(outing)?, name.map(str::to_owned))))
}
