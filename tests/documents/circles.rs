//! No files import each other in a circle: who reads one of them need not read the others first. Two that are one idea may.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use proc_macro2::{Delimiter, TokenStream, TokenTree};

use crate::sources::{Source, files_under};

/// A path of modules and names, without `crate`.
type Names = Vec<String>;

/// What a file imports and passes on, by the name it has there, and every path in its code.
#[derive(Default)]
struct Named {
    /// Imports, private and passed on, by name.
    imports: BTreeMap<String, Names>,
    /// Imports that are only passed on: whoever asks for them asks the file that they are of.
    passed_on: BTreeSet<String>,
    /// Modules of which all is imported, and whether it is only passed on.
    stars: Vec<(Names, bool)>,
    /// Paths in code, as they are written.
    paths: BTreeSet<Names>,
    /// What is declared in it, outside of all braces.
    own: BTreeSet<String>,
}

/// The files with what each names.
struct House {
    files: BTreeMap<Names, Named>,
}

impl House {
    fn of(sources: &[Source]) -> Self {
        let files = sources.iter().map(|source| {
            let mut named = Named::default();
            read(source.tokens(), true, &mut named);
            (source.module().to_vec(), named)
        });
        Self { files: files.collect() }
    }

    /// A path of a file from the crate's root; none of what is not this crate's.
    fn at_the_root(&self, module: &[String], path: &[String]) -> Option<Names> {
        let (first, rest) = path.split_first()?;
        match first.as_str() {
            "crate" => return Some(rest.to_vec()),
            "self" => return Some([module, rest].concat()),
            "super" => {
                let above = module.split_last().map(|(_, above)| above).unwrap_or_default();
                let is_further_up = rest.first().is_some_and(|next| next == "super");
                return if is_further_up {
                    self.at_the_root(above, rest)
                } else {
                    Some([above, rest].concat())
                };
            }
            _ => {}
        }
        let below = [module, path].concat();
        if self.files.contains_key(&below[..=module.len()]) {
            return Some(below);
        }
        let imported = self.files.get(module)?.imports.get(first)?;
        let imported = if imported == path { return None } else { self.at_the_root(module, imported)? };
        Some([imported.as_slice(), rest].concat())
    }

    /// The file that a path from the root is declared in, whoever passes it on; none of a module by itself.
    fn declared_in(&self, path: &[String], steps: usize) -> Option<&Names> {
        let known = (0..=path.len()).rev().find(|end| self.files.contains_key(&path[..*end]))?;
        let (file, named) = self.files.get_key_value(&path[..known])?;
        let name = path.get(known)?;
        if let Some(target) = named.imports.get(name).filter(|_| !named.own.contains(name) && steps > 0) {
            let target = self.at_the_root(file, target)?;
            return self.declared_in(&[&target, &path[known + 1..]].concat(), steps - 1);
        }
        let stars = named.stars.iter().filter_map(|(star, _)| self.at_the_root(file, star));
        let has_it = |star: &Names| self.files.get(star).is_some_and(|named| named.own.contains(name));
        let of_a_star = stars.into_iter().find(has_it).and_then(|star| self.files.get_key_value(&star));
        Some(of_a_star.map_or(file, |(star, _)| star))
    }

    /// The files that a file asks for something.
    fn asked_by(&self, module: &[String]) -> BTreeSet<&Names> {
        let named = &self.files[module];
        let imports = named.imports.iter().filter(|(name, _)| !named.passed_on.contains(*name));
        let all_of = named.stars.iter().filter(|(_, is_passed_on)| !is_passed_on);
        let all_of = all_of.map(|(star, _)| [star.as_slice(), &["*".to_owned()]].concat());
        let all_of: Vec<Names> = all_of.collect();
        let paths = imports.map(|(_, path)| path).chain(&named.paths).chain(&all_of);
        let asked = paths.filter_map(|path| self.declared_in(&self.at_the_root(module, path)?, 12));
        asked.filter(|other| other.as_slice() != module).collect()
    }

    /// What each asks.
    fn asked(&self) -> Asked<'_> {
        self.files.keys().map(|module| (module, self.asked_by(module))).collect()
    }
}

/// Of each file the files that it asks for something.
type Asked<'h> = BTreeMap<&'h Names, BTreeSet<&'h Names>>;

