//! Two sets of readings compared: what changed, by how much, in the unit of the newer one. Pure; the words and tables that
//! show it are made further up.

use crate::notebook::comparing::map::{CellWords, MapDifference, compare_maps};
use crate::notebook::comparing::prose::{ProseLine, is_prose, prose};
use crate::notebook::fields::combination::Combination;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::node::Sort;
use crate::notebook::fields::order::{reading_order, section_of};
use crate::notebook::fields::value::{FieldSet, Value};
use crate::quantity::{Dimension, Quantity, nearly_equal};

/// Everything that differs between two sets of readings.
#[derive(Debug, Clone, Default)]
pub struct Comparison {
    /// The changes, in reading order.
    pub changes: Vec<Change>,
}

/// One field that differs.
#[derive(Debug, Clone)]
pub struct Change {
    /// Its dotted field.
    pub field: String,
    /// The older reading; `None` where there was none.
    pub old: Option<Value>,
    /// The newer reading; `None` where there is none any more.
    pub new: Option<Value>,
    /// By how much, for two quantities that measure the same thing.
    pub difference: Option<Difference>,
    /// Where and by how much, for maps.
    pub map: Option<MapDifference>,
    /// Line by line, for longer texts.
    pub prose: Option<Vec<ProseLine>>,
}

/// How much a quantity changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// New less old, in `unit`.
    pub value: f64,
    /// The unit in which the new reading was typed; empty for a plain number.
    pub unit: &'static str,
    /// The same in percent of the old reading. `None` where a percentage means nothing: the old reading is zero or less, or
    /// it counts from a point of somebody's choice (temperature, angle, screw, groove, percentage).
    pub percent: Option<f64>,
    /// Decimals that both readings support.
    pub decimals: usize,
}

/// Compares two sets of readings. The unit and the digits typed do not matter, and neither does where a map is kept. What a
/// cylinder does not have of its own is what is written for all.
pub fn compare(old: &FieldSet, new: &FieldSet) -> Comparison {
    let mut comparison = compare_as_written(old, new);
    comparison.changes.retain_mut(|change| {
        if own_of(&change.field).is_some() {
            change.old = old.holding(&change.field).cloned();
            change.new = new.holding(&change.field).cloned();
            change.difference = difference(&change.field, change.old.as_ref(), change.new.as_ref());
            change.map = map_difference(&change.field, old, new);
            change.prose = prose_difference(&change.field, change.old.as_ref(), change.new.as_ref());
        }
        !same(change.old.as_ref(), change.new.as_ref())
    });
    comparison
}

/// The same of what is written, field by field: a cylinder's own that is gone is gone.
pub(in crate::notebook) fn compare_as_written(old: &FieldSet, new: &FieldSet) -> Comparison {
    let gone = old.iter().map(|(field, _)| field).filter(|field| new.get(field).is_none());
    let all = gone.chain(new.iter().map(|(field, _)| field));
    // Few differ: only they are put in order.
    let mut changes: Vec<Change> = all.filter_map(|field| change(field, old, new)).collect();
    changes.sort_by(|a, b| reading_order(&a.field).cmp(&reading_order(&b.field)));
    Comparison { changes }
}

/// The fields that both know and whose readings differ, in no order: for asking many setups which parts they have in common.
/// What one of them does not know was most likely the same, and measured later.
pub fn differing<'f>(old: &'f FieldSet, new: &'f FieldSet) -> impl Iterator<Item = &'f str> {
    new.iter()
        .map(|(field, _)| field)
        .filter(|field| old.get(field).zip(new.get(field)).is_some_and(|(old, new)| !old.same_as(new)))
}

impl Comparison {
    /// Sections that differ, in reading order.
    pub fn sections(&self) -> Vec<&str> {
        let mut sections: Vec<&str> = self.changes.iter().map(|change| section_of(&change.field)).collect();
        sections.dedup();
        sections
    }

    /// Sections that differ on the bike itself: as [`Self::sections`] without the notes, which turn no screw.
    pub fn tuning_sections(&self) -> Vec<&str> {
        let mut sections = self.sections();
        sections.retain(|section| *section != "notes");
        sections
    }

    /// Whether nothing differs.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty()
    }

    /// The change of one field, if it changed.
    pub fn get(&self, field: &str) -> Option<&Change> {
        self.changes.iter().find(|change| change.field == field)
    }
}

