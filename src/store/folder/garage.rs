//! The garage on disk: finding it, making it, its bikes, engines and tables, and the files of a setup now or at a commit.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use git2::{Oid, Tree};
use serde::de::DeserializeOwned;

use crate::machine::{self, Moment};
use crate::notebook::fields::names;
use crate::notebook::rules;
use crate::notebook::{
    Assumptions, BikeDocument, Checklists, Combination, DocumentKind, FieldSet, Finding, GarageDocument,
    JetBox, Limits, NeedleBox, ReadOptions, SetupFiles, Shares, of_shares, read,
};
use crate::quantity::Units;
use crate::store::error::{StoreError, disk as disk_error};
use crate::store::folder::disk;
use crate::store::folder::lock::WriterLock;
use crate::store::history::repository::Repository;

/// A garage that is open.
pub struct Garage {
    /// Top folder.
    root: PathBuf,
    /// Its history.
    repository: Repository,
    /// garage.toml.
    document: GarageDocument,
}

/// Name of the file that makes a folder a garage.
pub const GARAGE_FILE: &str = "garage.toml";

impl Garage {
    /// The garage at `named`, or the one at or above `from`.
    pub fn find(named: Option<&Path>, from: &Path) -> Result<Self, StoreError> {
        if let Some(named) = named {
            let root = from.join(named);
            return if root.join(GARAGE_FILE).is_file() {
                Self::open(&root)
            } else {
                Err(StoreError::NoGarageThere(root))
            };
        }
        match from.ancestors().find(|folder| folder.join(GARAGE_FILE).is_file()) {
            Some(root) => Self::open(root),
            None => Err(StoreError::NoGarage(from.to_owned())),
        }
    }

    /// Opens the garage whose top folder is `root`.
    pub fn open(root: &Path) -> Result<Self, StoreError> {
        let path = root.join(GARAGE_FILE);
        let bytes = disk::read(&path)?.ok_or_else(|| StoreError::NoGarage(root.to_owned()))?;
        let document =
            read_document::<GarageDocument>(DocumentKind::Garage, Path::new(GARAGE_FILE), &bytes, false)?;
        if document.layout.si() > 1.0 {
            return Err(StoreError::request(
                Some("layout"),
                format!("This garage has layout {}; this program knows layout 1.", document.layout),
                "Use a newer reedbook for it; nothing was touched.",
            ));
        }
        Ok(Self { root: root.to_owned(), repository: Repository::open(root)?, document })
    }

    pub(super) fn new(root: PathBuf, repository: Repository, document: GarageDocument) -> Self {
        Self { root, repository, document }
    }

    /// Its top folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Its history.
    pub fn repository(&self) -> &Repository {
        &self.repository
    }

    /// garage.toml.
    pub fn document(&self) -> &GarageDocument {
        &self.document
    }

    /// The units that the garage works in.
    pub fn units(&self) -> Units {
        self.document.units
    }

    /// Whether bare lengths are refused.
    pub fn is_imperial(&self) -> bool {
        self.units() == Units::Imperial
    }

    /// Takes the writer's lock and makes ready to write: a killed writer's leavings are mended first.
    pub fn begin_writing(&self, moment: &Moment) -> Result<WriterLock, StoreError> {
        let lock = WriterLock::take(&self.repository.own_folder(), moment)?;
        clear_temporary(&self.root, 3);
        disk::clear_temporary(&self.repository.own_folder());
        self.repository.require_clean_state()?;
        self.repository.prepare_for_writing()?;
        self.repository.recover()?;
        Ok(lock)
    }

    /// Folder names of all bikes.
    pub fn bikes(&self) -> Vec<String> {
        folders_with(&self.root.join("bikes"), "bike.toml")
    }

    /// Folder names of all engines.
    pub fn engines(&self) -> Vec<String> {
        folders_with(&self.root.join("engines"), "engine.toml")
    }

    /// Accepts the name of a bike that is there.
    pub fn require_bike(&self, name: &str) -> Result<(), StoreError> {
        let known = self.bikes();
        if known.iter().any(|bike| bike == name) {
            Ok(())
        } else {
            Err(StoreError::unknown_bike(name, known))
        }
    }

    /// Path of a bike's folder in the garage.
    pub fn bike_folder(bike: &str) -> PathBuf {
        Path::new("bikes").join(bike)
    }

    /// Accepts the name of an engine that is there.
    pub fn require_engine(&self, name: &str) -> Result<(), StoreError> {
        let known = self.engines();
        if known.iter().any(|engine| engine == name) {
            return Ok(());
        }
        Err(StoreError::request(
            Some("engine"),
            format!("There is no engine \"{}\".", names::visible(name)),
            match known.as_slice() {
                [] => "Make one with `reedbook engine new NAME`.".to_owned(),
                known => format!("Engines: {}.", known.join(", ")),
            },
        ))
    }

