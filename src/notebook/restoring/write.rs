//! Writes an earlier setup's values into the files as they are now: each as the earlier file wrote it, in the place and with
//! the comments of the present one.

use toml_edit::Value as TomlValue;

use crate::notebook::comparing::fields::Change;
use crate::notebook::editing::error::EditError;
use crate::notebook::editing::files::{close, open};
use crate::notebook::editing::map::cell::beside;
use crate::notebook::editing::toml::page::Page;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::{Combination, SetupFiles};
use crate::notebook::fields::cylinder::{OWN, own_of};
use crate::notebook::fields::node::{MapShape, Sort};
use crate::notebook::restoring::plan::RestorePlan;

/// Puts back what a plan says. When another engine goes in, `target_engine_now` is that engine's file as it is now; where
/// that is gone, the file comes back as it was.
pub fn restore(
    now: &SetupFiles,
    target: &SetupFiles,
    target_engine_now: Option<&[u8]>,
    plan: &RestorePlan,
) -> Result<SetupFiles, EditError> {
    let mut files = now.clone();
    if let Some(name) = &plan.engine {
        files.engine_name = Some(name.clone());
        files.engine = target_engine_now.map(<[u8]>::to_vec).or_else(|| target.engine.clone());
    }
    for kind in [DocumentKind::Setup, DocumentKind::Engine] {
        let changes: Vec<&Change> =
            plan.applied.iter().filter(|change| kept_in(&change.field) == kind).collect();
        if let Some(first) = changes.first() {
            let mut copy = Copy {
                page: open(&files, kind, &first.field)?,
                source: open(target, kind, &first.field)?,
                kind,
            };
            copy.all(&changes)?;
            close(&mut files, kind, &copy.page);
        }
    }
    for change in &plan.applied {
        bring_map_file(&mut files, target, change);
    }
    Ok(files)
}

/// What is not in the catalogue is in the free part, and that is in the setup file.
fn kept_in(field: &str) -> DocumentKind {
    Combination::home(field).map_or(DocumentKind::Setup, |(kind, _)| kind)
}

fn bring_map_file(files: &mut SetupFiles, target: &SetupFiles, change: &Change) {
    let Some(crate::notebook::Value::Map(map)) = &change.new else {
        return;
    };
    let Some((name, bytes)) = map.file.as_ref().and_then(|name| Some((name, target.maps.get(name)?))) else {
        return;
    };
    files.maps.insert(name.clone(), bytes.clone());
}

/// One file that is written and the earlier one that is copied from.
struct Copy {
    page: Page,
    source: Page,
    kind: DocumentKind,
}

impl Copy {
    /// Values first, so that a table that loses one value and gains another keeps its place. Where a value and a table
    /// swapped places, the value has to wait until what is in its way was taken out.
    fn all(&mut self, changes: &[&Change]) -> Result<(), EditError> {
        let comes = |change: &&Change| {
            let is_had = change.new.is_some();
            with_axes(&change.field).into_iter().map(move |field| (field, is_had)).collect::<Vec<_>>()
        };
        let fields: Vec<(String, bool)> = changes.iter().flat_map(comes).collect();
        let (present, gone): (Vec<_>, Vec<_>) =
            fields.into_iter().partition(|(field, is_had)| *is_had && self.wanted(field).is_some());
        let names = |fields: Vec<(String, bool)>| fields.into_iter().map(|(field, _)| field).collect();
        let (present, gone): (Vec<String>, Vec<String>) = (names(present), names(gone));
        let blocked: Vec<String> = present.into_iter().filter(|field| self.put(field).is_err()).collect();
        for field in gone {
            if let Some(path) = self.page.find(&field) {
                self.page.remove(&path);
            }
        }
        blocked.iter().try_for_each(|field| self.put(field))
    }

    /// A value as the earlier file has it, with its place; a cylinder's that was written for all then becomes its own.
    fn wanted(&self, field: &str) -> Option<(Vec<String>, TomlValue)> {
        let value = |path: &[String]| Some(self.source.item(path)?.as_value()?.clone());
        if let Some(path) = self.source.find(field) {
            return Some((path.clone(), value(&path)?));
        }
        let (name, of_all) = own_of(field)?;
        let path = self.source.find(of_all)?;
        let own = [OWN.to_owned(), name.to_owned()].into_iter().chain(path.iter().cloned()).collect();
        Some((own, value(&path)?))
    }

    fn put(&mut self, field: &str) -> Result<(), EditError> {
        let Some((path, value)) = self.wanted(field) else {
            return Ok(());
        };
        let path = self.page.find(field).unwrap_or(path);
        self.page.set(&path, value, self.kind.catalogue())
    }
}

/// A map is its axes and its cells; any other field is itself.
fn with_axes(field: &str) -> Vec<String> {
    let axes = |shape: &MapShape| {
        [beside(field, &shape.across), beside(field, &shape.down), field.to_owned()].to_vec()
    };
    match Combination::leaf(field).map(|leaf| &leaf.sort) {
        Some(Sort::Cells(shape)) => axes(shape),
        _ => vec![field.to_owned()],
    }
}
