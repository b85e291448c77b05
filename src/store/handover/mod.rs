//! What leaves the garage as one file and comes back as one: sections of a setup, the record of an engine. The first line is the
//! hash of what follows it, so that a slip on the way is seen.

mod locked;
pub(super) mod setup;
mod signature;

pub use locked::{is_locked, lock, require_phrase, unlock};
pub use signature::Signed;

use std::path::Path;

use git2::{ObjectType, Oid};

use crate::notebook::SECTIONS;
use crate::notebook::fields::names::visible;
use crate::store::error::{StoreError, git};

/// More than a handover of every section has.
pub const LARGEST_HANDOVER: u64 = 4 * 1024 * 1024;
/// What stands before the hash on the first line.
const HASH: &str = "# content: ";

/// What stands before a signature on the line after it.
const SIGNED: &str = "# signed: ";

/// A handover's text with the signature of the user's key on its second line.
pub fn with_signature(text: &str) -> Result<String, StoreError> {
    let (first, body) = text.split_once('\n').unwrap_or_default();
    Ok(format!("{first}\n{SIGNED}{}\n{body}", signature::sign(body)?))
}

/// The text of a file under the hash of its content.
pub fn sealed<T: serde::Serialize>(handover: &T) -> Result<String, StoreError> {
    let body = toml::to_string(handover).map_err(|error| {
        StoreError::request(
            None,
            format!("The handover cannot be written: {error}."),
            "Hand over fewer sections.",
        )
    })?;
    Ok(format!("{HASH}{}\n{body}", hash(&body)?))
}

/// The same that `tail -n +2 FILE | git hash-object --stdin` says.
fn hash(body: &str) -> Result<String, StoreError> {
    Oid::hash_object(ObjectType::Blob, body.as_bytes())
        .map(|id| id.to_string())
        .map_err(git("take the hash of a text"))
}

/// A file that agrees with its hash.
#[derive(Debug, Clone)]
pub struct Unsealed {
    /// What follows the first line.
    pub body: String,
    /// Its hash.
    pub hash: String,
    /// Its name, for what is said of it.
    pub name: String,
    /// Its signature, one line, not looked at yet.
    signature: Option<String>,
}

impl Unsealed {
    /// Reads a file's bytes. What does not agree with its hash is refused.
    pub fn of(file: &Path, bytes: &[u8]) -> Result<Self, StoreError> {
        let name = visible(&file.to_string_lossy());
        let refuse = |what: &str| Err(refused(&name, what));
        let Ok(text) = std::str::from_utf8(bytes) else {
            return refuse("is not text");
        };
        let text = text.replace("\r\n", "\n");
        let (first, body) = text.split_once('\n').unwrap_or_default();
        let Some(said) = first.strip_prefix(HASH) else {
            return refuse("is no handover: its first line has no content hash");
        };
        let said = said.trim();
        let signed = body.split_once('\n').and_then(|(line, rest)| Some((line.strip_prefix(SIGNED)?, rest)));
        let (signature, body) =
            signed.map_or((None, body), |(line, rest)| (Some(line.trim().to_owned()), rest));
        if said != hash(body)? {
            return refuse(
                "was changed after it was handed over: its content is not what its first line says",
            );
        }
        Ok(Self { hash: said.to_owned(), body: body.to_owned(), name, signature })
    }

    /// Whether and by whom it is signed. A false signature is refused.
    pub fn signed(&self) -> Result<Signed, StoreError> {
        match &self.signature {
            None => Ok(Signed::No),
            Some(signature) => signature::check(&self.body, signature, |what| self.refused(what)),
        }
    }

    /// Lines that stand before its content.
    pub fn lines_before(&self) -> usize {
        1 + usize::from(self.signature.is_some())
    }

    /// Whether it is the record of an engine, and not of a setup.
    pub fn is_engine(&self) -> bool {
        self.version("engine_handover").is_some()
    }

    fn version(&self, field: &str) -> Option<i64> {
        self.body.parse::<toml::Table>().ok()?.get(field)?.as_integer()
    }

    /// The document, of a version that is known.
    pub fn read<T: serde::de::DeserializeOwned>(&self, (field, known): (&str, u32)) -> Result<T, StoreError> {
        if let Some(version) = self.version(field).filter(|version| *version > i64::from(known)) {
            return Err(StoreError::request(
                Some("file"),
                format!("{} has version {version}; this program knows version {known}.", self.name),
                "Read it with a newer reedbook, or ask for one that an older one wrote.",
            ));
        }
        if let Some(version) = self.version(field).filter(|version| *version < 1) {
            return Err(self.refused(&format!("has version {version}, which there never was")));
        }
        toml::from_str(&self.body)
            .map_err(|error| self.refused(&format!("cannot be read: {}", visible(error.message()))))
    }

    /// It is not taken as it is.
    pub fn refused(&self, what: &str) -> StoreError {
        refused(&self.name, what)
    }
}

fn refused(name: &str, what: &str) -> StoreError {
    StoreError::request(
        Some("file"),
        format!("{name} {what}."),
        "Ask for it again; it is taken in as it was written, or not at all.",
    )
}

/// Sections in which anything may be written down.
const WORDS: [&str; 2] = ["extra", "notes"];

/// The sections that are meant, in the order in which they are read out; the first that does not exist is refused.
pub fn sections_meant(known: &[&'static str], chosen: &Chosen) -> Result<Vec<&'static str>, StoreError> {
    let (named, option) = match chosen {
        Chosen::Only(named) => (named, "only"),
        Chosen::Without(named) => (named, "omit"),
    };
    if let Some(unknown) = named.iter().find(|name| !known.contains(&name.as_str())) {
        return Err(StoreError::request(
            Some(option),
            format!("There is no section \"{}\".", visible(unknown)),
            format!("Sections: {}.", known.join(", ")),
        ));
    }
    let only = matches!(chosen, Chosen::Only(_));
    // Words may tell of what is left out: where sections are taken away, they go only when they are asked for.
    let words = |section: &str| !only && WORDS.contains(&section);
    let wanted = |section: &&&str| named.iter().any(|name| name == **section) == only && !words(section);
    Ok(known.iter().filter(wanted).copied().collect())
}

/// What can be chosen: a section, or none of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Chosen {
    /// These sections and no others.
    Only(Vec<String>),
    /// All but these.
    Without(Vec<String>),
}

impl Chosen {
    /// The sections of a setup in the order in which they are read out.
    ///
    /// # Errors
    /// Where one is named that there is not.
    pub fn sections(&self) -> Result<Vec<&'static str>, StoreError> {
        sections_meant(&SECTIONS, self)
    }
}
