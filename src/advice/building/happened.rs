//! What happened to an engine beside the setups: its builds, and the parts that came and went, as the history tells it.

use std::collections::HashMap;

use super::ready::{Readiness, judged};
use crate::advice::parts::{count, runs};
use crate::notebook::{Deed, PartEvent, When};
use crate::store::{Book, SetupRecord, StoreError};

/// One thing that happened to an engine.
#[derive(Debug, Clone)]
pub struct Happened {
    /// When.
    pub date: When,
    /// What.
    pub what: What,
}

/// A build, or something done to one or more parts at once.
#[derive(Debug, Clone)]
pub enum What {
    /// It was built.
    Built(Box<Readiness>),
    /// Parts of it, and what was done to them.
    Parts(Deed, Vec<PartThen>),
}

/// A part as it was when something was done to it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct PartThen {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: String,
    /// What it had run, in words.
    pub hours: String,
    /// The cylinder it was at, of an engine with several.
    pub cylinder: Option<String>,
}

/// What happened to an engine, oldest first; parts that were treated alike at one moment are one entry.
pub fn happened(book: &Book<'_>, engine: &str) -> Result<Vec<Happened>, StoreError> {
    let mut found = Vec::new();
    for record in book.builds(engine)? {
        let ready = Readiness::of(&record, &judged(book.garage(), &record)?);
        found.push(Happened { date: record.build.date, what: What::Built(Box::new(ready)) });
    }
    let runs = runs(book)?;
    let mut told: Vec<(When, Deed, PartThen)> = Vec::new();
    for record in book.parts()? {
        let mut place: Option<&PartEvent> = None;
        for (_, event) in record.part.events_in_order() {
            if event.did == Deed::Fitted {
                place = Some(event);
            }
            let here = place.filter(|place| place.engine.as_deref() == Some(engine));
            if let Some(place) = here.filter(|_| event.did != Deed::Ran) {
                let hours = super::hours_words(&count(&record.part, &runs, event.date));
                let then = PartThen {
                    name: record.name.clone(),
                    kind: record.part.kind.clone(),
                    hours,
                    cylinder: place.cylinder.clone(),
                };
                told.push((event.date, event.did, then));
            }
            if event.did.takes_out() {
                place = None;
            }
        }
    }
    told.sort_by(|a, b| (a.0, a.1.word(), &a.2).cmp(&(b.0, b.1.word(), &b.2)));
    for (date, did, part) in told {
        match found.last_mut() {
            Some(Happened { date: at, what: What::Parts(known, parts) }) if *at == date && *known == did => {
                parts.push(part);
            }
            _ => found.push(Happened { date, what: What::Parts(did, vec![part]) }),
        }
    }
    found.sort_by_key(|one| one.date);
    Ok(found)
}

/// What happened to the engines of a bike, by the number of the setup it is told with: that in which it happened, or, for
/// what was done while the engine was out, the first one after.
pub fn by_setup(book: &Book<'_>, setups: &[SetupRecord]) -> Result<HashMap<u32, Vec<Happened>>, StoreError> {
    let mut of_engine: HashMap<&str, Vec<Happened>> = HashMap::new();
    let mut told: HashMap<u32, Vec<Happened>> = HashMap::new();
    for (index, setup) in setups.iter().enumerate() {
        let Some(engine) = setup.engine.as_deref() else { continue };
        if !of_engine.contains_key(engine) {
            of_engine.insert(engine, happened(book, engine)?);
        }
        let ends = setups.get(index + 1).map(|next| next.date);
        let Some(waiting) = of_engine.get_mut(engine) else { continue };
        let split = waiting.partition_point(|one| ends.is_none_or(|end| one.date < end));
        let mine: Vec<_> = waiting.drain(..split).collect();
        if !mine.is_empty() {
            told.insert(setup.number, mine);
        }
    }
    Ok(told)
}
