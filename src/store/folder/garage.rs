//! The garage on disk: its bikes, engines and tables, and the files of a setup now or at a commit.

use std::any::Any;
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, HashMap};
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use git2::{Oid, Tree};
use serde::de::DeserializeOwned;

use crate::machine::{self, Moment};
use crate::notebook::fields::names;
use crate::notebook::guidance::{Command, GitCommand, Guidance};
use crate::notebook::{
    Assumptions, BikeDocument, Checklists, Combination, DocumentKind, FieldSet, Finding, GarageDocument,
    JetBox, Limits, NeedleBox, ReadOptions, SetupFiles, Shares, nearest_and_all, of_shares, read,
};
use crate::quantity::Units;
use crate::store::error::StoreError;
use crate::store::folder::clock::check_clock;
use crate::store::folder::gate::{Barred, Gate, entry::EntryKind, is_temporary};
use crate::store::folder::lock::WriterLock;
use crate::store::history::lately::was_there;
use crate::store::history::repository::Repository;
use crate::store::history::signs::sign_of_life;
use crate::store::shortened::shortened;

/// Hears how far something has come that takes long: what it is, how much of it is done, and of how much.
pub type Hears = dyn Fn(&str, usize, usize);

/// Is told a sentence.
type Tells = dyn Fn(&str);

/// A table as it was read, with the bytes that it was read from.
type TableRead = (Vec<u8>, Rc<dyn Any>);

/// A garage that is open.
pub struct Garage {
    /// Its history, and the gate to its files.
    repository: Repository,
    /// garage.toml.
    document: GarageDocument,
    /// Tables of configs/ that were asked for.
    tables: RefCell<HashMap<DocumentKind, TableRead>>,
    /// Who hears how far long work has come.
    hears: Option<Box<Hears>>,
    /// Who is told, once, what is waited for.
    pub(in crate::store) is_told: Option<Box<Tells>>,
    /// Whether that was said.
    pub(in crate::store) said_waiting: Cell<bool>,
}

impl Garage {
    pub(in crate::store) fn new(repository: Repository, document: GarageDocument) -> Self {
        Self {
            repository,
            document,
            tables: RefCell::default(),
            hears: None,
            is_told: None,
            said_waiting: Cell::new(false),
        }
    }

    /// The same with somebody who hears how far long work has come.
    #[must_use]
    pub fn heard_by(self, hears: Box<Hears>) -> Self {
        Self { hears: Some(hears), ..self }
    }

    /// Says how far long work has come, also to whoever looks whether anything still moves.
    pub(in crate::store) fn tell(&self, what: &str, done: usize, of: usize) {
        sign_of_life();
        if let Some(hears) = &self.hears {
            hears(what, done, of);
        }
    }

    /// The same with somebody who is told what is waited for.
    #[must_use]
    pub fn told_by(self, tells: Box<Tells>) -> Self {
        Self { is_told: Some(tells), ..self }
    }

    /// Its top folder.
    pub fn root(&self) -> &Path {
        self.gate().top()
    }

    /// The gate to its files.
    pub(in crate::store) fn gate(&self) -> &Gate {
        self.repository.files()
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
        check_clock(moment.now)?;
        let lock = WriterLock::take(self.repository.own(), moment, &|who, waited| self.waits(who, waited))?;
        self.repository.own().clear_staging()?;
        self.repository.require_clean_state()?;
        self.repository.prepare_for_writing()?;
        self.repository.recover()?;
        Ok(lock)
    }

    /// The same for what is a file of its own and hangs on no other: it is written while a merge that git left open waits, and is recorded
    /// before that. Gives whether one waits.
    pub(in crate::store) fn begin_logging(&self, moment: &Moment) -> Result<(WriterLock, bool), StoreError> {
        check_clock(moment.now)?;
        let lock = WriterLock::take(self.repository.own(), moment, &|who, waited| self.waits(who, waited))?;
        self.repository.own().clear_staging()?;
        let waits = match self.repository.require_clean_state() {
            Err(StoreError::Unfinished("merge" | "cherry-pick" | "revert")) => true,
            other => other.map(|()| false)?,
        };
        self.repository.prepare_for_writing()?;
        self.repository.recover()?;
        Ok((lock, waits))
    }

    /// What there is to say of a clone that holds only the end of its history.
    pub fn cut_off(&self) -> Option<Guidance> {
        self.repository.is_shallow().then(|| {
            Guidance::from("This clone holds only the end of its history: ")
                + GitCommand::BringTheRest
                + " brings the rest."
        })
    }

