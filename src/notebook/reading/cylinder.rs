//! Reads what cylinders have of their own: `[cylinder.right.jetting]` holds fields like `right.jetting.main`; and lays it over what is
//! written for all, so that a cylinder's setup reads like that of an engine with one.

use std::collections::BTreeMap;

use serde::Serialize;
use serde::de::DeserializeOwned;
use toml::{Table, Value};
use toml_edit::Item;

use crate::notebook::documents::build::Build;
use crate::notebook::editing::toml::page::Page;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::{Combination, SetupFiles};
use crate::notebook::fields::cylinder::{COUNT, OWN, own_of, wrong_name};
use crate::notebook::fields::finding::Code;
use crate::notebook::fields::node::{Node, Sort};
use crate::notebook::reading::walk::Walk;

/// The tables of the cylinders, each under its name.
pub(super) fn own(walk: &mut Walk<'_>, field: &str, item: &Item, shape: &Node, line: usize) {
    let Some(table) = item.as_table_like() else {
        walk.wrong_sort(field, line, "a table for each cylinder", item);
        return;
    };
    for (name, inner) in table.iter() {
        let at = walk.item_line(table, name, inner).unwrap_or(line);
        if let Some((message, help)) = wrong_name(name) {
            walk.push(Code::Cylinders, Some(at), Some(&format!("{field}.{name}")), &message, &help);
            continue;
        }
        if let Some(count) = inner.get("engine").and_then(|engine| engine.get("cylinders")) {
            let at = count.span().map_or(at, |span| walk.line_of(span.start));
            let message = format!("{name}.{COUNT} says how many cylinders one cylinder has.");
            let help = format!("Take it out; {COUNT} belongs under [engine].");
            walk.push(Code::Cylinders, Some(at), Some(&format!("{name}.{COUNT}")), &message, &help);
            continue;
        }
        walk.item(name, inner, shape, at, None);
    }
}

impl SetupFiles {
    /// The files as they are for one cylinder, for reading only: what it has of its own in the place of what is written for all. Files
    /// of an engine with one cylinder, and files that cannot be read, are as they are.
    #[must_use]
    pub fn for_cylinder(&self, name: &str) -> Self {
        let mut files = self.clone();
        let whole = Combination::read(self, false);
        let own = |kind: DocumentKind| {
            let of_it = whole.fields.iter().filter(move |(_, entry)| entry.document == kind);
            of_it.filter_map(|(field, _)| own_of(field)).filter(|(own, _)| *own == name).map(|(_, rest)| rest)
        };
        let setup = SetupFiles::setup_path(&self.bike);
        let engine = SetupFiles::engine_path(self.engine_name.as_deref().unwrap_or_default());
        for (kind, path, bytes) in [
            (DocumentKind::Setup, setup, &mut files.setup),
            (DocumentKind::Engine, engine, &mut files.engine),
        ] {
            let Some(read) = bytes.as_deref() else { continue };
            let Ok(mut page) = Page::open(&path, Some(read)) else { continue };
            for field in own(kind) {
                lay_over(&mut page, kind, (name, field));
            }
            let several = [OWN, "cylinders", COUNT].map(|field| page.take_out(field));
            if several.contains(&true) {
                *bytes = Some(page.bytes());
            }
        }
        files
    }
}

/// One own value of a cylinder in the place of what is written for all; of a map its axes with it.
fn lay_over(page: &mut Page, kind: DocumentKind, (name, field): (&str, &str)) {
    let mut fields = vec![field.to_owned()];
    if let Some(Sort::Cells(shape)) = Combination::leaf(field).map(|leaf| &leaf.sort) {
        let beside = |axis: &str| field.rsplit_once('.').map(|(above, _)| format!("{above}.{axis}"));
        fields.extend([&shape.across, &shape.down].into_iter().filter_map(|axis| beside(axis)));
    }
    for field in fields {
        let own = page.find(&format!("{OWN}.{name}.{field}"));
        let value = own.and_then(|path| page.item(&path)?.as_value().cloned());
        match value {
            // Nothing stands in the way of it: the document was read as it is.
            Some(value) => drop(page.write(&field, value, kind.catalogue())),
            None => drop(page.take_out(&field)),
        }
    }
}

impl Combination {
    /// The setup as it is for one cylinder. What is wrong with it stays so.
    #[must_use]
    pub fn for_cylinder(&self, name: &str) -> Self {
        Self {
            setup: self.setup.as_ref().and_then(|setup| laid_over(setup, name)),
            engine: self.engine.as_ref().and_then(|engine| laid_over(engine, name)),
            fields: self.fields.for_cylinder(name),
            findings: self.findings.clone(),
        }
    }

    /// The same with what others have of their own that share its carburetor.
    #[must_use]
    pub fn for_cylinders(&self, name: &str, others: &[String]) -> Self {
        Self { fields: self.fields.for_cylinders(name, others), ..self.for_cylinder(name) }
    }
}

impl Build {
    /// The build as it is for one cylinder: what was measured there laid over what is written for all.
    #[must_use]
    pub fn for_cylinder(&self, name: &str) -> Self {
        let of_all = || Self { cylinder: BTreeMap::new(), ..self.clone() };
        let own = self.cylinder.contains_key(name).then(|| laid_over(self, name)).flatten();
        own.unwrap_or_else(of_all)
    }
}

/// A document with what a cylinder has of its own in the place of what is written for all.
fn laid_over<T: Serialize + DeserializeOwned>(document: &T, name: &str) -> Option<T> {
    let mut table = Table::try_from(document).ok()?;
    table.remove("cylinders");
    if let Some(Value::Table(engine)) = table.get_mut("engine") {
        engine.remove("cylinders");
    }
    if let Some(Value::Table(mut own)) = table.remove(OWN)
        && let Some(Value::Table(own)) = own.remove(name)
    {
        lay(&mut table, own);
    }
    table.try_into().ok()
}

fn lay(common: &mut Table, own: Table) {
    // A map is its axes and its cells.
    if ["advance", "fuel"].iter().any(|cells| own.contains_key(*cells)) {
        for axis in ["rpm", "throttle"] {
            common.remove(axis);
        }
    }
    for (key, value) in own {
        match (common.get_mut(&key), value) {
            (Some(Value::Table(common)), Value::Table(own)) => lay(common, own),
            (_, value) => drop(common.insert(key, value)),
        }
    }
}
