//! What else changed on a bike between two setups: the parts in its engine and the builds it had.

use super::fitted::parts_between;
use crate::notebook::When;
use crate::store::{Book, SetupRecord, StoreError};

/// What changed inside the engine between two moments.
#[derive(Debug, Clone)]
pub struct InsideEngine {
    /// The engine.
    pub engine: String,
    /// As it stood first.
    pub from: When,
    /// As it stood then.
    pub to: When,
    /// What changed, in words.
    pub changes: Vec<String>,
    /// Kinds of the parts that are others, and builds, in few words.
    pub kinds: Vec<String>,
}

/// When a setup stood as it is remembered: at its newest outing, a proven one at the newest before its mark, and one that never ran until the next one; the files on
/// disk stand as they are now.
pub fn stood(
    book: &Book<'_>,
    bike: &str,
    setup: Option<&SetupRecord>,
    now: When,
) -> Result<When, StoreError> {
    let Some(setup) = setup else { return Ok(now) };
    // Of a setup that is vouched for, the day it was vouched for is remembered, whatever ran on it since.
    let proven = book.garage().bike(bike)?.proven.get(&setup.id).map(|mark| mark.date);
    let mut ran = book.outings(bike)?.into_iter().rev().filter(|record| record.setup == Some(setup.number));
    if let Some(record) = ran.find(|record| proven.is_none_or(|proven| record.outing.date <= proven)) {
        return Ok(record.outing.date);
    }
    let setups = book.setups(bike)?;
    let next = setups.iter().find(|other| other.number > setup.number);
    let until = next.and_then(|next| When::from_unix(next.date.unix() - 1, next.date.offset_minutes()));
    Ok(until.map_or(now, |until| until.max(setup.date)))
}

/// Whether a setup is what is on the bike now: the newest one, or the files on disk.
pub fn is_on_the_bike(book: &Book<'_>, bike: &str, setup: Option<&SetupRecord>) -> Result<bool, StoreError> {
    let latest = book.latest(bike)?;
    Ok(setup.is_none_or(|setup| latest.is_some_and(|latest| latest.number == setup.number)))
}

/// What changed inside one engine between two moments; none where nothing did, or where nothing is known of its inside.
pub fn inside_engine(
    book: &Book<'_>,
    engine: &str,
    (from, to): (When, When),
) -> Result<Option<InsideEngine>, StoreError> {
    let mut changes = parts_between(book, engine, (from, to))?;
    let kind = |change: &String| change.split(": ").next().unwrap_or_default().replace('-', " ");
    let mut kinds: Vec<String> = changes.iter().map(kind).collect();
    let (first, last) = (from.min(to), from.max(to));
    for record in book.builds(engine)? {
        if record.build.date > first && record.build.date <= last {
            let why = record.build.why.as_deref().map(|why| {
                format!(
                    ": {}",
                    crate::notebook::fields::names::visible(why.lines().next().unwrap_or_default())
                )
            });
            kinds.push(format!("{} built", record.build.scope.words()));
            changes.push(format!(
                "{engine} was built on {} ({}){}",
                record.build.date.day(),
                record.build.what_was_apart(),
                why.unwrap_or_default()
            ));
        }
    }
    let inside = InsideEngine { engine: engine.to_owned(), from, to, changes, kinds };
    Ok((!inside.changes.is_empty()).then_some(inside))
}
