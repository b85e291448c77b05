//! Settings that git's own settings include: git opens each as it lies there, wherever that is, and waits at a pipe.

use std::path::{Path, PathBuf};

use super::{Barred, Gate, Odd, bound};
use crate::store::error::StoreError;

/// What git reads by rules of its own, a comment, a quote in a name, a line that goes on: where it leads is not guessed.
const ODDLY_WRITTEN: [char; 5] = ['"', '\\', '#', ';', '\t'];

/// Settings in settings in settings: git's own limit.
const DEEPEST: usize = 10;

/// What is included and is not to be opened; none where all of it is plain files.
pub(super) fn odd_in_included(repository: &Gate) -> Result<Option<Barred>, StoreError> {
    for file in ["config", "config.worktree"] {
        let text = repository.read_at_most(Path::new(file), bound::DOCUMENT)?.unwrap_or_default();
        if let Some(odd) = odd_included_by(repository.top(), &text, 0)? {
            return Ok(Some(odd));
        }
    }
    Ok(None)
}

fn odd_included_by(folder: &Path, text: &[u8], depth: usize) -> Result<Option<Barred>, StoreError> {
    if depth >= DEEPEST {
        return Ok(None);
    }
    for named in included(&String::from_utf8_lossy(text)) {
        if named.contains(ODDLY_WRITTEN) {
            return Ok(Some(Barred { path: folder.join("config"), what: Odd::OddInclude }));
        }
        let Some(place) = meant(folder, &named) else { continue };
        let (Some(above), Some(name)) = (place.parent(), place.file_name()) else { continue };
        // What is not there is nothing to git either.
        let Ok(gate) = Gate::of_git_alone(above) else { continue };
        if let Some(mut odd) = gate.odd_at(Path::new(name), bound::DOCUMENT)? {
            odd.path.clone_from(&place);
            return Ok(Some(odd));
        }
        let inner = gate.read_at_most(Path::new(name), bound::DOCUMENT)?.unwrap_or_default();
        if let Some(odd) = odd_included_by(above, &inner, depth + 1)? {
            return Ok(Some(odd));
        }
    }
    Ok(None)
}

/// Where a name leads: from the user's folder, or from that of the settings that name it.
fn meant(folder: &Path, named: &str) -> Option<PathBuf> {
    let Some(of_user) = named.strip_prefix("~/") else { return Some(folder.join(named)) };
    let settings = git2::Config::find_global().ok()?;
    Some(settings.parent()?.join(of_user))
}

/// The files that settings include, with a condition or without, as they are named.
fn included(text: &str) -> Vec<String> {
    let mut named = Vec::new();
    let mut including = false;
    for line in text.lines() {
        let mut line = line.trim();
        if line.starts_with('[') {
            let (head, rest) = line.rsplit_once(']').unwrap_or((line, ""));
            including = head.to_lowercase().starts_with("[include");
            line = rest.trim();
        }
        let Some((key, value)) = line.split_once('=').filter(|_| including) else { continue };
        if key.trim().eq_ignore_ascii_case("path") {
            named.push(plainly(value));
        }
    }
    named
}

/// A value as it is named: in quotes or without, a backslash as it stands in them on some systems.
fn plainly(value: &str) -> String {
    let value = value.trim();
    let quoted = value.strip_prefix('"').and_then(|value| value.strip_suffix('"'));
    quoted.unwrap_or(value).replace("\\\\", "/")
}

#[cfg(test)]
mod tests {
    use super::included;

    #[test]
    fn what_settings_include_is_found_however_it_is_written() {
        let text = "[core]\n\tpath = no\n[include]\n\tpath = one\n[Include] PATH = \"two words\"\n[includeIf \"gitdir:~/a]b\"]\npath=three\n[user]\npath = no\n";
        assert_eq!(included(text), ["one", "two words", "three"]);
        // What git would read otherwise than it stands here is not followed.
        for odd in ["fifo # a word", "fifo ; a word", "fifo;x", "\"fi\"fo", "fi\\", "a\tb"] {
            let named = included(&format!("[include]\npath = {odd}\n"));
            assert!(named.iter().any(|named| named.contains(super::ODDLY_WRITTEN)), "{odd}: {named:?}");
        }
    }
}
