//! The speeds at which a power jet feeds, and what adds up at full throttle.

use super::super::hold::Tables;
use super::super::judge::{Case, counted_from};
use super::super::step::{Changed, Harm, HurtKind, Step, difference, name, sizes_of, texts, turned_leaner};
use super::super::words::Refusal;
use crate::advice::rejet::SIZES_LEANER_IN_ONE_STEP;
use crate::notebook::Combination;
use crate::notebook::fields::meaning::{Size, When};
use crate::quantity::fixed;

/// A power jet that opens later or shuts earlier by more than this is out at those speeds, rpm (common practice, no source: a step is a
/// few hundred).
const FAR_RPM: f64 = 500.0;

/// Fuel lost at full throttle with which the sizes of several jets are no more than a step: the box has coarse ones and fine ones.
const A_STEP: f64 = 0.04;

/// A power jet that feeds at fewer speeds: by far fewer, its fuel is gone there.
pub(in super::super) fn less_span(
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

impl Case<'_> {
    /// Sizes of several jets that are one throttle's: each is few, and all of them are too many.
    pub(in super::super) fn too_many_together(&self) -> Option<Refusal> {
        let limit = SIZES_LEANER_IN_ONE_STEP;
        let many = |step: &Step| -> Option<String> {
            let at_full = |harm: &&Harm| harm.zones.contains(&"full");
            let harms: Vec<&Harm> = step.of(HurtKind::Fuel).filter(at_full).collect();
            let is_much = step.fuel_at("full").is_none_or(|fuel| fuel < 1.0 - A_STEP);
            let sizes: u32 = harms.iter().filter_map(|harm| harm.sizes).fold(0, u32::saturating_add);
            let each_few = harms.iter().all(|harm| harm.sizes.is_none_or(|sizes| sizes <= limit));
            let words: Vec<&str> = harms.iter().map(|harm| harm.words.as_str()).collect();
            (is_much && each_few && sizes > limit && !step.other_engine).then(|| words.join("; "))
        };
        let since = self.since_run.as_ref();
        let since = since.filter(|_| self.step.takes_fuel_away() && self.counts_since_run());
        let (words, counted) = match many(&self.step) {
            Some(words) => (words, String::new()),
            None => since.and_then(|(number, step)| Some((many(step)?, counted_from(*number))))?,
        };
        let field = self.step.of(HurtKind::Fuel).next()?.field.clone();
        let sentence = format!(
            "Too lean in one step: {words}{counted}, and all of it is full throttle. Go {limit} sizes at a time at most, and read plug and piston in between."
        );
        Some(Refusal::of(field, sentence)).filter(|_| !self.proposal.back)
    }
}