    /// Path of the folder of an engine's builds in the garage.
    pub fn builds_folder(engine: &str) -> PathBuf {
        Path::new("engines").join(engine).join("builds")
    }

    /// Path of a part's file in the garage.
    pub fn part_path(part: &str) -> PathBuf {
        Path::new("parts").join(format!("{part}.toml"))
    }

    /// Reads a file by its path in the garage.
    pub fn read(&self, path: &Path) -> Result<Option<Vec<u8>>, StoreError> {
        disk::read(&self.root.join(path))
    }

    /// bike.toml of a bike that is there.
    pub fn bike(&self, bike: &str) -> Result<BikeDocument, StoreError> {
        self.require_bike(bike)?;
        let path = Self::bike_folder(bike).join("bike.toml");
        let bytes = self.read(&path)?.unwrap_or_default();
        let checked = read::<BikeDocument>(DocumentKind::Bike, &path, &bytes, self.read_options());
        let mut findings = checked.findings;
        findings.extend(rules::of_bike(&path, &checked.fields));
        checked.document.filter(|_| findings.is_empty()).ok_or(StoreError::Findings(findings))
    }

    /// How documents of this garage are read.
    pub fn read_options(&self) -> ReadOptions<'static> {
        options(self.is_imperial())
    }

    /// The files of a bike's setup as they are on disk now.
    pub fn files_now(&self, bike: &str) -> Result<SetupFiles, StoreError> {
        self.require_bike(bike)?;
        let setup = self.read(&SetupFiles::setup_path(bike))?;
        let engine_name = setup.as_deref().and_then(SetupFiles::named_engine);
        let engine = match &engine_name {
            Some(name) => self.read(&SetupFiles::engine_path(name))?,
            None => None,
        };
        Ok(SetupFiles { bike: bike.to_owned(), setup, engine_name, engine, maps: self.maps_now(bike)? })
    }

    fn maps_now(&self, bike: &str) -> Result<BTreeMap<String, Vec<u8>>, StoreError> {
        let folder = self.root.join(Self::bike_folder(bike)).join("maps");
        let mut maps = BTreeMap::new();
        for name in file_names(&folder)? {
            if is_map_name(&name)
                && let Some(bytes) = disk::read(&folder.join(&name))?
            {
                maps.insert(format!("maps/{name}"), bytes);
            }
        }
        Ok(maps)
    }

    /// The files of a bike's setup at a commit.
    pub fn files_at(&self, commit: Oid, bike: &str) -> Result<SetupFiles, StoreError> {
        self.files_in(&self.repository.tree(commit)?, bike)
    }

    /// The files of a bike's setup in a tree.
    pub fn files_in(&self, tree: &Tree<'_>, bike: &str) -> Result<SetupFiles, StoreError> {
        let setup = self.repository.file(tree, &SetupFiles::setup_path(bike))?;
        let engine_name = setup.as_deref().and_then(SetupFiles::named_engine);
        let engine = match &engine_name {
            Some(name) => self.repository.file(tree, &SetupFiles::engine_path(name))?,
            None => None,
        };
        let mut maps = BTreeMap::new();
        for (name, id) in self.repository.names_in(tree, &Self::bike_folder(bike).join("maps")) {
            if is_map_name(&name) {
                maps.insert(format!("maps/{name}"), self.repository.blob(id)?);
            }
        }
        Ok(SetupFiles { bike: bike.to_owned(), setup, engine_name, engine, maps })
    }

    /// A setup read from its files.
    pub fn combination(&self, files: &SetupFiles) -> Combination {
        Combination::read(files, self.is_imperial())
    }

    /// Files of a setup with the file of the engine they name now, where that is another than before.
    pub fn with_named_engine(&self, mut files: SetupFiles) -> Result<SetupFiles, StoreError> {
        let before = files.engine_name.clone();
        if let Some(setup) = &files.setup {
            files.engine_name = SetupFiles::named_engine(setup);
        }
        if files.engine_name != before || files.engine.is_none() {
            files.engine = match &files.engine_name {
                Some(name) => self.read(&SetupFiles::engine_path(name))?,
                None => None,
            };
        }
        Ok(files)
    }

    /// The jets in the box.
    pub fn jets(&self) -> Result<JetBox, StoreError> {
        self.table(DocumentKind::Jets)
    }

    /// The needles that were measured.
    pub fn needles(&self) -> Result<NeedleBox, StoreError> {
        self.table(DocumentKind::Needles)
    }

    /// The rules of the trade.
    pub fn shares(&self) -> Result<Shares, StoreError> {
        self.table_with(DocumentKind::Shares, of_shares)
    }

    /// What the calculations of the engine assume.
    pub fn assumptions(&self) -> Result<Assumptions, StoreError> {
        self.table(DocumentKind::Assumptions)
    }

    /// The check lists.
    pub fn checklists(&self) -> Result<Checklists, StoreError> {
        self.table(DocumentKind::Checklists)
    }

    /// Limits of what is measured and of the hours of parts.
    pub fn limits(&self) -> Result<Limits, StoreError> {
        self.table(DocumentKind::Limits)
    }

    /// A table from configs/, or the one that comes with the program where the garage has none.
    fn table<T: DeserializeOwned>(&self, kind: DocumentKind) -> Result<T, StoreError> {
        self.table_with(kind, |_, _, _: &T| None)
    }

    /// The same, with a rule between its fields.
    fn table_with<T: DeserializeOwned>(
        &self,
        kind: DocumentKind,
        rule: impl Fn(&Path, &FieldSet, &T) -> Option<Finding>,
    ) -> Result<T, StoreError> {
        let path = Path::new("configs").join(format!("{}.toml", kind.name()));
        let bytes = match self.read(&path)? {
            Some(bytes) => bytes,
            None => crate::store::folder::defaults::config(&path).unwrap_or_default().to_vec(),
        };
        let mut checked = read::<T>(kind, &path, &bytes, options(self.is_imperial()));
        let found = checked.document.as_ref().and_then(|table| rule(&path, &checked.fields, table));
        checked.findings.extend(found);
        match checked.document {
            Some(table) if checked.findings.is_empty() => Ok(table),
            _ => Err(StoreError::Findings(checked.findings)),
        }
    }

    /// A template for a new bike or engine: the garage's own, or the one that comes with the program.
    pub fn template(&self, name: &str) -> Result<Vec<u8>, StoreError> {
        names::check(name)?;
        let path = Path::new("configs/templates").join(format!("{name}.toml"));
        if let Some(bytes) = self.read(&path)? {
            return Ok(bytes);
        }
        crate::store::folder::defaults::config(&path).map(<[u8]>::to_vec).ok_or_else(|| {
            StoreError::request(
                Some("template"),
                format!("There is no template \"{name}\" in configs/templates."),
                format!("There are: {}.", self.templates().join(", ")),
            )
        })
    }

    /// Names of the templates for bikes.
    pub fn templates(&self) -> Vec<String> {
        let own = file_names(&self.root.join("configs/templates")).unwrap_or_default();
        let mut names: Vec<_> = own
            .iter()
            .filter_map(|name| name.strip_suffix(".toml"))
            .chain(["carbureted", "injected"])
            .filter(|name| *name != "engine")
            .map(str::to_owned)
            .collect();
        names.sort();
        names.dedup();
        names
    }
}

