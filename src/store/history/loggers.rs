//! Who logged which run: whoever recorded the commit that names it first.

use std::collections::{BTreeMap, BTreeSet};

use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;
use crate::store::history::scan::{OUTING_TRAILER, words};

/// So many of the newest commits are looked through: more than a season of a team has.
const LOOKED_THROUGH: usize = 5_000;
/// How the reason begins of a commit that names a run and did not log it.
const NOT_LOGGED: [&str; 2] = ["Fix ", "Remove "];

/// Who logged these runs, by their identities; nothing of one that was logged long ago, or that git alone recorded. Where one alone records
/// it is known anyway, and nothing is told: every copy of a garage answers alike.
pub fn who_logged(garage: &Garage, runs: &BTreeSet<&str>) -> Result<BTreeMap<String, String>, StoreError> {
    let (mut found, mut authors) = (BTreeMap::new(), BTreeSet::new());
    let repository = garage.repository();
    let Some(head) = repository.head()?.filter(|_| !runs.is_empty()) else {
        return Ok(found);
    };
    let mut walk = repository.git().revwalk().map_err(git("read its history"))?;
    walk.set_sorting(git2::Sort::TIME).map_err(git("read its history"))?;
    walk.push(head).map_err(git("read its history"))?;
    for id in walk.take(LOOKED_THROUGH) {
        let commit = repository.commit(id.map_err(git("read its history"))?)?;
        let author = String::from_utf8_lossy(commit.author().name_bytes()).into_owned();
        authors.insert(author.clone());
        if found.len() == runs.len() {
            if authors.len() > 1 {
                break;
            }
            continue;
        }
        let (why, trailers) = words(&commit);
        if commit.parent_count() > 1 || !trailers.contains_key(OUTING_TRAILER) {
            continue;
        }
        if NOT_LOGGED.iter().any(|begins| why.starts_with(begins)) {
            continue;
        }
        let message = String::from_utf8_lossy(commit.message_bytes()).into_owned();
        let named = message.lines().filter_map(|line| line.strip_prefix(OUTING_TRAILER)?.strip_prefix(": "));
        for run in named.map(str::trim).filter(|run| runs.contains(run)) {
            found.insert(run.to_owned(), author.clone());
        }
    }
    Ok(if authors.len() > 1 { found } else { BTreeMap::new() })
}
