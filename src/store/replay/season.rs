//! Replays a garage that is written down as dated files into a real one: the demo, or a season that was kept on paper.

use std::path::{Path, PathBuf};

use serde::Deserialize;
use toml::Table;

use crate::machine::Moment;
use crate::notebook::{AirEntry, Assignment, Code, Finding, Outing, Place, When};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::make::garage_of;
use crate::store::records::SetupName;
use crate::store::replay::papers::{BuildEvent, DeedEvent, PartEvent, as_typed};
use crate::store::writing::change::{ChangeRequest, change};
use crate::store::writing::outings::{NewOuting, log};
use crate::store::writing::proven::{ProvenRequest, mark};
use crate::store::writing::rollback::{RollbackRequest, rollback};

/// One dated file: what happened to one bike, one engine or one part.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Event {
    date: When,
    bike: Option<String>,
    part: Option<PartEvent>,
    deed: Option<DeedEvent>,
    build: Option<BuildEvent>,
    change: Option<ChangeEvent>,
    outing: Option<Table>,
    proven: Option<ProvenEvent>,
    rollback: Option<RollbackEvent>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ChangeEvent {
    why: String,
    #[serde(default)]
    set: Table,
    #[serde(default)]
    insert: bool,
    air: Option<AirEntry>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ProvenEvent {
    why: Option<String>,
    setup_number: Option<u32>,
    air: Option<AirEntry>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RollbackEvent {
    to: toml::Value,
    why: Option<String>,
    #[serde(default)]
    only: Vec<String>,
    #[serde(default)]
    fitted: Vec<String>,
}

/// What a replay did.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Replayed {
    /// Setups recorded.
    pub setups: usize,
    /// Outings logged.
    pub outings: usize,
    /// Proven marks set.
    pub proven: usize,
    /// Builds written down.
    pub builds: usize,
    /// Parts taken into the book.
    pub parts: usize,
}

type Files<'f> = &'f [(PathBuf, &'f [u8])];

/// Makes a garage in `root` of the files and replays the events in it, in the order of their names. `progress` hears how
/// many of how many are done.
pub fn replay(
    root: &Path,
    files: Files<'_>,
    moment: &Moment,
    mut progress: impl FnMut(usize, usize),
) -> Result<(Garage, Replayed), StoreError> {
    let events: Vec<_> =
        files.iter().filter(|(path, _)| path.starts_with("events") && ends_with(path, "toml")).collect();
    let first = events.first().map(|(path, bytes)| read_event(path, bytes)).transpose()?;
    let start = Moment { now: first.map_or(moment.now, |event| event.date), seed: moment.seed.clone() };
    let garage = garage_of(root, recorded_at_start(files), &start)?;
    for (path, bytes) in files.iter().filter(|(path, _)| is_setup_file(path)) {
        garage.gate().write(path, bytes)?;
    }
    let mut done = Replayed::default();
    for (index, (path, bytes)) in events.iter().enumerate() {
        let event = read_event(path, bytes)?;
        act(&garage, event, moment.seed.as_ref(), &mut done).map_err(|error| in_file(path, &error))?;
        progress(index + 1, events.len());
    }
    Ok((garage, done))
}

fn ends_with(path: &Path, ending: &str) -> bool {
    path.extension().is_some_and(|found| found == ending)
}

/// Setup files and maps wait for the first event of their bike, which records them.
fn is_setup_file(path: &Path) -> bool {
    path.starts_with("bikes")
        && (path.file_name().is_some_and(|name| name == "setup.toml") || ends_with(path, "csv"))
}

fn recorded_at_start(files: Files<'_>) -> Vec<(PathBuf, Vec<u8>)> {
    let mut start: std::collections::BTreeMap<PathBuf, Vec<u8>> = crate::store::folder::defaults::configs()
        .into_iter()
        .map(|(path, bytes)| (path, bytes.to_vec()))
        .collect();
    let wanted = files.iter().filter(|(path, _)| {
        let inside = path.starts_with("configs") || path.starts_with("engines") || path.starts_with("bikes");
        (inside && !is_setup_file(path)) || path == Path::new(crate::notebook::GARAGE_FILE)
    });
    start.extend(wanted.map(|(path, bytes)| (path.clone(), bytes.to_vec())));
    start.into_iter().collect()
}

fn read_event(path: &Path, bytes: &[u8]) -> Result<Event, StoreError> {
    let text = String::from_utf8_lossy(bytes);
    toml::from_str(&text).map_err(|error| {
        let line = error.span().map(|span| text[..span.start].lines().count().max(1));
        StoreError::Findings(vec![Finding {
            code: Code::WrongSort,
            place: Place { file: path.to_owned(), line, field: None },
            message: format!("{}.", error.message().trim_end_matches('.')),
            help: "An event has a date and one of [change], [outing], [proven], [rollback] (with a bike), [build], [part] and [deed]."
                .into(),
        }])
    })
}

fn in_file(path: &Path, error: &StoreError) -> StoreError {
    StoreError::request(error.place().field.as_deref(), format!("{}: {error}", path.display()), error.help())
}

fn act(garage: &Garage, event: Event, seed: Option<&String>, done: &mut Replayed) -> Result<(), StoreError> {
    let moment = Moment { now: event.date, seed: seed.cloned() };
    if let Some(part) = event.part {
        done.parts += 1;
        return part.act(garage, &moment);
    }
    if let Some(deed) = event.deed {
        return deed.act(garage, &moment);
    }
    if let Some(build) = event.build {
        done.builds += 1;
        return build.act(garage, &moment);
    }
    let bike = event.bike.ok_or_else(|| {
        StoreError::request(Some("bike"), "The event names no bike.", "Add bike = \"NAME\".")
    })?;
    if let Some(wanted) = event.change {
        let assignments = wanted
            .set
            .iter()
            .map(|(field, value)| Assignment::parse(&format!("{field}={}", as_typed(value))))
            .collect::<Result<_, _>>()?;
        let request = ChangeRequest {
            bike,
            assignments,
            maps: Vec::new(),
            insert: wanted.insert,
            why: wanted.why,
            air: wanted.air,
            date: None,
            made_for: None,
        };
        change(garage, &request, &moment)?;
        done.setups += 1;
    } else if let Some(table) = event.outing {
        let new = outing(table, bike, event.date)?;
        log(garage, &new, &moment)?;
        done.outings += 1;
    } else if let Some(wanted) = event.proven {
        let request = ProvenRequest {
            bike,
            setup: wanted.setup_number.map_or(SetupName::Latest, SetupName::Number),
            why: wanted.why,
            air: wanted.air,
            date: None,
        };
        mark(garage, &request, &moment)?;
        done.proven += 1;
    } else if let Some(wanted) = event.rollback {
        let request = RollbackRequest {
            bike,
            to: as_typed(&wanted.to).parse().map_err(|message: String| {
                StoreError::request(Some("rollback.to"), format!("{message}."), "")
            })?,
            only: wanted.only,
            fitted: wanted.fitted,
            discard_edits: false,
            why: wanted.why,
            air: None,
            date: None,
        };
        rollback(garage, &request, &moment)?;
        done.setups += 1;
    }
    Ok(())
}

fn outing(mut table: Table, bike: String, date: When) -> Result<NewOuting, StoreError> {
    let number = table.remove("setup_number").and_then(|value| u32::try_from(value.as_integer()?).ok());
    table.insert("date".into(), toml::Value::String(date.to_string()));
    let outing: Outing = table.try_into().map_err(|error| {
        StoreError::request(Some("outing"), format!("{error}."), "The fields are those of an outing.")
    })?;
    Ok(NewOuting { bike, outing, setup: number.map(SetupName::Number), dyno: None })
}
