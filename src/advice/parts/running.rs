//! How long each engine ran: the outings of all bikes, each laid to the engine that was in the bike.

use std::collections::HashMap;

use crate::notebook::{Doubted, When};
use crate::store::{Book, OutingRecord, SetupRecord, StoreError};

/// One outing as it counts for an engine.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineRun {
    /// The engine.
    pub engine: String,
    /// The bike it was in.
    pub bike: String,
    /// The outing's identity.
    pub outing: String,
    /// When.
    pub date: When,
    /// Where, as it was written.
    pub place: Option<String>,
    /// Hours it ran; none where neither the outing nor the hour meter tells.
    pub hours_h: Option<f64>,
    /// How often it was started.
    pub starts: f64,
}

/// All runs of all engines by date, oldest first. An outing whose setup is not known counts for no engine.
pub fn runs(book: &Book<'_>) -> Result<Vec<EngineRun>, StoreError> {
    let mut found = Vec::new();
    for bike in book.garage().bikes() {
        let setups = book.setups(&bike)?;
        found.extend(runs_of_bike(&bike, &setups, &book.outings(&bike)?));
    }
    found.sort_by_key(|run| run.date);
    Ok(found)
}

/// How long an engine ran between two dates, in words; none where it did not run.
pub fn hours_between(runs: &[EngineRun], engine: &str, (from, to): (When, When)) -> Option<String> {
    let between: Vec<_> =
        runs.iter().filter(|run| run.engine == engine && run.date >= from && run.date < to).collect();
    if between.is_empty() {
        return None;
    }
    let hours: f64 = between.iter().filter_map(|run| run.hours_h).sum();
    let least = if between.iter().any(|run| run.hours_h.is_none()) { "at least " } else { "" };
    let outings =
        if between.len() == 1 { "1 outing".to_owned() } else { format!("{} outings", between.len()) };
    Some(format!("{least}{} h between them in {outings}", crate::quantity::fixed(hours, 1)))
}

/// The runs of one bike's outings, which come by date.
fn runs_of_bike(bike: &str, setups: &[SetupRecord], outings: &[OutingRecord]) -> Vec<EngineRun> {
    let engines: HashMap<u32, &str> =
        setups.iter().filter_map(|setup| Some((setup.number, setup.engine.as_deref()?))).collect();
    // One that git put together with others' after the run has the engine that it had then.
    let named = |id: &String| setups.iter().find(|setup| setup.id == *id).map(|setup| setup.number);
    let engine_of = |record: &OutingRecord| {
        let number = record.setup.or_else(|| named(record.outing.setup.as_ref()?))?;
        engines.get(&number).copied()
    };
    let mut found = Vec::new();
    for (index, record) in outings.iter().enumerate() {
        let Some(engine) = engine_of(record) else { continue };
        let before = index.checked_sub(1).map(|index| &outings[index]);
        let before = before.filter(|before| engine_of(before) == Some(engine));
        let outing = &record.outing;
        // Hours that are doubted are not known.
        let believed = outing.hours.as_ref().filter(|_| !outing.doubts(Doubted::Hours));
        let said = believed.map(|hours| hours.si() / 3600.0);
        found.push(EngineRun {
            engine: engine.to_owned(),
            bike: bike.to_owned(),
            outing: record.id.clone(),
            date: outing.date,
            place: outing.place.clone(),
            hours_h: said.or_else(|| by_meter_h(before?, record)),
            starts: outing.starts.as_ref().map_or(1.0, crate::quantity::Number::si),
        });
    }
    found
}

/// Hours between the hour meter's readings of an outing and of the one right before it.
fn by_meter_h(before: &OutingRecord, record: &OutingRecord) -> Option<f64> {
    let (earlier, later) = (before.outing.meter.as_ref()?, record.outing.meter.as_ref()?);
    let hours = (later.si() - earlier.si()) / 3600.0;
    (hours >= 0.0).then_some(hours)
}
