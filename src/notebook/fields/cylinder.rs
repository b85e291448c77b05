//! Several cylinders: what is written once holds for all of them, and what one has of its own stands under its name and holds for it.
//!
//! In a document a cylinder's own main jet is `main` under `[cylinder.right.jetting]`; everywhere else its field is
//! `right.jetting.main`. Reading (`reading/document.rs`) and writing (`editing/toml/page.rs`) are the two borders.

use std::collections::BTreeSet;

use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::names::{self, NameError};
use crate::notebook::fields::node::Node;
use crate::notebook::fields::value::FieldSet;
use crate::notebook::maps::table::CellPlace;

/// The most cylinders of one engine.
pub const MOST: usize = 6;

/// The table that holds what cylinders have of their own.
pub(in crate::notebook) const OWN: &str = "cylinder";

/// The field with the names of the cylinders.
pub const NAMES: &str = "cylinders.names";

/// The field with their number.
pub const COUNT: &str = "engine.cylinders";

/// The carburetors that several cylinders share.
pub const CARBURETORS: &str = "cylinders.shared_carburetors";

/// What several cylinders can share, with the section that is then one's for all of them.
pub(in crate::notebook) const SHARED: [(&str, &str); 2] =
    [(CARBURETORS, "jetting"), ("cylinders.shared_pipes", "pipe")];

/// The documents in which cylinders have something of their own.
const DOCUMENTS: [DocumentKind; 4] =
    [DocumentKind::Setup, DocumentKind::Engine, DocumentKind::Outing, DocumentKind::Build];

/// A field of one cylinder as its name and the field that it has of its own: `right.jetting.main` is right's `jetting.main`.
pub fn own_of(field: &str) -> Option<(&str, &str)> {
    let (name, rest) = field.split_once('.')?;
    let own = |kind: &DocumentKind| is_own_in(*kind, rest);
    (!is_taken(name) && DOCUMENTS.iter().any(own)).then_some((name, rest))
}

/// A field without the name of the cylinder whose own it is.
pub fn common(field: &str) -> &str {
    own_of(field).map_or(field, |(_, rest)| rest)
}

/// Whether a cylinder can have a field, or a part with fields, of its own.
pub fn can_be_own(field: &str) -> bool {
    DOCUMENTS.iter().any(|kind| is_own_in(*kind, field))
}

fn is_own_in(kind: DocumentKind, field: &str) -> bool {
    let own = kind.catalogue().at(&[OWN]).filter(|node| matches!(node, Node::Own(_)));
    let path: Vec<&str> = std::iter::once("").chain(field.split('.')).collect();
    let found = own.and_then(|own| own.at(&path));
    // A whole section is no field: `engine` is the engine's name.
    field != COUNT && found.is_some_and(|node| matches!(node, Node::Leaf(_)) || field.contains('.'))
}

/// Whether a name is a field or a section of a setup, an engine, an outing or a build.
fn is_taken(name: &str) -> bool {
    DOCUMENTS.iter().any(|kind| kind.catalogue().at(&[name]).is_some())
}

/// What is wrong with a cylinder's name, and the way out.
pub fn wrong_name(name: &str) -> Option<(String, String)> {
    let shown = names::visible(name);
    // "find" asks a build and a part by these.
    let all = ["all", "both", "common", "build", "part"];
    // So the cylinders of a V are called; the sprocket that is called so by its last name has no dot behind it.
    let of_a_v = ["front", "rear"];
    // The sides at which a build's squish and crank are read are no fields that are called by their last name.
    let by_last_name = DOCUMENTS.iter().filter(|kind| **kind != DocumentKind::Build);
    let is_last = by_last_name.into_iter().any(|kind| is_last_name(*kind, name)) && !of_a_v.contains(&name);
    if is_taken(name) || all.contains(&name) || is_last {
        return Some((
            format!("A cylinder cannot be called \"{shown}\": that is the name of a field."),
            "Name it by where it stands, like left and right, or by its number.".into(),
        ));
    }
    // "right" is where a cylinder stands first, and a verdict only behind an equals sign.
    let verdicts = ["lean", "slightly-lean", "rich", "slightly-rich", "sl", "sr"];
    if verdicts.contains(&name) {
        return Some((
            format!("A cylinder cannot be called \"{shown}\": that is a verdict."),
            "Name it by where it stands, like left and right, or by its number.".into(),
        ));
    }
    // A throttle is called by its first letters.
    if ["idle", "full"].iter().any(|zone| !name.is_empty() && zone.starts_with(name)) {
        return Some((
            format!("A cylinder cannot be called \"{shown}\": that is a throttle."),
            "Name it by where it stands, like left and right, or by its number.".into(),
        ));
    }
    match names::check(name) {
        Ok(_) => None,
        Err(NameError::LikeASetup(_)) if name.bytes().all(|byte| byte.is_ascii_digit()) => None,
        Err(error) => Some((error.to_string(), error.help().replace("moth-125", "left"))),
    }
}

