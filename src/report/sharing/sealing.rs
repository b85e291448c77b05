//! How a handover is kept from others, and who signed it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::report::out::frame::Frame;
use crate::store::Signed;

/// How a handover is kept from others, and who signed it.
#[derive(Debug, Default, Serialize, JsonSchema)]
pub struct SealWords {
    /// Whether the file is locked with a pass phrase.
    encrypted: bool,
    /// Whether it is signed: by somebody known, by a key that nobody here knows, not looked at, or not at all.
    signed: SignedState,
    /// Who signed it, as the user's git knows them; null where nobody is known.
    signed_by: Option<String>,
    /// Fingerprint of the key; null where none was seen.
    signed_with: Option<String>,
    /// What is to be known of the signature, a sentence; null where nothing is.
    signature_remark: Option<String>,
    /// Who else can read the pass phrase, a sentence.
    #[serde(skip)]
    phrase_remark: Option<String>,
    /// Whether it is one's own, written just now.
    #[serde(skip)]
    written: bool,
}

/// Whether a handover is signed.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum SignedState {
    /// By nobody.
    #[default]
    No,
    /// By somebody known.
    Known,
    /// By a key that nobody here knows.
    UnknownKey,
    /// It could not be looked at.
    NotChecked,
}

impl SealWords {
    /// Of a file that was read.
    pub fn read(encrypted: bool, signed: &Signed) -> Self {
        let of = |signed| Self { encrypted, signed, ..Self::default() };
        match signed {
            Signed::No => of(SignedState::No),
            Signed::By { who, key } => Self {
                signed_by: Some(who.clone()),
                signed_with: Some(key.clone()),
                ..of(SignedState::Known)
            },
            Signed::ByAKey { key, why } => Self {
                signed_with: Some(key.clone()),
                signature_remark: Some(format!(
                    "Signed with the key {key}; whose that is, is not known: {why}."
                )),
                ..of(SignedState::UnknownKey)
            },
            Signed::NotChecked(why) => {
                Self { signature_remark: Some(why.clone()), ..of(SignedState::NotChecked) }
            }
        }
    }

    /// The same of one that was written, with what is to be known of the file that has the pass phrase.
    #[must_use]
    pub fn written(self, phrase_remark: Option<String>) -> Self {
        Self { phrase_remark, written: true, ..self }
    }

    /// For a person.
    pub(super) fn say(&self, frame: &mut Frame<'_>) {
        if let Some(remark) = &self.signature_remark {
            frame.know(&visible(remark));
        }
        if let (Some(who), Some(key)) = (&self.signed_by, &self.signed_with) {
            frame.say(&format!("Signed by {} with {}.", visible(who), visible(key)));
        }
        // Whoever waits for a signed one is told: the line with the signature can be cut out.
        if self.signed == SignedState::No && !self.written {
            frame.say("Not signed.");
        }
        if self.encrypted {
            frame.say("Locked with a pass phrase.");
        }
        if let Some(remark) = &self.phrase_remark {
            frame.know(&visible(remark));
        }
    }
}
