//! One bike's setup on two sides: whether both recorded another one, and the two side by side.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use git2::Oid;

use crate::notebook::editing::assign::apply;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{
    Assignment, Combination, DocumentKind, EditOptions, Entry, FieldSet, MapTable, SetupFiles, Value, When,
    compare, merge_maps, replace_map, written_values,
};
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::numbers::Numbers;
use crate::store::history::repository::Repository;
use crate::store::history::scan::{AIR_TRAILER, SETUP_TRAILER, words};
use crate::store::index::rows::path_text;
use crate::store::records::{OutingRecord, outing_id};

/// What is kept of two sides that cannot be combined.
pub(super) fn one_or_the_other() -> Guidance {
    Guidance::from("Keep what is there or what is here; what else is wanted of the other is a ")
        + Command::Change
        + " afterwards."
}

/// The commits that are brought together.
#[derive(Debug, Clone, Copy)]
pub(super) struct MergeSides {
    pub(super) base: Oid,
    pub(super) ours: Oid,
    pub(super) theirs: Oid,
}

/// Which of two sides is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keep {
    /// What the others recorded.
    Theirs,
    /// What was recorded here.
    Ours,
    /// The fields of both, in one setup that nobody ran.
    Both,
}

/// What two sides have otherwise, and only a person can say which holds.
#[derive(Debug, Clone)]
pub struct SetupQuestion {
    /// The bike, or the file.
    pub subject: String,
    /// Whether it is about a bike's setup.
    pub is_setup: bool,
    /// What this side has.
    pub ours: SideWords,
    /// What the other side has.
    pub theirs: SideWords,
    /// The fields in which a side differs from what was before.
    pub rows: Vec<FieldRow>,
    /// Why the two cannot be combined, where they cannot.
    pub apart: Option<String>,
    /// What was cut in metal on one side only, and stays whichever side holds: dotted fields.
    pub metal: Vec<String>,
    /// The bike whose run it is about; none of anything else.
    pub run_of: Option<String>,
    /// Of a bike that is retired on either side: what there is to say of that.
    pub retired: Option<Guidance>,
    /// Tells these two sides from any others.
    pub(super) fingerprint: String,
}

/// Who recorded a side, when, in what air and why.
#[derive(Debug, Clone, Default)]
pub struct SideWords {
    /// Number of the setup on its side.
    pub number: Option<u32>,
    /// Its identity.
    pub id: Option<String>,
    /// Who.
    pub author: String,
    /// When.
    pub date: When,
    /// Why.
    pub why: String,
    /// In what air.
    pub air: Option<String>,
    /// How it ran last on its side; of a run that both mended, the run as it stands once this side is kept.
    pub ran: Option<OutingRecord>,
    /// Whether keeping this side lets a run go that was lean, or a seizure.
    pub lets_go: bool,
    /// Of a setup, the newest lean run that the other side has and whoever recorded this one did not know; it may forbid it.
    pub unaware_of: Option<OutingRecord>,
}

/// One field of a question; none where a side has it not.
#[derive(Debug, Clone)]
pub struct FieldRow {
    /// Its dotted field.
    pub field: String,
    /// As it was.
    pub before: Option<String>,
    /// As this side has it.
    pub ours: Option<String>,
    /// As the other side has it.
    pub theirs: Option<String>,
    /// Of a map: where and by how much it differs.
    pub map: Option<MapRow>,
}

/// How a map differs on two sides, in words without a period; none where it does not.
#[derive(Debug, Clone, Default)]
pub struct MapRow {
    /// This side's from what was before.
    pub ours: Option<String>,
    /// The other side's from what was before.
    pub theirs: Option<String>,
    /// The other side's from this side's.
    pub apart: Option<String>,
}

/// A bike's setup before both sides, here and there.
pub(super) struct BikeSides {
    pub(super) bike: String,
    /// Base, ours, theirs.
    pub(super) files: [SetupFiles; 3],
    pub(super) fields: [FieldSet; 3],
    /// Whether ours and theirs recorded a setup.
    pub(super) changed: [bool; 2],
    newest: [Option<Oid>; 2],
}

