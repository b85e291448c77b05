//! The program's own sources, as a compiler reads them: what a file names and what its strings say, whatever its layout.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use proc_macro2::{Delimiter, TokenStream, TokenTree};

/// A file of the sources, by its tokens; comments are none.
pub(crate) struct Source {
    /// The modules that lead to it, without the crate: `air`, `metar`.
    module: Vec<String>,
    tokens: TokenStream,
}

impl Source {
    /// Reads a text that is the module of this path, such as `air::metar`.
    pub(crate) fn of(module: &str, text: &str) -> Self {
        let module = module.split("::").filter(|name| !name.is_empty()).map(str::to_owned).collect();
        Self { module, tokens: text.parse().expect("a source that a compiler reads") }
    }

    /// Reads a file under `root`, the folder of the crate.
    pub(crate) fn read(path: &Path, root: &Path) -> Self {
        let inner = path.strip_prefix(root).unwrap().with_extension("");
        let mut names: Vec<_> = inner.iter().map(|name| name.to_string_lossy().into_owned()).collect();
        if names.last().is_some_and(|last| last == "mod" || last == "lib" || last == "main") {
            names.pop();
        }
        Self::of(&names.join("::"), &fs::read_to_string(path).unwrap())
    }

    /// Its floor: the first of its modules, and none for the crate itself.
    pub(crate) fn floor(&self) -> Option<&str> {
        self.module.first().map(String::as_str)
    }

    /// Its module, from the floor down.
    pub(crate) fn module(&self) -> &[String] {
        &self.module
    }

    /// Its tokens.
    pub(crate) fn tokens(&self) -> &TokenStream {
        &self.tokens
    }

    /// Every path that it names from the crate's root, without `crate`, and those from `std`: from `use`, at any depth of
    /// braces, and from within code; `super` and `self` are resolved.
    pub(crate) fn names(&self) -> Vec<Vec<String>> {
        let mut found = Vec::new();
        names_in(&self.tokens, &self.module, &mut found);
        found
    }

    /// Whether it passes on under its own name what stands elsewhere: a `pub use`, however far it is seen.
    pub(crate) fn passes_on(&self) -> bool {
        passes_on(&self.tokens)
    }

    /// The macros that it calls.
    pub(crate) fn macros(&self) -> Vec<String> {
        let mut found = Vec::new();
        macros_in(&self.tokens, &mut found);
        found
    }

    /// The methods that it calls, and every name of a path in its code.
    pub(crate) fn calls(&self) -> BTreeSet<String> {
        let mut found = BTreeSet::new();
        calls_in(&self.tokens, &mut found);
        found
    }

    /// The texts of its string literals as they are written, a line that is carried on put together; doc comments are none.
    pub(crate) fn strings(&self) -> Vec<String> {
        let mut found = Vec::new();
        strings_in(&self.tokens, &mut found);
        found
    }
}

