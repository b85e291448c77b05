//! Setting and taking out single values of a build or a part, checked as they would be when read from the file.

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::toml::page::Page;
use crate::notebook::editing::value::{checked, refuse_step};
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::cylinder::{OWN, own_of};
use crate::notebook::fields::date::When;
use crate::notebook::fields::names;
use crate::notebook::fields::node::{Node, Sort};
use crate::notebook::fields::path::nearest_name;
use crate::notebook::fields::value::FieldSet;

/// A value typed as FIELD=VALUE; without a value the field is taken out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entered {
    /// The dotted field.
    pub field: String,
    /// The value as typed.
    pub value: Option<String>,
}

impl Entered {
    /// Reads FIELD=VALUE.
    pub fn parse(typed: &str) -> Result<Self, EditError> {
        let (field, value) =
            typed.split_once('=').ok_or_else(|| EditError::NotAnAssignment { typed: typed.to_owned() })?;
        Ok(Self::new(field.trim(), Some(value.trim()).filter(|value| !value.is_empty())))
    }

    /// A field with its value, or without one to take it out.
    pub fn new(field: &str, value: Option<&str>) -> Self {
        Self { field: field.to_owned(), value: value.map(str::to_owned) }
    }
}

/// How a document is written to: which kind it is, what it holds now, and whether bare lengths are refused.
#[derive(Clone, Copy)]
pub struct PaperOptions<'a> {
    /// The kind of document.
    pub kind: DocumentKind,
    /// Its values as they stand.
    pub now: &'a FieldSet,
    /// Whether bare lengths are refused.
    pub refuse_bare_lengths: bool,
    /// The offset of a date that is typed without one.
    pub here: jiff::tz::Offset,
}

/// Writes what was entered; comments and the order of the file stay.
pub fn enter(page: &mut Page, entered: &[Entered], options: PaperOptions<'_>) -> Result<(), EditError> {
    for one in entered {
        match &one.value {
            Some(value) => set(page, &one.field, value, options)?,
            None if page.take_out(&one.field) => {}
            None => return Err(EditError::NothingThere { field: one.field.clone() }),
        }
    }
    Ok(())
}

fn set(page: &mut Page, field: &str, typed: &str, options: PaperOptions<'_>) -> Result<(), EditError> {
    let known = options.kind.catalogue();
    let own = own_of(field).map(|(_, own)| own).filter(|_| known.leaf(field).is_none());
    let of_one = own.unwrap_or(field);
    let Some(leaf) = known.leaf(of_one) else {
        return Err(unknown(options.kind, field));
    };
    own_names_are_names(known, &of_one.split('.').collect::<Vec<_>>())?;
    let now = options.now.get(field);
    // What a gauge shows has its sign, and what was read at an outing is no step.
    if options.kind == DocumentKind::Part {
        refuse_step(field, typed, leaf, now)?;
    }
    let value = match leaf.sort {
        Sort::Date => {
            let date = When::parse(typed, options.here)
                .map_err(|error| EditError::BadDate { field: field.to_owned(), error })?;
            toml_edit::Value::from(date.to_string())
        }
        _ => checked(field, typed, leaf, now, options.refuse_bare_lengths)?,
    };
    page.write(field, value, options.kind.catalogue())
}

/// Whether what stands before a field may be a cylinder's name: behind it is a section of the document.
fn may_be_own(kind: DocumentKind, (name, own): (&str, &str)) -> bool {
    let known = |section: &str| kind.catalogue().at(&[section]).is_some();
    known(OWN) && !known(name) && own.split('.').next().is_some_and(known)
}

/// Names of the tuner's own inside a field are kept to what a name may be.
fn own_names_are_names(node: &Node, path: &[&str]) -> Result<(), EditError> {
    let mut node = Some(node);
    for name in path {
        if let Some(Node::Named(_)) = node {
            names::check(name).map_err(|_| EditError::BadName { field: path.join(".") })?;
        }
        node = node.and_then(|node| node.at(&[name]));
    }
    Ok(())
}

fn unknown(kind: DocumentKind, field: &str) -> EditError {
    // Behind the name of a cylinder stands what all have.
    if let Some((name, own)) = field.split_once('.').filter(|typed| may_be_own(kind, *typed)) {
        // What there is one of has no name before it.
        if kind.catalogue().leaf(own).is_some() {
            let near = Some(own.to_owned());
            return EditError::UnknownPaperField { field: field.to_owned(), kind, near };
        }
        return match unknown(kind, own) {
            EditError::UnknownPaperField { kind, near, .. } => EditError::UnknownPaperField {
                field: field.to_owned(),
                kind,
                near: near.map(|near| format!("{name}.{near}")),
            },
            EditError::NotOneValue { names, .. } => EditError::NotOneValue { field: field.to_owned(), names },
            other => other,
        };
    }
    // "cylinder.bore": what is read of each cylinder stands behind its name, or alone where there is one.
    let of_cylinders = field.split_once('.').filter(|(first, _)| *first == OWN).map(|(_, rest)| rest);
    let is_section = |rest: &&str| kind.catalogue().at(&[rest.split('.').next().unwrap_or(rest)]).is_some();
    if let Some(rest) = of_cylinders.filter(is_section) {
        return unknown(kind, rest);
    }
    let path: Vec<&str> = field.split('.').collect();
    let leaves = kind.catalogue().leaves();
    if matches!(kind.catalogue().at(&path), Some(Node::Table(_) | Node::Named(_))) {
        let inside = format!("{field}.");
        let names = leaves.iter().filter_map(|(known, _)| {
            let shown = known.replace('*', "NAME");
            shown.strip_prefix(&inside).map(str::to_owned)
        });
        return EditError::NotOneValue { field: field.to_owned(), names: names.collect() };
    }
    // The tuner's own names are put where the stars are, so that a slip behind them is found.
    let own = |known: &str| {
        let wanted: Vec<&str> = known.split('.').collect();
        let names = wanted.iter().enumerate().map(|(index, name)| match *name {
            "*" => path.get(index).copied().unwrap_or("NAME"),
            other => other,
        });
        names.collect::<Vec<_>>().join(".")
    };
    let known: Vec<String> = leaves.iter().map(|(name, _)| own(name)).collect();
    let near = nearest_name(field, known.iter().map(String::as_str));
    EditError::UnknownPaperField { field: field.to_owned(), kind, near: near.map(str::to_owned) }
}
