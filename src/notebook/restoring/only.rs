//! What is put back where not all of a setup is: sections, one of several cylinders, a section of one of them. Pure.

use std::collections::BTreeSet;

use crate::notebook::comparing::fields::Change;
use crate::notebook::editing::error::EditError;
use crate::notebook::fields::cylinder::{can_be_own, common, own_of};
use crate::notebook::fields::order::{SECTIONS, section_of};
use crate::notebook::fields::value::{Entry, FieldSet, Value};

/// What stays where a cylinder's own map lies in a file: the other cylinders may read the same one.
pub(super) const ITS_MAP_STAYS: &str = "put the whole section back, or change its cells";

/// What was asked for: all of it, or what is named.
#[derive(Debug, Clone, Copy)]
pub(super) struct Only<'a>(pub(super) &'a [String]);

impl Only<'_> {
    /// Refuses what is no section, and a cylinder that one of the two setups does not have.
    pub(super) fn check(self, now: &FieldSet, target: &FieldSet) -> Result<(), EditError> {
        let then = target.cylinders();
        let mut names = now.cylinders();
        names.retain(|name| then.contains(name));
        let is_section = |name: &str| SECTIONS.contains(&name);
        let is_known = |only: &&String| match only.split_once('.') {
            Some((name, section)) => names.iter().any(|known| known == name) && is_section(section),
            None => is_section(only) || names.contains(*only),
        };
        let Some(name) = self.0.iter().find(|only| !is_known(only)) else { return Ok(()) };
        let sections = SECTIONS.iter().map(|section| (*section).to_owned());
        let cylinders = names.iter().map(|name| format!("{name} (a cylinder)"));
        Err(EditError::UnknownSection { name: name.clone(), allowed: sections.chain(cylinders).collect() })
    }

    /// Whether a whole section was asked for, whichever cylinder it is of.
    pub(super) fn wants_section(self, section: &str) -> bool {
        self.0.is_empty() || self.0.iter().any(|only| only == section)
    }

    /// Whether a field was asked for.
    pub(super) fn wants(self, field: &str) -> bool {
        self.wants_section(section_of(field)) || self.is_of_cylinder(field)
    }

    /// Whether a field is one of a cylinder that was asked for by its name.
    fn is_of_cylinder(self, field: &str) -> bool {
        let Some((name, _)) = own_of(field) else { return false };
        self.0.iter().any(|only| match only.split_once('.') {
            Some((cylinder, section)) => cylinder == name && section == section_of(field),
            None => only == name,
        })
    }

    /// The earlier values, with those that held for a cylinder that is asked for as its own: what was written for all then may be
    /// otherwise now, and the other cylinders keep that.
    pub(super) fn as_they_held(self, now: &FieldSet, then: &FieldSet) -> FieldSet {
        let mut whole = then.clone();
        let names: BTreeSet<&str> = self
            .0
            .iter()
            .map(|only| only.split('.').next().unwrap_or(only))
            .filter(|name| !SECTIONS.contains(name))
            .collect();
        let fields: BTreeSet<&str> = now.iter().chain(then.iter()).map(|(field, _)| common(field)).collect();
        for name in names {
            for field in fields.iter().filter(|field| can_be_own(field)) {
                let own = format!("{name}.{field}");
                if !self.is_of_cylinder(&own) {
                    continue;
                }
                let held = |fields: &FieldSet| -> Option<Entry> {
                    fields.entry(&own).or_else(|| fields.entry(field)).cloned()
                };
                let same = match (held(now), held(then)) {
                    (Some(now), Some(then)) => now.value.same_as(&then.value),
                    (now, then) => now.is_none() && then.is_none(),
                };
                let wanted = if same { now.entry(&own).cloned() } else { held(then) };
                match wanted {
                    Some(entry) => whole.insert(own, entry),
                    None => whole.take_out(&own),
                }
            }
        }
        whole
    }

    /// Whether a change has to stay: a map of one cylinder that lies in a file.
    pub(super) fn must_stay(self, change: &Change) -> bool {
        let in_a_file = |value: &Option<Value>| matches!(value, Some(Value::Map(map)) if map.file.is_some());
        self.is_of_cylinder(&change.field)
            && !self.wants_section(section_of(&change.field))
            && (in_a_file(&change.old) || in_a_file(&change.new))
    }
}
