//! Which document keeps a field, and what to say of a field that none keeps.

use crate::notebook::editing::error::EditError;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::Combination;
use crate::notebook::fields::cylinder::{common, own_of};
use crate::notebook::fields::meaning::Deed;
use crate::notebook::fields::node::{Leaf, MapShape, Node, Sort};
use crate::notebook::fields::path::nearest_name;

/// Where a field of a setup is kept.
#[derive(Debug, Clone, Copy)]
pub(super) enum Home {
    /// A single value in a document.
    Leaf(DocumentKind, &'static Leaf),
    /// A named part with all its values: a window, a section of the pipe.
    Part(DocumentKind),
    /// The free part of the setup file.
    Free,
}

impl Home {
    /// The document.
    pub(super) fn document(self) -> DocumentKind {
        match self {
            Self::Leaf(kind, _) | Self::Part(kind) => kind,
            Self::Free => DocumentKind::Setup,
        }
    }
}

const KINDS: [DocumentKind; 2] = [DocumentKind::Setup, DocumentKind::Engine];

/// Finds a field in the catalogue.
pub(super) fn home(field: &str) -> Result<Home, EditError> {
    let path: Vec<&str> = field.split('.').collect();
    if path.first() == Some(&"extra") {
        return if path.len() > 1 { Ok(Home::Free) } else { Err(several(field, &["NAME".to_owned()])) };
    }
    if let Some((kind, leaf)) = Combination::home(field) {
        return Ok(Home::Leaf(kind, leaf));
    }
    if let Some((name, rest)) = own_of(field) {
        return match home(rest) {
            Ok(Home::Leaf(..) | Home::Free) => Err(unknown(field)),
            Err(EditError::NotOneValue { names, .. }) => Err(several(&format!("{name}.{rest}"), &names)),
            part => part,
        };
    }
    for kind in KINDS {
        let named = path.split_last().and_then(|(_, above)| kind.catalogue().at(above));
        if matches!(named, Some(Node::Named(shape)) if matches!(**shape, Node::Table(_))) {
            return Ok(Home::Part(kind));
        }
        if matches!(kind.catalogue().at(&path), Some(Node::Table(_) | Node::Named(_))) {
            return Err(several(field, &names_in(kind, field)));
        }
    }
    Err(unknown(field))
}

fn several(field: &str, names: &[String]) -> EditError {
    EditError::NotOneValue { field: field.to_owned(), names: names.to_vec() }
}

/// The names inside a table of a document, NAME standing for one of the user's own.
pub(super) fn names_in(kind: DocumentKind, field: &str) -> Vec<String> {
    let path: Vec<&str> = common(field).split('.').collect();
    match kind.catalogue().at(&path) {
        Some(node) => names_of(node),
        None => Vec::new(),
    }
}

fn names_of(node: &Node) -> Vec<String> {
    match node {
        Node::Table(table) => {
            let own = |node: &Node| matches!(node, Node::Own(_));
            table.fields.iter().filter(|(_, node)| !own(node)).map(|(name, _)| name.clone()).collect()
        }
        Node::Named(shape) => match names_of(shape).as_slice() {
            [] => vec!["NAME".to_owned()],
            names => names.iter().map(|name| format!("NAME.{name}")).collect(),
        },
        Node::Leaf(_) | Node::Free | Node::Own(_) => Vec::new(),
    }
}

fn unknown(field: &str) -> EditError {
    let help = whose(field)
        .or_else(|| of_a_named_part(field))
        .or_else(|| by_its_name(field))
        .or_else(|| misspelt(field))
        .or_else(|| of_another_section(field))
        .unwrap_or_else(sections);
    EditError::UnknownField { field: field.to_owned(), help }
}

/// Whose an engine is stands in its file, and is no part of a setup.
fn whose(field: &str) -> Option<String> {
    (field == "owner")
        .then(|| "Whose an engine is, is said of the engine and is no part of a setup.".to_owned())
}

/// The table of named parts was left out: `ports.exhaust.top` is `ports.windows.exhaust.top`.
fn of_a_named_part(field: &str) -> Option<String> {
    let (section, rest) = field.split_once('.')?;
    KINDS.into_iter().find_map(|kind| {
        let Some(Node::Table(table)) = kind.catalogue().at(&[section]) else {
            return None;
        };
        let meant = format!("{section}.{}.{rest}", table.named_parts()?);
        kind.catalogue().leaf(&meant).map(|_| format!("Did you mean {meant}?"))
    })
}

/// A part that a field belongs to, with a name of the user's own: a window, a section of the pipe.
#[derive(Debug)]
pub(super) struct PartOf<'f> {
    /// The document.
    pub(super) kind: DocumentKind,
    /// The table of the parts: ports.windows.
    pub(super) above: String,
    /// The part's own name.
    pub(super) name: &'f str,
    /// The field in it.
    pub(super) field: &'f str,
    /// The field that tells what a part is: the first of them in the catalogue.
    pub(super) telling: &'static str,
}

