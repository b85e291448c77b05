//! Rules of engines with several cylinders: their names, and what one has of its own beside what is written for all.

use std::collections::BTreeSet;
use std::path::Path;

use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::{Combination, SetupFiles};
use crate::notebook::fields::cylinder::{CARBURETORS, COUNT, MOST, NAMES, SHARED, own_of, wrong_name};
use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::meaning::Advised;
use crate::notebook::fields::value::{FieldSet, Value};
use crate::notebook::rules::{Rules, of_setup};
use crate::quantity::{Quantity, nearly_equal};

const STROKE: &str = "engine.stroke";
const FIRES_AT: &str = "cylinders.fires_at.";

impl Rules<'_> {
    /// The names of an engine's cylinders, and how many there are.
    pub(super) fn cylinder_names(&mut self) {
        let names = self.fields.cylinders();
        self.count(&names);
        if self.fields.get(NAMES).is_none() {
            return;
        }
        if !(2..=MOST).contains(&names.len()) {
            let message = format!("{NAMES} has {} names.", names.len());
            let help = format!("Name 2 to {MOST} cylinders; an engine with one needs no [cylinders].");
            self.find(Code::Cylinders, NAMES, NAMES, &message, &help);
            return;
        }
        if let Some((message, help)) = names.iter().find_map(|name| wrong_name(name)) {
            self.find(Code::Cylinders, NAMES, NAMES, &message, &help);
        }
        let mut known = BTreeSet::new();
        if let Some(twice) = names.iter().find(|name| !known.insert(name.as_str())) {
            let message = format!("Two cylinders are called {twice}.");
            self.find(Code::Cylinders, NAMES, NAMES, &message, "Give each a name of its own.");
        }
        self.shared(&names);
        let angles: Vec<(String, f64)> = self
            .fields
            .iter()
            .filter_map(|(field, entry)| Some((field.to_owned(), entry.value.quantity()?.in_unit("deg")?)))
            .filter(|(field, _)| field.starts_with(FIRES_AT))
            .collect();
        for (field, angle) in angles {
            let name = field.strip_prefix(FIRES_AT).unwrap_or_default();
            if !names.iter().any(|known| known == name) {
                let (message, help) = unknown(name, &names);
                self.find(Code::Cylinders, &field, &field, &message, &help);
            } else if !(0.0..=360.0).contains(&angle) {
                let message = format!("{field} cannot be {angle}.");
                self.find(Code::OutOfRange, &field, &field, &message, "Allowed: 0 to 360 deg.");
            }
        }
    }

    /// What several cylinders share is said of cylinders that there are, each of one group.
    fn shared(&mut self, names: &[String]) {
        for (field, _) in SHARED {
            let groups = self.fields.groups(field);
            let mut known = BTreeSet::new();
            for group in &groups {
                if let Some(stranger) = group.iter().find(|name| !names.contains(name)) {
                    let (message, help) = unknown(stranger, names);
                    self.find(Code::Cylinders, field, field, &message, &help);
                } else if group.len() < 2 {
                    let message = format!("{field} says that {} shares with nobody.", group.join(""));
                    let help = "Join those that share by +, like \"left+right\"; one that has its own needs no entry.";
                    self.find(Code::Cylinders, field, field, &message, help);
                } else if let Some(twice) = group.iter().find(|name| !known.insert((*name).clone())) {
                    let message = format!("{field} names {twice} twice.");
                    self.find(
                        Code::Cylinders,
                        field,
                        field,
                        &message,
                        "A cylinder stands in one group at most.",
                    );
                }
            }
        }
    }

    fn count(&mut self, names: &[String]) {
        let Some(count) = self.fields.quantity(COUNT) else { return };
        let named = f64::from(u32::try_from(names.len().max(1)).unwrap_or(u32::MAX));
        if nearly_equal(count.si(), named) {
            return;
        }
        let (message, help) = if names.is_empty() {
            (
                format!("{COUNT} is {}, and the cylinders have no names.", count.text()),
                format!("Name them: {NAMES} = [\"left\", \"right\"], under [cylinders]."),
            )
        } else {
            let message = format!(
                "{COUNT} is {}, and {NAMES} has {}: {}.",
                count.text(),
                names.len(),
                names.join(", ")
            );
            (message, "Correct one of the two; the number may be left out.".to_owned())
        };
        self.find(Code::Cylinders, COUNT, COUNT, &message, &help);
    }
}

