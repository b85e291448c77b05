//! What a share brought, for the answer: setups, runs one by one, other documents by number, and what is to be known of them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use git2::Oid;

use super::words::what;
use super::{Meeting, Shared, setups, trees, words};
use crate::notebook::{Outing, SetupFiles};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::{OWN, bound};
use crate::store::history::numbers::Numbers;
use crate::store::history::repository::{FileChange, Repository};
use crate::store::index::rows::path_text;
use crate::store::records::{OutingRecord, outing_id};

/// Commits of others of which it is looked up who logged which run: more than a season of a team has.
const NAMED: usize = 2_000;

/// A run that others logged, mended or took out.
#[derive(Debug, Clone)]
pub struct BroughtRun {
    /// The run as it stands now; as it was where it was taken out.
    pub run: OutingRecord,
    /// As it was before; none of a new one.
    pub was: Option<Outing>,
    /// Whether it is not there any more.
    pub taken_out: bool,
    /// Who did that last; none where too much came to look it up.
    pub author: Option<String>,
}

impl Meeting<'_> {
    /// What came, for the answer.
    pub(super) fn tell(
        &self,
        shared: &mut Shared,
        (ours, theirs): (Oid, Oid),
        changes: &[FileChange],
    ) -> Result<(), StoreError> {
        let repository = self.garage.repository();
        let new: BTreeSet<String> =
            repository.commits_since(theirs, Some(ours))?.iter().map(ToString::to_string).collect();
        let book = Book::open(self.garage)?;
        for bike in self.garage.bikes() {
            shared.setups.extend(book.setups(&bike)?.into_iter().filter(|setup| new.contains(&setup.commit)));
        }
        let before = repository.tree(ours)?;
        let mut taken: BTreeMap<&'static str, usize> = BTreeMap::new();
        let mut marks = Vec::new();
        for (path, bytes) in changes {
            let known = Repository::id_at(&before, path).is_some();
            if let Some(bike) = setups::retired_in(path, bytes.as_deref())
                && setups::retired_in(path, repository.file(&before, path)?.as_deref()).is_none()
            {
                shared.notes.push(words::of_retired(&bike));
            }
            marks.extend(words::marks_in(path, repository.file(&before, path)?.as_deref(), bytes.as_deref()));
            let what = what(&path_text(path));
            if known && bytes.is_none() {
                taken.entry(what).and_modify(|count| *count += 1).or_insert(1);
                continue;
            }
            let what = if known && !what.is_empty() { "changed documents" } else { what };
            if !what.is_empty() {
                shared.brought.entry(what).and_modify(|count| *count += 1).or_insert(1);
            }
        }
        self.tell_runs(shared, (ours, theirs), changes, &book)?;
        if !marks.is_empty() {
            let authors = self.authors(ours, theirs)?;
            for mark in &marks {
                let author =
                    authors.get(&Garage::bike_folder(&mark.bike).join("bike.toml")).map(String::as_str);
                let setups = book.setups(&mark.bike)?;
                let number = setups.iter().find(|setup| setup.id == mark.setup).map(|setup| setup.number);
                shared.notes.extend(number.map(|number| words::of_mark(mark, number, author)));
            }
        }
        self.tell_of_bikes(shared, &book)?;
        shared.notes.extend(words::of_taken(&taken));
        shared.notes.extend(words::of_newer(changes));
        shared.notes.extend(words::of_broken(changes));
        Ok(())
    }

    /// Each run that came: who logged it, and how it stood before where it was known.
    fn tell_runs(
        &self,
        shared: &mut Shared,
        (ours, theirs): (Oid, Oid),
        changes: &[FileChange],
        book: &Book<'_>,
    ) -> Result<(), StoreError> {
        let runs: Vec<_> = changes.iter().filter(|(path, _)| what(&path_text(path)) == "outings").collect();
        if runs.is_empty() {
            return Ok(());
        }
        let repository = self.garage.repository();
        let before = repository.tree(ours)?;
        let authors = self.authors(ours, theirs)?;
        let mut known: BTreeMap<String, Vec<OutingRecord>> = BTreeMap::new();
        for (path, bytes) in runs {
            let text = path_text(path);
            let Some(bike) = text.split('/').nth(1).map(str::to_owned) else { continue };
            let check = |bytes: &[u8]| checks::outing(self.garage, path, bytes).document;
            let was = repository.file(&before, path)?.as_deref().and_then(check);
            let is = bytes.as_deref().and_then(check);
            let taken_out = bytes.is_none();
            let Some(outing) = is.or_else(|| was.clone().filter(|_| taken_out)) else { continue };
            if !known.contains_key(&bike) {
                known.insert(bike.clone(), book.outings(&bike).unwrap_or_default());
            }
            let number = |run: &&OutingRecord| run.file == *path;
            let here = known.get(&bike).and_then(|runs| runs.iter().find(number));
            let setup = here.and_then(|run| run.setup);
            let cylinders = here.map(|run| run.cylinders.clone()).unwrap_or_default();
            let id = outing_id(text.rsplit('/').next().unwrap_or_default());
            let run = OutingRecord { bike, id, file: path.clone(), outing, setup, cylinders };
            shared.runs.push(BroughtRun { run, was, taken_out, author: authors.get(path).cloned() });
        }
        shared.runs.sort_by_key(|one| one.run.outing.date);
        Ok(())
    }

    /// Who touched which run last, of what others recorded.
    fn authors(&self, ours: Oid, theirs: Oid) -> Result<BTreeMap<PathBuf, String>, StoreError> {
        let repository = self.garage.repository();
        let commits = repository.commits_since(theirs, Some(ours))?;
        let mut authors = BTreeMap::new();
        if commits.len() > NAMED {
            return Ok(authors);
        }
        for id in commits {
            let commit = repository.commit(id)?;
            let Ok(parent) = commit.parent_id(0) else { continue };
            if commit.parent_count() > 1 {
                continue;
            }
            let author = commit.author().name().map(str::to_owned).unwrap_or_default();
            for file in trees::differing(repository.git(), None, parent, id)? {
                if ["outings", "bikes"].contains(&what(&path_text(&file.path))) {
                    authors.insert(file.path, author.clone());
                }
            }
        }
        Ok(authors)
    }

    /// Bikes that are retired here and go on elsewhere, and engines that two bikes name.
    fn tell_of_bikes(&self, shared: &mut Shared, book: &Book<'_>) -> Result<(), StoreError> {
        let mut went_on: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for setup in &shared.setups {
            went_on.entry(setup.bike.clone()).or_default().insert(setup.author.clone());
        }
        for run in shared.runs.iter().filter(|run| !run.taken_out) {
            went_on.entry(run.run.bike.clone()).or_default().extend(run.author.clone());
        }
        for (bike, authors) in &went_on {
            let note = words::of_retired(bike);
            // Where it was they who retired it, that is said already.
            let is_retired = self.garage.bike(bike).is_ok_and(|bike| bike.retired.is_some());
            if is_retired && !shared.notes.contains(&note) {
                shared.notes.push(words::of_going_on(bike, authors));
            }
        }
        let holders = book.engine_holders()?;
        let mut named: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for bike in self.garage.bikes() {
            let setup = self.garage.read(&SetupFiles::setup_path(&bike))?;
            let retired = || self.garage.bike(&bike).is_ok_and(|bike| bike.retired.is_some());
            // A bike that was retired keeps the name of an engine that went on; not where it took that from another one since.
            let has_it = |engine: &String| holders.get(engine).is_some_and(|(holder, _)| *holder == bike);
            let named_engine = setup.as_deref().and_then(SetupFiles::named_engine);
            if let Some(engine) = named_engine.filter(|engine| !retired() || has_it(engine)) {
                named.entry(engine).or_default().push(bike);
            }
        }
        for (engine, bikes) in named.into_iter().filter(|(_, bikes)| bikes.len() > 1) {
            if bikes.iter().any(|bike| shared.setups.iter().any(|setup| setup.bike == *bike)) {
                let mut setups = Vec::new();
                for bike in &bikes {
                    setups.extend(book.latest(bike)?);
                }
                shared.notes.push(words::of_two_bikes(&engine, &setups));
            }
        }
        Ok(())
    }
}

