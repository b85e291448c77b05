//! A file signed with the user's own ssh key, as git signs with it: the key and who is trusted are what the user's git says
//! (`user.signingkey`, `gpg.ssh.allowedSignersFile`), the work is `ssh-keygen`'s. What the garage's own settings say is not asked: they
//! may be a stranger's.

use std::io;
use std::path::PathBuf;

use crate::machine::{self, ProgramOutput, Temporary};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{CommandOption, GitCommand, Guidance};
use crate::store::error::StoreError;

/// What is signed: no signature of a commit or a mail can be passed off as one of a handover.
const NAMESPACE: &str = "reedbook-handover";
const BEGIN: &str = "-----BEGIN SSH SIGNATURE-----";
const END: &str = "-----END SSH SIGNATURE-----";
/// Letters of a signature at most, one with a large RSA key being 2,000.
pub(super) const LONGEST: usize = 16 * 1024;

/// Whether and by whom a file is signed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Signed {
    /// By nobody.
    No,
    /// By somebody the user's git trusts.
    By {
        /// Who, as in the file of allowed signers.
        who: String,
        /// The key's fingerprint.
        key: String,
    },
    /// The signature is good, and whose key it is, is not known.
    ByAKey {
        /// The key's fingerprint.
        key: String,
        /// Why it is not known whose, a sentence.
        why: String,
    },
    /// It could not be looked at: why, a sentence.
    NotChecked(String),
}

/// The user's settings of git; none of a repository's.
struct Settings(Option<git2::Config>);

impl Settings {
    fn of_the_user() -> Self {
        Self(git2::Config::open_default().ok())
    }

    fn text(&self, name: &str) -> Option<String> {
        self.0.as_ref()?.get_string(name).ok().filter(|text| !text.trim().is_empty())
    }

    fn path(&self, name: &str) -> Option<PathBuf> {
        self.text(name)?;
        self.0.as_ref()?.get_path(name).ok()
    }

    /// The program that signs.
    fn program(&self) -> String {
        self.text("gpg.ssh.program").unwrap_or_else(|| "ssh-keygen".to_owned())
    }
}

fn no_program(program: &str, error: &io::Error) -> StoreError {
    StoreError::request(
        Some("sign"),
        format!("{} could not be started: {error}.", visible(program)),
        Guidance::from("It comes with OpenSSH; install that, or hand over without ")
            + CommandOption::Sign
            + ".",
    )
}

/// Signs a text with the user's key; gives the signature as one line.
pub(super) fn sign(text: &str) -> Result<String, StoreError> {
    let settings = Settings::of_the_user();
    let Some(named) = settings.text("user.signingkey") else {
        return Err(StoreError::request(
            Some("sign"),
            "Your git does not say which key you sign with.",
            Guidance::from("Say it once: ") + GitCommand::SigningKey + " and " + GitCommand::SignBySsh + ".",
        ));
    };
    let literal = named.strip_prefix("key::").or_else(|| named.starts_with("ssh-").then_some(named.as_str()));
    let (key, _kept) = match literal {
        // The key itself: the agent has the other half.
        Some(key) => {
            let kept = temporary(format!("{}\n", key.trim()).as_bytes())?;
            (kept.path().to_owned(), Some(kept))
        }
        None => (settings.path("user.signingkey").unwrap_or_default(), None),
    };
    if !machine::is_there(&key) {
        return Err(StoreError::request(
            Some("sign"),
            format!("There is no key {}, which your git signs with.", visible(&named)),
            Guidance::from("Give the path of an ssh key: ") + GitCommand::SigningKey + ".",
        ));
    }
    let program = settings.program();
    let key = key.to_string_lossy().into_owned();
    let mut words = vec!["-Y", "sign", "-n", NAMESPACE, "-f", &key];
    if literal.is_some() {
        words.push("-U");
    }
    let said =
        machine::feed(&program, &words, text.as_bytes()).map_err(|error| no_program(&program, &error))?;
    let signature = said.out.find(BEGIN).map(|begin| &said.out[begin + BEGIN.len()..]);
    let signature = signature.and_then(|rest| rest.split_once(END)).map(|(signature, _)| signature);
    match signature {
        Some(signature) if said.done => Ok(signature.split_whitespace().collect()),
        _ => Err(StoreError::request(
            Some("sign"),
            format!("It could not be signed: {}.", in_a_line(&said)),
            Guidance::from(
                "Check that the key's other half is there or in your agent, or hand over without ",
            ) + CommandOption::Sign
                + ".",
        )),
    }
}

