//! Making things: a garage, an engine, a bike; and retiring a bike.

use std::path::{Path, PathBuf};

use crate::machine::Moment;
use crate::notebook::GARAGE_FILE;
use crate::notebook::fields::cylinder::NAMES;
use crate::notebook::fields::names;
use crate::notebook::guidance::{Command, CommandOption, Guidance};
use crate::notebook::{DocumentKind, GarageDocument, Page, SetupFiles};
use crate::quantity::Units;
use crate::store::error::StoreError;
use crate::store::folder::finding::gate_by_history;
use crate::store::folder::garage::{Garage, read_document};
use crate::store::folder::gate::Gate;
use crate::store::folder::pages::{editable, write_and_record};
use crate::store::history::repository::{FileChange, Repository};
use crate::store::history::scan::BIKE_TRAILER;
use crate::store::writing::change::cylinders::cylinders_of;
use crate::store::writing::engine_owner::require_name;

/// What a new garage is called and how it shows its figures.
#[derive(Debug, Clone, Default)]
pub struct NewGarage {
    /// Name of the garage or team.
    pub name: Option<String>,
    /// Display units.
    pub units: Units,
}

/// Makes a garage in `root`: garage.toml, the tables of configs/, the schemas for editors, and a git repository.
pub fn garage(root: &Path, wanted: &NewGarage, moment: &Moment) -> Result<Garage, StoreError> {
    let units = match wanted.units {
        Units::Metric => "metric",
        Units::Imperial => "imperial",
    };
    let name = wanted.name.as_ref().map(|name| format!("name = {}\n", toml_text(name)));
    let text = format!(
        "#:schema schema/garage.schema.json\n# This file makes the folder a garage.\n\nlayout = 1\n{}units = \"{units}\"\n",
        name.unwrap_or_default()
    );
    let mut files = vec![(PathBuf::from(GARAGE_FILE), text.into_bytes())];
    files.extend(
        crate::store::folder::defaults::configs().into_iter().map(|(path, bytes)| (path, bytes.to_vec())),
    );
    garage_of(root, files, moment)
}

/// Bytes are kept as they are on every system, and two sides' numbers, and the airs that they kept at a place, are put one after the
/// other when git merges them.
const ATTRIBUTES: &str = "* -text\nbikes/*/numbers merge=union\nplaces/*.toml merge=union\n";
const ATTRIBUTES_FILE: &str = ".gitattributes";

/// Makes a garage of given files (garage.toml among them), with the schemas added.
pub fn garage_of(
    root: &Path,
    mut files: Vec<(PathBuf, Vec<u8>)>,
    moment: &Moment,
) -> Result<Garage, StoreError> {
    let gate = Gate::of_new_garage(root)?;
    if gate.about(Path::new(GARAGE_FILE))?.is_some() {
        return Err(StoreError::GarageExists(gate.top().to_owned()));
    }
    if gate_by_history(gate.top()).is_some() {
        return Err(StoreError::GarageFileGone(gate.top().to_owned()));
    }
    let begun = Repository::is_begun(&gate)?;
    if let Some(repository) = Repository::around(gate.top()).filter(|_| !begun) {
        return Err(StoreError::InsideRepository { folder: gate.top().to_owned(), repository });
    }
    files.extend(schemas());
    files.push((PathBuf::from(ATTRIBUTES_FILE), ATTRIBUTES.as_bytes().to_vec()));
    let text = files.iter().find(|(path, _)| path == Path::new(GARAGE_FILE)).map(|(_, bytes)| bytes.clone());
    let document = read_document::<GarageDocument>(
        DocumentKind::Garage,
        Path::new(GARAGE_FILE),
        &text.unwrap_or_default(),
        false,
    )?;
    let repository = if begun { Repository::open(gate)? } else { Repository::create(gate)? };
    let garage = Garage::new(repository, document);
    let _lock = garage.begin_writing(moment)?;
    keep_what_is_there(&garage, &mut files)?;
    // garage.toml last: the folder is a garage only when everything else is there.
    files.sort_by_key(|(path, _)| path == Path::new(GARAGE_FILE));
    let changes: Vec<FileChange> = files.into_iter().map(|(path, bytes)| (path, Some(bytes))).collect();
    write_and_record(&garage, &changes, "Start the garage", Vec::new(), moment)?;
    Ok(garage)
}

/// What lies in the folder already stays as it is, and is recorded so; git's attributes get the lines they lack.
fn keep_what_is_there(garage: &Garage, files: &mut [(PathBuf, Vec<u8>)]) -> Result<(), StoreError> {
    for (path, bytes) in files {
        let Some(there) = garage.read(path)? else { continue };
        if path.as_os_str() == ATTRIBUTES_FILE {
            let mut text = String::from_utf8_lossy(&there).into_owned();
            let missing: Vec<_> =
                ATTRIBUTES.lines().filter(|line| !text.lines().any(|known| known == *line)).collect();
            if !text.is_empty() && !text.ends_with('\n') && !missing.is_empty() {
                text.push('\n');
            }
            text.extend(missing.iter().map(|line| format!("{line}\n")));
            *bytes = if missing.is_empty() { there } else { text.into_bytes() };
        } else {
            *bytes = there;
        }
    }
    Ok(())
}

