//! Rules between fields: what must stand together and what cannot.

pub(super) mod build;
pub(super) mod cylinders;
pub(super) mod engine;
pub(super) mod part;
pub(super) mod place;
pub(super) mod shares;

use std::path::{Path, PathBuf};

use crate::notebook::documents::air_entry::AirEntry;
use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::path::is_explained;
use crate::notebook::fields::value::FieldSet;

/// Looks at the values of a setup file or an engine file; `found` is what each field's own check has found before.
pub fn of_setup(file: &Path, fields: &FieldSet, found: &[Finding]) -> Vec<Finding> {
    let mut rules = Rules { file: file.to_owned(), fields, found, findings: Vec::new() };
    rules.numbered_jets();
    rules.ignition();
    rules.fuel_map();
    rules.one_fuel_system();
    rules.windows();
    rules.geometry();
    rules.cylinder_names();
    rules.pair("jetting.power_jet_from", "jetting.power_jet_until");
    rules.pair("ports.power_valve.opens", "ports.power_valve.open");
    rules.findings
}

/// Looks at a reading of the air; `at` is the table it stands in, such as "air".
pub fn of_air(file: &Path, fields: &FieldSet, at: &str, air: &AirEntry) -> Option<Finding> {
    let error = air.air().err()?;
    let start = format!("{at}.");
    let field = format!("{start}{}", error.field());
    let first =
        || fields.iter().filter(|(name, _)| name.starts_with(&start)).map(|(_, entry)| entry.line).min();
    let line = fields.entry(&field).map(|entry| entry.line).or_else(first);
    let place = Place { file: file.to_owned(), line, field: Some(field) };
    Some(Finding::new(Code::BadAir, place, &error.to_string(), error.help(str::to_owned)))
}

pub(super) struct Rules<'a> {
    file: PathBuf,
    pub(super) fields: &'a FieldSet,
    found: &'a [Finding],
    findings: Vec<Finding>,
}

impl<'a> Rules<'a> {
    /// Rules for a document whose fields have been read.
    pub(super) fn of(file: &Path, fields: &'a FieldSet) -> Self {
        Self { file: file.to_owned(), fields, found: &[], findings: Vec::new() }
    }

    pub(super) fn into_findings(self) -> Vec<Finding> {
        self.findings
    }
}

impl Rules<'_> {
    pub(super) fn find(&mut self, code: Code, field: &str, at: &str, message: &str, help: &str) {
        if code == Code::MissingField && is_explained(field, self.found) {
            return;
        }
        let line = self.fields.entry(at).map(|entry| entry.line);
        let place = Place { file: self.file.clone(), line, field: Some(field.to_owned()) };
        self.findings.push(Finding::new(code, place, message, help));
    }

    fn numbered_jets(&mut self) {
        for jet in ["main", "pilot", "power_jet", "air_jet"] {
            let field = format!("jetting.{jet}");
            let numbered = format!("{field}_numbered_by");
            if self.fields.get(&field).is_some() && self.fields.get(&numbered).is_none() {
                let message = format!(
                    "{numbered} is missing: a {} number means little without it.",
                    jet.replace('_', " ")
                );
                self.find(Code::MissingField, &numbered, &field, &message, &format!("Add \"flow\" or \"bore\" (hundredths of a millimetre) to the same change, like {numbered}=bore: confusing the two doubles or halves every correction."));
            }
        }
    }

    fn ignition(&mut self) {
        if self.fields.map("ignition.advance").is_none() {
            return;
        }
        let kind = self.fields.text("ignition.map_kind");
        if kind.is_none() {
            let message = "ignition.map_kind is missing: the map's angles can be read two ways.".to_owned();
            self.find(Code::MissingField, "ignition.map_kind", "ignition.advance", &message, "Add it as \"absolute\" (degrees before top dead centre) or \"relative\" (added to the base setting): adding the wrong way doubles the advance.");
        }
        if kind == Some("absolute") && self.fields.get("ignition.assumed_base").is_none() {
            let message =
                "ignition.assumed_base is missing: an absolute map is true only at the base it assumes."
                    .to_owned();
            self.find(
                Code::MissingField,
                "ignition.assumed_base",
                "ignition.map_kind",
                &message,
                "Add the base setting, in degrees, that the map was made for.",
            );
        }
    }

    fn fuel_map(&mut self) {
        if self.fields.map("injection.fuel").is_some() && self.fields.get("injection.fuel_map_unit").is_none()
        {
            let message = "injection.fuel_map_unit is missing: the cells mean nothing without it.".to_owned();
            self.find(
                Code::MissingField,
                "injection.fuel_map_unit",
                "injection.fuel",
                &message,
                "Add it as \"ms\", \"mg\" or \"percent\".",
            );
        }
    }

    fn one_fuel_system(&mut self) {
        let first = |section: &str| {
            let start = format!("{section}.");
            self.fields.iter().find(|(field, _)| field.starts_with(&start)).map(|(field, _)| field.to_owned())
        };
        if let (Some(_), Some(field)) = (first("jetting"), first("injection")) {
            let message = "The setup has both a carburetor and fuel injection.".to_owned();
            self.find(
                Code::Contradiction,
                "injection",
                &field,
                &message,
                "Keep [jetting] or [injection], whichever is on the bike.",
            );
        }
    }

    fn windows(&mut self) {
        let names: Vec<String> = self
            .fields
            .iter()
            .filter_map(|(field, _)| {
                field.strip_prefix("ports.windows.")?.strip_suffix(".top").map(str::to_owned)
            })
            .collect();
        for name in names {
            let top = format!("ports.windows.{name}.top");
            for (lower, what) in
                [("floor", "floor"), ("top_valve_shut", "upper edge with the power valve shut")]
            {
                let field = format!("ports.windows.{name}.{lower}");
                let (Some(upper), Some(below)) = (self.fields.quantity(&top), self.fields.quantity(&field))
                else {
                    continue;
                };
                if below.si() < upper.si() {
                    let message = format!(
                        "The {what} of {name} ({}) lies above its upper edge ({}).",
                        below.with_unit(),
                        upper.with_unit()
                    );
                    self.find(
                        Code::Contradiction,
                        &field,
                        &field,
                        &message,
                        "Both are measured from the deck downwards; the lower one has the larger number.",
                    );
                }
            }
        }
    }

    fn pair(&mut self, low: &str, high: &str) {
        let (Some(first), Some(second)) = (self.fields.quantity(low), self.fields.quantity(high)) else {
            return;
        };
        if second.si() < first.si() {
            let message = format!("{high} ({}) is below {low} ({}).", second.with_unit(), first.with_unit());
            self.find(Code::Contradiction, high, high, &message, "Check which of the two was mistyped.");
        }
    }
}