/// A date without an offset is one of this place, as it is on the command line.
fn options(refuse_bare_lengths: bool) -> ReadOptions<'static> {
    ReadOptions { refuse_bare_lengths, map_file: &|_| None, here: machine::offset_here() }
}

/// Removes what killed writers left in a folder and in those inside it, git's own left out.
fn clear_temporary(folder: &Path, depth: u32) {
    disk::clear_temporary(folder);
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    let inner = entries.flatten().filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_dir()));
    for entry in inner.filter(|entry| depth > 0 && entry.file_name() != ".git") {
        clear_temporary(&entry.path(), depth - 1);
    }
}

/// Reads a document or fails with everything that is wrong with it.
pub(super) fn read_document<T: DeserializeOwned>(
    kind: DocumentKind,
    path: &Path,
    bytes: &[u8],
    refuse_bare_lengths: bool,
) -> Result<T, StoreError> {
    let checked = read::<T>(kind, path, bytes, options(refuse_bare_lengths));
    checked.document.ok_or(StoreError::Findings(checked.findings))
}

/// Fails when anything was found.
pub(in crate::store) fn no_findings(findings: Vec<Finding>) -> Result<(), StoreError> {
    if findings.is_empty() { Ok(()) } else { Err(StoreError::Findings(findings)) }
}

fn is_map_name(name: &str) -> bool {
    name.strip_suffix(".csv").is_some_and(|stem| names::check(stem).is_ok())
}

/// Names of the plain files in a folder, sorted; our temporary files are overlooked.
pub(in crate::store) fn file_names(folder: &Path) -> Result<Vec<String>, StoreError> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(disk_error("Cannot read", folder)(error)),
    };
    let mut names: Vec<_> = entries
        .flatten()
        .filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()))
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| !name.starts_with(disk::TEMPORARY))
        .collect();
    names.sort();
    Ok(names)
}

/// Folders with a proper name that hold a certain file, sorted.
fn folders_with(above: &Path, file: &str) -> Vec<String> {
    let Ok(entries) = fs::read_dir(above) else {
        return Vec::new();
    };
    let mut names: Vec<_> = entries
        .flatten()
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| names::check(name).is_ok() && above.join(name).join(file).is_file())
        .collect();
    names.sort();
    names
}