fn unknown(name: &str, names: &[String]) -> (String, String) {
    match names {
        [] => (
            format!("There is no cylinder \"{name}\": this engine has one."),
            format!("Where it has several, name them in its engine.toml: {NAMES} = [\"left\", \"right\"]."),
        ),
        names => {
            (format!("There is no cylinder \"{name}\"."), format!("The cylinders are {}.", names.join(", ")))
        }
    }
}

/// What a setup and its engine say of cylinders together. Looked at where each file is sound by itself.
pub(in crate::notebook) fn of_combination(files: &SetupFiles, whole: &Combination) -> Vec<Finding> {
    let owned: BTreeSet<&str> =
        whole.fields.iter().filter_map(|(field, _)| own_of(field)).map(|(name, _)| name).collect();
    if !whole.findings.is_empty() || (owned.is_empty() && whole.fields.get(NAMES).is_none()) {
        return Vec::new();
    }
    // Without an engine nobody can say which cylinders there are.
    let names = whole.fields.cylinders();
    if files.engine.is_some()
        && let Some(stranger) = owned.iter().find(|name| !names.iter().any(|known| known == *name))
    {
        let (message, help) = unknown(stranger, &names);
        let own = |field: &&str| own_of(field).is_some_and(|(name, _)| name == *stranger);
        let field = whole.fields.iter().map(|(field, _)| field).find(own).unwrap_or_default();
        return vec![finding(files, &whole.fields, field, &message, &help)];
    }
    let mut found = left_out(files, &whole.fields, &names);
    found.extend(two_of_what_is_one(files, &whole.fields));
    found.extend(two_strokes(files, &whole.fields, &names));
    found.extend(names.iter().filter_map(|name| without_kind(files, &whole.fields, name)));
    for name in &names {
        found.extend(of_one(files, &whole.fields, name, &found));
    }
    found
}

/// A window that only one cylinder has says what it does.
fn without_kind(files: &SetupFiles, fields: &FieldSet, name: &str) -> Option<Finding> {
    let whole = fields.for_cylinder(name);
    let (field, window) = whole.iter().find_map(|(field, _)| {
        let (window, _) = field.strip_prefix("ports.windows.")?.split_once('.')?;
        whole
            .get(&format!("ports.windows.{window}.kind"))
            .is_none()
            .then(|| (field.to_owned(), window.to_owned()))
    })?;
    let message = format!("The window {window} of {name} does not say what it does.");
    let help = format!(
        "Give {name}.ports.windows.{window}.kind, or correct the name where it is one that all have."
    );
    Some(finding(files, fields, &format!("{name}.{field}"), &message, &help))
}

fn finding(files: &SetupFiles, fields: &FieldSet, field: &str, message: &str, help: &str) -> Finding {
    let entry = fields.entry(field);
    let file = match (entry.map(|entry| entry.document), &files.engine_name) {
        (Some(DocumentKind::Engine), Some(engine)) => SetupFiles::engine_path(engine),
        _ => SetupFiles::setup_path(&files.bike),
    };
    let place = Place { file, line: entry.map(|entry| entry.line), field: Some(field.to_owned()) };
    Finding::new(Code::Cylinders, place, message, help)
}

/// What an advice sets and only some of the cylinders have: jets for three of four.
fn left_out(files: &SetupFiles, fields: &FieldSet, names: &[String]) -> Vec<Finding> {
    let set = Combination::meanings().iter().filter(|(_, meaning)| meaning.advice == Advised::Sets);
    let mut found = Vec::new();
    for (field, _) in set.filter(|(field, _)| fields.get(field).is_none()) {
        let owners: Vec<String> = fields.owners(field).into_iter().map(|(name, _)| name).collect();
        let without: Vec<&str> =
            names.iter().filter(|name| !owners.contains(name)).map(String::as_str).collect();
        let Some(first) = owners.first().filter(|_| !without.is_empty()) else { continue };
        let message =
            format!("{field} is written for {}, and not for {}.", owners.join(", "), without.join(", "));
        let help = format!("Write it for {} too, or once for all as {field}.", without.join(" and "));
        found.push(finding(files, fields, &format!("{first}.{field}"), &message, &help));
    }
    found
}

