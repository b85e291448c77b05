//! Whether commits are signed, by git's own look at them: shown, and trusted no further than the user's git trusts.

use std::collections::BTreeMap;

use git2::Oid;

use crate::notebook::guidance::GitCommand;
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::share::wire;

/// Commits that git is asked of at once: more have no room on its line.
const AT_ONCE: usize = 400;

/// What git says of a commit's signature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignatureState {
    /// There is none.
    Unsigned,
    /// It is good, and of somebody the user trusts.
    Good,
    /// It is good; whose it is, is not known.
    UnknownKey,
    /// It is good, and it or its key has expired.
    Expired,
    /// Its key was revoked.
    Revoked,
    /// It is not of what the commit says.
    Bad,
    /// It could not be looked at: a key or a list of trusted ones is missing.
    NotChecked,
}

/// A commit's signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CommitSignature {
    /// What git says of it.
    pub state: SignatureState,
    /// Who signed, as the user's git knows them.
    pub who: Option<String>,
    /// The key.
    pub key: Option<String>,
}

/// The signatures of commits, by their ids. Fails where there is no git; nothing of the garage hangs on it.
pub fn signatures(
    garage: &Garage,
    commits: &[&str],
) -> Result<BTreeMap<String, CommitSignature>, StoreError> {
    let mut found = BTreeMap::new();
    for some in commits.chunks(AT_ONCE) {
        let mut words =
            vec!["log", "--no-walk=unsorted", "--format=%H%x09%G?%x09%GS%x09%GK", "--end-of-options"];
        words.extend(some);
        let said = wire::run(garage, &words)?;
        if !said.done {
            return Err(StoreError::request(
                None,
                format!("Git could not look at the signatures: {}.", wire::in_a_line(&said.err)),
                GitCommand::ShowSignatures + " in the garage says more.",
            ));
        }
        for line in said.out.lines() {
            let mut cells = line.split('\t');
            let (Some(commit), Some(state)) = (cells.next(), cells.next()) else { continue };
            let mut cell = || cells.next().map(str::to_owned).filter(|text| !text.is_empty());
            let (who, key) = (cell(), cell());
            let is_signed = Oid::from_str(commit)
                .is_ok_and(|id| garage.repository().git().extract_signature(&id, None).is_ok());
            let state = match state {
                "G" => SignatureState::Good,
                "U" => SignatureState::UnknownKey,
                "X" | "Y" => SignatureState::Expired,
                "R" => SignatureState::Revoked,
                "B" => SignatureState::Bad,
                // Git says "none" of one that it has no list of trusted keys for.
                _ if is_signed => SignatureState::NotChecked,
                _ => SignatureState::Unsigned,
            };
            found.insert(commit.to_owned(), CommitSignature { state, who, key });
        }
    }
    Ok(found)
}