/// All sources under a folder.
pub(crate) fn files_under(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(files_under(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    found
}

fn names_in(tokens: &TokenStream, module: &[String], found: &mut Vec<Vec<String>>) {
    let tokens: Vec<TokenTree> = tokens.clone().into_iter().collect();
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        at += 1;
        match token {
            TokenTree::Ident(name) if *name == "mod" => {
                // A module within the file: what stands in it is one step deeper.
                if let (Some(TokenTree::Ident(inner)), Some(TokenTree::Group(group))) =
                    (tokens.get(at), tokens.get(at + 1))
                {
                    let deeper = [module, &[inner.to_string()]].concat();
                    names_in(&group.stream(), &deeper, found);
                    at += 2;
                }
            }
            TokenTree::Ident(name) if starts_a_path(&tokens, at - 1) => {
                let start = match name.to_string().as_str() {
                    "crate" => Vec::new(),
                    "std" => vec!["std".to_owned()],
                    "self" => module.to_vec(),
                    "super" => above(module),
                    _ => continue,
                };
                at = tree(&tokens, at, start, found);
            }
            TokenTree::Group(group) => names_in(&group.stream(), module, found),
            _ => {}
        }
    }
}

fn above(module: &[String]) -> Vec<String> {
    module.split_last().map(|(_, above)| above.to_vec()).unwrap_or_default()
}

/// Whether the name at `at` is the first of a path.
fn starts_a_path(tokens: &[TokenTree], at: usize) -> bool {
    let inside = at > 0 && matches!(&tokens[at - 1], TokenTree::Punct(sign) if sign.as_char() == ':');
    !(inside && at > 1 && is_step(tokens, at - 2)) && is_step(tokens, at + 1)
}

/// Whether `::` stands at `at`.
fn is_step(tokens: &[TokenTree], at: usize) -> bool {
    let colon = |at: usize| matches!(tokens.get(at), Some(TokenTree::Punct(sign)) if sign.as_char() == ':');
    colon(at) && colon(at + 1)
}

/// Follows a path that has come as far as `so_far`, whose next `::` may stand at `at`; gives where it ends.
fn tree(tokens: &[TokenTree], mut at: usize, mut so_far: Vec<String>, found: &mut Vec<Vec<String>>) -> usize {
    while is_step(tokens, at) {
        match tokens.get(at + 2) {
            Some(TokenTree::Ident(name)) if *name == "super" => so_far = above(&so_far),
            Some(TokenTree::Ident(name)) => so_far.push(name.to_string()),
            Some(TokenTree::Group(group)) if group.delimiter() == Delimiter::Brace => {
                branches(&group.stream(), &so_far, found);
                return at + 3;
            }
            _ => break,
        }
        at += 3;
    }
    found.push(so_far);
    at
}

/// The branches in the braces of an import.
fn branches(tokens: &TokenStream, stem: &[String], found: &mut Vec<Vec<String>>) {
    let tokens: Vec<TokenTree> = tokens.clone().into_iter().collect();
    for branch in tokens.split(|token| matches!(token, TokenTree::Punct(sign) if sign.as_char() == ',')) {
        let mut so_far = stem.to_vec();
        match branch.first() {
            Some(TokenTree::Ident(name)) if *name == "super" => so_far = above(&so_far),
            Some(TokenTree::Ident(name)) if *name != "self" => so_far.push(name.to_string()),
            Some(TokenTree::Group(group)) => branches(&group.stream(), stem, found),
            _ => {}
        }
        if !branch.is_empty() {
            tree(branch, 1, so_far, found);
        }
    }
}

fn passes_on(tokens: &TokenStream) -> bool {
    let mut is_seen = false;
    for token in tokens.clone() {
        match token {
            TokenTree::Ident(name) if name == "use" && is_seen => return true,
            TokenTree::Ident(name) => is_seen = name == "pub",
            // `pub(super)`.
            TokenTree::Group(group) if group.delimiter() == Delimiter::Parenthesis => {}
            _ => is_seen = false,
        }
    }
    false
}

fn macros_in(tokens: &TokenStream, found: &mut Vec<String>) {
    let tokens: Vec<TokenTree> = tokens.clone().into_iter().collect();
    for (index, token) in tokens.iter().enumerate() {
        match (token, tokens.get(index + 1)) {
            (TokenTree::Ident(name), Some(TokenTree::Punct(sign))) if sign.as_char() == '!' => {
                found.push(name.to_string());
            }
            (TokenTree::Group(group), _) => macros_in(&group.stream(), found),
            _ => {}
        }
    }
}

/// Names after a point, and before or after `::`.
fn calls_in(tokens: &TokenStream, found: &mut BTreeSet<String>) {
    let tokens: Vec<TokenTree> = tokens.clone().into_iter().collect();
    for (at, token) in tokens.iter().enumerate() {
        match token {
            TokenTree::Ident(name) => {
                let before = at.checked_sub(1).and_then(|before| tokens.get(before));
                let after_a_point = matches!(before, Some(TokenTree::Punct(sign)) if sign.as_char() == '.');
                let in_a_path = is_step(&tokens, at + 1) || (at > 1 && is_step(&tokens, at - 2));
                if after_a_point || in_a_path {
                    found.insert(name.to_string());
                }
            }
            TokenTree::Group(group) => calls_in(&group.stream(), found),
            _ => {}
        }
    }
}

fn strings_in(tokens: &TokenStream, found: &mut Vec<String>) {
    let tokens: Vec<TokenTree> = tokens.clone().into_iter().collect();
    for token in &tokens {
        match token {
            TokenTree::Literal(literal) => {
                let text = literal.to_string();
                if text.contains('"') {
                    found.push(put_together(&text));
                }
            }
            TokenTree::Group(group) if !is_doc(&group.stream()) => strings_in(&group.stream(), found),
            _ => {}
        }
    }
}

/// Whether this is the inside of `#[doc = "…"]`, which a doc comment becomes.
fn is_doc(tokens: &TokenStream) -> bool {
    let mut tokens = tokens.clone().into_iter();
    let doc = matches!(tokens.next(), Some(TokenTree::Ident(name)) if name == "doc");
    doc && matches!(tokens.next(), Some(TokenTree::Punct(sign)) if sign.as_char() == '=')
}

/// A string whose lines are carried on with a backslash, in one.
fn put_together(text: &str) -> String {
    let mut parts = text.split("\\\n");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |whole, part| whole + part.trim_start())
}

#[test]
fn paths_are_found_wherever_they_are_named() {
    let names = |module: &str, text: &str| -> Vec<String> {
        Source::of(module, text).names().iter().map(|path| path.join("::")).collect()
    };
    assert_eq!(names("air", "use crate::store::Garage;"), ["store::Garage"]);
    assert_eq!(
        names("air", "use crate::{store::{self, index::{Index, find}}, engine::fuel as f};"),
        ["store", "store::index::Index", "store::index::find", "engine::fuel"]
    );
    assert_eq!(names("air", "fn f() { let x = [crate::store::open(1)]; }"), ["store::open"]);
    assert_eq!(names("air::metar", "use super::super::{store, air::Air};"), ["store", "air::Air"]);
    assert_eq!(
        names("air", "mod tests { use super::Air; use super::super::store::x; }"),
        ["air::Air", "store::x"]
    );
    assert_eq!(names("air", "assert!(matches!(x, crate::store::E::A { .. }));"), ["store::E::A"]);
    assert_eq!(names("air", "use std::{fs, io::{self, Write}};"), ["std::fs", "std::io", "std::io::Write"]);
    assert_eq!(names("air", "use self::error::E; use super::*;"), ["air::error::E", ""]);
    assert!(names("air", "// use crate::store;\n/// crate::store::X\npub(super) fn f() {}").is_empty());
}

#[test]
fn strings_are_read_without_doc_comments() {
    let text = "/// with --a\n#[error(\"with \\\n   --b\")] fn f() { g!(\"{}\", r#\"--c\"#); } // --d";
    assert_eq!(Source::of("air", text).strings(), ["\"with --b\"", "\"{}\"", "r#\"--c\"#"]);
}