/// A carburetor or a pipe that several cylinders share has one of each value.
fn two_of_what_is_one(files: &SetupFiles, fields: &FieldSet) -> Vec<Finding> {
    let mut found = Vec::new();
    for (shared, section) in SHARED {
        let what = if shared == CARBURETORS { "carburetor" } else { "pipe" };
        for group in fields.groups(shared) {
            if shared == CARBURETORS
                && let Some((field, _)) = fields.iter().find(|(field, _)| own_or_common(field, "injection"))
            {
                let message = format!(
                    "{shared} stands beside {field}: an engine with injection has no carburetor to share."
                );
                found.push(finding(files, fields, shared, &message, "Take one of the two out."));
            }
            let own = |field: &&str| {
                own_of(field).is_some_and(|(name, rest)| {
                    group.iter().any(|one| one == name) && own_or_common(rest, section)
                })
            };
            let rests: BTreeSet<&str> = fields
                .iter()
                .map(|(field, _)| field)
                .filter(own)
                .filter_map(|field| Some(own_of(field)?.1))
                .collect();
            for rest in rests {
                let of = |name: &String| (name.clone(), fields.holding(&format!("{name}.{rest}")));
                let all: Vec<_> = group.iter().map(of).collect();
                let same = |(_, value): &(String, Option<&Value>)| match (value, all[0].1) {
                    (Some(value), Some(first)) => value.same_as(first),
                    (value, first) => value.is_none() == first.is_none(),
                };
                if all.iter().all(same) {
                    continue;
                }
                let said: Vec<String> = all
                    .iter()
                    .map(|(name, value)| {
                        format!("{} at {name}", value.map_or_else(|| "none".to_owned(), Value::text))
                    })
                    .collect();
                let message = format!(
                    "{} share a {what}, and {rest} is {}: one {what} has one.",
                    group.join(" and "),
                    said.join(", ")
                );
                let help = format!(
                    "Write it once for all as {rest}, or alike for each of them; where each has a {what} of its own, take them out of {shared}."
                );
                let named = group.iter().map(|name| format!("{name}.{rest}"));
                let field = named.into_iter().find(|field| fields.get(field).is_some()).unwrap_or_default();
                found.push(finding(files, fields, &field, &message, &help));
            }
        }
    }
    found
}

/// Whether a field, of whichever cylinder, stands in a section.
fn own_or_common(field: &str, section: &str) -> bool {
    let rest = own_of(field).map_or(field, |(_, rest)| rest);
    rest.strip_prefix(section).is_some_and(|rest| rest.starts_with('.'))
}

/// One crank has one stroke.
fn two_strokes(files: &SetupFiles, fields: &FieldSet, names: &[String]) -> Option<Finding> {
    let of = |name: &String| Some((name.clone(), fields.for_cylinder(name).quantity(STROKE)?.clone()));
    let all: Vec<(String, Quantity)> = names.iter().filter_map(of).collect();
    let (first, stroke) = all.first()?;
    let (other, its) = all.iter().find(|(_, other)| !nearly_equal(other.si(), stroke.si()))?;
    let own = [other, first].map(|name| format!("{name}.{STROKE}"));
    let field = own.iter().find(|field| fields.get(field).is_some())?;
    let message = format!(
        "{first} has a stroke of {} and {other} one of {}: one crank has one stroke.",
        stroke.with_unit(),
        its.with_unit()
    );
    let help =
        format!("Write it once for all as {STROKE}. A cylinder that was bored has its own engine.bore.");
    Some(finding(files, fields, field, &message, &help))
}

/// The rules of a setup on what holds for one cylinder; each finding names the field that is its own where it has one.
fn of_one(files: &SetupFiles, fields: &FieldSet, name: &str, before: &[Finding]) -> Vec<Finding> {
    let whole = fields.for_cylinder(name);
    let mut found = Vec::new();
    let engine = files.engine_name.as_deref().map(SetupFiles::engine_path);
    for (kind, file) in
        [(DocumentKind::Setup, Some(SetupFiles::setup_path(&files.bike))), (DocumentKind::Engine, engine)]
    {
        let Some(file) = file else { continue };
        let mut part = FieldSet::default();
        for (field, entry) in whole.iter().filter(|(_, entry)| entry.document == kind) {
            part.insert(field.to_owned(), entry.clone());
        }
        found.extend(of_setup(&file, &part, &[]).into_iter().map(|one| as_own(one, fields, name)));
    }
    // What is written once is said once.
    let said = |one: &Finding| before.iter().any(|other| place_of(other) == place_of(one));
    found.retain(|one| !said(one));
    found
}

fn place_of(finding: &Finding) -> (&Path, Option<usize>, Option<&str>) {
    (&finding.place.file, finding.place.line, finding.place.field.as_deref())
}

/// A finding that was made of what holds for one cylinder.
pub(super) fn as_own(mut finding: Finding, fields: &FieldSet, name: &str) -> Finding {
    let own = finding.place.field.as_ref().map(|field| format!("{name}.{field}"));
    if let Some(own) = own.filter(|own| fields.get(own).is_some()) {
        finding.place.field = Some(own);
    }
    finding.message = format!("At cylinder {name}: {}", finding.message);
    finding
}
