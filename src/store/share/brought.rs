//! What a share brought, for the answer: setups, runs one by one, other documents by number, and what is to be known of them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use git2::Oid;

use super::words::what;
use super::{Meeting, Shared, setups, trees, words};
use crate::notebook::{Outing, SetupFiles};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
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
        let mut named: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for bike in self.garage.bikes() {
            let setup = self.garage.read(&SetupFiles::setup_path(&bike))?;
            let retired = || self.garage.bike(&bike).is_ok_and(|bike| bike.retired.is_some());
            if let Some(engine) = setup.as_deref().and_then(SetupFiles::named_engine).filter(|_| !retired()) {
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
