//! The record of an engine for its owner: builds, parts and hours of that engine, and of no other. What is not chosen is not in the
//! file in any form: it is made of the chosen values alone.

use std::collections::BTreeMap;

use super::how_it_ran::{SEIZED, is_open_seizure, is_outlived};
use super::own_words::{of_build, of_event, of_run};
use crate::advice::parts::{By, Count, Counted, EngineRun, count, reached};
use crate::machine::Moment;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Command;
use crate::notebook::{
    Build, Deed, Doubted, ENGINE_HANDOVER_VERSION, ENGINE_SECTIONS, HandedEngine, HandedEngineFrom,
    HandedEvent, HandedHours, HandedPart, Outing, Part, When,
};
use crate::quantity::Hours;
use crate::store::{Book, Chosen, StoreError, Unsealed, outing_identity, owner_of, sealed, sections_meant};

/// Makes the record of an engine, and the text of its file.
pub fn hand_engine_over(
    book: &Book<'_>,
    engine: &str,
    chosen: &Chosen,
    moment: &Moment,
) -> Result<(HandedEngine, String), StoreError> {
    let garage = book.garage();
    garage.require_engine(engine)?;
    let sections = sections_meant(&ENGINE_SECTIONS, chosen)?;
    let has = |section: &str| sections.contains(&section);
    let counted = Counted::of(garage, moment.now)?;
    let runs: Vec<&EngineRun> = counted.runs.iter().filter(|run| run.engine == engine).collect();
    let mut builds = BTreeMap::new();
    for record in book.builds(engine)?.into_iter().filter(|_| has("builds")) {
        let stem = record.file.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        let build = if has("head") { record.build } else { without_the_head(record.build) };
        let build = if has("notes") { build } else { of_build(build) };
        builds.insert(stem.unwrap_or_default(), table(&build)?);
    }
    let mut parts = BTreeMap::new();
    for record in counted.parts.iter().filter(|_| has("parts")) {
        let handed = part(&record.part, engine, &counted, (has("hours"), has("notes")));
        parts.extend(handed.map(|handed| (record.name.clone(), handed)));
    }
    let handover = HandedEngine {
        engine_handover: ENGINE_HANDOVER_VERSION,
        without: others(&sections),
        sections: sections.iter().map(|section| (*section).to_owned()).collect(),
        from: HandedEngineFrom {
            garage: garage.document().name.clone(),
            who: garage.repository().author(),
            engine: engine.to_owned(),
            owner: owner_of(garage, engine),
            handed_over: moment.now,
        },
        hours: has("hours").then(|| hours(&runs)),
        builds,
        parts,
        runs: runs_of(book, &runs, &sections)?,
    };
    if handover.builds.is_empty() && handover.parts.is_empty() && handover.runs.is_empty() {
        return Err(StoreError::request(
            None,
            format!("{engine} has nothing written down in {}.", sections.join(", ")),
            Command::BeginBuild(engine.to_owned())
                + " begins a build; outings are logged on the bike it is in.",
        ));
    }
    let text = sealed(&handover)?;
    Ok((handover, text))
}

fn others(sections: &[&str]) -> Vec<String> {
    let other = |section: &&&str| !sections.contains(*section);
    ENGINE_SECTIONS.iter().filter(other).map(|section| (*section).to_owned()).collect()
}

fn hours(runs: &[&EngineRun]) -> HandedHours {
    HandedHours {
        hours: two_places(runs.iter().filter_map(|run| run.hours_h).sum()),
        at_least: runs.iter().any(|run| run.hours_h.is_none()),
        runs: u32::try_from(runs.len()).unwrap_or(u32::MAX),
    }
}

fn two_places(hours: f64) -> f64 {
    (hours * 100.0).round() / 100.0
}

/// A document as a table, without the tables in it that hold nothing.
fn table<T: serde::Serialize>(document: &T) -> Result<toml::Table, StoreError> {
    let mut table = toml::Table::try_from(document).map_err(|error| {
        StoreError::request(
            None,
            format!("The handover cannot be written: {error}."),
            "Hand over fewer sections.",
        )
    })?;
    prune(&mut table);
    Ok(table)
}

fn prune(table: &mut toml::Table) {
    for (_, value) in table.iter_mut() {
        if let toml::Value::Table(inner) = value {
            prune(inner);
        }
    }
    table.retain(|_, value| value.as_table().is_none_or(|inner| !inner.is_empty()));
}

/// A build without what it says of the work in head and ports: squish, deck, chamber, gaskets and reeds.
fn without_the_head(mut build: Build) -> Build {
    (build.squish, build.deck, build.chamber, build.reed) = (None, None, None, None);
    for own in build.cylinder.values_mut() {
        (own.squish, own.deck, own.chamber, own.reed) = (None, None, None, None);
    }
    build
}