/// What was brought together here and not said yet, a line for each time: the commit before, and the one after.
fn untold_file() -> PathBuf {
    Path::new(OWN).join("share-untold")
}

/// So many times are kept: whoever was stopped more often sees the oldest of them in the history alone.
const UNTOLD: usize = 200;

fn untold(garage: &Garage) -> Result<Vec<(Oid, Oid)>, StoreError> {
    let known = garage.repository().own().read_at_most(&untold_file(), bound::LINE)?.unwrap_or_default();
    let pair = |line: &str| {
        let (before, after) = line.split_once(' ')?;
        Some((Oid::from_str(before).ok()?, Oid::from_str(after.trim()).ok()?))
    };
    Ok(String::from_utf8_lossy(&known).lines().filter_map(pair).collect())
}

/// All that a share brought was said: nothing of it is left for the next one.
pub fn share_was_told(garage: &Garage) -> Result<(), StoreError> {
    garage.repository().own().remove(&untold_file())
}

impl Meeting<'_> {
    /// Notes what is about to be brought together, before it is: who is stopped behind it is told by the next share.
    pub(super) fn note_untold(&self, before: Oid, after: Oid) -> Result<(), StoreError> {
        let mut all = untold(self.garage)?;
        all.push((before, after));
        let newest = all.len().saturating_sub(UNTOLD);
        let lines: String =
            all[newest..].iter().map(|(before, after)| format!("{before} {after}\n")).collect();
        self.garage.repository().own().write(&untold_file(), lines.as_bytes())
    }

    /// What earlier shares brought and could not say any more: they were stopped, or refused behind the bringing.
    pub(super) fn tell_untold(&self, shared: &mut Shared) -> Result<(), StoreError> {
        let repository = self.garage.repository();
        let Some(head) = repository.head()? else { return Ok(()) };
        for (before, after) in untold(self.garage)? {
            // One that was noted and then did not come to stand brought nothing.
            if after != head && !repository.is_ancestor(after, head) {
                continue;
            }
            let changes = self.forward(before, after)?;
            let was = repository.tree(before)?;
            for (path, bytes) in &changes {
                let text = path_text(path);
                let names: Vec<&str> = text.split('/').collect();
                let (["bikes", bike, "numbers"], Some(bytes)) = (names.as_slice(), bytes) else { continue };
                let known = repository.file(&was, path)?.unwrap_or_default();
                let read = |bytes: &[u8]| Numbers::read(&[&String::from_utf8_lossy(bytes)]);
                let gave_way = read(bytes).gave_way_since(&read(&known));
                shared.renumbered.extend(gave_way.into_iter().map(|one| ((*bike).to_owned(), one)));
            }
            self.tell(shared, (before, after), &changes)?;
        }
        if !shared.setups.is_empty() || !shared.runs.is_empty() || !shared.renumbered.is_empty() {
            let said = "An earlier share was stopped before it said what it brought: that is said here.";
            shared.notes.insert(0, said.into());
        }
        Ok(())
    }
}
