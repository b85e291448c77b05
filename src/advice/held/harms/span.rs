//! The speeds at which a power jet feeds, and what adds up at full throttle.

use super::super::hold::Tables;
use super::harm::{Changed, difference, name, sizes_of, texts, turned_leaner};
use crate::notebook::Combination;
use crate::notebook::fields::meaning::{Size, When};
use crate::quantity::fixed;

/// A power jet that opens later or shuts earlier by more than this is out at those speeds, rpm (common practice, no source: a step is a
/// few hundred).
const FAR_RPM: f64 = 500.0;

/// A power jet that feeds at fewer speeds: by far fewer, its fuel is gone there.
pub(in crate::advice::held) fn less_span(
    one: Changed<'_>,
    when: When,
    before: &Combination,
    tables: &Tables<'_>,
) -> Option<(String, Option<u32>)> {
    let (words, sizes) = turned_leaner(one, Size::Uncounted, when)?;
    let old = one.change.old.as_ref()?.quantity()?.in_unit("rpm")?;
    let new = one.change.new.as_ref()?.quantity()?.in_unit("rpm")?;
    let lost = before.setup.as_ref().and_then(|with| {
        let mut without = with.clone();
        let jetting = without.jetting.as_mut()?;
        jetting.power_jet = None;
        jetting.power_jet_numbered_by = None;
        Some(100.0 * (1.0 - tables.delivered(with, &without, "full")?))
    });
    let Some(lost) = lost.filter(|lost| (new - old).abs() > FAR_RPM && *lost > 0.0) else {
        return Some((words, sizes));
    };
    let (from, to) = texts(one).filter(|_| difference(one).is_some())?;
    let there = if when == When::More { "below" } else { "above" };
    let words = format!("{} {from} -> {to}, {} % leaner {there} that", name(one), fixed(lost, 1));
    Some((words, Some(sizes_of(lost))))
}