/// The part that a field is kept in, if it is kept in one.
pub(super) fn part_of(field: &str) -> Option<PartOf<'_>> {
    let path: Vec<&str> = field.split('.').collect();
    let skipped = usize::from(own_of(field).is_some());
    let [above @ .., name, own] = path.as_slice() else {
        return None;
    };
    let inner = above.get(skipped..)?;
    KINDS.into_iter().find_map(|kind| match kind.catalogue().at(inner)? {
        Node::Named(shape) => match &**shape {
            Node::Table(table) => {
                let telling = table.fields.first().map(|(name, _)| name.as_str())?;
                Some(PartOf { kind, above: above.join("."), name, field: own, telling })
            }
            _ => None,
        },
        _ => None,
    })
}

/// Letters that may be wrong, missing, one too many or exchanged in a misspelt name.
const SLIPS: usize = 2;

/// The name that another one is a misspelling of. Names that only differ in their numbers, like diffuser-1 and diffuser-2,
/// are two names.
pub(super) fn misspelling_of<'n>(typed: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let letters = |name: &str| name.chars().filter(|letter| !letter.is_ascii_digit()).collect::<String>();
    known
        .filter(|name| letters(name) != letters(typed))
        .map(|name| (strsim::osa_distance(typed, name), name))
        .filter(|(slips, name)| *slips <= SLIPS && 2 * slips < name.chars().count())
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, name)| name)
}

/// What is called by the name that stands in lists: "rear sprocket" is gearing.rear.
fn by_its_name(field: &str) -> Option<String> {
    let typed = field.to_lowercase().replace(['_', '-'], " ");
    let named = Combination::meanings().iter().filter_map(|(field, meaning)| match &meaning.hands.deed {
        Deed::Set(name) | Deed::Fit(name) | Deed::ScrewIn(name) | Deed::Load(name) => Some((field, name)),
        Deed::Nothing | Deed::NumberedBy(_) => None,
    });
    let named: Vec<_> = named.filter(|(_, name)| !name.ends_with('*')).collect();
    let whole = named.iter().find(|(_, name)| name.to_lowercase() == typed);
    let word = || {
        let mut with =
            named.iter().filter(|(_, name)| name.to_lowercase().split(' ').any(|word| word == typed));
        with.next().filter(|_| with.next().is_none())
    };
    whole.or_else(word).map(|(field, name)| format!("The {name} is {field}."))
}

/// The section is known, something in it is not: the nearest name, and all that are known there.
fn misspelt(field: &str) -> Option<String> {
    let path: Vec<&str> = field.split('.').collect();
    let known = |kind: DocumentKind| (1..path.len()).rev().find(|length| is_table(kind, &path[..*length]));
    let (kind, length) =
        KINDS.into_iter().filter_map(|kind| Some((kind, known(kind)?))).max_by_key(|(_, length)| *length)?;
    let above = path[..length].join(".");
    let names = names_in(kind, &above);
    let near = nearest_name(path[length], names.iter().map(String::as_str))
        .map(|near| format!("Did you mean {above}.{near}? "));
    Some(format!("{}Fields of {above}: {}.", near.unwrap_or_default(), names.join(", ")))
}

fn is_table(kind: DocumentKind, path: &[&str]) -> bool {
    matches!(kind.catalogue().at(path), Some(Node::Table(_) | Node::Named(_)))
}

/// The section was left out or mistyped: a field of that name elsewhere.
fn of_another_section(field: &str) -> Option<String> {
    let last = field.rsplit('.').next().unwrap_or(field);
    let leaves: Vec<String> =
        KINDS.into_iter().flat_map(|kind| kind.catalogue().leaves()).map(|(path, _)| path).collect();
    let last_of = |path: &str| path.rsplit('.').next().unwrap_or_default().to_owned();
    // A last name alone is held against last names.
    let lasts: Vec<String> = leaves.iter().map(|path| last_of(path)).collect();
    let alone = !field.contains('.') && !lasts.iter().any(|name| name == last);
    let last = Some(lasts.iter().map(String::as_str))
        .filter(|_| alone)
        .and_then(|lasts| nearest_name(last, lasts))
        .unwrap_or(last);
    let own = |path: &&String| path.rsplit('.').next() == Some(last);
    let exact: Vec<&str> = leaves.iter().filter(own).map(String::as_str).take(3).collect();
    let meant = if exact.is_empty() {
        nearest_name(field, leaves.iter().map(String::as_str))?.to_owned()
    } else {
        exact.join(" or ")
    };
    Some(format!("Did you mean {}? {}", meant.replace('*', "NAME"), sections()))
}

fn sections() -> String {
    let mut names: Vec<String> = Vec::new();
    for kind in KINDS {
        for name in names_of(kind.catalogue()) {
            // Whose an engine is, is no part of a setup.
            if name != "owner" && !names.contains(&name) {
                names.push(name);
            }
        }
    }
    format!("Sections: {}.", names.join(", "))
}

/// Which fields hold the axes of the map at `field`, and what its cells may be.
pub(in crate::notebook) fn shape_of(field: &str) -> Result<&'static MapShape, EditError> {
    match home(field)? {
        Home::Leaf(_, leaf) => match &leaf.sort {
            Sort::Cells(shape) => Ok(shape),
            _ => Err(EditError::NotAMap { field: field.to_owned() }),
        },
        _ => Err(EditError::NotAMap { field: field.to_owned() }),
    }
}
