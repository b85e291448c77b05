//! What somebody else sends is looked through before anything here is touched: plain files of a size that their like may have, with
//! names that mean the same on every system, and a garage.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use git2::{ObjectType, Oid, Repository, Tree, TreeEntry};
use unicode_normalization::UnicodeNormalization;

use crate::notebook::GARAGE_FILE;
use crate::notebook::fields::names::{is_hidden, visible};
use crate::notebook::guidance::{Command, GitCommand, Guidance};
use crate::notebook::{Code, DocumentKind, GarageDocument};
use crate::store::error::StoreError;
use crate::store::folder::finding::require_known_layout;
use crate::store::folder::garage::read_document;
use crate::store::folder::gate::bound;
use crate::store::history::sizes::{Sized, require_small, require_small_commits};
use crate::store::share::remote::SHARED;

/// Folders in folders: a garage has four.
const DEEPEST: usize = 16;
/// Bytes of a name: more than file systems hold.
const LONGEST: usize = 255;
/// Files and folders: 200 bikes with 50,000 changes have some 100,000.
const MOST: usize = 300_000;
/// A file beside the documents, a photo of a plug.
const BESIDE: u64 = 32 * 1024 * 1024;
/// The only mode of a file: one that runs as a program, a link or another repository is none of a garage's.
const PLAIN: i32 = 0o100_644;
/// A plain file as old versions of git wrote it.
const OLD_PLAIN: i32 = 0o100_664;
const FOLDER: i32 = 0o040_000;

/// Fails where the files of a commit are not such as a garage holds. What `known`, our own files, has just so was looked at before.
pub(super) fn check(
    theirs: &Repository,
    commit: Oid,
    known: Option<(&Repository, Oid)>,
) -> Result<(), StoreError> {
    require_small_commits(theirs, commit, &seen_before(known))?;
    let tree = theirs.find_commit(commit).and_then(|commit| commit.tree()).map_err(unread())?;
    let ours =
        known.and_then(|(ours, commit)| ours.find_commit(commit).and_then(|commit| commit.tree()).ok());
    let mut look = Look { theirs, ours: known.map(|(ours, _)| ours), seen: 0 };
    look.folder(&tree, ours.as_ref(), Path::new(""), 0)?;
    require_garage(theirs, &tree)?;
    history(theirs, commit, known)
}

/// What was put in and taken out again stays in the history: it is looked at, commit by commit, as far as it is not ours already.
fn history(theirs: &Repository, commit: Oid, known: Option<(&Repository, Oid)>) -> Result<(), StoreError> {
    let mut walk = theirs.revwalk().map_err(unread())?;
    walk.push(commit).map_err(unread())?;
    // One that the other side has not got yet hides nothing there.
    for ours in seen_before(known) {
        let _ = walk.hide(ours);
    }
    for id in walk {
        let commit = theirs.find_commit(id.map_err(unread())?).map_err(unread())?;
        let before = commit.parent(0).and_then(|parent| parent.tree()).ok();
        let tree = commit.tree().map_err(unread())?;
        let mut look = Look { theirs, ours: Some(theirs), seen: 0 };
        look.folder(&tree, before.as_ref(), Path::new(""), 0)?;
    }
    Ok(())
}

/// The commits that were looked at before, with all they came from.
fn seen_before(known: Option<(&Repository, Oid)>) -> Vec<Oid> {
    let Some((ours, head)) = known else { return Vec::new() };
    let shared = ours.refname_to_id(SHARED).ok();
    // A clone has all of it from there already, by git.
    let cloned = ours.references_glob("refs/remotes/*").ok().into_iter().flatten().flatten();
    let cloned = cloned.filter_map(|reference| reference.target());
    [head].into_iter().chain(shared).chain(cloned).collect()
}

