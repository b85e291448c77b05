//! Bikes and engines as lists.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::notebook::BikeDocument;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{first_line, table};
use crate::store::{MadeBike, NewBike, OutingRecord, SetupRecord, newest_proven};

/// One bike of a list.
pub struct Line {
    /// Folder name.
    pub name: String,
    /// Its document.
    pub document: BikeDocument,
    /// Its setups, oldest first.
    pub setups: Vec<SetupRecord>,
    /// Its outings, oldest first.
    pub outings: Vec<OutingRecord>,
}

type Holders = BTreeMap<String, (String, u32)>;

/// The bikes for a script.
pub fn json(lines: &[Line]) -> Value {
    let bikes: Vec<_> = lines
        .iter()
        .map(|line| {
            json!({
                "bike": line.name,
                "title": line.document.title,
                "rider": line.document.rider,
                "retired": line.document.retired.is_some(),
                "setups": line.setups.len(),
                "outings": line.outings.len(),
                "proven": newest_proven(&line.document, &line.setups).map(|setup| setup.number),
                "engine": line.setups.last().and_then(|setup| setup.engine.clone()),
            })
        })
        .collect();
    json!({ "bikes": bikes })
}

/// The bikes for a person.
pub fn list(screen: &Screen, lines: &[Line], holders: &Holders) -> String {
    if lines.is_empty() {
        return "No bikes yet. Make one: reedbook bike new NAME".into();
    }
    let rows = lines
        .iter()
        .map(|line| {
            let engine = line.setups.last().and_then(|setup| setup.engine.clone());
            let here = engine.map_or_else(
                || "-".to_owned(),
                |name| match holders.get(&name) {
                    Some((bike, _)) if *bike != line.name => format!("none ({name} is in {bike})"),
                    _ => name,
                },
            );
            let retired = line.document.retired.map(|date| format!("retired {}", date.day()));
            let last = line.outings.last().map(|record| record.outing.date.day());
            vec![
                line.name.clone(),
                line.document.title.as_deref().map(first_line).unwrap_or_default(),
                here,
                line.setups.len().to_string(),
                newest_proven(&line.document, &line.setups)
                    .map_or("-".into(), |setup| setup.number.to_string()),
                retired.or(last).unwrap_or_else(|| "-".into()),
            ]
        })
        .collect();
    table(&["bike", "", "engine", "setups", "proven", "last out"], rows, &[3, 4], screen.width())
}

/// The engines for a script.
pub fn engines_json(engines: &[String], holders: &Holders) -> Value {
    let engines: Vec<_> = engines
        .iter()
        .map(|name| json!({ "engine": name, "bike": holders.get(name).map(|(bike, _)| bike) }))
        .collect();
    json!({ "engines": engines })
}

/// The engines for a person.
pub fn engines(screen: &Screen, engines: &[String], holders: &Holders) -> String {
    if engines.is_empty() {
        return "No engines yet. Make one: reedbook engine new NAME".into();
    }
    let rows = engines
        .iter()
        .map(|name| {
            let place = holders.get(name).map_or("on the shelf".to_owned(), |(bike, number)| {
                format!("in {bike} (its setup {number})")
            });
            vec![name.clone(), place]
        })
        .collect();
    table(&["engine", ""], rows, &[], screen.width())
}

/// What a new bike waits for.
pub fn made(screen: &Screen, wanted: &NewBike, made: &MadeBike, holder: Option<&(String, u32)>) -> String {
    let engine = if made.new_engine { "the new engine" } else { "the engine" };
    let takes = if holder.is_some() { format!("engine={} ", wanted.engine) } else { String::new() };
    let mut text = format!(
        "Bike {}, with {engine} {}.\n\
         Fill in what you know: take the '#' off a line, save.\n  {}\n  {}\n\
         Then record it: reedbook change {} {takes}--why \"as it stands\"",
        wanted.name,
        wanted.engine,
        made.setup.display(),
        made.engine.display(),
        wanted.name
    );
    if let Some((bike, number)) = holder {
        let note = format!(
            "note: The engine {} is in {bike} now (its setup {number}): recording {} takes it out of there.",
            wanted.engine, wanted.name
        );
        text.push('\n');
        text.push_str(&screen.wrap(&note, 6));
    }
    text
}