/// The JSON Schemas as files of a garage.
pub fn schemas() -> Vec<(PathBuf, Vec<u8>)> {
    DocumentKind::ALL
        .into_iter()
        .map(|kind| {
            let text = serde_json::to_string_pretty(&kind.schema()).unwrap_or_default();
            (
                Path::new("schema").join(format!("{}.schema.json", kind.name())),
                format!("{text}\n").into_bytes(),
            )
        })
        .collect()
}

/// Makes an engine from the engine template: a file to be filled in.
pub fn engine(
    garage: &Garage,
    name: &str,
    (cylinders, owner): (&[String], Option<&str>),
    moment: &Moment,
) -> Result<PathBuf, StoreError> {
    owner.map_or(Ok(()), require_name)?;
    let _lock = garage.begin_writing(moment)?;
    let path = SetupFiles::engine_path(name);
    let mut text = with_cylinders(&path, new_engine_text(garage, name)?, cylinders)?;
    if let Some(owner) = owner {
        let mut page = Page::open(&path, Some(&text))?;
        page.write("owner", owner.trim().into(), DocumentKind::Engine.catalogue())?;
        text = page.bytes();
    }
    let changes = vec![(path.clone(), Some(text))];
    write_and_record(garage, &changes, &format!("Add the engine {name}"), Vec::new(), moment)?;
    Ok(path)
}

fn new_engine_text(garage: &Garage, name: &str) -> Result<Vec<u8>, StoreError> {
    names::check(name)?;
    if garage.kind(&SetupFiles::engine_path(name))?.is_some() {
        return Err(StoreError::Taken { what: "an engine", name: name.to_owned() });
    }
    garage.template("engine")
}

/// A bike to be made.
#[derive(Debug, Clone)]
pub struct NewBike {
    /// Folder name.
    pub name: String,
    /// Template in configs/templates.
    pub template: String,
    /// Engine that is in it; made when it is not there yet.
    pub engine: String,
    /// The names of its cylinders; none where it has one.
    pub cylinders: Vec<String>,
    /// The bike by the name you call it.
    pub title: Option<String>,
    /// Who rides it.
    pub rider: Option<String>,
}

/// Files that wait to be filled in.
#[derive(Debug, Clone)]
pub struct MadeBike {
    /// setup.toml.
    pub setup: PathBuf,
    /// engine.toml of its engine.
    pub engine: PathBuf,
    /// Whether the engine was made with it.
    pub new_engine: bool,
}

/// Makes a bike. Its setup file is a template to be filled in; the first `change` records it.
pub fn bike(garage: &Garage, wanted: &NewBike, moment: &Moment) -> Result<MadeBike, StoreError> {
    names::check(&wanted.name)?;
    names::check(&wanted.engine)?;
    let _lock = garage.begin_writing(moment)?;
    let folder = Garage::bike_folder(&wanted.name);
    // One that came by a share before its first setup has only its name: the file that waits stayed where it was made.
    let known = garage.kind(&folder.join("bike.toml"))?.is_some();
    let begun = [SetupFiles::setup_path(&wanted.name), folder.join("numbers")]
        .iter()
        .any(|path| !matches!(garage.kind(path), Ok(None)));
    if known && begun {
        return Err(StoreError::Taken { what: "a bike", name: wanted.name.clone() });
    }
    let template = String::from_utf8_lossy(&garage.template(&wanted.template)?).into_owned();
    let setup =
        template.replacen("\"ENGINE\"", &toml_text(&wanted.engine), 1) + &own_lines(&template, wanted);
    let new_engine = !garage.engines().contains(&wanted.engine);
    let mut changes = Vec::new();
    if !known {
        changes.push((folder.join("bike.toml"), Some(bike_text(wanted).into_bytes())));
    }
    if new_engine {
        let path = SetupFiles::engine_path(&wanted.engine);
        let text = with_cylinders(&path, new_engine_text(garage, &wanted.engine)?, &wanted.cylinders)?;
        changes.push((path, Some(text)));
    } else {
        require_as_many(wanted, &cylinders_of(garage, &wanted.engine)?)?;
    }
    // Not recorded: it holds nothing yet.
    let waiting = SetupFiles::setup_path(&wanted.name);
    let fresh = garage.kind(&waiting)?.is_none();
    if fresh {
        garage.gate().write(&waiting, setup.as_bytes())?;
    }
    let trailers = vec![(BIKE_TRAILER, wanted.name.clone())];
    let done = if changes.is_empty() {
        Ok(())
    } else {
        write_and_record(garage, &changes, &format!("Add the bike {}", wanted.name), trailers, moment)
    };
    if done.is_err() && fresh {
        garage.gate().remove(&waiting)?;
    }
    done?;
    Ok(MadeBike {
        setup: SetupFiles::setup_path(&wanted.name),
        engine: SetupFiles::engine_path(&wanted.engine),
        new_engine,
    })
}