fn is_last_name(kind: DocumentKind, name: &str) -> bool {
    kind.catalogue().leaves().iter().any(|(field, _)| field.rsplit('.').next() == Some(name))
}

/// Groups of names as their field has them: "1+2, 3+4".
pub(crate) fn groups_of(text: &str) -> Vec<Vec<String>> {
    let group = |one: &str| one.split('+').map(|name| name.trim().to_owned()).collect();
    text.split(", ").filter(|one| !one.is_empty()).map(group).collect()
}

impl FieldSet {
    /// The names of the cylinders, in their order; none where there is only one.
    pub fn cylinders(&self) -> Vec<String> {
        let names = self.text(NAMES).unwrap_or_default();
        names.split(", ").filter(|name| !name.is_empty()).map(str::to_owned).collect()
    }

    /// The groups of cylinders that share something, by its field.
    pub(in crate::notebook) fn groups(&self, shared: &str) -> Vec<Vec<String>> {
        groups_of(self.text(shared).unwrap_or_default())
    }

    /// The other cylinders that the carburetor of one feeds as well.
    pub fn sharing_with(&self, name: &str) -> Vec<String> {
        let group = self.groups(CARBURETORS).into_iter().find(|group| group.iter().any(|one| one == name));
        group.into_iter().flatten().filter(|other| other != name).collect()
    }

    /// The cylinders that have one of a section together with the one that is named: those of its carburetor, or of its pipe.
    pub(in crate::notebook) fn sharing_section(&self, name: &str, section: &str) -> Vec<String> {
        let shared = SHARED.iter().find(|(_, of)| *of == section);
        let groups = shared.map(|(shared, _)| self.groups(shared)).unwrap_or_default();
        let group = groups.into_iter().find(|group| group.iter().any(|one| one == name));
        group.unwrap_or_else(|| vec![name.to_owned()])
    }

    /// The cylinders as they are jetted, in their order: what they are called together where one carburetor feeds several, "1+2", with
    /// the one that is asked about for all of them; a cylinder with a carburetor of its own by its name.
    pub fn jetted(&self) -> Vec<(String, String)> {
        let mut all: Vec<(String, String)> = Vec::new();
        for name in self.cylinders() {
            if all.iter().any(|(known, _)| known.split('+').any(|one| one == name)) {
                continue;
            }
            let others = self.sharing_with(&name);
            let together = std::iter::once(&name).chain(&others).map(String::as_str).collect::<Vec<_>>();
            all.push((together.join("+"), name.clone()));
        }
        all
    }

    /// The values as they are for one cylinder, and beside them, under their names, what the others have of their own that its carburetor
    /// feeds: with another barrel at any of them its runs were another engine's.
    #[must_use]
    pub fn for_cylinders(&self, name: &str, others: &[String]) -> Self {
        let mut whole = self.for_cylinder(name);
        let shared = |rest: &str| rest.starts_with("jetting.");
        for (field, entry) in self.iter() {
            let own =
                own_of(field).filter(|(of, rest)| others.iter().any(|other| other == of) && !shared(rest));
            if own.is_some() {
                whole.insert(field.to_owned(), entry.clone());
            }
        }
        whole
    }

    /// The values as they are for one cylinder: what it has of its own laid over what is written for all. With a name that is none of
    /// its cylinders, and of an engine with one, what is written for all.
    #[must_use]
    pub fn for_cylinder(&self, name: &str) -> Self {
        let mut whole = Self::default();
        for (field, entry) in self.iter() {
            if own_of(field).is_none() && !is_of_several(field) {
                whole.insert(field.to_owned(), entry.clone());
            }
        }
        for (field, entry) in self.iter() {
            if let Some((_, rest)) = own_of(field).filter(|(own, _)| *own == name) {
                whole.insert(rest.to_owned(), entry.clone());
            }
        }
        whole
    }

    /// A value as it holds for its field: of a cylinder's field its own, else what is written for all.
    pub fn holding(&self, field: &str) -> Option<&crate::notebook::Value> {
        self.get(field).or_else(|| self.get(own_of(field)?.1))
    }

    /// The cylinders that have a field of their own, with it.
    pub fn owners(&self, field: &str) -> Vec<(String, &crate::notebook::Value)> {
        let names = self.cylinders();
        let own = |name: &String| Some((name.clone(), self.get(&format!("{name}.{field}"))?));
        names.iter().filter_map(own).collect()
    }

    /// The values that a cylinder runs on: without what is written for all where each has its own.
    #[must_use]
    pub fn in_use(&self) -> Self {
        let names = self.cylinders();
        let mut used = self.clone();
        let hidden = |field: &&str| !names.is_empty() && self.owners(field).len() == names.len();
        let hidden: Vec<String> =
            self.iter().map(|(field, _)| field).filter(hidden).map(str::to_owned).collect();
        for field in &hidden {
            used.take_out(field);
        }
        used
    }

