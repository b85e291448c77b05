//! A whole setup as it is kept: its files, its values, and which document keeps which field.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use crate::notebook::documents::engine::EngineDocument;
use crate::notebook::documents::setup::Setup;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::finding::{Finding, Place};
use crate::notebook::fields::meaning::Meaning;
use crate::notebook::fields::names;
use crate::notebook::fields::node::Leaf;
use crate::notebook::fields::value::FieldSet;

/// Field of an engine's file that is nothing of a setup: whose it is.
pub(in crate::notebook) const OWNER: &str = "owner";

/// The files that make up one setup, as bytes from disk or from history.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SetupFiles {
    /// Folder name of the bike.
    pub bike: String,
    /// setup.toml.
    pub setup: Option<Vec<u8>>,
    /// Folder name of the engine, as setup.toml names it.
    pub engine_name: Option<String>,
    /// engine.toml of that engine.
    pub engine: Option<Vec<u8>>,
    /// Files under maps/, by name ("maps/ignition.csv").
    pub maps: BTreeMap<String, Vec<u8>>,
}

impl SetupFiles {
    /// Path of setup.toml in the garage.
    pub fn setup_path(bike: &str) -> PathBuf {
        Path::new("bikes").join(bike).join("setup.toml")
    }

    /// Path of engine.toml in the garage.
    pub fn engine_path(engine: &str) -> PathBuf {
        Path::new("engines").join(engine).join("engine.toml")
    }

    /// Path of a map ("maps/ignition.csv") in the garage.
    pub fn map_path(bike: &str, name: &str) -> PathBuf {
        Path::new("bikes").join(bike).join(name)
    }

    /// Those that are there, by their paths in the garage.
    pub fn by_path(&self) -> impl Iterator<Item = (PathBuf, &[u8])> {
        let setup = self.setup.as_deref().map(|bytes| (Self::setup_path(&self.bike), bytes));
        let engine = self.engine_name.as_deref().map(Self::engine_path).zip(self.engine.as_deref());
        let maps = self.maps.iter().map(|(name, bytes)| (Self::map_path(&self.bike, name), bytes.as_slice()));
        setup.into_iter().chain(engine).chain(maps)
    }

    /// The engine that a setup file names, read as leniently as can be.
    pub fn named_engine(setup: &[u8]) -> Option<String> {
        let text = std::str::from_utf8(setup).ok()?;
        let document = toml_edit::Document::parse(text).ok()?;
        let name = document.get("engine")?.as_str()?;
        names::check(name).ok().map(str::to_owned)
    }
}

/// A whole setup as read.
#[derive(Debug, Clone, Default)]
pub struct Combination {
    /// The setup file, when it could be read.
    pub setup: Option<Setup>,
    /// The engine file, when there is one and it could be read.
    pub engine: Option<EngineDocument>,
    /// Every value of both.
    pub fields: FieldSet,
    /// What is wrong in either.
    pub findings: Vec<Finding>,
}

impl Combination {
    /// Files of which only is known what is wrong with them.
    pub fn of_findings(findings: Vec<Finding>) -> Self {
        Self { findings, ..Self::default() }
    }

    /// Where a field of a bike's setup stands on disk, with its line when it was read.
    pub fn place_of(&self, bike: &str, field: &str) -> Place {
        let kept = self.fields.entry(field).map(|entry| (entry.document, entry.line));
        let kind = kept.map(|(kind, _)| kind).or_else(|| Self::home(field).map(|(kind, _)| kind));
        let engine = self.fields.text("engine");
        let file = match (kind, engine) {
            (Some(DocumentKind::Engine), Some(engine)) => SetupFiles::engine_path(engine),
            (Some(DocumentKind::Engine), None) | (None, _) => PathBuf::new(),
            (Some(_), _) => SetupFiles::setup_path(bike),
        };
        Place { file, line: kept.map(|(_, line)| line), field: Some(field.to_owned()) }
    }

    /// The catalogue's entry of a field of a setup, wherever it is kept.
    pub fn leaf(field: &str) -> Option<&'static Leaf> {
        let (_, leaf) = Self::home(field)?;
        Some(leaf)
    }

    /// What a field of a setup means; none for what was not foreseen.
    pub fn meaning(field: &str) -> Option<&'static Meaning> {
        Self::leaf(field)?.meaning.as_ref()
    }

    /// Every field of a setup and its engine with what it means, in the order of the types; `*` stands for a name of the user's own.
    pub fn meanings() -> &'static [(String, &'static Meaning)] {
        static ALL: OnceLock<Vec<(String, &'static Meaning)>> = OnceLock::new();
        ALL.get_or_init(|| {
            let leaves = Self::KEPT_IN.into_iter().flat_map(|kind| kind.catalogue().leaves());
            let of_a_setup = leaves.filter(|(field, _)| field != OWNER);
            of_a_setup.filter_map(|(field, leaf)| Some((field, leaf.meaning.as_ref()?))).collect()
        })
    }

    /// The documents that a setup is kept in.
    const KEPT_IN: [DocumentKind; 2] = [DocumentKind::Setup, DocumentKind::Engine];

    /// The document that keeps a field, with the field's entry in the catalogue.
    pub fn home(field: &str) -> Option<(DocumentKind, &'static Leaf)> {
        if field == OWNER {
            return None;
        }
        let kept = |field: &str| {
            Self::KEPT_IN.into_iter().find_map(|kind| Some((kind, kind.catalogue().leaf(field)?)))
        };
        kept(field).or_else(|| kept(own_of(field)?.1))
    }
}
