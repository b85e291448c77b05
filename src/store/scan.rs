//! Finds the setups in the history. A setup is setup.toml, its maps and its engine.toml at one commit; there is a new one
//! where a parsed value changed, or where the commit says so in its trailers.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use git2::{Commit, Oid, Tree};

use super::error::StoreError;
use super::garage::Garage;
use super::repository::Repository;
use crate::notebook::{Combination, FieldSet, SetupFiles, When, names};

/// Name of the trailer that carries a setup's identity.
pub(super) const SETUP_TRAILER: &str = "Setup-Id";
/// Name of the trailer that carries the bike.
pub(super) const BIKE_TRAILER: &str = "Bike";
/// Name of the trailer that carries the air.
pub(super) const AIR_TRAILER: &str = "Air";

/// A setup found in the history.
#[derive(Debug, Clone)]
pub(super) struct FoundSetup {
    /// The bike.
    pub bike: String,
    /// Its identity: the trailer's, else the commit's id.
    pub id: String,
    /// The commit that recorded it.
    pub commit: Oid,
    /// When, as the author dated it.
    pub date: When,
    /// The reason.
    pub why: String,
    /// The air line, as the trailer has it.
    pub air: Option<String>,
    /// The engine it ran with.
    pub engine: Option<String>,
    /// Whether its files could be read.
    pub readable: bool,
    /// Its values.
    pub fields: FieldSet,
}

/// What an earlier scan left known.
#[derive(Debug, Clone, Default)]
pub(super) struct Known {
    /// The newest commit scanned.
    pub head: Option<Oid>,
    /// Engine and values of each bike's newest setup.
    pub last: BTreeMap<String, (Option<String>, FieldSet)>,
    /// The bike each engine is in: the one whose setup named it last.
    pub holders: BTreeMap<String, String>,
}

/// Walks the commits that are not known yet and returns the setups they made, oldest first.
pub(super) fn setups(garage: &Garage, head: Oid, known: Known) -> Result<Vec<FoundSetup>, StoreError> {
    let known_head = known.head;
    let mut scan = Scan { garage, known, found: Vec::new() };
    for id in garage.repository().commits_since(head, known_head)? {
        scan.commit(&garage.repository().commit(id)?)?;
    }
    Ok(scan.found)
}

struct Scan<'g> {
    garage: &'g Garage,
    known: Known,
    found: Vec<FoundSetup>,
}

impl Scan<'_> {
    fn commit(&mut self, commit: &Commit<'_>) -> Result<(), StoreError> {
        let repository = self.garage.repository();
        let tree = repository.tree(commit.id())?;
        let parents = commit.parent_ids().map(|id| repository.tree(id)).collect::<Result<Vec<_>, _>>()?;
        let moved =
            touched(&tree, &parents, Path::new("bikes")) || touched(&tree, &parents, Path::new("engines"));
        if !moved {
            return Ok(());
        }
        let trailers = trailers(commit);
        let mut bikes = self.touched_bikes(&tree, &parents);
        // An engine that is taken back changes no file but the numbers: the trailers alone tell of the setup.
        if let (Some(bike), Some(_)) = (trailers.get(BIKE_TRAILER), trailers.get(SETUP_TRAILER))
            && names::check(bike).is_ok()
            && !bikes.contains(bike)
            && touched(&tree, &parents, &Garage::bike_folder(bike).join("numbers"))
        {
            bikes.push(bike.clone());
        }
        for bike in bikes {
            let named = trailers.get(BIKE_TRAILER).is_some_and(|name| *name == bike);
            let id = trailers.get(SETUP_TRAILER).filter(|_| named).cloned();
            self.bike(commit, &tree, bike, id, &trailers)?;
        }
        Ok(())
    }

    /// Bikes whose own files or whose engine's file differ from every parent's.
    fn touched_bikes(&self, tree: &Tree<'_>, parents: &[Tree<'_>]) -> Vec<String> {
        let repository = self.garage.repository();
        let mut bikes = BTreeSet::new();
        for (bike, _) in repository.names_in(tree, Path::new("bikes")) {
            if names::check(&bike).is_err() {
                continue;
            }
            let folder = Garage::bike_folder(&bike);
            let own = touched(tree, parents, &folder.join("setup.toml"))
                || touched(tree, parents, &folder.join("maps"));
            let engine = self.holds_touched_engine(tree, parents, &bike);
            if own || engine {
                bikes.insert(bike);
            }
        }
        bikes.into_iter().collect()
    }

    /// An engine that two setup files name is in the bike whose setup named it last.
    fn holds_touched_engine(&self, tree: &Tree<'_>, parents: &[Tree<'_>], bike: &str) -> bool {
        let Some((Some(engine), _)) = self.known.last.get(bike) else {
            return false;
        };
        let holder = self.known.holders.get(engine);
        holder.is_none_or(|holder| holder == bike) && touched(tree, parents, &SetupFiles::engine_path(engine))
    }

    fn bike(
        &mut self,
        commit: &Commit<'_>,
        tree: &Tree<'_>,
        bike: String,
        id: Option<String>,
        trailers: &BTreeMap<String, String>,
    ) -> Result<(), StoreError> {
        let files = self.garage.files_in(tree, &bike)?;
        if files.setup.is_none() {
            return Ok(());
        }
        let whole = Combination::read(&files, false);
        let readable = whole.findings.is_empty();
        let same = self.known.last.get(&bike).is_some_and(|(_, fields)| fields.same_as(&whole.fields));
        if id.is_none() && (same || !readable || whole.fields.is_empty()) {
            return Ok(());
        }
        let time = commit.author().when();
        let date = When::from_unix(time.seconds(), time.offset_minutes());
        if let Some(engine) = files.engine_name.clone() {
            self.known.holders.insert(engine, bike.clone());
        }
        self.known.last.insert(bike.clone(), (files.engine_name.clone(), whole.fields.clone()));
        self.found.push(FoundSetup {
            bike,
            id: id.unwrap_or_else(|| commit.id().to_string()),
            commit: commit.id(),
            date: date.unwrap_or_default(),
            why: reason(commit),
            air: trailers.get(AIR_TRAILER).cloned(),
            engine: files.engine_name,
            readable,
            fields: whole.fields,
        });
        Ok(())
    }
}

/// Whether a path's object differs from that of every parent.
fn touched(tree: &Tree<'_>, parents: &[Tree<'_>], path: &Path) -> bool {
    let here = Repository::id_at(tree, path);
    if parents.is_empty() {
        return here.is_some();
    }
    parents.iter().all(|parent| Repository::id_at(parent, path) != here)
}

/// The trailers of a commit; where one stands twice, the last counts, because ours are written last.
pub(super) fn trailers(commit: &Commit<'_>) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    let message = String::from_utf8_lossy(commit.message_bytes()).into_owned();
    let Ok(trailers) = git2::message_trailers_strs(&message) else {
        return found;
    };
    for (name, value) in trailers.iter() {
        found.insert(name.to_owned(), value.to_owned());
    }
    found
}

/// The message without its trailers.
pub(super) fn reason(commit: &Commit<'_>) -> String {
    let message = String::from_utf8_lossy(commit.message_bytes()).into_owned();
    let text = message.trim_end();
    match text.rsplit_once("\n\n") {
        Some((before, last)) if last.lines().all(is_trailer_line) => before.trim().to_owned(),
        _ => text.trim().to_owned(),
    }
}

fn is_trailer_line(line: &str) -> bool {
    line.split_once(": ").is_some_and(|(name, _)| {
        !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
    })
}