    /// The values with each cylinder's under its name where any has one of its own, here or in another set of the same cylinders: what is
    /// written for all and held by none is not among them.
    #[must_use]
    pub fn of_each_where_own(&self, other: &Self) -> Self {
        let (names, others) = (self.cylinders(), other.cylinders());
        let mut whole = self.clone();
        if names.is_empty() || names.len() != others.len() || names.iter().any(|name| !others.contains(name))
        {
            return whole;
        }
        let own = self.iter().chain(other.iter()).filter_map(|(field, _)| own_of(field));
        let own: BTreeSet<&str> = own.map(|(_, field)| field).collect();
        for field in own {
            for name in &names {
                let full = format!("{name}.{field}");
                if let Some(entry) = self.entry(field).filter(|_| self.get(&full).is_none()) {
                    whole.insert(full, entry.clone());
                }
            }
            whole.take_out(field);
        }
        whole
    }

    /// The same with what another set has that was never `known`: as if that had been written down before. With another engine nothing is
    /// taken over, and a cylinder's own value is no new one where all had one.
    #[must_use]
    pub fn and_first_written(&self, other: &Self, known: &Self) -> Self {
        let mut all = self.clone();
        if self.text("engine") != other.text("engine") {
            return all;
        }
        let has = |field: &str| known.entry(field).is_some() || self.entry(field).is_some();
        let is_new = |field: &str| !has(field) && own_of(field).is_none_or(|(_, common)| !has(common));
        for (field, entry) in other.iter().filter(|(field, _)| is_new(field)) {
            all.insert(field.to_owned(), entry.clone());
        }
        all
    }

    /// What is said of several cylinders together: their names, how they stand, when they fire.
    #[must_use]
    pub fn said_of_several(&self) -> Self {
        let mut kept = Self::default();
        for (field, entry) in self.iter().filter(|(field, _)| is_of_several(field)) {
            kept.insert(field.to_owned(), entry.clone());
        }
        kept
    }

    /// The values of several cylinders as one set, each of what they can have of their own under its name; `several` is what is said
    /// of them together.
    #[must_use]
    pub fn of_cylinders<'n>(several: &Self, all: impl Iterator<Item = (&'n str, Self)>) -> Self {
        let mut whole = several.clone();
        for (name, fields) in all {
            for (field, entry) in fields.iter() {
                let kept = if can_be_own(field) { format!("{name}.{field}") } else { field.to_owned() };
                whole.insert(kept, entry.clone());
            }
        }
        whole
    }
}

/// What is said of several cylinders together, which means nothing of one.
fn is_of_several(field: &str) -> bool {
    field.starts_with("cylinders.") || field == COUNT
}

/// What is said of each of several cylinders as what is said of the machine: what is the same at all of them is said once, the rest
/// as `own` says it of the cylinder with that name. First what stands first at each of them, then what stands second.
pub fn said_of_all<T: Clone + PartialEq>(all: &[(&str, Vec<T>)], own: impl Fn(&str, &T) -> T) -> Vec<T> {
    let most = all.iter().map(|(_, said)| said.len()).max().unwrap_or_default();
    let mut whole = Vec::new();
    for (name, said) in
        (0..most).flat_map(|at| all.iter().filter_map(move |(name, said)| Some((name, said.get(at)?))))
    {
        let of_all = all.iter().all(|(_, others)| others.contains(said));
        let words = if of_all { said.clone() } else { own(name, said) };
        if !whole.contains(&words) {
            whole.push(words);
        }
    }
    whole
}

/// So many cylinders of which the same is said are named together; two are read as fast one by one.
const TOGETHER: usize = 3;

/// The same for reading: what is the same at three of them or more, and not at all, is said once with their names, "1, 2 and 4".
pub fn said_of_several<T: Clone + PartialEq>(all: &[(&str, Vec<T>)], own: impl Fn(&str, &T) -> T) -> Vec<T> {
    said_of_all(all, |name, said| {
        let with: Vec<&str> =
            all.iter().filter(|(_, others)| others.contains(said)).map(|(name, _)| *name).collect();
        if with.len() < TOGETHER { own(name, said) } else { own(&named_together(&with), said) }
    })
}

/// "1, 2 and 4".
pub fn named_together(names: &[&str]) -> String {
    match names {
        [before @ .., last] if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        few => few.join(""),
    }
}

/// "cylinder 1", "cylinders 1, 2 and 4".
pub fn cylinders_called(names: &[&str]) -> String {
    let called = if names.len() > 1 { "cylinders" } else { "cylinder" };
    format!("{called} {}", names::visible(&named_together(names)))
}

/// Whether several are named together: no name of one has a space.
pub fn are_several(names: &str) -> bool {
    names.contains(' ')
}

/// A sentence said of one cylinder, or of several that are named together.
pub fn at_cylinder(name: &str, sentence: &str) -> String {
    let cylinder = if are_several(name) { "Cylinders" } else { "Cylinder" };
    format!("{cylinder} {}: {sentence}", names::visible(name))
}

/// A cell's place behind a field, as it is typed.
pub(in crate::notebook) fn with_place(field: &str, at: Option<&CellPlace>) -> String {
    at.map_or_else(|| field.to_owned(), |at| format!("{field}@{at}"))
}