    /// Folder names of all bikes.
    pub fn bikes(&self) -> Vec<String> {
        self.folders_with(Path::new("bikes"), "bike.toml")
    }

    /// Folder names of all engines.
    pub fn engines(&self) -> Vec<String> {
        self.folders_with(Path::new("engines"), "engine.toml")
    }

    /// Whether there is such a bike.
    pub fn has_bike(&self, name: &str) -> bool {
        self.holds(Path::new("bikes"), name, "bike.toml")
    }

    /// Accepts the name of a bike that is there.
    pub fn require_bike(&self, name: &str) -> Result<(), StoreError> {
        // All of them are listed for the refusal alone: this is asked for every bike of a large garage.
        if self.has_bike(name) {
            return Ok(());
        }
        self.require_no_link(Path::new("bikes"), name)?;
        if was_there(&self.repository, Path::new("bikes"), name, "bike.toml") {
            return Err(StoreError::request(
                None,
                format!("There is no bike \"{name}\" in this garage any more: it was taken out with git."),
                Command::BringBikeBack(Some(name.to_owned()))
                    + " brings it back as it stood last, with its setups, outings and engine.",
            ));
        }
        Err(StoreError::unknown_bike(name, self.bikes()))
    }

    /// Path of a bike's folder in the garage.
    pub fn bike_folder(bike: &str) -> PathBuf {
        Path::new("bikes").join(bike)
    }

