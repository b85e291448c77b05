//! Less oil in the petrol: what it takes to be told, and how much of it at once is too much.

use super::super::judge::{Case, counted_from};
use super::super::step::{Changed, Harm, HurtKind, Step, difference, name, texts, that_hurt};
use super::super::words::Refusal;
use crate::notebook::fields::meaning::Hurts;

/// A ratio of petrol to oil that rises by no more than this share oils as before (common practice, no source: a can is mixed no closer).
const SAME: f64 = 0.1;

/// A ratio of petrol to oil that rises by more than this share is far at once (common practice, no source).
const FAR: f64 = 0.5;

/// More petrol to the oil than the engine had.
pub(in super::super) fn less_oil(changed: &[Changed<'_>]) -> Option<Harm> {
    let oil = that_hurt(changed, |hurts| hurts == Hurts::Oil);
    let one = oil.into_iter().find(|one| share_more(*one).is_some_and(|share| share > SAME))?;
    let (from, to) = texts(one)?;
    let words = format!("{} {from} -> {to}, less oil", name(one));
    let far_at_once = share_more(one).is_some_and(|share| share > FAR);
    let field = one.change.field.clone();
    Some(Harm { kind: HurtKind::Oil, field, words, sizes: None, far_at_once, zones: &[] })
}

/// By which share of what it was the ratio rises.
fn share_more(one: Changed<'_>) -> Option<f64> {
    let by = difference(one)?;
    let new = one.change.new.as_ref()?.quantity()?.value();
    Some(by / (new - by).max(f64::MIN_POSITIVE))
}

impl Case<'_> {
    /// Far less oil in one step, or in several that never ran: each by itself is small.
    pub(in super::super) fn too_little_oil(&self) -> Option<Refusal> {
        let far = |step: &Step| step.of(HurtKind::Oil).find(|harm| harm.far_at_once).cloned();
        let less = self.step.of(HurtKind::Oil).next().is_some() || self.step.is_harmless();
        let (harm, counted) = match self.since_run.as_ref().filter(|(_, step)| !step.other_engine) {
            // What only takes back what never ran oils as it ran.
            Some((number, since)) if less && self.counts_since_run() => (far(since)?, counted_from(*number)),
            Some(_) => return None,
            None => (far(&self.step).filter(|_| !self.step.other_engine)?, String::new()),
        };
        let sentence = format!(
            "Far less oil at once: {}{counted}. Keep to what the maker of the oil and of the piston allows, and read the piston in between.",
            harm.words
        );
        Some(Refusal { cylinder: None, field: harm.field, sentence: sentence.into(), by_a_run: None })
    }
}
