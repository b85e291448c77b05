//! A file locked with a pass phrase, in the age format (c2sp.org/age, version 1: scrypt, ChaCha20-Poly1305), by the crate `age`.

use age::secrecy::SecretString;
use age::{DecryptError, scrypt};

use crate::notebook::fields::names::visible;
use crate::store::error::StoreError;
use crate::store::handover::LARGEST_HANDOVER;

/// The work of trying one pass phrase, as a power of two: 256 MB and about a second of a small machine.
const WORK: u8 = 18;
/// More than that is not done for a stranger's file: 1 GB and some seconds.
const MOST_WORK: u8 = 20;
/// How a locked file begins, and how one that was made text for a message does.
const BEGINNINGS: [&[u8]; 2] = [b"age-encryption.org/", b"-----BEGIN AGE ENCRYPTED FILE-----"];

/// Fewest letters of a pass phrase.
const SHORTEST_PHRASE: usize = 10;

/// Whether a file is locked.
pub fn is_locked(bytes: &[u8]) -> bool {
    BEGINNINGS.iter().any(|beginning| bytes.starts_with(beginning))
}

/// Whether a pass phrase is long enough to lock with.
pub fn require_phrase(phrase: &str) -> Result<(), StoreError> {
    if phrase.chars().count() >= SHORTEST_PHRASE {
        return Ok(());
    }
    Err(StoreError::request(
        Some("passphrase"),
        format!("The pass phrase has fewer than {SHORTEST_PHRASE} letters: a machine guesses it."),
        "Take four or five words that do not belong together, and tell them by another way than the file.",
    ))
}

/// A file locked with a pass phrase.
pub fn lock(bytes: &[u8], phrase: &str) -> Result<Vec<u8>, StoreError> {
    require_phrase(phrase)?;
    let mut recipient = scrypt::Recipient::new(SecretString::from(phrase.to_owned()));
    recipient.set_work_factor(WORK);
    age::encrypt(&recipient, bytes).map_err(|error| {
        StoreError::request(None, format!("It cannot be encrypted: {error}."), "Nothing was written.")
    })
}

/// What a pass phrase opens.
pub fn unlock(name: &str, bytes: &[u8], phrase: &str) -> Result<Vec<u8>, StoreError> {
    let mut identity = scrypt::Identity::new(SecretString::from(phrase.to_owned()));
    identity.set_max_work_factor(MOST_WORK);
    let open = age::decrypt(&identity, bytes).map_err(|error| wrong(name, &error))?;
    if open.len() as u64 > LARGEST_HANDOVER {
        return Err(refused(name, "is larger than a handover can be", "Name the file that was handed over."));
    }
    Ok(open)
}

fn wrong(name: &str, error: &DecryptError) -> StoreError {
    let again = "Ask for it again.";
    match error {
        DecryptError::DecryptionFailed | DecryptError::KeyDecryptionFailed => refused(
            name,
            "does not open with that pass phrase",
            "Type it again as it was told: capitals and blanks count.",
        ),
        DecryptError::ExcessiveWork { required, .. } => refused(
            name,
            &format!("asks for too much work before it opens (2^{required}; 2^{MOST_WORK} at most)"),
            "No handover of reedbook does: do not trust it.",
        ),
        DecryptError::NoMatchingKeys => refused(
            name,
            "is locked with somebody's key, not with a pass phrase",
            "Open it with the age tool and that key, or ask for one with a pass phrase.",
        ),
        DecryptError::UnknownFormat => refused(
            name,
            "is locked in a form that is newer than this program",
            "Use a newer reedbook, or ask for it in version 1 of the age format.",
        ),
        DecryptError::InvalidHeader | DecryptError::InvalidMac => {
            refused(name, "is damaged: its beginning is not as it was written", again)
        }
        // Io, and what a later version may tell apart.
        _ => refused(name, "is cut short or damaged", again),
    }
}

fn refused(name: &str, what: &str, help: &str) -> StoreError {
    StoreError::request(Some("file"), format!("{} {what}.", visible(name)), help)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Locked with so much work, which no test can wait for.
    fn locked(bytes: &[u8], phrase: &str, work: u8) -> Vec<u8> {
        let mut recipient = scrypt::Recipient::new(SecretString::from(phrase.to_owned()));
        recipient.set_work_factor(work);
        age::encrypt(&recipient, bytes).unwrap_or_default()
    }

    fn said(bytes: &[u8], phrase: &str) -> String {
        unlock("f", bytes, phrase).err().map(|error| error.to_string()).unwrap_or_default()
    }

    #[test]
    fn what_does_not_open_says_why() {
        let file = locked(b"hello", "wet plug cold pipe", 4);
        assert!(is_locked(&file) && !is_locked(b"# content: 12"));
        assert_eq!(unlock("f", &file, "wet plug cold pipe").ok(), Some(b"hello".to_vec()));
        assert!(said(&file, "wet plug cold pip").contains("does not open with that pass phrase"));
        for length in 0..file.len() {
            let said = said(&file[..length], "wet plug cold pipe");
            assert!(said.contains("cut short") || said.contains("damaged"), "{length}: {said}");
        }
        for place in 0..file.len() {
            let mut other = file.clone();
            other[place] ^= 1;
            assert!(unlock("f", &other, "wet plug cold pipe").is_err(), "byte {place} may be another");
        }
    }

    #[test]
    fn a_file_that_asks_for_too_much_work_is_refused_before_any_is_done() {
        let file = String::from_utf8_lossy(&locked(b"hello", "wet plug cold pipe", 4)).into_owned();
        let head = file.lines().nth(1).unwrap_or_default();
        let more = head.trim_end_matches('4').to_owned() + "40";
        let said = said(file.replacen(head, &more, 1).as_bytes(), "wet plug cold pipe");
        assert!(said.contains("too much work"), "{said}");
    }

    #[test]
    fn a_short_pass_phrase_locks_nothing() {
        assert!(lock(b"hello", "moth").is_err());
    }
}