impl BikeSides {
    pub(super) fn of(garage: &Garage, sides: MergeSides, bike: &str) -> Result<Self, StoreError> {
        let repository = garage.repository();
        let at = |commit: Oid| garage.scanned_files_in(&repository.tree(commit)?, bike);
        let files = [at(sides.base)?, at(sides.ours)?, at(sides.theirs)?];
        let fields = [0, 1, 2].map(|side| fields_of(&files[side]));
        let paths = paths_of(&files);
        let mut changed = [false; 2];
        let mut newest = [None; 2];
        for (side, tip) in [sides.ours, sides.theirs].into_iter().enumerate() {
            let mut before = fields[0].clone();
            for id in repository.commits_since(tip, Some(sides.base))? {
                let commit = repository.commit(id)?;
                let tree = repository.tree(id)?;
                let parents =
                    commit.parent_ids().map(|id| repository.tree(id)).collect::<Result<Vec<_>, _>>()?;
                let touched = |path: &PathBuf| {
                    let here = Repository::id_at(&tree, path);
                    parents.iter().all(|parent| Repository::id_at(parent, path) != here)
                };
                if !paths.iter().any(touched) {
                    continue;
                }
                let there = fields_of(&garage.scanned_files_in(&tree, bike)?);
                changed[side] |= !there.same_as(&fields[0]);
                // Whose the engine is, and what is only a comment, is no setup.
                if !there.same_as(&before) {
                    newest[side] = Some(id);
                    before = there;
                }
            }
        }
        Ok(Self { bike: bike.to_owned(), files, fields, changed, newest })
    }

    /// Its files on both sides: the maps as a folder.
    pub(super) fn paths(&self) -> BTreeSet<PathBuf> {
        paths_of(&self.files)
    }

    /// Whether a path is one of its files.
    pub(super) fn has(&self, path: &Path) -> bool {
        self.paths().iter().any(|own| path == own || (own.ends_with("maps") && path.starts_with(own)))
    }

    /// Whether a person has to say which holds.
    pub(super) fn is_asked(&self) -> bool {
        self.changed == [true, true] && !self.fields[1].same_as(&self.fields[2])
    }

    pub(super) fn question(&self, garage: &Garage, sides: MergeSides) -> Result<SetupQuestion, StoreError> {
        let mut rows: Vec<FieldRow> = Vec::new();
        for side in [1, 2] {
            for change in compare(&self.fields[0], &self.fields[side]).changes {
                if rows.iter().all(|row| row.field != change.field) {
                    let text = |side: usize| self.fields[side].get(&change.field).map(Value::text);
                    let differs = |from: usize, to: usize| {
                        let all = compare(&self.fields[from], &self.fields[to]);
                        Some(all.get(&change.field)?.map.as_ref()?.sentence.clone())
                    };
                    let map = change.map.is_some().then(|| MapRow {
                        ours: differs(0, 1),
                        theirs: differs(0, 2),
                        apart: differs(1, 2),
                    });
                    rows.push(FieldRow {
                        before: text(0),
                        ours: text(1),
                        theirs: text(2),
                        map,
                        field: change.field.clone(),
                    });
                }
            }
        }
        let apart = match self.combined(garage) {
            Err(error) => Some(error.to_string()),
            // What one side changed is back as it was: to keep both is to keep the other, and is said so.
            Ok(both) => self.side_of(&fields_of(&both)).map(str::to_owned),
        };
        let text = format!("{}\n{:?}\n{:?}", self.bike, self.newest, sides.base);
        Ok(SetupQuestion {
            subject: self.bike.clone(),
            is_setup: true,
            ours: side_words(garage, self.newest[0].unwrap_or(sides.ours), (sides.ours, &self.bike))?,
            theirs: side_words(garage, self.newest[1].unwrap_or(sides.theirs), (sides.theirs, &self.bike))?,
            rows,
            apart,
            metal: self.metal_of_either(garage)?,
            run_of: None,
            retired: self.retired(garage, sides)?,
            fingerprint: crate::machine::id_of(&text),
        })
    }

