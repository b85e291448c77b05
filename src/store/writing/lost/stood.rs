//! Where a folder stood last that is not there any more.

use std::cmp::Reverse;
use std::collections::{HashMap, HashSet};
use std::path::Path;

use git2::Oid;

use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::history::repository::Repository;

/// How a folder stood last on one side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stand {
    /// The commit that wrote it so.
    pub(super) written: Oid,
    /// The last commit that had it.
    pub(super) last: Oid,
}

/// How a folder with a certain file in it stood before it went, where it is not there: as it was when it was taken out, then as others
/// had it who knew nothing of that, the newest first. The way back is the one that the commits name: by their dates an older state may
/// seem the newer one. A side that only had what another went on from is none.
pub(super) fn last_stands(garage: &Garage, folder: &Path, file: &str) -> Result<Vec<Stand>, StoreError> {
    let repository = garage.repository();
    let Some(head) = repository.head()? else { return Ok(Vec::new()) };
    let path = folder.join(file);
    let mut ahead = vec![head];
    let mut taken_out: HashMap<Oid, bool> = HashMap::from([(head, false)]);
    let mut stands = HashSet::new();
    while let Some(id) = ahead.pop() {
        let commit = repository.commit(id)?;
        if Repository::id_at(&repository.tree(id)?, &path).is_some() {
            stands.insert(id);
            continue;
        }
        // Of a merge it is not known which side took it out.
        let by_this = commit.parent_count() == 1;
        for parent in commit.parent_ids() {
            if let Some(known) = taken_out.get_mut(&parent) {
                *known |= by_this;
                continue;
            }
            taken_out.insert(parent, by_this);
            ahead.push(parent);
        }
    }
    let mut written: HashMap<Oid, (bool, Oid)> = HashMap::new();
    for last in stands {
        let by_removal = taken_out.get(&last).copied().unwrap_or_default();
        let at = written_by(repository, last, folder)?;
        let known = written.entry(at).or_insert((by_removal, last));
        if (by_removal, last) > *known {
            *known = (by_removal, last);
        }
    }
    let mut all = Vec::new();
    for (at, (by_removal, last)) in &written {
        let went_on = written.keys().any(|other| other != at && repository.is_ancestor(*at, *other));
        if !went_on {
            let date = repository.commit(*at)?.time().seconds();
            all.push((!by_removal, Reverse(date), *at, *last));
        }
    }
    all.sort_unstable();
    Ok(all.into_iter().map(|(_, _, written, last)| Stand { written, last }).collect())
}

/// The commit that wrote a folder as it is at a commit.
fn written_by(repository: &Repository, mut at: Oid, folder: &Path) -> Result<Oid, StoreError> {
    let here = Repository::id_at(&repository.tree(at)?, folder);
    'back: loop {
        for parent in repository.commit(at)?.parent_ids() {
            if Repository::id_at(&repository.tree(parent)?, folder) == here {
                at = parent;
                continue 'back;
            }
        }
        return Ok(at);
    }
}