/// What a part has to do with an engine; none where it was never in it. What it did in others is nobody else's business.
fn part(
    part: &Part,
    engine: &str,
    counted: &Counted,
    (with_hours, with_notes): (bool, bool),
) -> Option<HandedPart> {
    let mut events = Vec::new();
    let (mut is_in, mut cylinder, mut last) = (false, None, None::<When>);
    // It came out of this engine and went into no other: what is found of it then is of what it did here.
    let mut lies_there = false;
    for (_, event) in part.events_in_order() {
        if event.date > counted.now {
            break;
        }
        let comes = event.did == Deed::Fitted && event.engine.as_deref() == Some(engine);
        let goes = is_in && (event.did.takes_out() || event.did == Deed::Fitted && !comes);
        if !is_in && !comes {
            lies_there &= event.did != Deed::Fitted;
            if !lies_there || !matches!(event.did, Deed::Failed | Deed::Inspected | Deed::Retired) {
                continue;
            }
        }
        if comes {
            cylinder.clone_from(&event.cylinder);
        }
        if is_in || comes {
            last = Some(event.date);
        }
        let event_of_it = HandedEvent {
            date: event.date,
            // Put straight into another engine it is out of this one, and which that is stays here.
            did: if goes && event.did == Deed::Fitted { Deed::Removed } else { event.did },
            cylinder: event.cylinder.clone().filter(|_| comes),
            usable: event.usable.filter(|_| !goes || event.did != Deed::Fitted),
            how: event.how.clone(),
            by: event.by.clone(),
            note: event.note.clone().filter(|_| !goes || event.did != Deed::Fitted),
        };
        events.push(if with_notes { event_of_it } else { of_event(event_of_it) });
        is_in = !goes && (is_in || comes);
        lies_there = !is_in && event.did != Deed::Fitted;
    }
    let until = if is_in { counted.now } else { last? };
    let counted_h: Option<Count> = with_hours.then(|| count(part, &counted.runs, until));
    let limit = counted_h.as_ref().filter(|_| is_in).and_then(|count| {
        let all = reached(part, count, &counted.limits, counted.now);
        all.into_iter().find(|reached| reached.by == By::Hours).map(|reached| reached.limit)
    });
    Some(HandedPart {
        title: part.title.clone(),
        kind: part.kind.clone(),
        number: part.number.clone(),
        is_in,
        cylinder,
        hours: counted_h.as_ref().map(|count| two_places(count.hours_h)),
        hours_at_least: counted_h.as_ref().map(|count| count.hours_at_least),
        change_at: limit.map(two_places),
        notes: part.notes.clone().filter(|_| with_notes),
        events,
    })
}

/// The runs of an engine: when and how long, and how they went where that was chosen.
fn runs_of(
    book: &Book<'_>,
    runs: &[&EngineRun],
    sections: &[&str],
) -> Result<BTreeMap<String, toml::Table>, StoreError> {
    let has = |section: &str| sections.contains(&section);
    let mut handed = BTreeMap::new();
    let mut outings = BTreeMap::new();
    for run in runs {
        if !outings.contains_key(&run.bike) {
            outings.insert(run.bike.clone(), book.outings(&run.bike)?);
        }
    }
    let outing_of = |run: &EngineRun| {
        let record = outings.get(&run.bike)?.iter().find(|record| record.id == run.outing);
        record.map(|record| &record.outing)
    };
    let all: Vec<(&EngineRun, &Outing)> =
        runs.iter().filter_map(|run| Some((*run, outing_of(run)?))).collect();
    for (run, outing) in &all {
        // That it seized is nobody's secret: whoever runs it must know, whatever else is left out.
        let seized = is_open_seizure(outing) && !is_outlived(outing, all.iter().map(|(_, outing)| *outing));
        if !has("hours") && !has("outings") && !seized {
            continue;
        }
        let mut whole = if has("outings") {
            Outing { setup: None, dyno: None, ..(*outing).clone() }
        } else {
            let doubted = outing.doubted.iter().copied().filter(|what| *what == Doubted::Hours).collect();
            Outing { date: outing.date, kind: outing.kind, doubted, ..Outing::default() }
        };
        whole.doubted.retain(|what| *what != Doubted::Setup);
        if has("hours") {
            whole.starts.clone_from(&outing.starts);
            // By the hour meter where nobody wrote them down.
            let by_meter = || Hours::parse(&format!("{:.2} h", run.hours_h?)).ok();
            whole.hours = outing.hours.clone().or_else(by_meter);
        } else {
            (whole.hours, whole.starts, whole.meter) = (None, None, None);
            whole.doubted.retain(|what| *what != Doubted::Hours);
        }
        if !has("notes") {
            of_run(&mut whole);
        }
        if seized && !is_open_seizure(&whole) {
            whole.notes = Some(whole.notes.map_or(SEIZED.to_owned(), |notes| format!("{notes}\n{SEIZED}")));
        }
        let id = if is_id(&run.outing) { run.outing.clone() } else { outing_identity(&run.outing) };
        handed.insert(id, table(&whole)?);
    }
    Ok(handed)
}

/// Whether a word can be the identity of an outing: the end of a file's name.
fn is_id(id: &str) -> bool {
    (1..=40).contains(&id.len()) && id.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'z' | b'_'))
}

/// Reads the record of an engine.
pub fn read_engine_handover(file: &Unsealed) -> Result<HandedEngine, StoreError> {
    let mut handover: HandedEngine = file.read(("engine_handover", ENGINE_HANDOVER_VERSION))?;
    let named = |section: &str| handover.sections.iter().any(|name| name == section);
    let strange = [
        ("builds", !handover.builds.is_empty()),
        ("parts", !handover.parts.is_empty()),
        ("hours", handover.hours.is_some()),
    ];
    if let Some((section, _)) = strange.into_iter().find(|(section, there)| *there && !named(section)) {
        return Err(file.refused(&format!("has {section} in it, which it does not name")));
    }
    if let Some(id) = handover.runs.keys().find(|id| !is_id(id)) {
        return Err(file.refused(&format!("has a run with the name \"{}\", which is none", visible(id))));
    }
    let known: Vec<&str> = ENGINE_SECTIONS.into_iter().filter(|section| named(section)).collect();
    handover.without = others(&known);
    handover.sections = known.into_iter().map(str::to_owned).collect();
    Ok(handover)
}