    /// Why a combination that is no other than one of the sides is none.
    fn side_of(&self, both: &FieldSet) -> Option<&'static str> {
        if both.same_as(&self.fields[2]) {
            return Some("together they are just what is there");
        }
        both.same_as(&self.fields[1]).then_some("together they are just what is here")
    }

    /// What there is to say where the bike is retired on a side: both go on with it all the same.
    fn retired(&self, garage: &Garage, sides: MergeSides) -> Result<Option<Guidance>, StoreError> {
        let repository = garage.repository();
        let path = Garage::bike_folder(&self.bike).join("bike.toml");
        let mut by = [false; 2];
        for (by, tip) in by.iter_mut().zip([sides.ours, sides.theirs]) {
            let bytes = repository.file(&repository.tree(tip)?, &path)?;
            *by = retired_in(&path, bytes.as_deref()).is_some();
        }
        Ok(of_retired_and_changed(&self.bike, by))
    }

    /// Theirs with every field that ours changed.
    pub(super) fn combined(&self, garage: &Garage) -> Result<SetupFiles, StoreError> {
        let [base, ours, theirs] = &self.fields;
        let apart = |what: String| StoreError::request(Some("keep"), what, one_or_the_other());
        let mut files = self.files[2].clone();
        let mut assignments = Vec::new();
        for change in compare(base, ours).changes {
            let field = change.field.as_str();
            let of = |fields: &FieldSet| fields.get(field).cloned();
            let same = |one: Option<Value>, other: Option<Value>| match (one, other) {
                (Some(one), Some(other)) => one.same_as(&other),
                (None, None) => true,
                _ => false,
            };
            if same(of(ours), of(theirs)) {
                continue;
            }
            if field == "engine" {
                return Err(apart("the two have different engines in the bike".into()));
            }
            let map = |fields: &FieldSet| fields.map(field).cloned();
            if let Some(own) = map(ours) {
                let merged = match (map(base), map(theirs)) {
                    (Some(was), Some(other)) => merge_maps(&was, &own, &other),
                    (None, None) => Some(own),
                    _ => None,
                };
                let merged: MapTable = merged.ok_or_else(|| {
                    apart(format!("both changed the same cells of {field}, or its breakpoints"))
                })?;
                files = replace_map(&files, field, &merged)?;
                continue;
            }
            if !same(of(base), of(theirs)) {
                return Err(apart(format!("both changed {field}")));
            }
            assignments.push(Assignment {
                field: field.to_owned(),
                at: None,
                value: as_typed(ours.get(field)),
            });
        }
        // What one cylinder has of its own on their side stays its own where ours changed it for all.
        let common: Vec<String> = assignments.iter().map(|one| one.field.clone()).collect();
        for (field, entry) in theirs.iter() {
            let of_all = own_of(field).map(|(_, of_all)| of_all);
            if of_all.is_some_and(|of_all| common.iter().any(|own| own == of_all))
                && !common.iter().any(|own| own == field)
            {
                let value = as_typed(Some(&entry.value));
                assignments.push(Assignment { field: field.to_owned(), at: None, value });
            }
        }
        let options = EditOptions { insert: false, refuse_bare_lengths: garage.is_imperial() };
        let files = apply(&files, &assignments, options)?;
        let whole = garage.combination(&files);
        match whole.findings.first() {
            Some(finding) => Err(apart(finding.message.trim_end_matches('.').to_owned())),
            None => Ok(files),
        }
    }
}

/// A value as it was typed.
pub(super) fn as_typed(value: Option<&Value>) -> Option<String> {
    Some(match value? {
        Value::Quantity(quantity) => quantity.text().to_owned(),
        value => value.text(),
    })
}

/// Every value of a setup, also what cannot be read here: a field of a newer version counts as one that a side changed.
fn fields_of(files: &SetupFiles) -> FieldSet {
    if files.setup.is_none() {
        return FieldSet::default();
    }
    let Combination { mut fields, findings, .. } = Combination::read(files, false);
    let engine = files.engine_name.as_deref().map(SetupFiles::engine_path);
    let documents = [
        (DocumentKind::Setup, Some(SetupFiles::setup_path(&files.bike)), &files.setup),
        (DocumentKind::Engine, engine, &files.engine),
    ];
    for (document, path, bytes) in documents {
        let (Some(path), Some(bytes)) = (path, bytes) else { continue };
        let unread: Vec<(&str, usize)> = findings
            .iter()
            .filter(|finding| finding.place.file == path)
            .filter_map(|finding| Some((finding.place.field.as_deref()?, finding.place.line.unwrap_or(1))))
            .collect();
        if unread.is_empty() {
            continue;
        }
        for (field, text) in written_values(&path, bytes).unwrap_or_default() {
            let within = |above: &str| {
                field.strip_prefix(above).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
            };
            let line = unread.iter().find(|(above, _)| within(above)).map(|(_, line)| *line);
            if let Some(line) = line.filter(|_| fields.get(&field).is_none()) {
                fields.insert(field, Entry { value: Value::Text(text), document, line });
            }
        }
    }
    fields
}

