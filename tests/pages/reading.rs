//! The test pages: whole documents of an invented bike, sound ones and broken ones, with what is expected of each.
//!
//! The first lines of a broken page are comments that say what it is: `# kind: setup`, `# imperial` where bare lengths are
//! to be refused, `# schema refuses` where an editor with the JSON Schema sees the mistake too, `# field: jetting.main`
//! where the finding is to name a field, `# in the map: maps/ignition.csv:3` where it is to name a line of a map's own file.
//! The line that the finding is to name ends in the comment `# wrong`.
#![allow(dead_code)] // each test takes the part it needs

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::tz::Offset;
use reedbook::notebook::rules;
use reedbook::notebook::{
    Assumptions, BikeDocument, Build, Checked, Checklists, Combination, DocumentKind, Finding,
    GarageDocument, JetBox, Job, Limits, NeedleBox, Outing, Part, PlaceDocument, ReadOptions, SetupFiles,
    Shares, of_build, of_part, of_place, of_shares, read,
};
use serde::de::DeserializeOwned;
use serde_json::Value;

/// A page and what is expected of it.
#[derive(Debug, Clone)]
pub(crate) struct Page {
    /// File name without its ending.
    pub(crate) name: String,
    /// Where it lies.
    pub(crate) path: PathBuf,
    /// What document it is.
    pub(crate) kind: DocumentKind,
    /// Whether it is read as in an imperial garage.
    pub(crate) imperial: bool,
    /// Whether the JSON Schema is to refuse it.
    pub(crate) schema_refuses: bool,
    /// The field that the finding is to name.
    pub(crate) field: Option<String>,
    /// The map's file that the finding is to name, where it is not the page.
    pub(crate) map: Option<String>,
    /// The line that the finding is to name, from 1.
    pub(crate) line: Option<usize>,
    /// Its text; bytes, because one of them is not text.
    pub(crate) bytes: Vec<u8>,
}

/// The folder of the project.
pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The sound pages: their names begin with the kind of document they are.
pub(crate) fn valid() -> Vec<Page> {
    load("valid", |name, _| name.split('-').next().unwrap_or_default().to_owned())
}

/// The broken pages: their names begin with the code of the one finding they give.
pub(crate) fn invalid() -> Vec<Page> {
    load("invalid", |_, text| header(text, "# kind: ").unwrap_or_default())
}