/// Files that lead to each other, three and more.
fn circles(asked: &Asked<'_>) -> Vec<BTreeSet<String>> {
    let reached: Asked<'_> = asked.keys().map(|file| (*file, reached_from(file, asked))).collect();
    let circle = |of: &BTreeSet<&Names>, file: &Names| {
        let back = of.iter().filter(|other| reached[**other].contains(file));
        back.map(|other| other.join("::")).collect::<BTreeSet<_>>()
    };
    let circles: BTreeSet<BTreeSet<String>> = reached.iter().map(|(file, of)| circle(of, file)).collect();
    circles.into_iter().filter(|circle| circle.len() > 2).collect()
}

/// Every file that one leads to by what is asked.
fn reached_from<'h>(from: &'h Names, asked: &Asked<'h>) -> BTreeSet<&'h Names> {
    let (mut reached, mut next) = (BTreeSet::new(), vec![from]);
    while let Some(file) = next.pop() {
        next.extend(asked[file].iter().copied().filter(|other| reached.insert(*other)));
    }
    reached
}

/// Reads what a file names; what only its tests name is no arrow.
fn read(tokens: &TokenStream, is_outermost: bool, named: &mut Named) {
    let tokens: Vec<TokenTree> = tokens.clone().into_iter().collect();
    let (mut at, mut is_passed_on) = (0, false);
    while let Some(token) = tokens.get(at) {
        at += 1;
        match token {
            TokenTree::Punct(sign) if sign.as_char() == '#' => {
                let Some(TokenTree::Group(attribute)) = tokens.get(at) else { continue };
                at += 1;
                if attribute.stream().to_string().replace(' ', "") == "cfg(test)" {
                    at = behind_the_item(&tokens, at);
                }
            }
            TokenTree::Ident(name) if name == "pub" => {
                is_passed_on = true;
                if matches!(tokens.get(at), Some(TokenTree::Group(seen)) if seen.delimiter() == Delimiter::Parenthesis)
                {
                    at += 1;
                }
                continue;
            }
            TokenTree::Ident(name) if name == "use" => {
                let end = (at..tokens.len()).find(|end| is_sign(&tokens, *end, ';')).unwrap_or(tokens.len());
                import(&tokens[at..end], &[], is_passed_on, named);
                at = end;
            }
            TokenTree::Ident(name) => {
                let declares =
                    ["struct", "enum", "fn", "trait", "const", "static", "type", "union", "macro_rules"];
                let is_declared = is_outermost && declares.contains(&name.to_string().as_str());
                if let Some(TokenTree::Ident(own)) = tokens.get(at).filter(|_| is_declared) {
                    named.own.insert(own.to_string());
                }
                let mut path = vec![name.to_string()];
                while let (true, Some(TokenTree::Ident(next))) = (is_step(&tokens, at), tokens.get(at + 2)) {
                    path.push(next.to_string());
                    at += 3;
                }
                if path.len() > 1 {
                    named.paths.insert(path);
                }
            }
            TokenTree::Group(group) => read(&group.stream(), false, named),
            _ => {}
        }
        is_passed_on = false;
    }
}

/// Where the item ends that begins at `at`: behind its braces, or its semicolon.
fn behind_the_item(tokens: &[TokenTree], at: usize) -> usize {
    let ends = |token: &TokenTree| match token {
        TokenTree::Group(group) => group.delimiter() == Delimiter::Brace,
        TokenTree::Punct(sign) => sign.as_char() == ';',
        _ => false,
    };
    tokens.iter().skip(at).position(ends).map_or(tokens.len(), |length| at + length + 1)
}

/// The names that a `use` brings, each with its path.
fn import(tokens: &[TokenTree], stem: &[String], is_passed_on: bool, named: &mut Named) {
    let mut path = stem.to_vec();
    let mut called = None;
    let mut tokens = tokens.iter();
    while let Some(token) = tokens.next() {
        match token {
            TokenTree::Ident(name) if name == "as" => called = tokens.next().map(ToString::to_string),
            TokenTree::Ident(name) if name == "self" && !path.is_empty() => {}
            TokenTree::Ident(name) => path.push(name.to_string()),
            TokenTree::Group(group) => {
                let inner: Vec<TokenTree> = group.stream().into_iter().collect();
                for branch in
                    inner.split(|token| matches!(token, TokenTree::Punct(sign) if sign.as_char() == ','))
                {
                    if !branch.is_empty() {
                        import(branch, &path, is_passed_on, named);
                    }
                }
                return;
            }
            TokenTree::Punct(sign) if sign.as_char() == '*' => {
                named.stars.push((path, is_passed_on));
                return;
            }
            TokenTree::Punct(_) | TokenTree::Literal(_) => {}
        }
    }
    let Some(name) = called.or_else(|| path.last().cloned()) else { return };
    if is_passed_on {
        named.passed_on.insert(name.clone());
    }
    named.imports.insert(name, path);
}