fn paths_of(files: &[SetupFiles; 3]) -> BTreeSet<PathBuf> {
    let bike = &files[1].bike;
    let mut paths = BTreeSet::from([SetupFiles::setup_path(bike), Garage::bike_folder(bike).join("maps")]);
    for files in files {
        paths.extend(files.engine_name.as_deref().map(SetupFiles::engine_path));
    }
    paths
}

/// What a commit says of itself, with the number that its setup has on its side.
fn side_words(garage: &Garage, commit: Oid, (tip, bike): (Oid, &str)) -> Result<SideWords, StoreError> {
    let repository = garage.repository();
    let mut said = words_of(garage, commit)?;
    let numbers = repository.file(&repository.tree(tip)?, &Garage::bike_folder(bike).join("numbers"))?;
    let numbers = Numbers::read(&[&String::from_utf8_lossy(&numbers.unwrap_or_default())]);
    let id = said.id.clone().unwrap_or_else(|| commit.to_string());
    said.number = numbers.of(&id);
    said.ran = last_run(garage, (tip, bike), (&id, said.number))?;
    said.id = Some(id);
    Ok(said)
}

/// The newest run of a setup that a side has recorded.
fn last_run(
    garage: &Garage,
    (tip, bike): (Oid, &str),
    (setup, number): (&str, Option<u32>),
) -> Result<Option<OutingRecord>, StoreError> {
    let repository = garage.repository();
    let tree = repository.tree(tip)?;
    let folder = Garage::bike_folder(bike).join("outings");
    let mut newest: Option<OutingRecord> = None;
    for (name, id) in repository.names_in(&tree, &folder) {
        if !name.ends_with(".toml") {
            continue;
        }
        let file = folder.join(&name);
        let Some(outing) = checks::outing(garage, &file, &repository.blob(&file, id)?).document else {
            continue;
        };
        let newer = newest.as_ref().is_none_or(|known| known.outing.date <= outing.date);
        if newer && outing.setup.as_deref() == Some(setup) {
            newest = Some(OutingRecord {
                bike: bike.to_owned(),
                id: outing_id(&name),
                file,
                outing,
                setup: number,
                cylinders: Vec::new(),
            });
        }
    }
    Ok(newest)
}

/// What a commit says of itself.
pub(super) fn words_of(garage: &Garage, id: Oid) -> Result<SideWords, StoreError> {
    let commit = garage.repository().commit(id)?;
    let (why, trailers) = words(&commit);
    let author = commit.author();
    let time = author.when();
    Ok(SideWords {
        number: None,
        id: trailers.get(SETUP_TRAILER).cloned(),
        author: author.name().map(str::to_owned).unwrap_or_default(),
        date: When::from_unix(time.seconds(), time.offset_minutes()).unwrap_or_default(),
        why,
        air: trailers.get(AIR_TRAILER).cloned(),
        ran: None,
        lets_go: false,
        unaware_of: None,
    })
}

/// A bike for which a side was chosen.
#[derive(Debug)]
pub(super) struct Chosen {
    pub(super) question: SetupQuestion,
    pub(super) keep: Keep,
    /// What was cut in metal on the side that was not kept.
    pub(super) metal: Vec<KeptMetal>,
}

/// A measurement that a choice between two sides did not move, or that both sides cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptMetal {
    /// Its dotted field.
    pub field: String,
    /// What holds.
    pub holds: String,
    /// What the side has that was not kept, where both cut it.
    pub other: Option<String>,
}

/// What there is to say of a bike of which both sides recorded a setup although it is retired: here, on the other side.
pub(super) fn of_retired_and_changed(bike: &str, by: [bool; 2]) -> Option<Guidance> {
    let shown = visible(bike);
    let who = match by {
        [false, false] => return None,
        [true, true] => "It is retired",
        [true, false] => "It is retired here",
        [false, true] => "The others retired it",
    };
    let said = format!("{who}, and both sides went on with it. If it is in use, once this is answered: ");
    Some(Guidance::from(said) + Command::BringBikeBack(Some(shown)) + ". Else tell them.")
}

/// The bike that a document retires; none of any other document.
pub(super) fn retired_in(path: &Path, bytes: Option<&[u8]>) -> Option<String> {
    let text = path_text(path);
    let bike = text.strip_prefix("bikes/")?.strip_suffix("/bike.toml")?;
    let document: toml::Table = std::str::from_utf8(bytes?).ok()?.parse().ok()?;
    document.contains_key("retired").then(|| bike.to_owned())
}
