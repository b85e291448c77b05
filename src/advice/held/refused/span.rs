//! Sizes of several jets that add up at one throttle.

use super::super::harms::harm::{Harm, HurtKind};
use super::super::said::Refusal;
use super::super::step::Step;
use super::case::{Case, counted_from};
use crate::advice::rejet::SIZES_LEANER_IN_ONE_STEP;

/// Fuel lost at full throttle with which the sizes of several jets are no more than a step: the box has coarse ones and fine ones.
const A_STEP: f64 = 0.04;

impl Case<'_> {
    /// Sizes of several jets that are one throttle's: each is few, and all of them are too many.
    pub(in crate::advice::held) fn too_many_together(&self) -> Option<Refusal> {
        let limit = SIZES_LEANER_IN_ONE_STEP;
        let many = |step: &Step| -> Option<String> {
            // What the circuits pass in all has the others in it already.
            let at_full = |harm: &&Harm| harm.zones.contains(&"full") && !harm.by_circuits;
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
