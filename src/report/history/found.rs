//! What was found.

use serde_json::{Value, json};

use crate::report::air::reading::rounded;
use crate::report::history::outing::{OutingEntry, air_json};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{air_in_short, count, first_line, signed};
use crate::store::{Found, Hit};

/// For a script.
pub fn json(hits: &[Hit]) -> Value {
    let found: Vec<_> = hits
        .iter()
        .map(|hit| {
            let off = hit.air_off_percent.map(|percent| rounded(percent, 3));
            match &hit.found {
                Found::Setup(setup) => json!({
                    "setup": {
                        "bike": setup.bike,
                        "number": setup.number,
                        "commit": setup.commit,
                        "date": setup.date.to_string(),
                        "why": setup.why,
                        "air": setup.air.as_ref().map(air_json),
                    },
                    "air_off_percent": off,
                }),
                Found::Outing(record) => {
                    let mut outing = json!(OutingEntry::of(record));
                    outing["bike"] = json!(record.bike);
                    json!({ "outing": outing, "air_off_percent": off })
                }
                Found::Build(record) => json!({
                    "build": {
                        "engine": record.engine,
                        "id": record.id,
                        "date": record.build.date.to_string(),
                        "scope": record.build.scope.word(),
                        "why": record.build.why,
                    },
                    "air_off_percent": off,
                }),
                Found::Part(record, date) => json!({
                    "part": {
                        "name": record.name,
                        "kind": record.part.kind,
                        "title": record.part.title,
                        "date": date.to_string(),
                    },
                    "air_off_percent": off,
                }),
            }
        })
        .collect();
    json!({ "found": found })
}

/// For a person.
pub fn text(screen: &Screen, hits: &[Hit]) -> String {
    if hits.is_empty() {
        return "Nothing found.".into();
    }
    let mut lines = vec![sum(hits)];
    for hit in hits {
        let off =
            hit.air_off_percent.map(|percent| format!("air {} % | ", signed(percent, 1))).unwrap_or_default();
        let line = match &hit.found {
            Found::Setup(setup) => {
                let air = setup
                    .air
                    .as_ref()
                    .map(|air| format!(" | {}", air_in_short(screen, air)))
                    .unwrap_or_default();
                format!(
                    "{} setup {} | {off}{} | {}{air}",
                    setup.bike,
                    setup.number,
                    setup.date.short(),
                    first_line(&setup.why)
                )
            }
            Found::Outing(record) => {
                let setup = record.setup.map_or_else(|| "?".to_owned(), |number| number.to_string());
                format!(
                    "{} outing {} on setup {setup} | {off}{}",
                    record.bike,
                    record.id,
                    OutingEntry::of(record).line(screen)
                )
            }
            Found::Build(record) => {
                let why = record.build.why.as_deref().map(|why| format!(" | {}", first_line(why)));
                format!(
                    "{} build {} | {} | {}{}",
                    record.engine,
                    record.id,
                    record.build.date.short(),
                    record.build.scope.words(),
                    why.unwrap_or_default()
                )
            }
            Found::Part(record, _) => {
                let (_, last) = record.part.events_in_order().pop().unzip();
                let last = last.map(|event| {
                    let engine = event.engine.as_deref().map(|engine| format!(" to {engine}"));
                    let how = event.how.as_deref().map(|how| format!(": {}", first_line(how)));
                    format!(
                        " | {} {}{}{}",
                        event.did.word(),
                        event.date.short(),
                        engine.unwrap_or_default(),
                        how.unwrap_or_default()
                    )
                });
                let title = record.part.title.as_deref().map(|title| format!(" | {}", first_line(title)));
                format!(
                    "part {} | {}{}{}",
                    record.name,
                    record.part.kind,
                    title.unwrap_or_default(),
                    last.unwrap_or_default()
                )
            }
        };
        lines.push(screen.wrap(&line, 4));
    }
    lines.join("\n")
}

/// How many of what was found; builds and parts are counted where there are any.
fn sum(hits: &[Hit]) -> String {
    let of = |fits: fn(&Found) -> bool| hits.iter().filter(|hit| fits(&hit.found)).count();
    let setups = of(|found| matches!(found, Found::Setup(_)));
    let outings = of(|found| matches!(found, Found::Outing(_)));
    let builds = of(|found| matches!(found, Found::Build(_)));
    let parts = of(|found| matches!(found, Found::Part(..)));
    let mut counts = vec![count(setups, "setup"), count(outings, "outing")];
    counts.extend((builds > 0).then(|| count(builds, "build")));
    counts.extend((parts > 0).then(|| count(parts, "part")));
    counts.join(", ")
}
