//! Finds the setups in the history. A setup is setup.toml, its maps and its engine.toml at one commit; there is a new one
//! where a parsed value changed, or where the commit says so in its trailers.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::Path;
use std::rc::Rc;

use git2::{Commit, Oid, Tree};

use crate::notebook::fields::names;
use crate::notebook::{Combination, EnginesRead, FieldSet, SetupFiles, When};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::numbers::{self, Numbers};
use crate::store::history::repository::Repository;

/// Name of the trailer that carries a setup's identity.
pub(in crate::store) const SETUP_TRAILER: &str = "Setup-Id";
/// Name of the trailer that carries the bike.
pub(in crate::store) const BIKE_TRAILER: &str = "Bike";
/// Name of the trailer that carries the air.
pub(in crate::store) const AIR_TRAILER: &str = "Air";

/// Name of the trailer that says why a setup was recorded despite a warning.
pub(in crate::store) const DESPITE_TRAILER: &str = "Despite";

/// Name of the trailer of a merge that says for which bikes a setup was chosen: the commits behind it record them.
pub(in crate::store) const SETTLED_TRAILER: &str = "Settled";

/// Name of the trailer that says of which two setups one was put together.
pub(in crate::store) const COMBINED_TRAILER: &str = "Combined";

/// The reason of a setup that a clone without the beginning of its history knows only by how the bike stood there.
const CUT_OFF: &str = "As the bike stood where this clone's history begins; why is written before it.";

/// A setup found in the history.
#[derive(Debug, Clone)]
pub(in crate::store) struct FoundSetup {
    /// The bike.
    pub bike: String,
    /// Its identity: the trailer's, else the commit's id.
    pub id: String,
    /// The commit that recorded it.
    pub commit: Oid,
    /// When, as the author dated it.
    pub date: When,
    /// Who, as git knows it.
    pub author: String,
    /// The reason.
    pub why: String,
    /// The air line, as the trailer has it.
    pub air: Option<String>,
    /// The engine it ran with.
    pub engine: Option<String>,
    /// Whether its files could be read.
    pub readable: bool,
    /// Why it was recorded despite a warning.
    pub despite: Option<String>,
    /// Whether it was put together of two sides' setups: nobody ran it then.
    pub combined: bool,
    /// The identity of the setup that it was made from; none for the first.
    pub made_from: Option<String>,
    /// The identities of the two that a choice put together, as they were recorded; none where it was not put together by one.
    pub combined_of: Option<String>,
    /// Its values.
    pub fields: Rc<FieldSet>,
}

/// A setup that is known.
#[derive(Debug, Clone)]
pub(in crate::store) struct KnownSetup {
    /// Its identity.
    pub id: String,
    /// The engine it ran with.
    pub engine: Option<String>,
    /// The commit that recorded it.
    pub commit: Oid,
}

/// Holds the setups that were found before a walk and takes each that the walk finds, at once: a long history does not fit into memory.
pub(in crate::store) trait Ledger {
    /// A bike's newest setup so far.
    fn newest(&self, bike: &str) -> Result<Option<KnownSetup>, StoreError>;
    /// The bike an engine is in: the one whose setup named it last.
    fn holder(&self, engine: &str) -> Result<Option<String>, StoreError>;
    /// Whether a bike has a setup of this identity.
    fn has(&self, bike: &str, id: &str) -> Result<bool, StoreError>;
    /// Takes one that was found; it is the newest of its bike from then on.
    fn take(&self, setup: &FoundSetup) -> Result<(), StoreError>;
}

/// The newest setup of each bike that the walk found among a commit and its ancestors: its place among those that were found, its
/// identity and its commit.
type Newest = BTreeMap<String, (usize, String, Oid)>;

/// Walks the commits from `since` on, which the ledger knows, and has it take the setups that they made, oldest first.
pub(in crate::store) fn setups(
    garage: &Garage,
    head: Oid,
    since: Option<Oid>,
    ledger: &dyn Ledger,
) -> Result<(), StoreError> {
    let commits = garage.repository().commits_since(head, since)?;
    let mut children: HashMap<Oid, usize> = HashMap::new();
    for (number, id) in commits.iter().enumerate() {
        garage.repository().let_go(number, *id);
        for parent in garage.repository().commit(*id)?.parent_ids() {
            *children.entry(parent).or_default() += 1;
        }
    }
    let mut scan = Scan {
        garage,
        ledger,
        found: 0,
        first: HashMap::new(),
        newest: HashMap::new(),
        children,
        read: HashMap::new(),
        put_onto: HashMap::new(),
        engines: EnginesRead::default(),
    };
    let of = commits.len();
    for (number, id) in commits.into_iter().enumerate() {
        scan.commit(&garage.repository().commit(id)?)?;
        garage.repository().let_go(number, id);
        garage.tell("reading the history", number + 1, of);
    }
    Ok(())
}

