//! Rules between the fields of a build: what must stand together and what cannot.

use std::path::Path;

use crate::notebook::documents::build::Build;
use crate::notebook::documents::gauges::SetOn;
use crate::notebook::fields::cylinder::can_be_own;
use crate::notebook::fields::finding::{Code, Finding};
use crate::notebook::fields::value::FieldSet;
use crate::notebook::rules::Rules;
use crate::notebook::rules::cylinders::as_own;

/// Readings that one gauge takes, by the gauge's role: the field, `*` standing for a name of the tuner's own.
pub const READINGS: [(&str, &[&str]); 6] = [
    ("bore", &["bore.*.along_pin", "bore.*.across_pin", "bore.*.diagonal_left", "bore.*.diagonal_right"]),
    ("inside", &["piston.pin_bore", "rod.small_end_bore", "seats.*.case_bore", "seats.*.bearing_bore"]),
    ("outside", &["piston.diameter", "pin.diameter", "seats.*.bearing_outside", "seats.*.shaft"]),
    ("feeler", &["ring.gaps.*.gap", "ring.side_clearance", "rod.side_clearance", "reed.gap"]),
    ("indicator", &["crank.runout_left", "crank.runout_right", "rod.big_end_play", "deck.height"]),
    ("solder", &["squish.front", "squish.rear", "squish.left", "squish.right"]),
];

/// The most that a zeroed gauge shows, m: what lies beyond is a whole size.
const MOST_DIFFERENCE: f64 = 2e-3;

/// How far diameters of one bore, and a piston from its bore, may be apart, as a share.
const ONE_BORE: f64 = 0.05;

/// Looks at a build: at what is written for all, and at what holds for each cylinder that has something of its own.
pub fn of_build(file: &Path, fields: &FieldSet, build: &Build) -> Vec<Finding> {
    let found = of_one(file, fields, build);
    let names: Vec<&String> = build.cylinder.keys().collect();
    if names.is_empty() {
        return found;
    }
    let each = names.into_iter().map(|name| {
        let whole = of_one(file, &fields.for_cylinder(name), &build.for_cylinder(name));
        (name, whole)
    });
    let each: Vec<(&String, Vec<Finding>)> = each.collect();
    let same =
        |one: &Finding, other: &Finding| one.code == other.code && one.place.field == other.place.field;
    let is_there = |all: &[Finding], one: &Finding| all.iter().any(|other| same(one, other));
    // What each cylinder has of its own in the place of it is not wrong.
    let mut kept: Vec<Finding> =
        found.into_iter().filter(|one| each.iter().any(|(_, whole)| is_there(whole, one))).collect();
    for (name, whole) in each {
        let own: Vec<Finding> = whole.into_iter().filter(|one| !is_there(&kept, one)).collect();
        kept.extend(own.into_iter().map(|one| missing_there(as_own(one, fields, name), name)));
    }
    kept
}

/// What is missing at one cylinder is written there.
fn missing_there(mut one: Finding, name: &str) -> Finding {
    let field = one.place.field.clone().filter(|field| can_be_own(field));
    if let Some(field) = field.filter(|_| one.code == Code::MissingField) {
        let own = format!("{name}.{field}");
        one.message = one.message.replace(&field, &own);
        one.help = one.help.map_words(|words| words.replace(&field, &own));
        one.place.field = Some(own);
    }
    one
}

fn of_one(file: &Path, fields: &FieldSet, build: &Build) -> Vec<Finding> {
    let mut rules = Rules::of(file, fields);
    for (role, readings) in READINGS {
        rules.one_system(role, readings);
    }
    let sizes_are_known = rules.zeroed(build);
    rules.piston_in_bore(build);
    rules.depths();
    if sizes_are_known {
        rules.one_bore(build);
    }
    rules.steps(build);
    rules.into_findings()
}

/// Whether a field is one of a pattern, `*` standing for one name.
pub(in crate::notebook) fn fits(field: &str, pattern: &str) -> bool {
    let mut names = field.split('.');
    pattern.split('.').all(|want| names.next().is_some_and(|name| want == "*" || name == want))
        && names.next().is_none()
}