/// The lines that wait in a setup for what one of several cylinders has of its own.
fn own_lines(template: &str, wanted: &NewBike) -> String {
    let Some(last) = wanted.cylinders.last() else { return String::new() };
    let (section, value) = if template.contains("[injection]") {
        ("injection", "trim = \"2 %\"")
    } else {
        ("jetting", "main = 175")
    };
    format!(
        "\n# What one cylinder has of its own stands under its name; what is written above holds for all.\n\
         # [cylinder.{last}.{section}]\n# {value}\n"
    )
}

fn bike_text(wanted: &NewBike) -> String {
    let line = |name: &str, value: &Option<String>| match value {
        Some(value) => format!("{name} = {}\n", toml_text(value)),
        None => String::new(),
    };
    format!(
        "#:schema ../../schema/bike.schema.json\n\n{}{}cylinders = {}\n",
        line("title", &wanted.title),
        line("rider", &wanted.rider),
        wanted.cylinders.len().max(1)
    )
}

/// A new engine's file with the names of its cylinders, where it has several.
fn with_cylinders(path: &Path, text: Vec<u8>, names: &[String]) -> Result<Vec<u8>, StoreError> {
    if names.is_empty() {
        return Ok(text);
    }
    let mut page = Page::open(path, Some(&text))?;
    let list: toml_edit::Array = names.iter().map(String::as_str).collect();
    page.write(NAMES, list.into(), DocumentKind::Engine.catalogue())?;
    let text = String::from_utf8_lossy(&page.bytes()).into_owned();
    Ok(fires_by_name(&text, names).into_bytes())
}

/// The lines that wait for the firing angles, under the names that these cylinders have.
fn fires_by_name(text: &str, names: &[String]) -> String {
    let waits = |line: &&str| line.starts_with("# left = ") || line.starts_with("# right = ");
    let remark =
        text.lines().find(waits).and_then(|line| line.find(" # ").map(|at| line[at + 1..].to_owned()));
    let Some(remark) = remark else { return text.to_owned() };
    let own: Vec<String> = names
        .iter()
        .enumerate()
        .map(|(at, name)| {
            let line = format!("# {name} = 0");
            if at == 0 { format!("{line:<33} {remark}") } else { line }
        })
        .collect();
    let mut lines: Vec<&str> = Vec::new();
    let mut waiting = Some(own.iter().map(String::as_str));
    for line in text.lines() {
        match (waits(&line), line.starts_with("# left = ")) {
            (true, true) => lines.extend(waiting.take().into_iter().flatten()),
            (true, false) => {}
            (false, _) => lines.push(line),
        }
    }
    lines.join("\n") + "\n"
}

/// An engine that is there already goes only into a bike with as many cylinders.
fn require_as_many(wanted: &NewBike, has: &[String]) -> Result<(), StoreError> {
    let (bike, engine) = (wanted.cylinders.len().max(1), has.len().max(1));
    if bike == engine {
        return Ok(());
    }
    let named = if has.is_empty() { String::new() } else { format!(": {}", has.join(", ")) };
    let names = if has.is_empty() {
        Guidance::from("leave ") + CommandOption::Cylinders(None) + " out"
    } else {
        Guidance::from("write ") + CommandOption::Cylinders(Some(has.join(",")))
    };
    Err(StoreError::request(
        Some("cylinders"),
        format!("The engine {} has {engine} of them{named}; the bike would have {bike}.", wanted.engine),
        Guidance::from("Name another engine, or ") + names + ".",
    ))
}

/// Marks a bike as retired, or takes the mark back.
pub fn retire(garage: &Garage, bike: &str, back: bool, moment: &Moment) -> Result<(), StoreError> {
    let known = garage.bike(bike)?;
    if known.retired.is_some() != back {
        return Err(StoreError::NothingChanged {
            message: if back {
                format!("{bike} is in use already.")
            } else {
                format!("{bike} is retired already.")
            },
            help: Command::ListBikes + " shows which bikes are.",
        });
    }
    let _lock = garage.begin_writing(moment)?;
    let path = Garage::bike_folder(bike).join("bike.toml");
    let mut page = editable(garage, &path)?;
    if back {
        page.take_out("retired");
    } else {
        page.write("retired", moment.now.to_string().into(), DocumentKind::Bike.catalogue())?;
    }
    let why = if back { format!("Bring {bike} back") } else { format!("Retire {bike}") };
    let changes = vec![(path, Some(page.bytes()))];
    write_and_record(garage, &changes, &why, vec![(BIKE_TRAILER, bike.to_owned())], moment)
}

/// A text as a TOML string.
fn toml_text(text: &str) -> String {
    toml_edit::Value::from(text).to_string()
}