/// The other side's repository is what cannot be read; here all is as it was.
pub(super) fn unread() -> impl FnOnce(git2::Error) -> StoreError {
    |error| {
        StoreError::request(
            Some("with"),
            format!(
                "The other side is damaged or cannot be read: {}. This garage is not touched.",
                visible(error.message().trim_end_matches('.'))
            ),
            Guidance::from("Share through another place: ")
                + Command::ShareWithNew
                + " makes one with all that is here. "
                + GitCommand::LookThrough
                + " there names what is missing.",
        )
    }
}

struct Look<'g> {
    theirs: &'g Repository,
    ours: Option<&'g Repository>,
    seen: usize,
}

impl Look<'_> {
    fn folder(
        &mut self,
        tree: &Tree<'_>,
        ours: Option<&Tree<'_>>,
        above: &Path,
        depth: usize,
    ) -> Result<(), StoreError> {
        if depth > DEEPEST {
            return Err(refused(above, "lies too deep"));
        }
        let mut names = HashSet::new();
        for entry in tree {
            self.seen += 1;
            if self.seen > MOST {
                return Err(refused(above, "is one of more files than a garage has"));
            }
            let name = std::str::from_utf8(entry.name_bytes()).map_err(|_| {
                refused(
                    &above.join(String::from_utf8_lossy(entry.name_bytes()).as_ref()),
                    "has a name that is not text",
                )
            })?;
            let path = above.join(name);
            if let Some(what) = wrong_name(name) {
                return Err(refused(&PathBuf::from(format!("{}/{name}", above.display())), what));
            }
            if !names.insert(alike(name)) {
                return Err(refused(
                    &path,
                    "differs from another file only in capital letters, or in how an accent is written",
                ));
            }
            let known = ours.and_then(|ours| ours.get_name(name));
            if known.is_some_and(|known| known.id() == entry.id() && known.filemode() == entry.filemode()) {
                continue;
            }
            self.entry(&entry, ours, &path, depth)?;
        }
        Ok(())
    }

    fn entry(
        &mut self,
        entry: &TreeEntry<'_>,
        ours: Option<&Tree<'_>>,
        path: &Path,
        depth: usize,
    ) -> Result<(), StoreError> {
        match entry.filemode() {
            FOLDER => {
                let objects = self.theirs.odb().map_err(unread())?;
                require_small(&objects, entry.id(), Sized::Tree)?;
                let tree = self.theirs.find_tree(entry.id()).map_err(unread())?;
                let inner = ours.and_then(|ours| ours.get_name(entry.name().ok()?)).map(|known| known.id());
                let inner = self.ours.zip(inner).and_then(|(git, id)| git.find_tree(id).ok());
                self.folder(&tree, inner.as_ref(), path, depth + 1)
            }
            PLAIN | OLD_PLAIN => {
                let header = self.theirs.odb().and_then(|all| all.read_header(entry.id()));
                let (bytes, kind) = header.map_err(unread())?;
                if kind != ObjectType::Blob {
                    return Err(refused(path, "is no file"));
                }
                let most = if is_document(path) { bound::of(path) } else { BESIDE };
                if bytes as u64 > most {
                    return Err(refused(
                        path,
                        format!("has {bytes} bytes, more than such a file may have ({most})"),
                    ));
                }
                if path.file_name().is_some_and(|name| name.eq_ignore_ascii_case(".gitattributes")) {
                    let blob = self.theirs.find_blob(entry.id()).map_err(unread())?;
                    if !only_keeps_bytes(&String::from_utf8_lossy(blob.content())) {
                        return Err(refused(path, "would have git change files or start a program"));
                    }
                }
                Ok(())
            }
            0o120_000 => Err(refused(path, "is a link")),
            0o160_000 => Err(refused(path, "is another repository")),
            0o100_755 => {
                let marked = Guidance::from("is marked as a program (") + GitCommand::NoProgram;
                Err(refused(path, marked + " takes that away)"))
            }
            _ => Err(refused(path, "is no plain file")),
        }
    }
}