impl Rules<'_> {
    /// A gauge has one scale: readings of it in inches and in millimetres are a slip.
    fn one_system(&mut self, role: &str, readings: &[&str]) {
        let own = [format!("gauges.{role}.set_to"), format!("gauges.{role}.resolution")];
        let of_gauge = |field: &str| {
            own.iter().any(|name| name == field) || readings.iter().any(|pattern| fits(field, pattern))
        };
        let mut read: Vec<(String, bool, String)> = Vec::new();
        for (field, entry) in self.fields.iter().filter(|(field, _)| of_gauge(field)) {
            if let Some(quantity) = entry.value.quantity() {
                let inches = matches!(quantity.unit(), "in" | "thou" | "ft");
                read.push((field.to_owned(), inches, quantity.with_unit()));
            }
        }
        let inches = read.iter().filter(|(_, inches, _)| *inches).count();
        if inches == 0 || inches == read.len() {
            return;
        }
        let odd_is_inches = 2 * inches <= read.len();
        let Some((field, _, shown)) = read.iter().find(|(_, inches, _)| *inches == odd_is_inches) else {
            return;
        };
        let (is, others) = if odd_is_inches { ("inches", "millimetres") } else { ("millimetres", "inches") };
        let message = format!(
            "{field} is in {is} ({shown}), other readings of the {role} gauge are in {others}: one gauge has one scale."
        );
        self.find(
            Code::Contradiction,
            field,
            field,
            &message,
            "Write every reading of a gauge, and what it was set to, in the gauge's own unit.",
        );
    }

    /// A zeroed bore gauge shows small differences, any other a whole size. Readings with the same slip are one finding; false where there
    /// is one, and no size follows from them.
    fn zeroed(&mut self, build: &Build) -> bool {
        let gauge = build.gauges.as_ref().and_then(|gauges| gauges.bore.as_ref());
        let set_to = gauge.and_then(|gauge| gauge.set_to.as_ref());
        let set_on = gauge.and_then(|gauge| gauge.set_on);
        match (set_on, set_to) {
            (Some(SetOn::Ring), None) => self.find(
                Code::MissingField,
                "gauges.bore.set_to",
                "gauges.bore.set_on",
                "gauges.bore.set_to is missing: the size of the ring the gauge was zeroed on.",
                "Add the ring's size, like gauges.bore.set_to=\"53.940 mm\".",
            ),
            (Some(SetOn::Piston), Some(_)) => self.find(
                Code::Contradiction,
                "gauges.bore.set_to",
                "gauges.bore.set_to",
                "The bore gauge was zeroed on the piston and has a size it was set to as well.",
                "Leave out gauges.bore.set_to; piston.diameter says what it was zeroed on.",
            ),
            _ => {}
        }
        let is_zeroed = set_on.is_some() || set_to.is_some();
        let is_wrong = |size: f64| {
            if is_zeroed { size.abs() > MOST_DIFFERENCE } else { size < 10.0 * MOST_DIFFERENCE }
        };
        let wrong: Vec<String> = self
            .bore_readings()
            .into_iter()
            .filter(|(_, size)| is_wrong(*size))
            .map(|(field, _)| field)
            .collect();
        let Some(field) = wrong.first() else { return true };
        let (named, are, sizes) = match wrong.len() - 1 {
            0 => (field.clone(), "is", "a whole size"),
            1 => (format!("{field} and 1 other reading"), "are", "whole sizes"),
            others => (format!("{field} and {others} other readings"), "are", "whole sizes"),
        };
        let (message, help) = if is_zeroed {
            (
                format!(
                    "{named} {are} {sizes}, but the bore gauge was zeroed: its readings are differences of a few hundredths."
                ),
                "Write what the gauge showed, or take gauges.bore.set_on and set_to out.",
            )
        } else {
            (
                format!("{named} {are} too small for a bore: what the gauge was zeroed on is not said."),
                "Add gauges.bore.set_on=piston, or gauges.bore.set_to=\"SIZE\" for a ring; or write whole sizes.",
            )
        };
        self.find(Code::Contradiction, field, field, &message, help);
        false
    }

    /// The readings of the bore map, m.
    fn bore_readings(&self) -> Vec<(String, f64)> {
        let of_bore = |field: &str| READINGS[0].1.iter().any(|pattern| fits(field, pattern));
        let found = self.fields.iter().filter(|(field, _)| of_bore(field));
        found.filter_map(|(field, entry)| Some((field.to_owned(), entry.value.quantity()?.si()))).collect()
    }

    fn piston_in_bore(&mut self, build: &Build) {
        let gauge = build.gauges.as_ref().and_then(|gauges| gauges.bore.as_ref());
        let on_piston = gauge.is_some_and(|gauge| gauge.set_on == Some(SetOn::Piston));
        let set_to = gauge.and_then(|gauge| gauge.set_to.as_ref()).map_or(0.0, crate::quantity::Measure::si);
        let Some(piston) = self.fields.quantity("piston.diameter").map(|size| (size.si(), size.with_unit()))
        else {
            return;
        };
        for (field, reading) in self.bore_readings() {
            let room = if on_piston { reading } else { set_to + reading - piston.0 };
            // What cannot be a bore at all has been said.
            if room < 0.0 && (on_piston || set_to + reading > 10.0 * MOST_DIFFERENCE) {
                let message = format!(
                    "The piston ({}) is larger than the bore at {field}: it would be {} mm too large.",
                    piston.1,
                    crate::quantity::fixed(-1000.0 * room, 3)
                );
                self.find(
                    Code::Contradiction,
                    &field,
                    &field,
                    &message,
                    "Measure both again; check the units and what the gauge was zeroed on.",
                );
                return;
            }
        }
    }

    /// A reading of a bore or a ring gap says little without its depth.
    fn depths(&mut self) {
        let mut missing: Vec<(String, String)> = Vec::new();
        for (field, _) in self.fields.iter() {
            let measured =
                fits(field, "ring.gaps.*.gap") || READINGS[0].1.iter().any(|pattern| fits(field, pattern));
            if let Some((level, _)) = field.rsplit_once('.').filter(|_| measured) {
                let depth = format!("{level}.depth");
                if self.fields.get(&depth).is_none() && !missing.iter().any(|(known, _)| *known == depth) {
                    missing.push((depth, field.to_owned()));
                }
            }
        }
        for (depth, at) in missing {
            let message = format!("{depth} is missing: how far below the deck it was measured.");
            self.find(Code::MissingField, &depth, &at, &message, &format!("Add it, like {depth}=\"12 mm\"."));
        }
    }

    /// Diameters that differ by a twentieth are not of one bore, nor is a piston that is so much smaller its own; and each
    /// depth has one name.
    fn one_bore(&mut self, build: &Build) {
        let mut depths: Vec<(String, f64)> = Vec::new();
        for (field, entry) in self.fields.iter().filter(|(field, _)| fits(field, "bore.*.depth")) {
            depths.extend(entry.value.quantity().map(|depth| (field.to_owned(), depth.si())));
        }
        let twice = depths.iter().enumerate().find(|(at, (_, depth))| {
            depths[..*at].iter().any(|(_, before)| crate::quantity::nearly_equal(*before, *depth))
        });
        if let Some((_, (field, _))) = twice {
            let message = format!("{field} is the depth of another name as well.");
            self.find(
                Code::Contradiction,
                field,
                field,
                &message,
                "Give each depth once, with all its axes.",
            );
        }
        let gauge = build.gauges.as_ref().and_then(|gauges| gauges.bore.as_ref());
        let set_to = gauge.and_then(|gauge| gauge.set_to.as_ref()).map_or(0.0, crate::quantity::Measure::si);
        let sizes: Vec<_> =
            self.bore_readings().into_iter().map(|(field, size)| (field, set_to + size)).collect();
        let sizes: Vec<_> = sizes.into_iter().filter(|(_, size)| *size > 10.0 * MOST_DIFFERENCE).collect();
        let Some(least) = sizes.iter().map(|(_, size)| *size).reduce(f64::min) else { return };
        let far = |size: f64| size / least - 1.0 > ONE_BORE;
        if let Some((field, _)) = sizes.iter().find(|(_, size)| far(*size)) {
            let message = format!("{field} and the least reading cannot be diameters of one bore.");
            self.find(
                Code::Contradiction,
                field,
                field,
                &message,
                "Look for a slipped digit or another unit.",
            );
            return;
        }
        let piston = self.fields.quantity("piston.diameter").map(|size| (size.si(), size.with_unit()));
        if let Some((size, shown)) = piston.filter(|(size, _)| 1.0 - size / least > ONE_BORE) {
            let room = crate::quantity::fixed(1000.0 * (least - size), 2);
            let message =
                format!("A piston of {shown} cannot belong to this bore: it would have {room} mm of room.");
            self.find(
                Code::Contradiction,
                "piston.diameter",
                "piston.diameter",
                &message,
                "Measure again; check the units.",
            );
        }
    }

    fn steps(&mut self, build: &Build) {
        for (name, step) in &build.steps {
            if step.left_out.as_ref().is_some_and(|why| why.trim().is_empty()) {
                let field = format!("steps.{name}.left_out");
                let message = format!("The step {name} is left out without a reason.");
                self.find(
                    Code::MissingField,
                    &field,
                    &field,
                    &message,
                    "Say why it does not apply, or take left_out out.",
                );
            }
            if step.done.is_some() && step.left_out.is_some() {
                let field = format!("steps.{name}.left_out");
                self.find(
                    Code::Contradiction,
                    &field,
                    &field,
                    &format!("The step {name} is done and left out at once."),
                    "Take out either done or left_out.",
                );
            }
        }
    }
}
