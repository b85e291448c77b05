//! The file that is handed over: written new, locked and signed where that is asked for, and opened again.

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use clap::Args;

use crate::commands::desk::{Desk, folder, plain_file};
use crate::report::Trouble;
use crate::report::sharing::sealing::SealWords;
use crate::store::{LARGEST_HANDOVER, Unsealed, is_locked, lock, require_phrase, unlock, with_signature};

/// Bytes that a file with a pass phrase has at most.
const LONGEST_PHRASE: u64 = 4096;
/// What the age format adds at most to what it locks: it is written in pieces of 64 kB, and as text it is longer by a third.
const LOCKED: u64 = LARGEST_HANDOVER / 2 * 3;

/// How a file is kept from others, and that it is from you.
#[derive(Debug, Args)]
pub(super) struct Seal {
    /// Lock it with a pass phrase, which is asked
    #[arg(long)]
    encrypt: bool,
    /// Lock it with the pass phrase on the first line of this file; - is standard input
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
    /// Sign it with the ssh key that your git signs with
    #[arg(long)]
    sign: bool,
}

impl Seal {
    /// Writes a handover into a file that must not be there yet; gives the file and what became of it.
    pub(super) fn write(
        &self,
        desk: &Desk,
        (out, name): (Option<&PathBuf>, &str),
        text: &str,
    ) -> Result<(PathBuf, SealWords), Trouble> {
        let encrypted = self.encrypt || self.passphrase_file.is_some();
        let ending = if encrypted { ".age" } else { "" };
        let file = out.cloned().unwrap_or_else(|| PathBuf::from(format!("{name}{ending}")));
        let path = folder()?.join(&file);
        if path.symlink_metadata().is_ok() {
            return Err(there_already(&path));
        }
        let text = if self.sign { with_signature(text)? } else { text.to_owned() };
        let signed = Unsealed::of(&file, text.as_bytes())?.signed()?;
        let bytes = if encrypted { self.locked(desk, text.as_bytes())? } else { text.into_bytes() };
        write_new(&path, &bytes)?;
        let remark = self.passphrase_file.as_deref().and_then(readable_by_others);
        Ok((file, SealWords::read(encrypted, &signed).written(remark)))
    }

    fn locked(&self, desk: &Desk, bytes: &[u8]) -> Result<Vec<u8>, Trouble> {
        let phrase = if let Some(file) = &self.passphrase_file {
            phrase_in(file)?
        } else {
            let phrase = ask(desk, "Pass phrase:")?;
            require_phrase(&phrase)?;
            if ask(desk, "Once more:")? != phrase {
                return Err(Trouble::request(
                    None,
                    "The two are not the same.",
                    "Nothing was written; run it again.",
                ));
            }
            phrase
        };
        Ok(lock(bytes, &phrase)?)
    }
}

/// Reads a file that was handed over, opened where it is locked; whether it was.
pub(super) fn open(
    desk: &Desk,
    file: &Path,
    passphrase_file: Option<&Path>,
) -> Result<(Unsealed, bool), Trouble> {
    let path = folder()?.join(file);
    let bytes = read_bounded(&path, LOCKED, "larger than a handover can be")?;
    let locked = is_locked(&bytes);
    let bytes = match (locked, passphrase_file) {
        (true, Some(phrase)) => unlock(&file.to_string_lossy(), &bytes, &phrase_in(phrase)?)?,
        (true, None) => unlock(&file.to_string_lossy(), &bytes, &ask(desk, "Pass phrase:")?)?,
        (false, Some(_)) => {
            return Err(Trouble::request(
                Some("passphrase-file"),
                format!("{} is not encrypted: it needs no pass phrase.", file.display()),
                "Leave --passphrase-file out, and be sure that it is the file you were told to expect.",
            ));
        }
        (false, None) => bytes,
    };
    if bytes.len() as u64 > LARGEST_HANDOVER {
        return Err(too_large(&path, "larger than a handover can be"));
    }
    Ok((Unsealed::of(file, &bytes)?, locked))
}

/// A pass phrase typed at the terminal, which does not show it.
fn ask(desk: &Desk, question: &str) -> Result<String, Trouble> {
    if !desk.screen().can_ask() {
        return Err(Trouble::request(
            Some("passphrase-file"),
            "Nobody sits at a terminal who can be asked for the pass phrase.",
            "Write it into a file that only you can read, and say --passphrase-file FILE.",
        ));
    }
    desk.screen().ask_unseen(question)
}

/// The first line of a file.
fn phrase_in(file: &Path) -> Result<String, Trouble> {
    const TOO_LONG: &str = "longer than a pass phrase is";
    let path = folder()?.join(file);
    let bytes = if file == Path::new("-") {
        bounded(io::stdin().lock(), &path, LONGEST_PHRASE, TOO_LONG)?
    } else {
        read_bounded(&path, LONGEST_PHRASE, TOO_LONG)?
    };
    let text = String::from_utf8(bytes).map_err(|_| {
        Trouble::request(
            Some("passphrase-file"),
            format!("{} is not text.", file.display()),
            "Write the pass phrase on its first line.",
        )
    })?;
    let phrase = text.lines().next().unwrap_or_default().to_owned();
    if phrase.is_empty() {
        return Err(Trouble::request(
            Some("passphrase-file"),
            format!("{} has no pass phrase on its first line.", file.display()),
            "Write it there.",
        ));
    }
    Ok(phrase)
}

/// Said of a file with a pass phrase that others on the machine can read.
#[cfg(unix)]
fn readable_by_others(file: &Path) -> Option<String> {
    use std::os::unix::fs::PermissionsExt;
    let mode = fs::metadata(folder().ok()?.join(file)).ok()?.permissions().mode() & 0o777;
    let (file, is_open) = (file.display(), mode & 0o077 != 0);
    is_open.then(|| {
        format!("Others on this machine can read the pass phrase in {file} ({mode:o}): `chmod 600 {file}`.")
    })
}

#[cfg(not(unix))]
fn readable_by_others(_: &Path) -> Option<String> {
    None
}

fn there_already(path: &Path) -> Trouble {
    Trouble::request(
        Some("out"),
        format!("{} is there already.", path.display()),
        "Name another file with --out, or take that one away.",
    )
}

/// Writes a file that must not be there yet: nobody's is overwritten.
fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    let failed = |error: io::Error| {
        if error.kind() == io::ErrorKind::AlreadyExists {
            return there_already(path);
        }
        Trouble::file("Cannot write", path, &error)
    };
    let mut file = options.open(path).map_err(failed)?;
    let written = file.write_all(bytes).and_then(|()| file.sync_all());
    if written.is_err() {
        // Half a file is none: one that is cut is not left behind.
        let _ = fs::remove_file(path);
    }
    written.map_err(failed)
}

fn too_large(path: &Path, what: &str) -> Trouble {
    Trouble::request(
        Some("file"),
        format!("{} is {what}.", path.display()),
        "Name the file that was handed over.",
    )
}

fn read_bounded(path: &Path, most: u64, what: &str) -> Result<Vec<u8>, Trouble> {
    bounded(plain_file(path)?, path, most, what)
}

fn bounded(from: impl Read, path: &Path, most: u64, what: &str) -> Result<Vec<u8>, Trouble> {
    let failed = |error: io::Error| Trouble::file("Cannot read", path, &error);
    let mut bytes = Vec::new();
    from.take(most + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > most {
        return Err(too_large(path, what));
    }
    Ok(bytes)
}
