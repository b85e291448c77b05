//! The pass key and what follows from it: a phone that knew it once bears a word in a cookie, and every form of ours bears another.

use std::hint::black_box;
use std::io;

use crate::machine;

/// Letters of a pass key: none that is taken for another.
const LETTERS: &[u8; 31] = b"23456789abcdefghjkmnpqrstuvwxyz";
/// Groups of four letters: 59 bits, so that guessing is hopeless at the pace that is allowed.
const GROUPS: usize = 3;
const OF_A_GROUP: usize = 4;

/// The words of one run; none is written down anywhere.
pub(super) struct Keys {
    pass_key: Option<String>,
    session: String,
    token: String,
}

impl Keys {
    /// New ones; with a pass key where others may come.
    pub(super) fn new(open: bool) -> io::Result<Self> {
        Ok(Self { pass_key: open.then(pass_key).transpose()?, session: word()?, token: word()? })
    }

    /// The pass key, as it is typed.
    pub(super) fn pass_key(&self) -> Option<&str> {
        self.pass_key.as_deref()
    }

    /// What a phone that is in bears in its cookie.
    pub(super) fn session(&self) -> &str {
        &self.session
    }

    /// What every form of ours bears.
    pub(super) fn token(&self) -> &str {
        &self.token
    }

    /// Whether that is the pass key, however it was typed.
    pub(super) fn opens(&self, typed: &str) -> bool {
        let bare = |text: &str| -> Vec<u8> {
            text.bytes().filter(u8::is_ascii_alphanumeric).map(|byte| byte.to_ascii_lowercase()).collect()
        };
        self.pass_key.as_ref().is_some_and(|key| is_same(&bare(key), &bare(typed)))
    }
}

/// 32 hex digits that nobody can guess.
pub(super) fn word() -> io::Result<String> {
    Ok(machine::secret::<16>()?.iter().map(|byte| format!("{byte:02x}")).collect())
}

fn pass_key() -> io::Result<String> {
    let mut letters = Vec::new();
    // A byte beyond the last whole round would make some letters likelier.
    let whole = 256 / LETTERS.len() * LETTERS.len();
    while letters.len() < GROUPS * OF_A_GROUP {
        let bytes = machine::secret::<32>()?;
        letters.extend(
            bytes
                .iter()
                .map(|byte| usize::from(*byte))
                .filter(|byte| *byte < whole)
                .filter_map(|byte| LETTERS.get(byte % LETTERS.len()).copied().map(char::from)),
        );
    }
    let groups = letters.chunks(OF_A_GROUP).take(GROUPS);
    Ok(groups.map(|group| group.iter().collect::<String>()).collect::<Vec<_>>().join("-"))
}

/// Whether two are the same, in a time that does not tell where they differ.
pub(super) fn is_same(known: &[u8], given: &[u8]) -> bool {
    let mut differs = known.len() ^ given.len();
    for (at, byte) in known.iter().enumerate() {
        differs |= usize::from(black_box(byte ^ given.get(at).copied().unwrap_or_default()));
    }
    black_box(differs) == 0
}

#[cfg(test)]
mod tests {
    use super::{Keys, LETTERS, is_same};

    #[test]
    fn a_pass_key_opens_however_it_is_typed_and_no_other_does() {
        let keys = Keys::new(true).unwrap();
        let key = keys.pass_key().unwrap().to_owned();
        assert_eq!(key.len(), 14, "{key}");
        assert!(key.bytes().all(|byte| byte == b'-' || LETTERS.contains(&byte)), "{key}");
        assert!(keys.opens(&key) && keys.opens(&key.to_uppercase()) && keys.opens(&key.replace('-', " ")));
        assert!(!keys.opens("") && !keys.opens(&key[1..]) && !keys.opens(&format!("{key}2")));
        assert!(!Keys::new(true).unwrap().opens(&key), "two runs have two keys");
        assert!(!Keys::new(false).unwrap().opens(""), "without a key none opens");
    }

    #[test]
    fn what_is_the_same_is_the_same() {
        assert!(is_same(b"abc", b"abc") && is_same(b"", b""));
        assert!(!is_same(b"abc", b"abd") && !is_same(b"abc", b"ab") && !is_same(b"ab", b"abc"));
        assert!(!is_same(b"", b"a") && !is_same(b"\0", b""));
    }
}