/// Looks at the signature of a text. A false one is an error; what cannot be looked at is said.
pub(super) fn check(
    text: &str,
    signature: &str,
    refused: impl Fn(&str) -> StoreError,
) -> Result<Signed, StoreError> {
    let plain = signature.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'+' | b'/' | b'='));
    if !plain || signature.len() > LONGEST {
        return Err(refused("has a signature that is none"));
    }
    let lines: Vec<&str> =
        signature.as_bytes().chunks(70).map(|line| std::str::from_utf8(line).unwrap_or_default()).collect();
    let armoured = format!("{BEGIN}\n{}\n{END}\n", lines.join("\n"));
    let kept = temporary(armoured.as_bytes())?;
    let (settings, file) = (Settings::of_the_user(), kept.path().to_string_lossy().into_owned());
    let program = settings.program();
    let run = |words: &[&str], fed: &[u8]| machine::feed(&program, words, fed);
    let good = match run(&["-Y", "check-novalidate", "-n", NAMESPACE, "-s", &file], text.as_bytes()) {
        Ok(said) => said,
        Err(error) => {
            return Ok(Signed::NotChecked(format!(
                "It is signed, and that could not be looked at: {} could not be started ({error}). It comes with OpenSSH.",
                visible(&program)
            )));
        }
    };
    if !good.done {
        return Err(refused("has a signature that is not of what stands in it"));
    }
    let words = format!("{} {}", good.out, good.err);
    let key = words.split_whitespace().find(|word| word.starts_with("SHA256:")).unwrap_or("a key").to_owned();
    let unknown = |why: &str| Ok(Signed::ByAKey { key: key.clone(), why: why.to_owned() });
    let Some(allowed) = settings.path("gpg.ssh.allowedSignersFile") else {
        return unknown("your git names no gpg.ssh.allowedSignersFile");
    };
    if !machine::is_there(&allowed) {
        return unknown("the gpg.ssh.allowedSignersFile of your git is not there");
    }
    let allowed = allowed.to_string_lossy().into_owned();
    let found = run(&["-Y", "find-principals", "-s", &file, "-f", &allowed], &[]);
    let Some(who) = found.ok().filter(|said| said.done).and_then(|said| {
        said.out.lines().next().map(|line| line.trim().to_owned()).filter(|line| !line.is_empty())
    }) else {
        return unknown("it is not in the gpg.ssh.allowedSignersFile of your git");
    };
    let verified =
        run(&["-Y", "verify", "-n", NAMESPACE, "-f", &allowed, "-I", &who, "-s", &file], text.as_bytes());
    match verified {
        Ok(said) if said.done => Ok(Signed::By { who, key }),
        _ => unknown("what the gpg.ssh.allowedSignersFile of your git says of it does not allow this"),
    }
}

fn temporary(bytes: &[u8]) -> Result<Temporary, StoreError> {
    Temporary::with(bytes).map_err(|error| {
        StoreError::request(
            None,
            format!("No file can be written beside the program: {error}."),
            "Make room in the folder for temporary files.",
        )
    })
}

fn in_a_line(said: &ProgramOutput) -> String {
    let words = said.err.split_whitespace().collect::<Vec<_>>().join(" ");
    visible(words.chars().take(300).collect::<String>().trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_signature_that_is_none_is_refused() {
        let refuse = |what: &str| StoreError::request(None, what.to_owned(), "");
        assert!(check("text", "not/base64!", refuse).is_err());
        assert!(check("text", &"A".repeat(LONGEST + 1), refuse).is_err());
    }
}