/// Whether git's attributes are such as a garage has: bytes stay as they are, and lines of two sides are put one after the other.
fn only_keeps_bytes(attributes: &str) -> bool {
    let harmless = ["-text", "binary", "merge=union", "-diff", "-merge"];
    let lines = attributes.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
    lines.flat_map(|line| line.split_whitespace().skip(1)).all(|word| harmless.contains(&word))
}

/// Whether a file is one that the program reads.
fn is_document(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    matches!(ending, Some("toml" | "csv")) || path.ends_with("numbers")
}

/// Names that are one on some systems: capitals, and letters with an accent that are written as one character or as two.
fn alike(name: &str) -> String {
    name.to_lowercase().nfd().collect()
}

/// Whether some systems have a device of that name, whatever stands behind its dot.
fn is_device(lower: &str) -> bool {
    let stem = lower.split('.').next().unwrap_or_default().trim_end();
    let numbered = |kind: &str| {
        stem.strip_prefix(kind)
            .is_some_and(|rest| rest.len() == 1 && rest.bytes().all(|b| b.is_ascii_digit()))
    };
    ["con", "prn", "aux", "nul"].contains(&stem) || numbered("com") || numbered("lpt")
}

/// What is wrong with a name; none where it means the same on every system.
fn wrong_name(name: &str) -> Option<&'static str> {
    let lower = name.to_lowercase();
    let short = lower.strip_prefix("git~").is_some_and(|rest| rest.bytes().all(|byte| byte.is_ascii_digit()));
    if name.is_empty() || name == "." || name == ".." || name.contains(['/', '\\']) {
        return Some("has a name that leads elsewhere");
    }
    // What some systems read as git's own folder: with a dot, a space or a stream's name behind it.
    let stem = lower.split(':').next().unwrap_or_default().trim_end_matches(['.', ' ']);
    if stem == ".git" || short {
        return Some("has the name of git's own folder");
    }
    if stem == ".gitmodules" {
        return Some("would bring other repositories in");
    }
    if name.chars().any(is_hidden) {
        return Some("has a control character in its name");
    }
    if name.len() > LONGEST {
        return Some("has a name that is longer than any disk holds");
    }
    if name.contains(':') || name.ends_with(['.', ' ']) || is_device(&lower) {
        return Some("has a name that not every system can have");
    }
    None
}

fn require_garage(theirs: &Repository, tree: &Tree<'_>) -> Result<(), StoreError> {
    let none = || {
        StoreError::request(
            None,
            format!("The other side is not a garage: it has no {GARAGE_FILE} that can be read."),
            "Name the folder or address that the garage is shared through; nothing here was touched.",
        )
    };
    let entry = tree.get_name(GARAGE_FILE).ok_or_else(none)?;
    let blob = theirs.find_blob(entry.id()).map_err(|_| none())?;
    require_known_layout(blob.content(), "The other side's garage")?;
    let path = Path::new(GARAGE_FILE);
    match read_document::<GarageDocument>(DocumentKind::Garage, path, blob.content(), false) {
        Ok(_) => Ok(()),
        // Brought here, it would close the garage to this program.
        Err(StoreError::Findings(findings)) if findings.iter().any(|one| one.code == Code::UnknownField) => {
            let what = findings.first().map_or_else(String::new, |finding| finding.message.clone());
            Err(StoreError::request(
                None,
                format!("The other side's {GARAGE_FILE} is not for this program: {what}"),
                "If a newer version of this program wrote it, use that one here; nothing was touched.",
            ))
        }
        Err(_) => Err(none()),
    }
}

fn refused(path: &Path, what: impl Into<Guidance>) -> StoreError {
    let path = path.to_string_lossy();
    let path = visible(path.trim_start_matches('/'));
    StoreError::request(
        None,
        Guidance::from(format!("What the other side has is not taken in: {path} ")) + what + ".",
        "Nothing here was touched. Ask whoever put it there; a garage holds plain files only.",
    )
}
