//! What somebody wrote in words of their own stays with them where notes are not chosen: reasons, names of persons, marks, what a gauge is
//! called, plug and piston as they were read. Words tell of ports and head as well as a value does. What they say of a seizure or of a lean
//! run is nobody's secret, and is told in words of the program.

use std::collections::{BTreeMap, BTreeSet};

use super::how_it_ran::{LEAN, SEIZED};
use crate::advice::closing::sign_anywhere;
use crate::advice::held::is_a_seizure;
use crate::notebook::fields::names::visible;
use crate::notebook::{Build, ChecklistStep, Deed, Gauge, Gauges, HandedEngine, HandedEvent, Outing};
use crate::store::shipped_cautions;

/// What stands in place of a reason.
const LEFT_OUT: &str = "left out";
/// What stands in place of a caution that somebody wrote themselves: what can hurt is told to everybody, if only that there is something.
const CAUTION: &str = "A caution of its own stands there: ask what it says before this is done.";

/// A build without the words that somebody wrote into it.
pub(super) fn of_build(mut build: Build) -> Build {
    (build.why, build.by, build.notes) = (None, None, None);
    build.gauges = build.gauges.map(of_gauges);
    build.steps = of_steps(build.steps);
    if let Some(chamber) = &mut build.chamber {
        chamber.includes = None;
    }
    for own in build.cylinder.values_mut() {
        own.gauges = own.gauges.take().map(of_gauges);
        own.steps = of_steps(std::mem::take(&mut own.steps));
        if let Some(chamber) = &mut own.chamber {
            chamber.includes = None;
        }
    }
    build
}

fn of_gauges(gauges: Gauges) -> Gauges {
    let own = |gauge: Option<Gauge>| gauge.map(|gauge| Gauge { name: None, source: None, ..gauge });
    let Gauges { bore, inside, outside, feeler, indicator, solder, mut burette, mut balance } = gauges;
    if let Some(gauge) = &mut burette {
        (gauge.name, gauge.source) = (None, None);
    }
    if let Some(gauge) = &mut balance {
        (gauge.name, gauge.source) = (None, None);
    }
    Gauges {
        bore: own(bore),
        inside: own(inside),
        outside: own(outside),
        feeler: own(feeler),
        indicator: own(indicator),
        solder: own(solder),
        burette,
        balance,
    }
}

/// Steps without words: one that somebody put beside the lists is called by its place alone.
fn of_steps(steps: BTreeMap<String, ChecklistStep>) -> BTreeMap<String, ChecklistStep> {
    let mut own = 0;
    let bare = |(name, step): (String, ChecklistStep)| {
        let name = if step.list.is_some() {
            name
        } else {
            own += 1;
            format!("own-step-{own}")
        };
        (name, of_step(step))
    };
    steps.into_iter().map(bare).collect()
}

fn of_step(step: ChecklistStep) -> ChecklistStep {
    let open = step.is_open();
    let caution = step.caution.filter(|_| open);
    let caution = caution.map(|own| if shipped_cautions().contains(&own) { own } else { CAUTION.to_owned() });
    let left_out = step.left_out.map(|_| LEFT_OUT.to_owned());
    ChecklistStep { says: None, by: None, mark: None, note: None, caution, left_out, ..step }
}

/// What happened to a part, without words; that it seized is told.
pub(super) fn of_event(event: HandedEvent) -> HandedEvent {
    let seized = event.did == Deed::Failed && event.how.as_deref().is_some_and(is_a_seizure);
    HandedEvent { how: seized.then(|| SEIZED.to_owned()), by: None, note: None, ..event }
}

/// A run without words; that it seized or was lean is told.
pub(super) fn of_run(whole: &mut Outing) {
    let said = if whole.is_closed() { None } else { sign_anywhere(whole) };
    (whole.feel, whole.notes) = (None, None);
    (whole.cause, whole.mended) = (None, None);
    (whole.plug, whole.piston) = (None, None);
    for own in whole.cylinder.values_mut() {
        (own.plug, own.piston) = (None, None);
    }
    let Some(said) = said else { return };
    let told = if said.is_seizure() { vec![SEIZED] } else { LEAN.to_vec() };
    for words in told {
        if sign_anywhere(whole).is_none() || said.is_seizure() {
            whole.notes = Some(words.to_owned());
        }
    }
}

/// What is in a file as somebody wrote it, for whoever gives it away; none where nothing is.
pub fn in_own_words(handed: &HandedEngine) -> Option<String> {
    let has = |section: &str| handed.sections.iter().any(|named| named == section);
    if has("notes") {
        return Some(
            "All that was written beside is in it as it was written: reasons, notes, marks, plug and piston, names of persons. Read it through."
                .to_owned(),
        );
    }
    let mut said = Vec::new();
    let parts = handed.parts.values();
    let mut named: Vec<String> = parts
        .flat_map(|part| part.title.iter().chain(&part.number))
        .map(|words| format!("\"{}\"", visible(words)))
        .collect();
    let mut seen = BTreeSet::new();
    named.retain(|words| seen.insert(words.clone()));
    if !handed.parts.is_empty() {
        said.push(match named.as_slice() {
            [] => "names of parts".to_owned(),
            named => format!("names, titles and numbers of parts ({})", named.join(", ")),
        });
    }
    if !handed.builds.is_empty() {
        said.push("the names of steps, depths and bearings".to_owned());
    }
    if has("outings") && !handed.runs.is_empty() {
        said.push("place, session, fuel, lap and METAR of each run".to_owned());
    }
    (!said.is_empty()).then(|| format!("In it as it was written: {}.", said.join("; ")))
}
