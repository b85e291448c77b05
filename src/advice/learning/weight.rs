//! How much an outing's verdict counts for the jetting of the bike as it is set up now.

use super::settings::Settings;
use crate::notebook::{Combination, DocumentKind, FieldSet, When, differing};
use crate::quantity::trimmed;

/// Seconds in a day.
const DAY: f64 = 86_400.0;

/// Where the fuel cannot be set against the baseline's, this is left of the weight (common practice, no source).
const FUEL_NOT_KNOWN: f64 = 0.5;

/// Fields of the carburetor that the calculation of its circuits follows: a change there is reckoned with, not weighed down.
const FOLLOWED: [&str; 19] = [
    "jetting.main",
    "jetting.main_numbered_by",
    "jetting.main_series",
    "jetting.pilot",
    "jetting.pilot_numbered_by",
    "jetting.pilot_series",
    "jetting.air_screw",
    "jetting.fuel_screw",
    "jetting.needle",
    "jetting.clip",
    "jetting.shim",
    "jetting.needle_jet",
    "jetting.seat_to_needle_jet",
    "jetting.power_jet",
    "jetting.power_jet_numbered_by",
    "injection.trim",
    "injection.fuel_map_unit",
    "injection.rpm",
    "injection.throttle",
];

/// What a verdict counts, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// All causes together, 0 to 1, in whole percent.
    pub total: f64,
    /// Left by its age.
    pub age: f64,
    /// Left because parts of the bike were others then.
    pub parts: f64,
    /// Left because more than one section was changed at once before it.
    pub changes: f64,
    /// Left because its fuel cannot be set against the baseline's.
    pub fuel: f64,
    /// The parts that were others.
    pub other_parts: Vec<&'static str>,
    /// The sections that were changed at once, when there were several.
    pub changed_at_once: Vec<String>,
}

impl Weight {
    /// Weighs a verdict. `newest` is the date of the bike's newest outing: an engine ages by running, not in the shed.
    pub(super) fn new(
        settings: &Settings,
        (date, newest): (When, When),
        other_parts: Vec<&'static str>,
        changed_at_once: Vec<String>,
        fuel_is_known: bool,
    ) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "seconds of some years are far below 2^52")]
        let days = ((newest.unix() - date.unix()).max(0) as f64) / DAY;
        let age = 0.5_f64.powf(days / settings.half_life_days);
        let parts = other_parts.iter().fold(1.0, |left, _| left * settings.other_part);
        let changes = if changed_at_once.len() > 1 { settings.several_changes } else { 1.0 };
        let fuel = if fuel_is_known { 1.0 } else { FUEL_NOT_KNOWN };
        let total = whole_percent(age * parts * changes * fuel);
        Self { total, age, parts, changes, fuel, other_parts, changed_at_once }
    }

    /// Why it does not count in full, "engine and pipe were others, 3 sections changed at once".
    pub fn words(&self) -> String {
        let mut words = Vec::new();
        if self.age < 0.995 {
            words.push(format!("age {} %", trimmed(100.0 * self.age, 0)));
        }
        if !self.other_parts.is_empty() {
            words.push(format!("other {}", self.other_parts.join(", ")));
        }
        if self.changes < 1.0 {
            words.push(format!("{} sections changed at once", self.changed_at_once.len()));
        }
        if self.fuel < 1.0 {
            words.push("fuel not comparable".to_owned());
        }
        words.join("; ")
    }
}

/// Rules of thumb give no more than that, and what is shown is then what was reckoned with.
fn whole_percent(weight: f64) -> f64 {
    (100.0 * weight).round() / 100.0
}

/// The parts of the bike, fuel and followed jetting left out, in which two setups differ and that the mixture depends on.
pub(super) fn other_parts(baseline: &FieldSet, other: &FieldSet) -> Vec<&'static str> {
    let mut parts: Vec<&'static str> = differing(baseline, other).filter_map(part_of).collect();
    parts.sort_unstable();
    parts.dedup();
    parts
}

/// Whether the mixture depends on a field: a part of the bike, the jetting or the fuel.
pub(super) fn is_of_mixture(field: &str) -> bool {
    FOLLOWED.contains(&field) || part_of(field).is_some() || field.starts_with("fuel.")
}

/// Whether two setups are one to the mixture.
pub(super) fn same_mixture(one: &FieldSet, other: &FieldSet) -> bool {
    !differing(one, other).any(is_of_mixture)
}

/// The part a field belongs to; none where the mixture does not depend on it, or the calculation follows it.
fn part_of(field: &str) -> Option<&'static str> {
    if FOLLOWED.contains(&field) || field.ends_with("notes") {
        return None;
    }
    let section = field.split('.').next().unwrap_or_default();
    match section {
        "engine" => Some("engine"),
        "ignition" => Some("ignition"),
        "pipe" => Some("pipe"),
        "jetting" => Some("carburetor"),
        "injection" => Some("injection"),
        "fuel" | "gearing" | "notes" | "extra" | "title" => None,
        _ => match Combination::home(field) {
            Some((DocumentKind::Engine, _)) => Some("engine"),
            _ => None,
        },
    }
}
