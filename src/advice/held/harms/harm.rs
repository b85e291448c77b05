//! One thing that can hurt, and a changed field with what it means.

use crate::notebook::Change;
use crate::notebook::fields::meaning::{Hurts, Meaning, Size, When};

/// Percent of trim, or of a fuel map's cell, that count as one size (common practice, no source).
const SIZE_PERCENT: f64 = 2.0;

/// The kinds of steps that hurt together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HurtKind {
    /// Less fuel.
    Fuel,
    /// The spark comes earlier.
    Spark,
    /// The squish is tighter or the compression higher.
    Head,
    /// The stinger is shorter or narrower.
    Stinger,
    /// Less oil in the petrol.
    Oil,
}

/// One thing that can hurt.
#[derive(Debug, Clone, PartialEq)]
pub struct Harm {
    /// Its kind.
    pub kind: HurtKind,
    /// The field it stands in.
    pub field: String,
    /// In words, without a full stop: "main 172 -> 160, 6 sizes leaner".
    pub words: String,
    /// How many sizes leaner, where sizes can be counted: of jets in the box, grooves of a clip, two percent of trim.
    pub sizes: Option<u32>,
    /// Whether it is told by what the circuits pass in all, and not by a number of its own: another needle, another numbering.
    pub by_circuits: bool,
    /// Whether that much at once is refused by itself, where it is not counted in sizes.
    pub far_at_once: bool,
    /// The zones it reaches, as in [`ZONES`]; none for what is no fuel.
    pub zones: &'static [&'static str],
}

impl Harm {
    /// One that is counted in no sizes and reaches no throttle of its own.
    pub(in crate::advice::held) fn of(kind: HurtKind, field: &str, words: String) -> Self {
        let field = field.to_owned();
        Self { kind, field, words, sizes: None, by_circuits: false, far_at_once: false, zones: &[] }
    }
}

/// A field that changed, with what it means.
#[derive(Debug, Clone, Copy)]
pub(in crate::advice::held) struct Changed<'c> {
    pub(in crate::advice::held) change: &'c Change,
    pub(in crate::advice::held) meaning: &'c Meaning,
}

pub(in crate::advice::held) fn turned_leaner(
    one: Changed<'_>,
    size: Size,
    when: When,
) -> Option<(String, Option<u32>)> {
    let by = match when {
        When::Less => -difference(one)?,
        When::More => difference(one)?,
    };
    let (from, to) = texts(one)?;
    // Grooves are whole numbers.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (sizes, leaner) = match size {
        Size::Groove => (Some(by.abs().round().min(9.0) as u32), "groove"),
        Size::Percent => (Some(sizes_of(by)), "size"),
        _ => (None, ""),
    };
    let leaner = sizes.map_or_else(|| "leaner".to_owned(), |sizes| format!("{} leaner", of(sizes, leaner)));
    (by > 0.0).then(|| (format!("{} {from} -> {to}, {leaner}", name(one)), sizes))
}

/// Those of the changed fields that can hurt in a way, in the order in which it is told.
pub(in crate::advice::held) fn that_hurt<'c>(
    changed: &[Changed<'c>],
    way: impl Fn(Hurts) -> bool,
) -> Vec<Changed<'c>> {
    let mut found: Vec<Changed<'c>> = changed.iter().copied().filter(|one| way(one.meaning.hurts)).collect();
    found.sort_by_key(|one| (one.meaning.hurts, one.meaning.hands.turn));
    found
}

/// Percent in sizes, upward to the next whole one.
pub(in crate::advice::held) fn sizes_of(percent: f64) -> u32 {
    // Percent of fuel are small numbers.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let sizes = (percent / SIZE_PERCENT - 1e-6).ceil().clamp(0.0, 1e6) as u32;
    sizes
}

/// A field by its last name: "base gasket", "trim".
pub(in crate::advice::held) fn name(one: Changed<'_>) -> String {
    one.change.field.rsplit('.').next().unwrap_or_default().replace('_', " ")
}

/// New less old in the unit of the new reading; none where they cannot be compared.
pub(in crate::advice::held) fn difference(one: Changed<'_>) -> Option<f64> {
    Some(one.change.difference.as_ref()?.value)
}

pub(in crate::advice::held) fn texts(one: Changed<'_>) -> Option<(String, String)> {
    Some((one.change.old.as_ref()?.text(), one.change.new.as_ref()?.text()))
}

pub(in crate::advice::held) fn cells(one: Changed<'_>) -> impl Iterator<Item = (f64, f64)> {
    let map = one.change.map.as_ref();
    map.into_iter().flat_map(|map| &map.cells).filter_map(|cell| Some((cell.old?, cell.new?)))
}

/// "1 size", "6 sizes".
pub(in crate::advice::held) fn of(count: u32, what: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {what}{plural}")
}