fn load(folder: &str, kind_name: fn(&str, &str) -> String) -> Vec<Page> {
    let mut pages: Vec<_> = fs::read_dir(root().join("tests/pages").join(folder))
        .expect("the folder of the pages")
        .map(|entry| entry.expect("a page").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .map(|path| {
            let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
            let bytes = fs::read(&path).expect("a readable page");
            let text = String::from_utf8_lossy(&bytes);
            let kind = kind_named(&kind_name(&name, &text))
                .unwrap_or_else(|| panic!("{name} does not say its kind"));
            let (map, map_line) = header(&text, "# in the map: ")
                .and_then(|place| {
                    Some((place.split_once(':')?.0.to_owned(), place.split_once(':')?.1.parse().ok()?))
                })
                .unzip();
            Page {
                kind,
                imperial: has_line(&text, "# imperial"),
                schema_refuses: has_line(&text, "# schema refuses"),
                field: header(&text, "# field: "),
                line: text.lines().position(|line| line.ends_with("# wrong")).map(|at| at + 1).or(map_line),
                map,
                name,
                path,
                bytes,
            }
        })
        .collect();
    pages.sort_by(|a, b| a.name.cmp(&b.name));
    pages
}

/// The kind of document that is called so.
pub(crate) fn kind_named(name: &str) -> Option<DocumentKind> {
    DocumentKind::ALL.into_iter().find(|kind| kind.name() == name)
}

fn has_line(text: &str, wanted: &str) -> bool {
    text.lines().take_while(|line| line.starts_with('#')).any(|line| line == wanted)
}

/// What stands behind `start` in one of the first comments, up to the next blank.
fn header(text: &str, start: &str) -> Option<String> {
    let mut comments = text.lines().take_while(|line| line.starts_with('#'));
    let rest = comments.find_map(|line| line.strip_prefix(start))?;
    rest.split_whitespace().next().map(str::to_owned)
}

impl Page {
    /// Everything that is wrong with it, as the program would find it on disk.
    pub(crate) fn findings(&self) -> Vec<Finding> {
        findings(self.kind, &self.bytes, self.imperial, self.path.parent().unwrap_or(root()))
    }

    /// Its text as a script would get it from a TOML parser; none when it is not TOML.
    pub(crate) fn json(&self) -> Option<Value> {
        let text = std::str::from_utf8(&self.bytes).ok()?;
        toml::from_str(text).ok().map(to_json)
    }
}

/// Reads a document and keeps its rules; `beside` holds the maps, and engine-NAME.toml for a setup that names an engine.
pub(crate) fn findings(kind: DocumentKind, bytes: &[u8], imperial: bool, beside: &Path) -> Vec<Finding> {
    match kind {
        DocumentKind::Setup => whole_setup(bytes, imperial, beside),
        DocumentKind::Engine => whole_engine(bytes, imperial),
        DocumentKind::Bike => {
            let mut checked = one::<BikeDocument>(kind, bytes, imperial);
            let marks = checked.document.iter().flat_map(|bike| &bike.proven);
            let airs: Vec<_> = marks
                .filter_map(|(id, mark)| {
                    rules::of_air(page(), &checked.fields, &format!("proven.{id}.air"), mark.air.as_ref()?)
                })
                .collect();
            checked.findings.extend(airs);
            checked.findings
        }
        DocumentKind::Garage => {
            let checked = one::<GarageDocument>(kind, bytes, imperial);
            let air = checked.document.as_ref().and_then(|garage| garage.reference_air.as_ref());
            let air = air.and_then(|air| rules::of_air(page(), &checked.fields, "reference_air", air));
            checked.findings.into_iter().chain(air).collect()
        }
        DocumentKind::Outing => {
            let checked = one::<Outing>(kind, bytes, imperial);
            let air = checked.document.as_ref().and_then(|outing| outing.air.as_ref());
            let air = air.and_then(|air| rules::of_air(page(), &checked.fields, "air", air));
            checked.findings.into_iter().chain(air).collect()
        }
        DocumentKind::Build => {
            let mut checked = one::<Build>(kind, bytes, imperial);
            let found = checked.document.iter().flat_map(|build| of_build(page(), &checked.fields, build));
            checked.findings.extend(found.collect::<Vec<_>>());
            checked.findings
        }
        DocumentKind::Part => {
            let mut checked = one::<Part>(kind, bytes, imperial);
            let found = checked.document.iter().flat_map(|part| of_part(page(), &checked.fields, part));
            checked.findings.extend(found.collect::<Vec<_>>());
            checked.findings
        }
        DocumentKind::Job => one::<Job>(kind, bytes, imperial).findings,
        DocumentKind::Place => {
            let mut checked = one::<PlaceDocument>(kind, bytes, imperial);
            let found = checked.document.iter().flat_map(|place| of_place(page(), &checked.fields, place));
            checked.findings.extend(found.collect::<Vec<_>>());
            checked.findings
        }
        DocumentKind::Checklists => one::<Checklists>(kind, bytes, imperial).findings,
        DocumentKind::Limits => one::<Limits>(kind, bytes, imperial).findings,
        DocumentKind::Jets => one::<JetBox>(kind, bytes, imperial).findings,
        DocumentKind::Needles => one::<NeedleBox>(kind, bytes, imperial).findings,
        DocumentKind::Shares => {
            let mut checked = one::<Shares>(kind, bytes, imperial);
            let rule =
                checked.document.as_ref().and_then(|shares| of_shares(page(), &checked.fields, shares));
            checked.findings.extend(rule);
            checked.findings
        }
        DocumentKind::Assumptions => one::<Assumptions>(kind, bytes, imperial).findings,
    }
}

/// The page as its findings name it.
fn page() -> &'static Path {
    Path::new("page.toml")
}

fn one<T: DeserializeOwned>(kind: DocumentKind, bytes: &[u8], imperial: bool) -> Checked<T> {
    let options = ReadOptions { refuse_bare_lengths: imperial, map_file: &|_| None, here: Offset::UTC };
    read(kind, page(), bytes, options)
}

/// An engine file is read beside a setup file that says no more than its name.
fn whole_engine(bytes: &[u8], imperial: bool) -> Vec<Finding> {
    let files = SetupFiles {
        bike: "plover".into(),
        setup: Some(b"engine = \"page\"".to_vec()),
        engine_name: Some("page".into()),
        engine: Some(bytes.to_vec()),
        maps: BTreeMap::new(),
    };
    Combination::read(&files, imperial).findings
}

fn whole_setup(bytes: &[u8], imperial: bool, beside: &Path) -> Vec<Finding> {
    let engine_name = SetupFiles::named_engine(bytes);
    let engine =
        engine_name.as_ref().and_then(|name| fs::read(beside.join(format!("engine-{name}.toml"))).ok());
    let maps = fs::read_dir(beside.join("maps")).into_iter().flatten().flatten().filter_map(|entry| {
        let name = format!("maps/{}", entry.file_name().to_string_lossy());
        Some((name, fs::read(entry.path()).ok()?))
    });
    let files = SetupFiles {
        bike: "plover".into(),
        setup: Some(bytes.to_vec()),
        engine_name,
        engine,
        maps: maps.collect::<BTreeMap<_, _>>(),
    };
    Combination::read(&files, imperial).findings
}

/// A TOML document as JSON. A TOML date becomes its text; JSON has no infinite number, so that becomes null.
pub(crate) fn to_json(value: toml::Value) -> Value {
    match value {
        toml::Value::String(text) => text.into(),
        toml::Value::Integer(number) => number.into(),
        toml::Value::Float(number) => number.into(),
        toml::Value::Boolean(flag) => flag.into(),
        toml::Value::Datetime(date) => serde_json::json!({ "a TOML date": date.to_string() }),
        toml::Value::Array(values) => values.into_iter().map(to_json).collect(),
        toml::Value::Table(table) => table.into_iter().map(|(name, value)| (name, to_json(value))).collect(),
    }
}