fn is_sign(tokens: &[TokenTree], at: usize, wanted: char) -> bool {
    matches!(tokens.get(at), Some(TokenTree::Punct(sign)) if sign.as_char() == wanted)
}

/// Whether `::` stands at `at`.
fn is_step(tokens: &[TokenTree], at: usize) -> bool {
    is_sign(tokens, at, ':') && is_sign(tokens, at + 1, ':')
}

#[test]
fn files_do_not_import_each_other_in_a_circle() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let sources = files_under(&root).into_iter().filter(|path| !path.ends_with("src/main.rs"));
    let sources = sources.map(|path| Source::read(&path, &root));
    // Tests may ask for all.
    let is_a_test = |source: &Source| source.module().iter().any(|name| name == "tests");
    let sources: Vec<Source> = sources.filter(|source| !is_a_test(source)).collect();
    let house = House::of(&sources);
    let asked = house.asked();
    let arrows: usize = asked.values().map(BTreeSet::len).sum();
    assert!(house.files.len() > 400 && arrows > 3_000, "{} files, {arrows} arrows", house.files.len());
    let circles = circles(&asked);
    assert!(circles.is_empty(), "files import each other in a circle: {circles:#?}");
}

#[test]
fn a_circle_is_seen_however_it_is_imported() {
    let found = |files: &[(&str, &str)]| {
        let sources: Vec<Source> = files.iter().map(|(module, text)| Source::of(module, text)).collect();
        let house = House::of(&sources);
        let found = circles(&house.asked()).into_iter();
        found.map(|circle| circle.into_iter().collect::<Vec<_>>().join(" ")).collect::<Vec<_>>()
    };
    let first = ("a", "use crate::b::B; pub struct A;");
    let second = ("b", "use super::c; pub struct B(c::C);");
    assert_eq!(found(&[first, second, ("c", "pub struct C; fn f() { crate::a::A; }")]), ["a b c"]);
    assert_eq!(
        found(&[first, second, ("c", "use crate::{b::B as X, a::{self, A}}; pub struct C;")]),
        ["a b c"]
    );
    assert!(found(&[first, second, ("c", "pub struct C;")]).is_empty(), "it leads nowhere back");
    let of_a_test = "pub struct C; #[cfg(test)] mod tests { use crate::a::A; fn f() { crate::a::A; } }";
    assert!(found(&[first, second, ("c", of_a_test)]).is_empty(), "a test may ask for all");
    let pair = [("a", "use crate::b::B; pub struct A;"), ("b", "use crate::a::A; pub struct B;")];
    assert!(found(&pair).is_empty(), "two may be one idea");
    // A room that passes on is not asked itself.
    let room = ("r", "pub mod x; pub mod y; pub use x::X; pub(super) use self::y::Y;");
    let (x, y) = (("r::x", "pub struct X;"), ("r::y", "use super::X; pub struct Y(X);"));
    let above = ("z", "use crate::r::{X, Y}; pub struct Z;");
    assert!(found(&[room, x, y, above]).is_empty());
    let back = ("r::x", "pub struct X; fn f() { crate::z::Z; }");
    assert_eq!(found(&[room, back, y, above]), ["r::x r::y z"]);
    let all = ("r", "pub mod x; pub mod y; pub use x::*; pub use y::*;");
    assert_eq!(found(&[all, back, ("r::y", "use super::X; pub struct Y(X);"), above]), ["r::x r::y z"]);
    let of_a_room = ("r", "pub mod x; pub mod y; use x::X; pub fn f() -> X { y::Y }");
    let asks = ("r::y", "use super::f; pub struct Y; fn g() { super::X; }");
    assert_eq!(found(&[of_a_room, ("r::x", "use super::y::Y; pub struct X;"), asks]), ["r r::x r::y"]);
}
