//! What happened to an engine beside the setups: its builds, and the parts that came and went, as the history tells it.

use std::collections::HashMap;

use super::ready::{Readiness, judged};
use crate::advice::parts::{count, runs};
use crate::notebook::{Deed, When};
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
    /// Parts of it: what was done, and for each its name, its kind and its hours in words.
    Parts(Deed, Vec<(String, String, String)>),
}

/// What happened to an engine, oldest first; parts that were treated alike at one moment are one entry.
pub fn happened(book: &Book<'_>, engine: &str) -> Result<Vec<Happened>, StoreError> {
    let mut found = Vec::new();
    for record in book.builds(engine)? {
        let ready = Readiness::of(&record, &judged(book.garage(), &record)?);
        found.push(Happened { date: record.build.date, what: What::Built(Box::new(ready)) });
    }
    let runs = runs(book)?;
    let mut told: Vec<(When, Deed, (String, String, String))> = Vec::new();
    for record in book.parts()? {
        let mut place: Option<String> = None;
        for (_, event) in record.part.events_in_order() {
            if event.did == Deed::Fitted {
                place.clone_from(&event.engine);
            }
            if place.as_deref() == Some(engine) && event.did != Deed::Ran {
                let hours = super::hours_words(&count(&record.part, &runs, event.date));
                told.push((event.date, event.did, (record.name.clone(), record.part.kind.clone(), hours)));
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
