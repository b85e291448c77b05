//! Every outing that a bike ever had: one may have been a lean run, which is not lost because its file is gone.

use std::collections::{BTreeMap, HashMap};
use std::path::Path;

use git2::{ObjectType, Oid, Tree};

use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::repository::{FileChange, Repository};
use crate::store::history::scan::{BIKE_TRAILER, OUTING_TRAILER, words};
use crate::store::records::outing_id;
use crate::store::writing::outings::remove::curve_of;

/// An outing as it was written last.
pub(super) struct Stood {
    /// Its identity.
    pub(super) id: String,
    /// Its file, and its dyno curve's where it has one.
    pub(super) files: Vec<FileChange>,
}

/// Outings in a folder, by identity: the file's name and its object.
type Listed = BTreeMap<String, (String, Oid)>;

#[derive(Default)]
struct Told {
    /// The commit of the newest version of each, with the file's name and object.
    newest: BTreeMap<String, (Oid, String, Oid)>,
    /// The commits that brought one that was not there.
    added: HashMap<String, Vec<Oid>>,
    /// The commits by which one was removed, by the command for it.
    removed: HashMap<String, Vec<Oid>>,
}

/// Every outing that stood at some commit, as it was written last. Left out are those that were removed by themselves, unless they were
/// put back later; a file that went in another way, with its bike or by a slip, is none of those.
pub(super) fn ever_stood(garage: &Garage, bike: &str) -> Result<Vec<Stood>, StoreError> {
    let told = told_of(garage, bike)?;
    let repository = garage.repository();
    let folder = Garage::bike_folder(bike).join("outings");
    let mut stood = Vec::new();
    for (id, (commit, name, blob)) in told.newest {
        let removed = told.removed.get(&id).is_some_and(|removed| {
            let later = told.added.get(&id).map(Vec::as_slice).unwrap_or_default();
            removed.iter().any(|at| !later.iter().any(|add| at != add && repository.is_ancestor(*at, *add)))
        });
        if removed {
            continue;
        }
        let file = folder.join(&name);
        let bytes = repository.blob(&file, blob)?;
        let curve =
            checks::outing(garage, &file, &bytes).document.and_then(|outing| curve_of(&file, &outing));
        let mut files = vec![(file, Some(bytes))];
        if let Some(curve) = curve {
            let tree = repository.tree(commit)?;
            let plain = tree.get_path(&curve).is_ok_and(|entry| is_plain(entry.kind(), entry.filemode()));
            if plain && let Some(bytes) = repository.file(&tree, &curve)? {
                files.push((curve, Some(bytes)));
            }
        }
        stood.push(Stood { id, files });
    }
    Ok(stood)
}

/// Whether an entry of a tree is a plain file: a link is none.
pub(super) fn is_plain(kind: Option<ObjectType>, mode: i32) -> bool {
    kind == Some(ObjectType::Blob) && mode & 0o170_000 == 0o100_000
}

fn told_of(garage: &Garage, bike: &str) -> Result<Told, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else { return Ok(Told::default()) };
    let folder = Garage::bike_folder(bike).join("outings");
    let commits = repository.commits_since(head, None)?;
    let of = commits.len();
    let mut told = Told::default();
    // The newest first: a version stands before those that it was made from.
    for (number, id) in commits.into_iter().rev().enumerate() {
        garage.tell("reading the history", number + 1, of);
        repository.let_go(number, id);
        let commit = repository.commit(id)?;
        let here = Repository::id_at(&repository.tree(id)?, &folder);
        let mut before = Vec::new();
        for parent in commit.parent_ids() {
            before.push(Repository::id_at(&repository.tree(parent)?, &folder));
        }
        if before.contains(&here) {
            continue;
        }
        let here = listed(repository, here);
        let before: Vec<Listed> = before.into_iter().map(|id| listed(repository, id)).collect();
        let (_, trailers) = words(&commit);
        let removed =
            trailers.get(OUTING_TRAILER).filter(|_| trailers.get(BIKE_TRAILER).is_some_and(|of| of == bike));
        if let Some(removed) = removed
            && !here.contains_key(removed)
            && before.iter().any(|before| before.contains_key(removed))
        {
            told.removed.entry(removed.clone()).or_default().push(id);
        }
        for (outing, (name, blob)) in here {
            let known: Vec<_> = before.iter().filter_map(|before| before.get(&outing)).collect();
            if known.is_empty() {
                told.added.entry(outing.clone()).or_default().push(id);
            }
            if !known.iter().any(|(known, object)| *known == name && *object == blob) {
                told.newest.entry(outing).or_insert((id, name, blob));
            }
        }
    }
    Ok(told)
}

fn listed(repository: &Repository, folder: Option<Oid>) -> Listed {
    let tree: Option<Tree<'_>> = folder.and_then(|id| repository.git().find_tree(id).ok());
    let mut listed = Listed::new();
    for entry in tree.iter().flat_map(Tree::iter) {
        if is_plain(entry.kind(), entry.filemode())
            && let Ok(name) = entry.name()
            && Path::new(name).extension().is_some_and(|ending| ending == "toml")
        {
            listed.insert(outing_id(name), (name.to_owned(), entry.id()));
        }
    }
    listed
}
