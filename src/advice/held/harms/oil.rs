//! Less oil in the petrol: what it takes to be told, and how much of it at once is too much.

use super::harm::{Changed, Harm, HurtKind, difference, name, texts, that_hurt};
use crate::notebook::fields::meaning::Hurts;

/// A ratio of petrol to oil that rises by no more than this share oils as before (common practice, no source: a can is mixed no closer).
pub(in crate::advice::held) const SAME: f64 = 0.1;

/// A ratio of petrol to oil that rises by more than this share is far at once (common practice, no source).
const FAR: f64 = 0.5;

/// More petrol to the oil than the engine had.
pub(in crate::advice::held) fn less_oil(changed: &[Changed<'_>]) -> Option<Harm> {
    let oil = that_hurt(changed, |hurts| hurts == Hurts::Oil);
    let one = oil.into_iter().find(|one| share_more(*one).is_some_and(|share| share > SAME))?;
    let (from, to) = texts(one)?;
    let words = format!("{} {from} -> {to}, less oil", name(one));
    let far_at_once = share_more(one).is_some_and(|share| share > FAR);
    Some(Harm { far_at_once, ..Harm::of(HurtKind::Oil, &one.change.field, words) })
}

/// By which share of what it was the ratio rises.
fn share_more(one: Changed<'_>) -> Option<f64> {
    let by = difference(one)?;
    let new = one.change.new.as_ref()?.quantity()?.value();
    Some(by / (new - by).max(f64::MIN_POSITIVE))
}

/// By which share of itself the ratio of petrol to oil rises; none where it does not, or is not known before and after.
pub(in crate::advice::held) fn petrol_more(changed: &[Changed<'_>]) -> Option<f64> {
    let oil = that_hurt(changed, |hurts| hurts == Hurts::Oil);
    oil.into_iter().find_map(share_more).filter(|share| *share > 1e-9)
}