    /// Accepts the name of an engine that is there.
    pub fn require_engine(&self, name: &str) -> Result<(), StoreError> {
        if self.holds(Path::new("engines"), name, "engine.toml") {
            return Ok(());
        }
        let in_the_bike = || self.files_now(name).ok().and_then(|files| files.engine_name);
        if self.has_bike(name)
            && let Some(engine) = in_the_bike()
        {
            let engine = names::visible(&engine);
            return Err(StoreError::request(
                Some("engine"),
                format!("{name} is a bike; the engine in it is {engine}."),
                format!("Say it of {engine}."),
            ));
        }
        self.require_no_link(Path::new("engines"), name)?;
        Err(StoreError::request(
            Some("engine"),
            format!("There is no engine \"{}\".", names::visible(name)),
            match self.engines().as_slice() {
                [] => Guidance::from("Make one with ") + Command::MakeEngine + ".",
                known => {
                    let names: Vec<&str> = known.iter().map(String::as_str).collect();
                    nearest_and_all(name, &names, format!("Engines: {}.", known.join(", "))).into()
                }
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
        self.gate().read(path)
    }

    /// Where a file is, for a program of the user's that is to open it; fails where it is not a plain file.
    pub fn path_for_editor(&self, path: &Path) -> Result<PathBuf, StoreError> {
        self.gate().require_plain(path)?;
        Ok(self.gate().place(path))
    }

    /// What lies at a path; none where nothing does.
    pub fn kind(&self, path: &Path) -> Result<Option<EntryKind>, StoreError> {
        Ok(self.gate().about(path)?.map(|about| about.kind))
    }

    /// Names of the plain files in a folder, sorted; our temporary files are overlooked.
    pub(in crate::store) fn file_names(&self, folder: &Path) -> Result<Vec<String>, StoreError> {
        self.gate().folder(folder)?.map_or(Ok(Vec::new()), |folder| folder.file_names())
    }

    /// Everything in a folder, by name; our temporary files are overlooked.
    pub fn entries(&self, folder: &Path) -> Result<Vec<(OsString, EntryKind)>, StoreError> {
        let mut entries = self.gate().folder(folder)?.map_or(Ok(Vec::new()), |folder| folder.entries())?;
        entries.retain(|(name, _)| !name.to_str().is_some_and(is_temporary));
        Ok(entries)
    }

    /// What lies in a folder of folders and is neither a folder nor a file.
    pub fn barred_in(&self, folder: &Path) -> Result<Vec<Barred>, StoreError> {
        let odd = self.entries(folder)?.into_iter().filter_map(|(name, kind)| match kind {
            EntryKind::Odd(what) => Some(Barred { path: folder.join(name), what }),
            EntryKind::Plain | EntryKind::Folder => None,
        });
        Ok(odd.collect())
    }

    /// A folder in another that cannot be used is named, rather than said not to be there.
    fn require_no_link(&self, above: &Path, name: &str) -> Result<(), StoreError> {
        if names::check(name).is_ok() {
            self.gate().folder(&above.join(name))?;
        }
        Ok(())
    }

    /// Folders with a proper name that hold a certain file, sorted.
    fn folders_with(&self, above: &Path, file: &str) -> Vec<String> {
        let folders = self.entries(above).unwrap_or_default().into_iter();
        let names = folders.filter(|(_, kind)| *kind == EntryKind::Folder);
        let names = names.filter_map(|(name, _)| name.into_string().ok());
        names.filter(|name| self.holds(above, name, file)).collect()
    }

    /// Whether a folder with a proper name holds a certain file; a link in the file's place counts, so that it is named.
    fn holds(&self, above: &Path, name: &str, file: &str) -> bool {
        let kind = || self.kind(&above.join(name).join(file));
        names::check(name).is_ok() && !matches!(kind(), Ok(None | Some(EntryKind::Folder)) | Err(_))
    }

    /// bike.toml of a bike that is there.
    pub fn bike(&self, bike: &str) -> Result<BikeDocument, StoreError> {
        self.require_bike(bike)?;
        let path = Self::bike_folder(bike).join("bike.toml");
        let bytes = self.read(&path)?.unwrap_or_default();
        let checked = read::<BikeDocument>(DocumentKind::Bike, &path, &bytes, self.read_options());
        let mut findings = checked.findings;
        if findings.is_empty() {
            findings.extend(shortened(self, &path, &bytes)?);
        }
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
        let mut maps = BTreeMap::new();
        let Some(folder) = self.gate().folder(&Self::bike_folder(bike).join("maps"))? else {
            return Ok(maps);
        };
        for (name, _) in folder.entries()? {
            // What has a map's name and is no file fails here, and is named.
            if let Ok(name) = name.into_string()
                && is_map_name(&name)
                && let Some(bytes) = folder.read(&name)?
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
                let path = Self::bike_folder(bike).join("maps").join(&name);
                maps.insert(format!("maps/{name}"), self.repository.blob(&path, id)?);
            }
        }
        Ok(SetupFiles { bike: bike.to_owned(), setup, engine_name, engine, maps })
    }

    /// The same, for whoever walks the history: what is not opened reads like what is no text, and stops nobody.
    pub(in crate::store) fn scanned_files_in(
        &self,
        tree: &Tree<'_>,
        bike: &str,
    ) -> Result<SetupFiles, StoreError> {
        match self.files_in(tree, bike) {
            Err(StoreError::Barred(_)) => {
                let no_text = Some(vec![0xff]);
                Ok(SetupFiles { bike: bike.to_owned(), setup: no_text, ..SetupFiles::default() })
            }
            files => files,
        }
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
    fn table<T: DeserializeOwned + Clone + 'static>(&self, kind: DocumentKind) -> Result<T, StoreError> {
        self.table_with(kind, |_, _, _: &T| None)
    }

    /// The same, with a rule between its fields.
    fn table_with<T: DeserializeOwned + Clone + 'static>(
        &self,
        kind: DocumentKind,
        rule: impl Fn(&Path, &FieldSet, &T) -> Option<Finding>,
    ) -> Result<T, StoreError> {
        let path = Path::new("configs").join(format!("{}.toml", kind.name()));
        let bytes = match self.read(&path)? {
            Some(bytes) => bytes,
            None => crate::store::folder::defaults::config(&path).unwrap_or_default().to_vec(),
        };
        // An answer asks for the same ones dozens of times.
        if let Some((from, table)) = self.tables.borrow().get(&kind)
            && *from == bytes
            && let Some(table) = table.downcast_ref::<T>()
        {
            return Ok(table.clone());
        }
        if let Some(finding) = shortened(self, &path, &bytes)? {
            return Err(StoreError::Findings(vec![finding]));
        }
        let mut checked = read::<T>(kind, &path, &bytes, options(self.is_imperial()));
        let found = checked.document.as_ref().and_then(|table| rule(&path, &checked.fields, table));
        checked.findings.extend(found);
        match checked.document {
            Some(table) if checked.findings.is_empty() => {
                let known: Rc<dyn Any> = Rc::new(table.clone());
                self.tables.borrow_mut().insert(kind, (bytes, known));
                Ok(table)
            }
            _ => Err(StoreError::Findings(checked.findings)),
        }
    }
}

/// A date without an offset is one of this place, as it is on the command line.
fn options(refuse_bare_lengths: bool) -> ReadOptions<'static> {
    ReadOptions { refuse_bare_lengths, map_file: &|_| None, here: machine::offset_here() }
}

/// Reads a document or fails with everything that is wrong with it.
pub(in crate::store) fn read_document<T: DeserializeOwned>(
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
