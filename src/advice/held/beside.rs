//! Another cylinder that was lean or was opened: they share fuel, air and often a seal.

use super::sign::{signs, was_judged, was_rich_enough};
use crate::advice::learning::lean_sign;
use crate::air::Air;
use crate::notebook::fields::names::visible;
use crate::notebook::{Doubted, Outing};
use crate::store::{Book, OutingRecord, StoreError};

/// The last run of a bike, where what was lean at all cylinders but one is said by name.
pub fn last_by_name(book: &Book<'_>, bike: &str) -> Result<Option<OutingRecord>, StoreError> {
    let of_all = book.of_all();
    let Some(mut record) = of_all.outings(bike)?.pop() else { return Ok(None) };
    let names = of_all.combination(bike, None)?.fields.cylinders();
    record.outing.name_the_lean(&names);
    Ok(Some(record))
}

/// What is to be said of a cylinder that was lean or seized when it was last judged, with no cause written down; none where there is only
/// one cylinder. With the run as a command names it. They share fuel, air and often a seal (common practice, no source). A run that says
/// nothing of that cylinder clears nothing up; one before the last counts where it was lean at full throttle.
pub fn lean_when_last_judged(book: &Book<'_>, bike: &str) -> Result<Option<(String, String)>, StoreError> {
    if book.cylinder().is_none() {
        return Ok(None);
    }
    let of_all = book.of_all();
    let names = of_all.combination(bike, None)?.fields.cylinders();
    let mut cleared: Vec<String> = Vec::new();
    for (since, mut record) in of_all.outings(bike)?.into_iter().rev().enumerate() {
        record.outing.name_the_lean(&names);
        let lean = |name: &&String| {
            let own = record.outing.for_cylinder(name);
            let by_name = record.outing.cylinder.contains_key(*name) && !cleared.contains(name);
            let is_lean =
                signs(&own).iter().any(|sign| sign.zone == "full" || since == 0 && sign.words == LEAN);
            by_name && is_lean && !record.outing.is_closed()
        };
        if let Some(name) = names.iter().find(lean) {
            let seized = lean_sign(&record.outing.for_cylinder(name)).is_some_and(|sign| sign.is_seizure());
            let sentence = format!(
                "The cylinder {} {} {}, on {}{}: find out why there first, and nothing leaner at any cylinder before.",
                visible(name),
                if seized { "seized" } else { "was lean" },
                if since == 0 { "in the last run" } else { "at full throttle" },
                record.outing.date.day(),
                if since == 0 { "" } else { ", and no run since says that it is right" }
            );
            return Ok(Some((sentence, format!("{} {}", visible(&record.bike), visible(&record.id)))));
        }
        cleared.extend(names.iter().filter(|name| says_enough(&record.outing, name)).cloned());
    }
    Ok(None)
}

/// An engine of several cylinders that was opened for one of them and has not run since.
#[derive(Debug, Clone)]
pub struct Opened {
    /// What there is to say of it, in a sentence.
    pub sentence: String,
    /// The air of the run that one of them was lean in, where that is known.
    pub air: Option<Air>,
}

/// Whether another cylinder than the one that is asked about seized or was lean at full throttle in the newest run that was judged, its
/// cause is written down as fixed, and nothing ran since: the mend is not tried, and they share a crankcase, often a seal (common
/// practice, no source).
pub fn opened_beside(book: &Book<'_>, bike: &str) -> Result<Option<Opened>, StoreError> {
    let Some(asked) = book.cylinder() else { return Ok(None) };
    let of_all = book.of_all();
    let fields = of_all.combination(bike, None)?.fields;
    let names = fields.cylinders();
    let runs = of_all.outings(bike)?;
    let judged = |run: &OutingRecord| run.outing.at_each_cylinder().iter().any(|(_, own)| was_judged(own));
    let Some(mut record) = runs.into_iter().rev().find(judged) else {
        return Ok(None);
    };
    record.outing.name_the_lean(&names);
    if !record.outing.is_closed() {
        return Ok(None);
    }
    let with = fields.sharing_with(asked);
    let others = names.iter().filter(|name| *name != asked && !with.contains(name));
    let lean = |name: &&String| {
        let own = signs(&record.outing.for_cylinder(name));
        record.outing.cylinder.contains_key(*name)
            && own.iter().any(|sign| sign.seizure || sign.zone == "full")
    };
    let Some(name) = others.into_iter().find(lean) else { return Ok(None) };
    let seized = lean_sign(&record.outing.for_cylinder(name)).is_some_and(|sign| sign.is_seizure());
    let air = record.outing.air.as_ref().filter(|_| !record.outing.doubts(Doubted::Air));
    Ok(Some(Opened {
        sentence: format!(
            "The cylinder {} {} on {}, its cause is written down as fixed, and nothing ran since: nothing leaner at any cylinder before it has run.",
            visible(name),
            if seized { "seized" } else { "was lean" },
            record.outing.date.day(),
        ),
        air: air.and_then(|air| air.air().ok()),
    }))
}

/// How a throttle below full is called that was more than slightly lean.
const LEAN: &str = "lean";

/// Whether a run says of a cylinder that it was right or rich at full throttle, or that what made it lean is mended.
fn says_enough(outing: &Outing, name: &str) -> bool {
    let own = outing.for_cylinder(name);
    was_rich_enough(&own, "full") || outing.is_closed() && !signs(&own).is_empty()
}
