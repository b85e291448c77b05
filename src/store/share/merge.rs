//! What two sides recorded as one: every path in which they differ, by what it is. Nothing is written here.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use git2::{MergeFileInput, Oid};

use super::setups::{BikeSides, FieldRow, Keep, MergeSides, SetupQuestion, SideWords, words_of};
use super::trees::{Differing, differing};
use super::words::require_readable;
use crate::machine;
use crate::notebook::guidance::Guidance;
use crate::notebook::{DocumentKind, Outing, Page, SetupFiles, merge_documents, same_values};
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;
use crate::store::history::numbers::{self, Renumbered};
use crate::store::history::repository::Repository;
use crate::store::index::rows::path_text;
use crate::store::share::setups::Chosen;
use crate::store::share::trees::kind_of;

/// What is to be done to bring two sides together.
#[derive(Debug, Default)]
pub(super) struct MergePlan {
    /// Files as they are to be, against ours.
    pub(super) changes: BTreeMap<PathBuf, Option<Vec<u8>>>,
    /// What is not answered yet.
    pub(super) questions: Vec<SetupQuestion>,
    /// Bikes for which a side was chosen.
    pub(super) settled: Vec<Chosen>,
    /// Numbers of ours that gave way, by bike.
    pub(super) renumbered: Vec<(String, Renumbered)>,
    /// What else is to be known, sentences.
    pub(super) notes: Vec<Guidance>,
}

/// What a person answered, by the fingerprint of the question.
pub(super) type Answers = BTreeMap<String, Keep>;

/// Why an answer was given, by the question's fingerprint; not there where nobody said.
pub(super) type Reasons = BTreeMap<String, String>;

/// Brings two sides together.
pub(super) fn plan(
    garage: &Garage,
    sides: MergeSides,
    answers: &Answers,
    lean: fn(&Outing) -> bool,
) -> Result<MergePlan, StoreError> {
    let repository = garage.repository();
    let differing = differing(repository.git(), Some(sides.base), sides.ours, sides.theirs)?;
    let mut merge = Merge { garage, sides, answers, lean, plan: MergePlan::default(), done: BTreeSet::new() };
    for bike in merge.bikes(&differing)? {
        let of_bike = BikeSides::of(garage, sides, &bike)?;
        merge.setup(&of_bike, &differing)?;
    }
    for file in &differing {
        if !merge.done.contains(&file.path) {
            merge.file(file)?;
        }
    }
    merge.runs_behind(&differing)?;
    Ok(merge.plan)
}

pub(super) struct Merge<'g> {
    pub(super) garage: &'g Garage,
    pub(super) sides: MergeSides,
    pub(super) answers: &'g Answers,
    /// Whether a run was lean or seized, and holds.
    pub(super) lean: fn(&Outing) -> bool,
    pub(super) plan: MergePlan,
    done: BTreeSet<PathBuf>,
}