fn change(field: &str, old_fields: &FieldSet, new_fields: &FieldSet) -> Option<Change> {
    let (old, new) = (old_fields.get(field), new_fields.get(field));
    if same(old, new) {
        return None;
    }
    Some(Change {
        field: field.to_owned(),
        old: old.cloned(),
        new: new.cloned(),
        difference: difference(field, old, new),
        map: map_difference(field, old_fields, new_fields),
        prose: prose_difference(field, old, new),
    })
}

fn same(old: Option<&Value>, new: Option<&Value>) -> bool {
    match (old, new) {
        (Some(old), Some(new)) => old.same_as(new),
        (None, None) => true,
        _ => false,
    }
}

fn difference(field: &str, old: Option<&Value>, new: Option<&Value>) -> Option<Difference> {
    let (old, new) = (old?.quantity()?, new?.quantity()?);
    if old.dimension() != new.dimension() {
        return None;
    }
    let unit = new.unit();
    let before = old.in_unit(unit)?;
    let value = new.value() - before;
    let percent = (has_percent(field, new.dimension()) && before > 0.0).then(|| value / before * 100.0);
    Some(Difference { value, unit, percent, decimals: decimals(old, new, value) })
}

/// A percentage of a count from an agreed point (a groove, a turn from seated) would only mislead.
fn has_percent(field: &str, dimension: Dimension) -> bool {
    let counted = Combination::leaf(field).is_some_and(|leaf| leaf.from_a_point);
    let from_a_point =
        matches!(dimension, Dimension::Temperature | Dimension::Angle | Dimension::Turns | Dimension::Share);
    !counted && !from_a_point
}

/// Decimals of the finer of two readings, in the unit of the new one; more where they would hide the difference.
fn decimals(old: &Quantity, new: &Quantity, difference: f64) -> usize {
    let supported = new.decimals().max(decimals_in(old, new.unit()));
    let fraction = is_fraction(old.text()) || is_fraction(new.text());
    let mut decimals = supported;
    while decimals < 6 && hides(difference, decimals, fraction) {
        decimals += 1;
    }
    decimals
}

/// Whether rounding leaves nothing of a difference, or bends one of two fractions ("1 1/2" and "1 5/8").
fn hides(difference: f64, decimals: usize, fraction: bool) -> bool {
    let scale = (0..decimals).fold(1.0, |scale, _| scale * 10.0);
    let rounded = (difference * scale).round() / scale;
    let bent = fraction && decimals < 4 && !nearly_equal(rounded, difference);
    bent || (rounded.abs() < 1e-12 && difference.abs() > 1e-12)
}

fn is_fraction(text: &str) -> bool {
    let around = |at: usize| text.as_bytes().get(at).is_some_and(u8::is_ascii_digit);
    text.find('/').is_some_and(|at| at > 0 && around(at - 1) && around(at + 1))
}

/// Decimals that a reading supports in another unit: the last digit of 0.030 in is worth 0.0254 mm, so two.
fn decimals_in(reading: &Quantity, unit: &str) -> usize {
    let at = |digits: &str| {
        let quantity = Quantity::parse(digits, &[reading.dimension()], reading.unit()).ok()?;
        quantity.in_unit(unit)
    };
    let (Some(one), Some(zero)) = (at("1"), at("0")) else {
        return 0;
    };
    let mut worth = (0..reading.decimals()).fold((one - zero).abs(), |worth, _| worth / 10.0);
    let mut decimals = 0;
    while worth < 0.999 && decimals < 6 {
        worth *= 10.0;
        decimals += 1;
    }
    decimals
}

fn map_difference(field: &str, old: &FieldSet, new: &FieldSet) -> Option<MapDifference> {
    let held = |fields: &'_ FieldSet| match fields.holding(field) {
        Some(Value::Map(map)) => Some(map.clone()),
        _ => None,
    };
    let (before, after) = (held(old), held(new));
    if before.is_none() && after.is_none() {
        return None;
    }
    let words = |fields: &FieldSet| CellWords::of(field, fields);
    Some(compare_maps(before.as_ref(), after.as_ref(), words(old), words(new)))
}

fn prose_difference(field: &str, old: Option<&Value>, new: Option<&Value>) -> Option<Vec<ProseLine>> {
    let words = |value: Option<&Value>| match value {
        None => Some(String::new()),
        Some(Value::Text(text)) => Some(text.clone()),
        Some(_) => None,
    };
    let (old, new) = (words(old)?, words(new)?);
    let free = Combination::leaf(field).is_none_or(|leaf| matches!(leaf.sort, Sort::Text));
    (free && is_prose(field, &old, &new)).then(|| prose(&old, &new))
}
