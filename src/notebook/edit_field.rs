//! Which document keeps a field, and what to say of a field that none keeps.

use super::catalogue::{DocumentKind, Leaf, Node};
use super::combination::Combination;
use super::edit_error::EditError;
use super::read::nearest_name;

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
    let path: Vec<&str> = field.split('.').collect();
    match kind.catalogue().at(&path) {
        Some(node) => names_of(node),
        None => Vec::new(),
    }
}

fn names_of(node: &Node) -> Vec<String> {
    match node {
        Node::Table(table) => table.fields.iter().map(|(name, _)| name.clone()).collect(),
        Node::Named(shape) => match names_of(shape).as_slice() {
            [] => vec!["NAME".to_owned()],
            names => names.iter().map(|name| format!("NAME.{name}")).collect(),
        },
        Node::Leaf(_) | Node::Free => Vec::new(),
    }
}

fn unknown(field: &str) -> EditError {
    let help = misspelt(field).or_else(|| of_another_section(field)).unwrap_or_else(sections);
    EditError::UnknownField { field: field.to_owned(), help }
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
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    format!("Sections: {}.", names.join(", "))
}