impl Merge<'_> {
    /// The bikes whose setup differs: by its own files, or by the engine that it names.
    fn bikes(&self, differing: &[Differing]) -> Result<BTreeSet<String>, StoreError> {
        let mut bikes = BTreeSet::new();
        let mut engines = BTreeSet::new();
        for file in differing {
            let text = path_text(&file.path);
            match text.split('/').collect::<Vec<_>>().as_slice() {
                ["bikes", bike, "setup.toml"] | ["bikes", bike, "maps", _] => {
                    bikes.insert((*bike).to_owned());
                }
                ["engines", engine, "engine.toml"] => {
                    engines.insert((*engine).to_owned());
                }
                _ => {}
            }
        }
        if engines.is_empty() {
            return Ok(bikes);
        }
        let repository = self.garage.repository();
        for tip in [self.sides.ours, self.sides.theirs] {
            let tree = repository.tree(tip)?;
            for (bike, _) in repository.names_in(&tree, Path::new("bikes")) {
                let setup = repository.file(&tree, &SetupFiles::setup_path(&bike))?;
                if setup
                    .as_deref()
                    .and_then(SetupFiles::named_engine)
                    .is_some_and(|name| engines.contains(&name))
                {
                    bikes.insert(bike);
                }
            }
        }
        Ok(bikes)
    }

    fn setup(&mut self, bike: &BikeSides, differing: &[Differing]) -> Result<(), StoreError> {
        let files: Vec<&Differing> =
            differing.iter().filter(|file| bike.has(&file.path) && !self.done.contains(&file.path)).collect();
        self.done.extend(files.iter().map(|file| file.path.clone()));
        if !bike.is_asked() {
            for file in files {
                // What an engine's file has besides its setup, its owner, may be changed on the other side.
                if kind_of(&path_text(&file.path)) == Some(DocumentKind::Engine) {
                    self.file(file)?;
                } else {
                    self.one_sided(file, bike.changed == [true, false])?;
                }
            }
            return Ok(());
        }
        for (side, files) in [("is recorded here", &bike.files[1]), ("came from the others", &bike.files[2])]
        {
            require_readable(files, side)?;
        }
        let mut question = bike.question(self.garage, self.sides)?;
        self.lean_runs_of_either(&mut question, differing)?;
        let Some(keep) = self.answers.get(&question.fingerprint).copied() else {
            self.plan.questions.push(question);
            return Ok(());
        };
        let is_engine = |file: &Differing| kind_of(&path_text(&file.path)) == Some(DocumentKind::Engine);
        let engines: Vec<Differing> =
            files.iter().filter(|file| is_engine(file)).map(|file| (*file).clone()).collect();
        let mut metal = Vec::new();
        match keep {
            Keep::Ours | Keep::Theirs => {
                let (kept, stays) = bike.kept(self.garage, keep)?;
                let own_engine = kept.engine_name.as_deref().map(SetupFiles::engine_path);
                for file in files {
                    // Another engine than the one that is kept in is a document of its own.
                    if is_engine(file) && own_engine.as_ref() != Some(&file.path) {
                        self.file(file)?;
                    } else if keep == Keep::Theirs {
                        self.take_theirs(file)?;
                    }
                }
                if stays.iter().any(|metal| metal.other.is_none()) {
                    let changes = &mut self.plan.changes;
                    changes.insert(SetupFiles::setup_path(&bike.bike), kept.setup);
                    changes.extend(own_engine.map(|path| (path, kept.engine)));
                }
                metal = stays;
            }
            Keep::Both => {
                let combined = bike.combined(self.garage)?;
                let mut all = BTreeMap::from([(SetupFiles::setup_path(&bike.bike), combined.setup)]);
                if let Some(engine) = &combined.engine_name {
                    all.insert(SetupFiles::engine_path(engine), combined.engine);
                }
                let folder = Garage::bike_folder(&bike.bike);
                all.extend(combined.maps.into_iter().map(|(name, bytes)| (folder.join(name), Some(bytes))));
                self.plan.changes.extend(all);
            }
        }
        for file in &engines {
            self.owner(file)?;
        }
        self.plan.settled.push(Chosen { question, keep, metal });
        Ok(())
    }

    /// Whose an engine is, is no part of a setup: whichever side was chosen, what one of them wrote about it stays.
    fn owner(&mut self, file: &Differing) -> Result<(), StoreError> {
        let (Some(ours), Some(theirs)) = (file.ours, file.theirs) else { return Ok(()) };
        let base = file.base.map(|id| self.blob(&file.path, id)).transpose()?.unwrap_or_default();
        let (ours, theirs) = (self.blob(&file.path, ours)?, self.blob(&file.path, theirs)?);
        let chosen = match self.plan.changes.get(&file.path) {
            Some(Some(chosen)) => chosen.clone(),
            Some(None) => return Ok(()),
            None => ours.clone(),
        };
        let [was, own, other] = [&base, &ours, &theirs].map(|bytes| owner_of(bytes));
        // Both wrote one: the chosen side's stays.
        let owner = match (own == was, other == was) {
            (true, _) => other,
            (false, true) => own,
            (false, false) => return Ok(()),
        };
        if owner_of(&chosen) != owner {
            let mut page = Page::open(&file.path, Some(&chosen))?;
            match owner {
                Some(owner) => page.write("owner", owner.into(), DocumentKind::Engine.catalogue())?,
                None => {
                    page.take_out("owner");
                }
            }
            self.plan.changes.insert(file.path.clone(), Some(page.bytes()));
        }
        Ok(())
    }

    /// A file of a setup that at most one side changed in its values: the other's comments come along where they do not touch.
    fn one_sided(&mut self, file: &Differing, ours_holds: bool) -> Result<(), StoreError> {
        if file.base == file.theirs {
            return Ok(());
        }
        if file.base == file.ours {
            return self.take_theirs(file);
        }
        let (Some(ours), Some(theirs)) = (file.ours, file.theirs) else {
            return if ours_holds { Ok(()) } else { self.take_theirs(file) };
        };
        let base = file.base.map(|id| self.blob(&file.path, id)).transpose()?.unwrap_or_default();
        let (ours, theirs) = (self.blob(&file.path, ours)?, self.blob(&file.path, theirs)?);
        let holds = if ours_holds { &ours } else { &theirs };
        let merged = by_lines(&base, &ours, &theirs)?.filter(|merged| same_values(&file.path, merged, holds));
        self.plan.changes.insert(file.path.clone(), Some(merged.unwrap_or_else(|| holds.clone())));
        Ok(())
    }

    fn file(&mut self, file: &Differing) -> Result<(), StoreError> {
        let text = path_text(&file.path);
        let on_both = file.ours.is_some() && file.theirs.is_some();
        // Of a bike that a side took out they are a file like its others.
        if file.path.ends_with("numbers") && text.starts_with("bikes/") && (on_both || file.base.is_none()) {
            return self.numbers(file);
        }
        if file.base == file.theirs {
            return Ok(());
        }
        if file.base == file.ours {
            return self.take_theirs(file);
        }
        let (Some(ours), Some(theirs)) = (file.ours, file.theirs) else {
            let said = format!(
                "{text} was taken out on one side and changed on the other: it stays as it was changed."
            );
            self.plan.notes.push(said.into());
            return if file.ours.is_none() { self.take_theirs(file) } else { Ok(()) };
        };
        if text.starts_with("schema/") {
            return self.take_theirs(file);
        }
        let base = file.base.map(|id| self.blob(&file.path, id)).transpose()?;
        let (ours, theirs) = (self.blob(&file.path, ours)?, self.blob(&file.path, theirs)?);
        if kind_of(&text) == Some(DocumentKind::Outing) && self.run(file)? {
            return Ok(());
        }
        let lines = by_lines(base.as_deref().unwrap_or_default(), &ours, &theirs)?;
        let Some(kind) = kind_of(&text) else {
            let lines =
                if file.path == Path::new(".gitattributes") { Some(union(&theirs, &ours)) } else { lines };
            return match lines {
                Some(lines) => {
                    self.plan.changes.insert(file.path.clone(), Some(lines));
                    Ok(())
                }
                None => self.ask(file, Vec::new()),
            };
        };
        let Ok(merged) = merge_documents(kind, &file.path, base.as_deref(), (&ours, &theirs)) else {
            return self.ask(file, Vec::new());
        };
        let mut both = merged.both;
        if kind == DocumentKind::Place {
            // Two spellings of one name: the one that was shared stays.
            both.retain(|field| field.field != "title");
        }
        if both.is_empty() {
            let lines = lines.filter(|lines| same_values(&file.path, lines, &merged.bytes));
            self.plan.changes.insert(file.path.clone(), Some(lines.unwrap_or(merged.bytes)));
            return Ok(());
        }
        let rows = both.into_iter().map(|both| FieldRow {
            field: both.field,
            before: both.before,
            ours: both.ours,
            theirs: both.theirs,
            map: None,
        });
        let theirs_merged = merged.bytes;
        self.ask_merged(file, rows.collect(), (kind, base.as_deref(), &ours, theirs_merged))
    }

    fn numbers(&mut self, file: &Differing) -> Result<(), StoreError> {
        let text = |id: Option<Oid>| -> Result<String, StoreError> {
            let bytes = id.map(|id| self.blob(&file.path, id)).transpose()?.unwrap_or_default();
            Ok(String::from_utf8_lossy(&bytes).into_owned())
        };
        let (text, gave_way) = numbers::merged(&text(file.base)?, &text(file.ours)?, &text(file.theirs)?);
        let bike = path_text(&file.path).split('/').nth(1).unwrap_or_default().to_owned();
        self.plan.renumbered.extend(gave_way.into_iter().map(|one| (bike.clone(), one)));
        self.plan.changes.insert(file.path.clone(), Some(text.into_bytes()));
        Ok(())
    }

    /// A file that both changed so that only a person can say which holds, as a whole.
    fn ask(&mut self, file: &Differing, rows: Vec<FieldRow>) -> Result<(), StoreError> {
        let question = self.question(file, rows)?;
        match self.answers.get(&question.fingerprint) {
            None => self.plan.questions.push(question),
            Some(Keep::Theirs) => self.take_theirs(file)?,
            Some(_) => {}
        }
        Ok(())
    }

    /// The same for some fields of it: the others are brought together whatever is answered.
    fn ask_merged(
        &mut self,
        file: &Differing,
        rows: Vec<FieldRow>,
        (kind, base, ours, merged): (DocumentKind, Option<&[u8]>, &[u8], Vec<u8>),
    ) -> Result<(), StoreError> {
        let question = self.question(file, rows)?;
        let bytes = match self.answers.get(&question.fingerprint) {
            None => {
                self.plan.questions.push(question);
                return Ok(());
            }
            Some(Keep::Theirs) => merged,
            // Theirs in the place of ours: what both changed stays as we have it.
            Some(_) => {
                let theirs = file.theirs.map(|id| self.blob(&file.path, id)).transpose()?.unwrap_or_default();
                merge_documents(kind, &file.path, base, (&theirs, ours))?.bytes
            }
        };
        self.plan.changes.insert(file.path.clone(), Some(bytes));
        Ok(())
    }

    pub(super) fn question(
        &self,
        file: &Differing,
        rows: Vec<FieldRow>,
    ) -> Result<SetupQuestion, StoreError> {
        let subject = path_text(&file.path);
        Ok(SetupQuestion {
            fingerprint: machine::id_of(&format!("{subject}\n{:?}\n{:?}", file.ours, file.theirs)),
            is_setup: false,
            ours: self.last_touched(&file.path, self.sides.ours)?,
            theirs: self.last_touched(&file.path, self.sides.theirs)?,
            rows,
            apart: Some("a field of a document has one value".into()),
            metal: Vec::new(),
            run_of: None,
            retired: None,
            subject,
        })
    }

    /// What the newest commit says that touched a file on a side.
    fn last_touched(&self, path: &Path, tip: Oid) -> Result<SideWords, StoreError> {
        let repository = self.garage.repository();
        for id in repository.commits_since(tip, Some(self.sides.base))?.into_iter().rev() {
            let here = Repository::id_at(&repository.tree(id)?, path);
            let mut parents = repository.commit(id)?.parent_ids().collect::<Vec<_>>().into_iter();
            let touched = parents.try_fold(true, |touched, parent| {
                Ok::<_, StoreError>(touched && Repository::id_at(&repository.tree(parent)?, path) != here)
            })?;
            if touched {
                return words_of(self.garage, id);
            }
        }
        words_of(self.garage, tip)
    }

    fn take_theirs(&mut self, file: &Differing) -> Result<(), StoreError> {
        let bytes = file.theirs.map(|id| self.blob(&file.path, id)).transpose()?;
        self.plan.changes.insert(file.path.clone(), bytes);
        Ok(())
    }

    pub(super) fn blob(&self, path: &Path, id: Oid) -> Result<Vec<u8>, StoreError> {
        self.garage.repository().blob(path, id)
    }
}

/// Whose engine it is, by its file.
fn owner_of(engine: &[u8]) -> Option<String> {
    let table = std::str::from_utf8(engine).ok()?.parse::<toml::Table>().ok()?;
    table.get("owner")?.as_str().map(str::to_owned)
}

/// Both sides' lines, where they do not touch.
fn by_lines(base: &[u8], ours: &[u8], theirs: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
    let input = |bytes| {
        let mut input = MergeFileInput::new();
        input.content(bytes);
        input
    };
    let merged =
        git2::merge_file(&input(base), &input(ours), &input(theirs), None).map_err(git("merge a file"))?;
    Ok(merged.is_automergeable().then(|| merged.content().to_vec()))
}

/// The lines of both, each once.
fn union(one: &[u8], other: &[u8]) -> Vec<u8> {
    let (one, other) = (String::from_utf8_lossy(one), String::from_utf8_lossy(other));
    let mut lines: Vec<&str> = one.lines().collect();
    for line in other.lines() {
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines.iter().map(|line| format!("{line}\n")).collect::<String>().into_bytes()
}