struct Scan<'g> {
    garage: &'g Garage,
    ledger: &'g dyn Ledger,
    /// How many were found.
    found: usize,
    /// What was newest at the commit that the walk begins behind, of the bikes of which it found another since.
    first: HashMap<String, Option<KnownSetup>>,
    /// What is newest at each commit whose children are not all walked yet: on a branch beside another the other's setups are none.
    newest: HashMap<Oid, Newest>,
    /// How many children of a commit are not walked yet.
    children: HashMap<Oid, usize>,
    /// The values of each bike that were read last, and at which commit.
    read: HashMap<String, (Oid, Rc<FieldSet>)>,
    /// The commit of each bike that git put onto another than it was made on last, and when it did.
    put_onto: HashMap<String, (Oid, i64)>,
    engines: EnginesRead,
}

impl Scan<'_> {
    /// What is newest at a commit before its own setups.
    fn newest_before(&mut self, commit: &Commit<'_>) -> Newest {
        let mut all: Option<Newest> = None;
        for parent in commit.parent_ids() {
            let left = self.children.get_mut(&parent).map_or(0, |left| {
                *left -= 1;
                *left
            });
            let of_parent =
                if left == 0 { self.newest.remove(&parent) } else { self.newest.get(&parent).cloned() };
            let of_parent = of_parent.unwrap_or_default();
            match &mut all {
                None => all = Some(of_parent),
                Some(all) => {
                    for (bike, setup) in of_parent {
                        if all.get(&bike).is_none_or(|known| known.0 < setup.0) {
                            all.insert(bike, setup);
                        }
                    }
                }
            }
        }
        all.unwrap_or_default()
    }

    fn commit(&mut self, commit: &Commit<'_>) -> Result<(), StoreError> {
        let repository = self.garage.repository();
        let tree = repository.tree(commit.id())?;
        let parents = commit.parent_ids().map(|id| repository.tree(id)).collect::<Result<Vec<_>, _>>()?;
        let (why, trailers) = words(commit);
        let mut newest = self.newest_before(commit);
        let mut bikes = self.touched_bikes(&tree, &parents)?;
        let named = trailers.get(BIKE_TRAILER).filter(|_| trailers.contains_key(SETUP_TRAILER));
        let named = named.filter(|bike| names::check(bike).is_ok());
        // An engine that came back changes no file of the setup.
        bikes.extend(named.cloned());
        // Chosen by a person, and recorded by the commits behind this one.
        let settled = trailers.get(SETTLED_TRAILER).filter(|_| parents.len() > 1);
        bikes.retain(|bike| !settled.is_some_and(|bikes| bikes.split(' ').any(|name| name == bike)));
        for bike in bikes {
            let own = trailers.get(SETUP_TRAILER).filter(|id| named == Some(&bike) && is_identity(id));
            if own.is_none() && repository.is_cut_off(commit) {
                let stood = self.as_it_stood(&tree, &bike)?;
                let known = (CUT_OFF, &BTreeMap::new());
                self.bike(commit, (&tree, &parents), (bike, stood), known, &mut newest)?;
                continue;
            }
            let id = own.cloned();
            self.bike(commit, (&tree, &parents), (bike, id), (&why, &trailers), &mut newest)?;
        }
        if self.children.contains_key(&commit.id()) {
            self.newest.insert(commit.id(), newest);
        }
        Ok(())
    }

    /// The identity of the setup that a bike had where this clone's history begins: the newest that has a number there.
    fn as_it_stood(&self, tree: &Tree<'_>, bike: &str) -> Result<Option<String>, StoreError> {
        let list = self.garage.repository().file(tree, &Garage::bike_folder(bike).join("numbers"))?;
        let numbers = Numbers::read(&[&String::from_utf8_lossy(&list.unwrap_or_default())]);
        Ok(numbers.newest().map(str::to_owned))
    }

    /// Bikes whose own files or whose engine's file differ from the parent's. What a merge keeps may be the older of two sides: there a
    /// bike counts where the sides differ in it. Only what differs is looked into: a garage may have hundreds of bikes.
    fn touched_bikes(&self, tree: &Tree<'_>, parents: &[Tree<'_>]) -> Result<BTreeSet<String>, StoreError> {
        let repository = self.garage.repository();
        let mut bikes = repository.differing_in(tree, parents, Path::new("bikes"));
        bikes.retain(|bike| {
            let folder = Garage::bike_folder(bike);
            names::check(bike).is_ok()
                && (is_touched(tree, parents, &folder.join("setup.toml"))
                    || is_touched(tree, parents, &folder.join("maps")))
        });
        for engine in repository.differing_in(tree, parents, Path::new("engines")) {
            // One that two setup files name is in the bike whose setup named it last.
            let Some(bike) = self.ledger.holder(&engine)? else { continue };
            let is_in_it =
                self.ledger.newest(&bike)?.is_some_and(|last| last.engine.as_ref() == Some(&engine));
            if is_in_it
                && is_touched(tree, parents, &SetupFiles::engine_path(&engine))
                && Repository::id_at(tree, &Garage::bike_folder(&bike)).is_some()
            {
                bikes.insert(bike);
            }
        }
        Ok(bikes)
    }

    /// A bike's files in a tree, as values.
    fn read_in(&mut self, tree: &Tree<'_>, bike: &str) -> Result<(SetupFiles, Combination), StoreError> {
        let files = self.garage.scanned_files_in(tree, bike)?;
        let whole = Combination::read_among(&files, false, &mut self.engines);
        Ok((files, whole))
    }

    fn bike(
        &mut self,
        commit: &Commit<'_>,
        (tree, parents): (&Tree<'_>, &[Tree<'_>]),
        (bike, id): (String, Option<String>),
        (why, trailers): (&str, &BTreeMap<String, String>),
        newest: &mut Newest,
    ) -> Result<(), StoreError> {
        let (files, whole) = self.read_in(tree, &bike)?;
        if files.setup.is_none() {
            return Ok(());
        }
        let readable = whole.findings.is_empty();
        let fields = Rc::new(whole.fields);
        // Where the history of a clone begins at several commits the bike may have stood alike at more than one.
        if let Some(id) = &id
            && self.garage.repository().is_cut_off(commit)
            && self.ledger.has(&bike, id)?
        {
            newest.insert(bike, (self.found, id.clone(), commit.id()));
            return Ok(());
        }
        // A setup that was picked onto another branch is known already: there it is a commit like any other.
        let recorded = id.is_some();
        let id = match id {
            Some(id) if !self.ledger.has(&bike, &id)? => Some(id),
            _ => None,
        };
        let nothing = id.is_none() && (!readable || fields.is_empty());
        if nothing || (id.is_none() && self.is_known((&bike, newest), &fields, parents)?) {
            return Ok(());
        }
        let is_copy = recorded && id.is_none();
        let combined = trailers.contains_key(COMBINED_TRAILER)
            || is_copy
            || self.is_combined(&bike, &fields, parents)?
            || id
                .as_ref()
                .map_or(Ok(false), |id| self.is_put_onto(commit, (&bike, id), (tree, parents), newest))?;
        let author = commit.author();
        let time = author.when();
        let date = When::from_unix(time.seconds(), time.offset_minutes());
        let id = id.unwrap_or_else(|| commit.id().to_string());
        if !self.first.contains_key(&bike) {
            self.first.insert(bike.clone(), self.ledger.newest(&bike)?);
        }
        self.found += 1;
        let before = newest.insert(bike.clone(), (self.found, id.clone(), commit.id())).map(|(_, id, _)| id);
        let first = || self.first.get(&bike).and_then(|first| Some(first.as_ref()?.id.clone()));
        let setup = FoundSetup {
            made_from: before.or_else(first),
            bike,
            id,
            commit: commit.id(),
            date: date.unwrap_or_default(),
            author: String::from_utf8_lossy(author.name_bytes()).into_owned(),
            why: why.to_owned(),
            air: trailers.get(AIR_TRAILER).cloned(),
            engine: files.engine_name,
            readable,
            despite: trailers.get(DESPITE_TRAILER).cloned(),
            combined,
            combined_of: trailers.get(COMBINED_TRAILER).cloned(),
            fields,
        };
        self.ledger.take(&setup)?;
        self.read.insert(setup.bike, (setup.commit, setup.fields));
        Ok(())
    }

    /// Whether a merge made values that none of its sides had.
    fn is_combined(
        &mut self,
        bike: &str,
        fields: &FieldSet,
        parents: &[Tree<'_>],
    ) -> Result<bool, StoreError> {
        if parents.len() < 2 {
            return Ok(false);
        }
        for parent in parents {
            if self.read_in(parent, bike)?.1.fields.same_as(fields) {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Whether git put a setup onto another one than it was made on, by a rebase or a pick: its values are of both then, and nobody ran
    /// them. It took the number that follows those it was made on, so one that is taken there, or that leaves some out, tells it; and so
    /// does standing on one that was put there after this was recorded.
    fn is_put_onto(
        &mut self,
        commit: &Commit<'_>,
        (bike, id): (&str, &str),
        (tree, parents): (&Tree<'_>, &[Tree<'_>]),
        newest: &Newest,
    ) -> Result<bool, StoreError> {
        let [_] = parents else { return Ok(false) };
        let list = self.garage.repository().file(tree, &Garage::bike_folder(bike).join("numbers"))?;
        let is_out_of_order =
            numbers::is_out_of_order(&String::from_utf8_lossy(&list.unwrap_or_default()), id);
        let before = newest.get(bike).map(|(_, _, commit)| *commit);
        let on_one = self.put_onto.get(bike).filter(|(on, _)| Some(*on) == before);
        // Git commits anew what it moves, and keeps when that was recorded; told to take that time it leaves no trace but the numbers.
        let is_moved = commit.author().when().seconds() != commit.time().seconds();
        let follows = is_moved && on_one.is_some_and(|(_, when)| commit.author().when().seconds() < *when);
        if is_out_of_order || follows {
            self.put_onto.insert(bike.to_owned(), (commit.id(), commit.time().seconds()));
        }
        Ok(is_out_of_order || follows)
    }

    /// Whether these values are those of the newest setup that the commit came from; or, where it has one parent, of that parent (on a
    /// branch beside another a comment is no change either) or of the newest setup of all (one that was picked is known already).
    fn is_known(
        &mut self,
        (bike, newest): (&str, &Newest),
        fields: &FieldSet,
        parents: &[Tree<'_>],
    ) -> Result<bool, StoreError> {
        let came_from = match (newest.get(bike), self.first.get(bike)) {
            (Some((_, _, commit)), _) => Some(*commit),
            (None, Some(first)) => first.as_ref().map(|first| first.commit),
            (None, None) => self.ledger.newest(bike)?.map(|first| first.commit),
        };
        if self.has_values(bike, came_from, fields)? {
            return Ok(true);
        }
        let [parent] = parents else {
            return Ok(false);
        };
        let last = self.ledger.newest(bike)?.map(|last| last.commit);
        if last != came_from && self.has_values(bike, last, fields)? {
            return Ok(true);
        }
        let (files, before) = self.read_in(parent, bike)?;
        Ok(files.setup.is_some() && before.fields.same_as(fields))
    }

    /// Whether a setup that a commit recorded has these values; they are read again where another of the bike was read since.
    fn has_values(&mut self, bike: &str, commit: Option<Oid>, fields: &FieldSet) -> Result<bool, StoreError> {
        let Some(commit) = commit else { return Ok(false) };
        if let Some((_, known)) = self.read.get(bike).filter(|(at, _)| *at == commit) {
            return Ok(known.same_as(fields));
        }
        let tree = self.garage.repository().tree(commit)?;
        let values = Rc::new(self.read_in(&tree, bike)?.1.fields);
        let same = values.same_as(fields);
        self.read.insert(bike.to_owned(), (commit, values));
        Ok(same)
    }
}

/// Whether a path's object differs from that of the parent; of a merge, from that of any of its sides.
fn is_touched(tree: &Tree<'_>, parents: &[Tree<'_>], path: &Path) -> bool {
    let here = Repository::id_at(tree, path);
    if parents.is_empty() {
        return here.is_some();
    }
    parents.iter().any(|parent| Repository::id_at(parent, path) != here)
}

/// An identity as it is given: another one is not believed, because documents and lists could not hold it.
fn is_identity(id: &str) -> bool {
    id.len() == 12 && id.bytes().all(|byte| byte.is_ascii_hexdigit())
}

/// The reason of a commit and its trailers: the last paragraph, where something stands before it and every line is one.
/// Where a trailer stands twice, the last counts. (libgit2's own reader ends at a line of dashes, which a reason may have.)
pub(in crate::store) fn words(commit: &Commit<'_>) -> (String, BTreeMap<String, String>) {
    let message = String::from_utf8_lossy(commit.message_bytes()).into_owned();
    let text = message.trim_end();
    let mut start = 0;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        at += line.len();
        if line.trim().is_empty() {
            start = at;
        }
    }
    let (before, last) = text.split_at(start);
    if before.trim().is_empty() || !last.lines().all(|line| trailer(line).is_some() || is_picked(line)) {
        return (text.trim().to_owned(), BTreeMap::new());
    }
    let trailers = last.lines().filter_map(trailer).map(|(name, value)| (name.to_owned(), value.to_owned()));
    (before.trim().to_owned(), trailers.collect())
}

fn trailer(line: &str) -> Option<(&str, &str)> {
    let (name, value) = line.split_once(':')?;
    let is_name = !name.is_empty() && name.bytes().all(|c| c.is_ascii_alphanumeric() || c == b'-');
    is_name.then_some((name, value.trim()))
}

/// The line that `git cherry-pick -x` adds.
fn is_picked(line: &str) -> bool {
    line.starts_with("(cherry picked from commit ")
}

/// Name of the trailer that carries an outing's identity.
pub(in crate::store) const OUTING_TRAILER: &str = "Outing-Id";

/// Name of the trailer that carries the engine of a build or a part.
pub(in crate::store) const ENGINE_TRAILER: &str = "Engine";
