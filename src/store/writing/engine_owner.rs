//! Whose an engine is: written into its file and recorded, which makes no setup.

use std::path::PathBuf;

use crate::machine::Moment;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{DocumentKind, EngineDocument, SetupFiles, read, same_values};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::pages::{editable, write_and_record};
use crate::store::history::scan::ENGINE_TRAILER;

/// The longest name of an owner, letters.
const LONGEST: usize = 200;

/// What an engine's file says of its owner; none where it says nothing or cannot be read.
pub fn owner_of(garage: &Garage, engine: &str) -> Option<String> {
    let path = SetupFiles::engine_path(engine);
    let bytes = garage.read(&path).ok()??;
    let checked = read::<EngineDocument>(DocumentKind::Engine, &path, &bytes, garage.read_options());
    checked.document?.owner.filter(|owner| !owner.trim().is_empty())
}

/// Whether the name of an owner can be written.
pub(in crate::store) fn require_name(owner: &str) -> Result<(), StoreError> {
    if !owner.trim().is_empty() && owner.chars().count() <= LONGEST && !owner.chars().any(char::is_control) {
        return Ok(());
    }
    Err(StoreError::request(
        Some("owner"),
        format!("\"{}\" is not a name.", visible(owner)),
        format!("A name has 1 to {LONGEST} letters on one line."),
    ))
}

/// Writes down whose an engine is, or that it is the garage's own, and gives the file.
pub fn own(
    garage: &Garage,
    engine: &str,
    owner: Option<&str>,
    moment: &Moment,
) -> Result<PathBuf, StoreError> {
    owner.map_or(Ok(()), require_name)?;
    let _lock = garage.begin_writing(moment)?;
    garage.require_engine(engine)?;
    let path = SetupFiles::engine_path(engine);
    let on_disk = garage.read(&path)?.unwrap_or_default();
    let mut page = editable(garage, &path)?;
    match owner {
        Some(owner) => page.write("owner", owner.trim().into(), DocumentKind::Engine.catalogue())?,
        None => {
            page.take_out("owner");
        }
    }
    let recorded = garage.recorded(&path)?;
    if recorded.as_deref() == Some(&page.bytes()) {
        return Err(StoreError::NothingChanged {
            message: match owner {
                Some(owner) => format!("{engine} is {} already.", of(owner)),
                None => format!("{engine} has no owner written down."),
            },
            help: Command::ListEngines + " shows whose each is.",
        });
    }
    let without = |bytes: &[u8]| -> Result<Vec<u8>, StoreError> {
        let mut page = crate::notebook::Page::open(&path, Some(bytes))?;
        page.take_out("owner");
        Ok(page.bytes())
    };
    // What was edited by hand besides is a setup, and is recorded with its reason.
    if let Some(recorded) = &recorded
        && !same_values(&path, &without(recorded)?, &without(&on_disk)?)
    {
        return Err(StoreError::request(
            None,
            format!("{} was edited and is not recorded.", path.display()),
            Guidance::from("Record it first, with its reason: ") + Command::RecordSetup(None) + ".",
        ));
    }
    let why = match owner {
        Some(owner) => format!("The engine {engine} is {}", of(owner)),
        None => format!("The engine {engine} is the garage's own"),
    };
    let changes = vec![(path.clone(), Some(page.bytes()))];
    write_and_record(garage, &changes, &why, vec![(ENGINE_TRAILER, engine.to_owned())], moment)?;
    Ok(path)
}

/// "Carla Venn's".
fn of(owner: &str) -> String {
    format!("{}'s", visible(owner.trim()))
}
