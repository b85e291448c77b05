//! The paths in which two commits differ, with what the one before both had there.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use git2::{ObjectType, Oid, Repository, Tree};

use crate::notebook::DocumentKind;
use crate::notebook::fields::names::visible;
use crate::store::error::{StoreError, git};

/// A file that is not the same on both sides, by its blobs; none where a side has no such file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Differing {
    pub(super) path: PathBuf,
    pub(super) base: Option<Oid>,
    pub(super) ours: Option<Oid>,
    pub(super) theirs: Option<Oid>,
}

/// Base, ours and theirs.
type Three<T> = [Option<T>; 3];

/// The files that differ between ours and theirs, by path.
pub(super) fn differing(
    repository: &Repository,
    base: Option<Oid>,
    ours: Oid,
    theirs: Oid,
) -> Result<Vec<Differing>, StoreError> {
    let tree = |commit: Option<Oid>| {
        let tree = commit.map(|id| repository.find_commit(id).and_then(|commit| commit.tree()));
        tree.transpose().map_err(git("read a commit's files"))
    };
    let mut found = Vec::new();
    walk(repository, Path::new(""), &[tree(base)?, tree(Some(ours))?, tree(Some(theirs))?], &mut found)?;
    Ok(found)
}

fn walk(
    repository: &Repository,
    above: &Path,
    trees: &Three<Tree<'_>>,
    found: &mut Vec<Differing>,
) -> Result<(), StoreError> {
    let names = |tree: &Option<Tree<'_>>| -> Vec<String> {
        tree.iter().flat_map(Tree::iter).filter_map(|entry| entry.name().ok().map(str::to_owned)).collect()
    };
    let all: BTreeSet<String> = names(&trees[1]).into_iter().chain(names(&trees[2])).collect();
    for name in all {
        let entries = [0, 1, 2].map(|side| {
            let entry = trees[side].as_ref()?.get_name(&name)?;
            Some((entry.id(), entry.kind()))
        });
        if entries[1] == entries[2] {
            continue;
        }
        let path = above.join(&name);
        let of = |kind: ObjectType| {
            entries.map(|entry| entry.filter(|(_, is)| *is == Some(kind)).map(|(id, _)| id))
        };
        let (folders, files) = (of(ObjectType::Tree), of(ObjectType::Blob));
        let (folder, file) = (folders[1].or(folders[2]), files[1].or(files[2]));
        if folder.is_some() && file.is_some() {
            return Err(StoreError::request(
                None,
                format!(
                    "{} is a file on one side and a folder on the other.",
                    visible(&path.to_string_lossy())
                ),
                "Give one of them another name with git, then share again; nothing was touched.",
            ));
        }
        if file.is_some() {
            found.push(Differing { path, base: files[0], ours: files[1], theirs: files[2] });
        } else if folder.is_some() {
            let mut inner: Three<Tree<'_>> = [None, None, None];
            for (side, id) in folders.into_iter().enumerate() {
                inner[side] = id
                    .map(|id| repository.find_tree(id))
                    .transpose()
                    .map_err(git("read a commit's files"))?;
            }
            walk(repository, &path, &inner, found)?;
        }
    }
    Ok(())
}

/// What a file is, by its path; none for what is merged by lines.
pub(in crate::store) fn kind_of(path: &str) -> Option<DocumentKind> {
    if !path.ends_with(".toml") {
        return None;
    }
    match path.split('/').collect::<Vec<_>>().as_slice() {
        ["garage.toml"] => Some(DocumentKind::Garage),
        ["bikes", _, "bike.toml"] => Some(DocumentKind::Bike),
        ["bikes", _, "setup.toml"] => Some(DocumentKind::Setup),
        ["bikes", _, "outings", _] => Some(DocumentKind::Outing),
        ["engines", _, "engine.toml"] => Some(DocumentKind::Engine),
        ["engines", _, "builds", _] => Some(DocumentKind::Build),
        ["parts", _] => Some(DocumentKind::Part),
        ["places", _] => Some(DocumentKind::Place),
        ["jobs", _] => Some(DocumentKind::Job),
        ["configs", name] => {
            DocumentKind::ALL.into_iter().find(|kind| name.strip_suffix(".toml") == Some(kind.name()))
        }
        _ => None,
    }
}
