//! What was found.

use serde_json::{Value, json};

use super::air::rounded;
use super::layout::{air_in_short, count, first_line, signed};
use super::outing::{air_json, outing_json, outing_line};
use super::screen::Screen;
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
                    let mut outing = outing_json(record);
                    outing["bike"] = json!(record.bike);
                    json!({ "outing": outing, "air_off_percent": off })
                }
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
    let setups = hits.iter().filter(|hit| matches!(hit.found, Found::Setup(_))).count();
    let mut lines = vec![format!("{}, {}", count(setups, "setup"), count(hits.len() - setups, "outing"))];
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
                    outing_line(screen, record)
                )
            }
        };
        lines.push(screen.wrap(&line, 4));
    }
    lines.join("\n")
}
